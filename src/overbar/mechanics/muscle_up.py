"""The muscle-up as an optimal control problem: the least strength that gets this body over.

From a straight body at rest, hanging still or at the front of a swing, through pull
and turn-over to the straight-arm support. The arms' strength is itself unknown and
is made as small as possible: such a problem always has an answer, and the answer is
the threshold. One swing, no wind-up, the bar never inside the body.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from overbar.errors import BadInput
from overbar.mechanics.collocation import CONTROL, Limits, Movement, Problem, Solution, problem
from overbar.mechanics.dynamics import SEGMENTS, equations, parameters
from overbar.mechanics.joint_torque import BASE, REFERENCE_KG_M, Muscles
from overbar.mechanics.segments import Body
from overbar.mechanics.strength_scale import STEADY_STATURE_M, PullUp, greatest_pull_up
from overbar.progress import Progress, silent

PUSH_OVER_PULL = 1.3
"""Push strength over arm strength when no dip is known: the model's straight-bar dip maximum is then
about its pull-up maximum. Parallel bars give 1.11 times (Coyne et al. 2015); own judgement."""

HAND_FORCE_CAP_BW = 2.0
"""Greatest resultant hand force in body weights (own judgement: gentle on hands, and half of what a
swinging giant on the high bar asks for; a cap, not a forecast)."""

ACTIVATION_RATE_PER_S = 10.0
"""Fastest change of an activation: 0.1 s from nothing to all, with 50 to 60 ms of muscle activation and
the time a movement takes to be started (McLean et al. 2003 for the former; own judgement)."""

LEG_DRIVE = {"hip": (-20.0, 60.0), "knee": (0.0, 20.0)}
"""Joint ranges in degrees with leg drive: a swing, not a knee kick (own judgement)."""

QUIET_LEGS = {"hip": (-20.0, 45.0), "knee": (0.0, 5.0)}
STILL_LEGS = {"hip": (0.0, 45.0), "knee": (0.0, 5.0)}
QUIET_HIP_RAD_S = 1.5
"""Without leg drive the hips may fold as a counterweight, but not faster than this (own judgement)."""

LONGEST_RISE_S = 1.05
"""From the start until the shoulder is at bar height, at 1.75 m: the straight body is at the back after half
its period of 2.2 s, so that a later rise would ride a second swing (own judgement)."""

LONGEST_TURN_S = 0.35
"""From bar height until the forearms are level, where a pause is set (own judgement)."""

SHORTEST_PULL_S = 0.2
SHORTEST_HANG_S = 0.05

IDLE_ACTIVATION = 0.3
"""Activation of arms and hips while an athlete who pulls late still waits (own judgement)."""

LONGEST_PRESS_S = 1.2
"""Longest turn-over and press after that, at 1.75 m (own judgement)."""

LATEST_PULL_S = 0.6
LONGEST_PAUSE_S = 0.4

SAME_STRENGTH = 0.004
"""Two solves of one problem whose arm strengths differ by less have ended in the same way (about 0.005 R)."""

STRAIGHT_DEG = 15.0
"""Elbows bent by less than this count as long arms."""

GREATEST_DROP_MPS = {"still": 0.05, "swing": 0.4}
"""Fastest sinking of the shoulder after the pull has begun: no drop-and-catch (own judgement)."""

PAUSE_ACTIVATION = 0.1
"""Arm activation left in a pause of the turn-over."""

SWING_RANGE_DEG = (0.0, 45.0)
"""Swings from the still hang to what a coach would call too big."""

SEARCH, POLISH = (6, 16, 16), (8, 30, 32)
SEARCH_WITH_PAUSE = (6, 16, 4, 4, 10)
"""Intervals of hang, pull, turn-over and press; with a pause: hang, pull, to the pause, pause, press. With 26
instead of 38 intervals the least R changes with the pull's start by jumps of 0.05."""

_WEIGHTS = {"strength": 1.0, "activation": 2e-3, "acceleration": 2e-6, "change": 2e-3}
_STARTS = ((0.1, 0.8, 0.8), (0.3, 0.65, 1.0), (0.2, 0.8, 1.0))


@dataclass(frozen=True)
class Variant:
    """One defensible way to build what the model cannot know.

    Attributes
    ----------
    id, name : str
    why : str
        What it stands for.
    muscles : Muscles
    grip_shift_H : float
        How much nearer the wrist is to the bar's centre, as a fraction of stature.
    """

    id: str
    name: str
    why: str
    muscles: Muscles
    grip_shift_H: float = 0.0


def _hands(newton_metres: float) -> Muscles:
    return Muscles(BASE, push=PUSH_OVER_PULL, hand_torque=newton_metres / REFERENCE_KG_M)


VARIANTS: tuple[Variant, ...] = (
    Variant("middle", "middle of the road", "published torques and speeds as they stand", _hands(20.0)),
    Variant(
        "loose_hands",
        "loose hands",
        "the hands turn round the bar and hold half as much torque",
        _hands(10.0),
    ),
    Variant(
        "high_wrists",
        "wrists over the bar",
        "a deep grip: wrist 2.5 % of stature nearer the bar, hands hold half as much again",
        _hands(30.0),
        grip_shift_H=0.025,
    ),
    Variant(
        "even_pull", "even pull", "joint torques that change less with the angle", _hands(20.0).flatter(1.3)
    ),
    Variant(
        "steep_speed",
        "steep speed curve",
        "Hill's hyperbola instead of the smooth curve, joint speeds raised so that the fastest pull-up "
        "still agrees with Beckham et al. 2018",
        replace(_hands(20.0).faster(1.3), steepness=1.0),
    ),
)
"""The family whose spread is the model's structural uncertainty; each is calibrated to the same pull-up."""


@dataclass(frozen=True)
class Attempt:
    """How the muscle-up is tried.

    Attributes
    ----------
    swing_deg : float
        Front-swing angle of the straight body from vertical, in degrees; 0 is the still hang.
    leg_drive : bool
        Whether hips and knees may drive.
    pull_after_s : float or None
        Arms stay long, arms and hips idle for this time after the front of the swing, in s, up to
        :data:`LATEST_PULL_S`; None leaves the best time to the solver.
    pause_s : float
        Length of a pause of the arms in the turn-over, in s.
    hand_force_bw : float
        Cap of the resultant hand force in body weights.
    """

    swing_deg: float = 0.0
    leg_drive: bool = False
    pull_after_s: float | None = None
    pause_s: float = 0.0
    hand_force_bw: float = HAND_FORCE_CAP_BW

    def __post_init__(self) -> None:
        low, high = SWING_RANGE_DEG
        if not low <= self.swing_deg <= high:
            raise BadInput(
                f"swing {self.swing_deg:g} degrees is outside {low:g} to {high:g}",
                do="Give the angle of the straight body from vertical at the front of the swing.",
            )

        if self.pull_after_s is not None and not 0 <= self.pull_after_s <= LATEST_PULL_S:
            raise BadInput(
                f"a pull start {self.pull_after_s:g} s after the front is outside 0 to {LATEST_PULL_S:g} s",
                do="Give the time from the front of the swing to the pull.",
            )
        if not 0 <= self.pause_s <= LONGEST_PAUSE_S:
            raise BadInput(f"a pause of {self.pause_s:g} s is outside 0 to {LONGEST_PAUSE_S:g} s")

    @property
    def still(self) -> bool:
        """Whether it starts from a hang without a swing."""
        return self.swing_deg == 0


@dataclass(frozen=True)
class MuscleUp:
    """The easiest muscle-up found for a body.

    Attributes
    ----------
    least_R : float
        Pull-up maximum (system over body mass) with which it just succeeds.
    strength : float
        The same as arm strength of the model.
    converged : bool
        Whether both solves converged.
    said : str
        Why not, in words, else empty.
    pull_after_s : float
        Elbows leave :data:`STRAIGHT_DEG` this long after the start.
    shoulder_over_s, turned_s, support_s : float
        Shoulder at bar height, forearm level, end, in s after the start.
    peak_hand_force_bw : float
        Largest resultant hand force.
    solution : Solution
    pull : PullUp
        The greatest pull-up at that strength.
    solves : int
        How many solves it took.
    seconds : float
        Wall time of all of them.
    """

    least_R: float
    strength: float
    converged: bool
    said: str
    pull_after_s: float
    shoulder_over_s: float
    turned_s: float
    support_s: float
    peak_hand_force_bw: float
    solution: Solution
    pull: PullUp
    solves: int
    seconds: float


def shaped(body: Body, variant: Variant) -> Body:
    """Return the body as a structural variant holds the bar."""
    shift = variant.grip_shift_H * body.stature_m
    return replace(
        body,
        length_m=(body.length_m[0] - shift, *body.length_m[1:]),
        centre_m=(body.centre_m[0] - shift, *body.centre_m[1:]),
    )


def easiest_muscle_up(
    body: Body,
    attempt: Attempt,
    variant: Variant = VARIANTS[0],
    *,
    push: float | None = None,
    speed: float = 1.0,
    like: tuple[Movement, ...] = (),
    starts: int = len(_STARTS),
    pull_like: Solution | None = None,
    until_two_agree: bool = False,
    progress: Progress = silent,
) -> MuscleUp:
    """Find the least R with which a body gets over the bar.

    Parameters
    ----------
    push : float, optional
        Own push strength over arm strength, from the dip; else the variant's.
    speed : float
        Arm joint speeds over the reference, from a fastest first rep.
    like : tuple of Movement
        Solved movements on the same mesh to start from, before the built-in starts.
    starts : int
        How many built-in starts to try (the problem has several local optima).
    pull_like : Solution, optional
        A neighbour's greatest pull-up.
    until_two_agree : bool
        Leave out the starts that remain once two have ended in the best way so far.

    Returns
    -------
    MuscleUp
        Also when nothing converged; then ``converged`` is False and ``said`` says so.
    """
    held, muscles = shaped(body, variant), _own_muscles(variant, push, speed)
    p = parameters(held, muscles)
    task = problem(*(SEARCH_WITH_PAUSE if attempt.pause_s else SEARCH))
    swing = math.radians(attempt.swing_deg)
    limits = _limits(task, attempt, held)
    guesses = [(task.again(old), True) for old in like]
    guesses += [(_guess(task, attempt, *durations), False) for durations in _STARTS[:starts]]
    ended: list[Solution] = []
    for count, (guess, follow) in enumerate(guesses):
        progress(count / (len(guesses) + 1), "looking for the easiest way over the bar")
        found = task.solve(
            limits,
            p,
            _WEIGHTS,
            guess,
            swing_rad=swing,
            rate_per_s=ACTIVATION_RATE_PER_S,
            follow=follow,
        )
        ended.append(found)
        best = max(ended, key=lambda one: (one.converged, -one.cost))
        if until_two_agree and sum(_agrees(one, best) for one in ended) > 1:
            break
    pull = greatest_pull_up(held, muscles, best.strength, start=pull_like)
    progress(1.0, "done")
    seconds = sum(one.seconds for one in ended) + pull.solution.seconds
    return _muscle_up(best, pull, len(ended) + 1, seconds)


def _agrees(one: Solution, best: Solution) -> bool:
    return one.converged and best.converged and one.strength - best.strength < SAME_STRENGTH


def polished(
    coarse: MuscleUp,
    body: Body,
    attempt: Attempt,
    variant: Variant = VARIANTS[0],
    *,
    push: float | None = None,
    speed: float = 1.0,
) -> MuscleUp:
    """Solve once more on a fine mesh, good enough to be replayed in another engine.

    Parameters
    ----------
    coarse : MuscleUp
        From :func:`easiest_muscle_up` with the same other arguments, without a pause.

    Returns
    -------
    MuscleUp
        The coarse one when the fine mesh did not converge.
    """
    held, muscles = shaped(body, variant), _own_muscles(variant, push, speed)
    fine = problem(*POLISH)
    found = fine.solve(
        _limits(fine, attempt, held),
        parameters(held, muscles),
        _WEIGHTS,
        fine.start_like(coarse.solution, SEARCH),
        swing_rad=math.radians(attempt.swing_deg),
        rate_per_s=ACTIVATION_RATE_PER_S,
        follow=True,
    )
    if not found.converged:
        return coarse
    pull = greatest_pull_up(held, muscles, found.strength, start=coarse.pull.solution)
    spent = coarse.seconds + found.seconds + pull.solution.seconds
    return _muscle_up(found, pull, coarse.solves + 2, spent)


def figure(solution: Solution, body: Body, frames: int = 41) -> dict[str, list[list[float]] | list[float]]:
    """Return the movement as a stick figure, evenly spaced in time.

    Returns
    -------
    dict
        ``t_s`` and, for each of elbow, shoulder, hip, knee and ankle, a list of
        [x, y] against the bar in L, x the way the athlete faces, y up.
    """
    t = np.linspace(0, solution.t[-1], frames)
    q = np.array([np.interp(t, solution.t, row) for row in solution.q])
    p = np.zeros(equations().places.size1_in(1))
    p[:SEGMENTS] = body.length_m
    places = (
        np.array([np.asarray(equations().places(q[:, i], p)) for i in range(frames)]) / body.hang_length_m
    )
    names = ("elbow", "shoulder", "hip", "knee", "ankle")
    path: dict[str, list[list[float]] | list[float]] = {"t_s": [round(float(x), 4) for x in t]}
    for i, name in enumerate(names, start=1):
        path[name] = [[round(float(x), 4), round(float(y), 4)] for x, y in places[:, :, i]]
    return path


def _own_muscles(variant: Variant, push: float | None, speed: float) -> Muscles:
    muscles = variant.muscles.faster(speed) if speed != 1 else variant.muscles
    return muscles if push is None else replace(muscles, push=push)


def _limits(task: Problem, attempt: Attempt, body: Body) -> Limits:
    limits = task.limits()
    pull = int(task.edges[1])
    slower = math.sqrt(body.stature_m / STEADY_STATURE_M)
    legs = LEG_DRIVE if attempt.leg_drive else STILL_LEGS if attempt.still else QUIET_LEGS
    limits.angle("hip", *legs["hip"])
    limits.angle("knee", *legs["knee"])
    if not attempt.leg_drive:
        limits.hold("hip_speed", -QUIET_HIP_RAD_S, QUIET_HIP_RAD_S)
    limits.angle("elbow", 0, STRAIGHT_DEG, slice(0, pull + 1))
    limits.hold("force_squared", 0.0, attempt.hand_force_bw**2)
    # Hands hang or press on the bar; a hand pushing up from below the bar would be a cheat.
    limits.hold("force_y", 0.0, np.inf)
    drop = GREATEST_DROP_MPS["still" if attempt.still else "swing"]
    limits.hold("shoulder_speed_y", -drop, np.inf, slice(0 if attempt.still else pull, None))

    limits.v[0][:, 0] = limits.v[1][:, 0] = 0.0
    limits.hold("swing", -0.005, 0.005, 0)
    limits.angle("elbow", 0, 5, 0)
    limits.angle("shoulder", 150, 190, 0)
    limits.angle("hip", legs["hip"][0], 20, 0)
    limits.angle("knee", 0, min(15, legs["knee"][1]), 0)
    limits.u[1][: CONTROL["hip_flexion"], 0] = 0.3

    limits.v[0][:, -1], limits.v[1][:, -1] = -0.05, 0.05
    limits.angle("elbow", 0, 10, -1)
    limits.q[0][0, -1], limits.q[1][0, -1] = -math.pi - 0.35, -math.pi + 0.35
    limits.q[0][2, -1], limits.q[1][2, -1] = -0.6, 0.6
    limits.hold("centre_x", -0.03, 0.03, -1)

    over = int(task.edges[2])
    limits.hold("shoulder_y", 0.0, 0.0, over)
    limits.hold("shoulder_y", -np.inf, 0.0, slice(0, over))
    limits.hold("shoulder_y", 0.0, np.inf, slice(over + 1, None))
    low, high = limits.duration
    low[0], high[0] = SHORTEST_HANG_S, SHORTEST_HANG_S if attempt.still else LATEST_PULL_S
    if attempt.pull_after_s is not None:
        low[0] = high[0] = max(SHORTEST_HANG_S, attempt.pull_after_s)
        limits.u[1][: CONTROL["knee"], :pull] = IDLE_ACTIVATION
    low[1], high[1] = SHORTEST_PULL_S, LONGEST_RISE_S * slower
    limits.first_two[1] = LONGEST_RISE_S * slower
    low[2:], high[2:] = 0.05, LONGEST_PRESS_S * slower
    if attempt.pause_s:
        high[2] = LONGEST_TURN_S * slower
        before, after = int(task.edges[3]), int(task.edges[4])
        low[3] = high[3] = attempt.pause_s
        limits.q[0][0, before] = limits.q[1][0, before] = -math.pi / 2
        limits.u[1][: CONTROL["hip_flexion"], before : after + 1] = PAUSE_ACTIVATION
    limits.strength[:] = [0.2, 6.0]
    return limits


def _guess(task: Problem, attempt: Attempt, hang_s: float, pull_s: float, press_s: float) -> np.ndarray:
    """Return a first guess through postures every muscle-up passes."""
    th = math.radians(attempt.swing_deg)
    whole = hang_s + pull_s + press_s
    over = (hang_s + pull_s) / whole
    postures = (
        (0.0, (th, th, th + 0.1, th, th - 0.2)),
        (0.45 * over, (0.2, -0.3, 0.3, 0.8, 0.2)),
        (0.85 * over, (0.0, -1.8, 0.25, 1.0, 0.3)),
        (over, (-0.3, -2.9, 0.1, 0.6, 0.2)),
        (over + 0.2 * (1 - over), (-1.2, -3.7, -0.4, 0.2, 0.0)),
        (over + 0.4 * (1 - over), (-2.2, -4.2, -0.7, -0.2, -0.3)),
        (1.0, (-3.14, -3.2, -0.15, -0.1, -0.2)),
    )
    if attempt.pull_after_s is not None:
        pull_s, hang_s = max(SHORTEST_PULL_S, hang_s + pull_s - attempt.pull_after_s), attempt.pull_after_s
    durations = [hang_s, pull_s, press_s]
    if attempt.pause_s:
        durations[2:] = [0.2 * press_s, attempt.pause_s, 0.8 * press_s]
    return task.start_from([s for s, _ in postures], [q for _, q in postures], durations, 1.5)


def _muscle_up(found: Solution, pull: PullUp, solves: int, seconds: float) -> MuscleUp:
    t = found.t

    def first(passed: np.ndarray) -> float:
        return float(t[int(np.argmax(passed))]) if passed.any() else float(t[-1])

    said = ""
    if not found.converged:
        said = f"The search for a way over the bar did not converge ({found.status})."
    elif not pull.converged:
        said = "The model's pull-up did not converge."
    return MuscleUp(
        least_R=pull.R,
        strength=found.strength,
        converged=found.converged and pull.converged,
        said=said,
        pull_after_s=first(found.row("elbow") > math.radians(STRAIGHT_DEG)),
        shoulder_over_s=float(found.durations[:2].sum()),
        turned_s=first(found.q[0] < -math.pi / 2),
        support_s=float(t[-1]),
        peak_hand_force_bw=float(np.sqrt(found.row("force_squared").max())),
        solution=found,
        pull=pull,
        solves=solves,
        seconds=seconds,
    )
