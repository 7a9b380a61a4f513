"""The grip on the bar: its width from the front or behind, and from the front a hand that moves on it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overbar.film.motion import Motion
from overbar.film.phases import Mask, Phases, runs
from overbar.film.reading import Measured
from overbar.film.reps import HANG_DEPTH
from overbar.film.view import Looking

Array = NDArray[np.float64]

SHOULDERS_L = 0.607
"""Shoulder width (acromion to acromion) in L: 0.2306 of stature, the mean of men and women (ANSUR II,
handbook science.md section 4.4), over L at 0.380 of stature."""
WIDTH_RATIO_SD = 0.10
"""One-sigma error of hand distance over shoulder width: 5 % between people (same place), the rest by the
hands."""
SHIFT_SD_L = 0.02
"""One-sigma error of a hand's shift along the bar, L (own measurement on films whose hands stay where they
are)."""
COMPARED_S = 0.5
"""A hand's place before and after is the median over this time, s (own judgement)."""
LEAST_S = 0.25
"""Time of hang needed on both sides of a shift, s (own judgement)."""


def width_ratio(motion: Motion, looking: Looking, phases: Phases) -> tuple[Measured, float] | None:
    """Return hand distance over shoulder width in the hang and the time it is first seen, or None."""
    if not looking.shows_both_sides or not phases.hanging.any():
        return None
    ratio = float(np.median(motion.hands_apart[phases.hanging])) / SHOULDERS_L
    return Measured(ratio, WIDTH_RATIO_SD), float(motion.t_s[phases.hanging.argmax()])


def hand_shift(motion: Motion, looking: Looking, phases: Phases) -> tuple[Measured, float] | None:
    """Return how far a hand moved along the bar without leaving it, in L, and when; None if not seen.

    The distance between the hands is used, which a moving camera leaves alone: both
    hands hardly ever slide the same way at once.
    """
    if looking.view.kind != "front":
        # From behind the nets guess hands that the arms hide: still hands were seen to move by 0.14 L.
        return None
    best: tuple[float, float] | None = None
    for first, last in runs(phases.on_bar):
        hanging = np.nonzero((motion.shoulder < -HANG_DEPTH)[first : last + 1])[0] + first
        for shift, at_s in _shifts(motion, hanging):
            if best is None or shift > best[0]:
                best = shift, at_s
    return None if best is None else (Measured(best[0], SHIFT_SD_L), best[1])


def _shifts(motion: Motion, hanging: NDArray[np.intp]) -> list[tuple[float, float]]:
    """Return the change of the hands' distance over each moment of a hang, with the moment."""
    if len(hanging) < 4:
        return []
    t, apart = motion.t_s[hanging], motion.hands_apart[hanging]
    frame = float(np.median(np.diff(motion.t_s)))
    found = []
    for at in t[:: max(1, round(0.1 / frame))]:
        before: Mask = (t <= at) & (t > at - COMPARED_S)
        after: Mask = (t > at) & (t <= at + COMPARED_S)
        if min(before.sum(), after.sum()) * frame >= LEAST_S:
            found.append((abs(float(np.median(apart[after]) - np.median(apart[before]))), float(at)))
    return found
