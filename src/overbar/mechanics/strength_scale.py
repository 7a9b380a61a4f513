"""The athlete's strength in the model: one number scales the arms to the pull-up, one the push to the dip.

The strict pull-up of the model is slow: the shoulder may not rise faster than a
maximal pull-up does. Without that cap the optimum drops and catches itself, and the
greatest load is no longer a steady function of strength.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from overbar.mechanics.collocation import Limits, Problem, Solution, problem
from overbar.mechanics.dynamics import parameters
from overbar.mechanics.joint_torque import Muscles
from overbar.mechanics.segments import Body

PULL_MESH = (16,)
DIP_MESH = (14,)

STEADY_SPEED_MPS = 0.35
"""Greatest shoulder speed of a maximal pull-up at :data:`STEADY_STATURE_M`: the mean speed at the maximum
is 0.15 to 0.30 m/s (Sanchez-Moreno et al. 2017, Beckham et al. 2018). Own judgement."""

STEADY_TIME_S = 3.0
"""Longest maximal pull-up: 0.61 m of travel at 0.20 m/s (the same sources). Longer ones sway their way up."""

STEADY_STATURE_M = 1.75
"""Stature of both; speeds and times scale with the root of stature."""

STILL_SWAY_M = 0.03
"""How far the centre of mass may leave the line under the bar in a strict pull-up, in m (own judgement:
about twice what the hands alone can hold still)."""

LIVELY_SWAY_M = 0.06
"""The same in a fast strict pull-up (own judgement)."""

LIVELY_FORCE_BW = 2.5
"""Greatest resultant hand force allowed in a lively pull-up, in body weights (own judgement)."""

TRUNK_IN_DIP_DEG = (-50.0, 15.0)
"""Trunk from upright in the straight-bar dip, forward lean negative (own judgement): without it the
model tips over into a lever no one would call a dip."""

HEAVIEST = {"load": 1.0, "activation": 1e-3, "acceleration": 1e-6, "change": 1e-3}
"""Cost of a maximal lift: the load, and a little smoothing."""

_PULL_POSTURES = ((0.0, 0.0, 0.05, 0.05, 0.05), (0.25, -1.3, 0.1, 0.1, 0.1), (0.0, -2.5, 0.1, 0.1, 0.1))
_DIP_POSTURES = (
    (-2.9, -4.7, -0.5, -0.4, -0.4),
    (-3.0, -4.0, -0.3, -0.3, -0.3),
    (-3.14, -3.2, -0.15, -0.1, -0.2),
)


@dataclass(frozen=True)
class PullUp:
    """A model pull-up or dip.

    Attributes
    ----------
    R : float
        System mass over body mass.
    converged : bool
    mean_speed_mps : float
        Mean rise speed of the shoulder.
    peak_hand_force_bw : float
        Largest resultant hand force in weights of body and load.
    solution : Solution
    """

    R: float
    converged: bool
    mean_speed_mps: float
    peak_hand_force_bw: float
    solution: Solution


def greatest_pull_up(
    body: Body,
    muscles: Muscles,
    strength: float,
    *,
    mesh: tuple[int, ...] = PULL_MESH,
    start: Solution | None = None,
) -> PullUp:
    """Return the heaviest strict, slow, straight-legged pull-up from a dead hang.

    Parameters
    ----------
    strength : float
        Arm strength; 1 is the reference torque.
    start : Solution, optional
        A neighbouring solution of the same mesh to start from.

    Returns
    -------
    PullUp
        ``R`` is body and added load over body mass.
    """
    task, limits, guess = steady_pull_up(body, strength, mesh=mesh)
    if start:
        guess = task.again(start)
    found = task.solve(limits, parameters(body, muscles), HEAVIEST, guess, follow=start is not None)
    return _pull_up(found, body)


def steady_pull_up(
    body: Body, strength: float, *, mesh: tuple[int, ...] = PULL_MESH
) -> tuple[Problem, Limits, np.ndarray]:
    """Return the problem, the bounds and a first guess of the slow, strict pull-up; load is free."""
    task = problem(*mesh)
    limits = _strict_pull(task, STILL_SWAY_M)
    slower = math.sqrt(body.stature_m / STEADY_STATURE_M)
    limits.hold("shoulder_speed_y", -0.01, STEADY_SPEED_MPS * slower)
    limits.hold("force_squared", 0.0, 1.3**2)
    limits.duration[0][:], limits.duration[1][:] = 1.0, STEADY_TIME_S * slower
    limits.strength[:] = [strength, strength]
    limits.load[:] = [-0.95, 5.0]
    guess = task.start_from((0.0, 0.5, 1.0), _PULL_POSTURES, [2.5], strength, load=1.3 * strength - 1.0)
    return task, limits, guess


def lively_pull_up(
    body: Body,
    muscles: Muscles,
    strength: float,
    *,
    seconds: float | None = None,
    mesh: tuple[int, ...] = PULL_MESH,
) -> PullUp:
    """Return a lively strict, straight-legged pull-up from a dead hang.

    Parameters
    ----------
    seconds : float, optional
        Duration; the pull-up is then the smoothest of that pace. Without it the
        pull-up is the fastest possible.
    """
    task = problem(*mesh)
    limits = _strict_pull(task, LIVELY_SWAY_M)
    limits.hold("shoulder_speed_y", -0.01, 5.0)
    limits.hold("force_squared", 0.0, LIVELY_FORCE_BW**2)
    limits.duration[0][:], limits.duration[1][:] = (seconds, seconds) if seconds else (0.3, 1.6)
    limits.strength[:] = [strength, strength]
    smooth = {"activation": 1e-2, "acceleration": 1e-2, "change": 1e-3}
    fast = {"duration": 1.0, "activation": 1e-3, "acceleration": 1e-6, "change": 1e-3}
    weights = smooth if seconds else fast
    guess = task.start_from((0.0, 0.5, 1.0), _PULL_POSTURES, [seconds or 0.9], strength)
    return _pull_up(task.solve(limits, parameters(body, muscles), weights, guess), body)


def greatest_dip(
    body: Body, muscles: Muscles, strength: float, *, mesh: tuple[int, ...] = DIP_MESH
) -> PullUp:
    """Return the heaviest slow straight-bar dip, from elbows at 90 degrees or deeper to straight arms."""
    task = problem(*mesh)
    limits = task.limits()
    limits.angle("hip", -10, 25)
    limits.angle("knee", 0, 5)
    low, high = (math.radians(x) for x in TRUNK_IN_DIP_DEG)
    limits.q[0][2], limits.q[1][2] = low, high
    limits.q[0][0], limits.q[1][0] = (-math.pi + math.radians(x) for x in (-35, 35))
    slower = math.sqrt(body.stature_m / STEADY_STATURE_M)
    limits.hold("shoulder_speed_y", -0.02, STEADY_SPEED_MPS * slower)
    limits.hold("force_y", 0.0, 1.3)
    limits.v[0][:, [0, -1]], limits.v[1][:, [0, -1]] = -0.02, 0.02
    limits.angle("elbow", 90, 150, 0)
    limits.angle("elbow", 0, 10, -1)
    limits.hold("centre_x", -0.03, 0.03, -1)
    limits.duration[0][:], limits.duration[1][:] = 0.8, STEADY_TIME_S * slower
    limits.strength[:] = [strength, strength]
    limits.load[:] = [-0.95, 5.0]
    best: PullUp | None = None
    for seconds, load in ((1.8, 0.3), (2.5, -0.2)):
        guess = task.start_from((0.0, 0.5, 1.0), _DIP_POSTURES, [seconds], strength, load=load)
        found = _pull_up(task.solve(limits, parameters(body, muscles), HEAVIEST, guess), body)
        if best is None or (found.converged, found.R) > (best.converged, best.R):
            best = found
    assert best is not None
    return best


def arm_strength(body: Body, muscles: Muscles, R: float, *, tolerance: float = 1e-3) -> float:
    """Return the arm strength whose greatest pull-up is the athlete's R.

    The greatest load is almost a straight line in strength, so that the secant
    rule needs three or four solves.
    """
    a, b = 0.62 * R, 0.68 * R
    first = greatest_pull_up(body, muscles, a)
    second = greatest_pull_up(body, muscles, b, start=first.solution)
    low, high = first.R, second.R
    for _ in range(6):
        if abs(high - R) < tolerance:
            break
        guess = b + (R - high) * (b - a) / (high - low)
        again = greatest_pull_up(body, muscles, guess, start=second.solution)
        a, low, b, high = b, high, guess, again.R
    return b


def _strict_pull(task: Problem, sway_m: float) -> Limits:
    limits = task.limits()
    limits.angle("hip", 0, 10)
    limits.angle("knee", 0, 5)
    limits.v[0][:, 0] = limits.v[1][:, 0] = 0.0
    limits.hold("swing", -0.01, 0.01, 0)
    limits.angle("elbow", 0, 5, 0)
    limits.angle("shoulder", 150, 190, 0)
    limits.hold("centre_x", -sway_m, sway_m)
    limits.q[0][2], limits.q[1][2] = (math.radians(x) for x in (-45, 45))
    limits.hold("chin_y", 0.0, np.inf, -1)
    limits.hold("force_y", 0.0, np.inf)
    return limits


def _pull_up(solution: Solution, body: Body) -> PullUp:
    height = solution.row("shoulder_y")
    return PullUp(
        R=1.0 + solution.load / sum(body.mass),
        converged=solution.converged,
        mean_speed_mps=float((height[-1] - height[0]) / solution.t[-1]),
        peak_hand_force_bw=float(np.sqrt(solution.row("force_squared").max())),
        solution=solution,
    )
