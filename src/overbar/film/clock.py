"""Whether a film's clock can be right: slow motion stored at the playing rate.

A body that swings on straight arms keeps time: its period follows from its size alone
and needs no scale in the picture. A film that plays four times slower than life shows a
swing four times too long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from overbar.film.motion import Motion
from overbar.film.phases import Phases, Pull
from overbar.film.reading import Attempt, FoundFault, Measured, Problem, Reading, Rep
from overbar.film.reps import out_of_swing
from overbar.film.view import Looking

PERIOD_S, OF_STATURE_M = 2.20, 1.738
"""Period of a small swing on straight arms, and the stature it is of (handbook science.md section 3.3: 2.22 s
for a man of 1.741 m, 2.17 s for a woman of 1.735 m). It grows with the root of the stature."""
SLOWER_FROM = 1.5
"""A swing longer than its body allows by this factor is not of this clock: large swings take 5 % longer, one
on bent arms or with raised knees is shorter."""
FACTORS = (2.0, 4.0, 8.0, 16.0)
"""How many times slower than life phones play their slow motion (common practice: 60 to 480 frames
taken, 30 played)."""
CLOSE_BY = 1.3
"""A swing this close to one of the factors, as a ratio, tells it (own judgement; the next lies 2 away)."""
HALVES_ALIKE = 0.35
"""Half swings that differ by more, as a share of their mean, are no free swing (own judgement)."""
SLOWEST_PULL_S = 1.6
"""A pull out of a swing is over before the swing has turned back: half a period and its half again."""

QUICKEST_PULL_S = 0.4
"""No pull out of a swing reaches the bar, or its top, sooner (own measurement: 0.43 to 1.0 s in 77 drawn and
modelled pulls): one that seems to take less than twice this is not played twice too slow."""
QUICKEST_STRICT_MPS = 2.4
"""No strict pull-up rises faster at its fastest (own judgement: good athletes reach 1.5 to 2)."""

REFUSED = "Times and speeds are not given; heights are. Send the film as it was taken, not as slow motion."


@dataclass(frozen=True)
class Clock:
    """How the film's time stands to life's.

    Attributes
    ----------
    slowed : float
        The film plays this many times slower than life.
    trusted : bool
        Whether times and speeds can be given.
    say : str
        What was found, in words; empty when all is as it should be.
    checked : bool
        Whether the file or the motion tells that the clock is right.
    """

    slowed: float = 1.0
    trusted: bool = True
    say: str = ""
    checked: bool = True


def clock_of(
    motion: Motion, looking: Looking, phases: Phases, stature_m: float, declared: float | None
) -> Clock:
    """Tell a film's clock.

    Parameters
    ----------
    motion, looking, phases
        The film, in its own time.
    stature_m : float
        The athlete's stature in m.
    declared : float or None
        How many times slower than life the file itself says it plays.
    """
    if declared is not None and declared >= SLOWER_FROM:
        return Clock(
            declared,
            True,
            f"Slow motion: the file says it plays {declared:g} times slower than life; times are corrected.",
        )
    expected = PERIOD_S * math.sqrt(stature_m / OF_STATURE_M)
    halves = _half_swings(motion, phases)
    ratio = 2 * float(np.median(halves)) / expected if halves else 1.0
    if ratio >= SLOWER_FROM:
        seen = f"a swing lasts {ratio * expected:.1f} s where this body swings in {expected:.1f} s"
        nearest = min(FACTORS, key=lambda factor: abs(math.log(ratio / factor)))
        alike = len(halves) > 1 and np.ptp(halves) < HALVES_ALIKE * float(np.mean(halves))
        if alike and abs(math.log(ratio / nearest)) < math.log(CLOSE_BY):
            return Clock(
                nearest,
                True,
                f"Slow motion: {seen}; times and speeds are corrected for a film {nearest:g} times too slow.",
            )
        return Clock(1.0, False, f"The film's clock cannot be right: {seen}. {REFUSED}")
    swung = [pull for pull in phases.pulls if out_of_swing(motion, looking, pull)]
    slow = [_pull_s(motion, pull) for pull in swung]
    if slow and min(slow) > SLOWEST_PULL_S:
        return Clock(
            1.0,
            False,
            f"The film's clock cannot be right: a pull out of a swing takes {min(slow):.1f} s. {REFUSED}",
        )
    told = declared is not None or not (phases.pulls or phases.turns)
    if told or _free(halves, ratio) or _quick(motion, phases, swung):
        return Clock()
    return Clock(
        1.0,
        True,
        "Nothing in this film tells that it is not slow motion: times and speeds are as the file gives them.",
        checked=False,
    )


def _free(halves: list[float], ratio: float) -> bool:
    """Say whether half swings are those of a free swing in life's time."""
    alike = len(halves) > 1 and bool(np.ptp(halves) < HALVES_ALIKE * float(np.mean(halves)))
    return alike and 1 / CLOSE_BY < ratio < CLOSE_BY


def _quick(motion: Motion, phases: Phases, swung: list[Pull]) -> bool:
    """Say whether a pull is so quick that the film cannot be played twice too slow."""
    if any(_pull_s(motion, pull) < FACTORS[0] * QUICKEST_PULL_S for pull in swung):
        return True
    strict = [pull for pull in phases.pulls if pull not in swung and not pull.from_above]
    fastest = [float(motion.rise[pull.start : pull.top + 1].max()) * motion.length_m for pull in strict]
    return bool(fastest) and max(fastest) > QUICKEST_STRICT_MPS / FACTORS[0]


def _half_swings(motion: Motion, phases: Phases) -> list[float]:
    """Return the times between turning points of one hang without a pull between, in s."""
    found = []
    for one, other in pairwise(phases.turns):
        between = slice(one.frame, other.frame + 1)
        if one.side != other.side and phases.hanging[between].all():
            found.append(float(motion.t_s[other.frame] - motion.t_s[one.frame]))
    return found


def _pull_s(motion: Motion, pull: Pull) -> float:
    """Return the time from a pull's start to the bar, or to its top below it."""
    over = np.nonzero(motion.shoulder[pull.start : pull.top + 1] > 0)[0]
    end = pull.start + int(over[0]) if len(over) else pull.top
    return float(motion.t_s[end] - motion.t_s[pull.start])


def in_film_time(reading: Reading, slowed: float) -> Reading:
    """Return a reading whose moments are seconds of the film again; durations and speeds stay life's."""
    if slowed == 1.0:
        return reading

    def film_s(at_s: float) -> float:
        return round(at_s * slowed, 4)

    return replace(
        reading,
        events=tuple(
            replace(event, at_s=film_s(event.at_s), sd_s=film_s(event.sd_s)) for event in reading.events
        ),
        reps=tuple(
            replace(rep, from_s=film_s(rep.from_s), top_s=film_s(rep.top_s), to_s=film_s(rep.to_s))
            for rep in reading.reps
        ),
        attempts=tuple(
            replace(attempt, from_s=film_s(attempt.from_s), to_s=film_s(attempt.to_s))
            for attempt in reading.attempts
        ),
        faults=tuple(replace(fault, at_s=film_s(fault.at_s)) for fault in reading.faults),
        joints=replace(reading.joints, t_s=tuple(film_s(t) for t in reading.joints.t_s)),
        curves=replace(reading.curves, t_s=tuple(film_s(t) for t in reading.curves.t_s)),
    )


def without_times(
    reps: tuple[Rep, ...], attempts: tuple[Attempt, ...], faults: tuple[FoundFault, ...]
) -> tuple[tuple[Rep, ...], tuple[Attempt, ...], tuple[FoundFault, ...]]:
    """Return reps, attempts and faults without what rests on a clock that cannot be right."""
    kept = [fault for fault in faults if not of_time(fault.measure)]
    return (
        tuple(
            replace(rep, mean_speed_mps=None, peak_speed_mps=None, measures=_kept(rep.measures))
            for rep in reps
        ),
        tuple(replace(attempt, measures=_kept(attempt.measures)) for attempt in attempts),
        tuple(replace(fault, rank=rank) for rank, fault in enumerate(kept, 1)),
    )


def _kept(measures: dict[str, Measured]) -> dict[str, Measured]:
    return {name: value for name, value in measures.items() if not of_time(name)}


def of_time(measure: str) -> bool:
    """Say whether a measure rests on the film's clock, by its unit."""
    return measure.endswith(("_s", "_mps", "_ms", "_spread"))


def remark(clock: Clock) -> tuple[Problem, ...]:
    """Return what a person should know of the clock."""
    if not clock.say:
        return ()
    if not clock.checked:
        return (Problem("clock_unchecked", clock.say),)
    return (Problem("slow_motion" if clock.trusted else "wrong_clock", clock.say),)
