"""Heights set right for one athlete by three holds whose height is known.

With a foot on a box the athlete holds chin, top of the breastbone and its lower end at
the bar, in one film. Where the shoulder is then is known from the body's measures; what
the film reads there instead is the offset of this athlete's shoulders.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d

from overbar.errors import BadInput
from overbar.film.reading import Calibration, Measured, Offset, Reading

HOLD_HEIGHTS: dict[str, float] = {"chin": -0.19, "breastbone_top": -0.07, "breastbone_low": 0.18}
"""Height of the shoulder joint over the bar in each hold, L: ANSUR II ratios (handbook trade.md, heights),
the last the coach's own threshold. What an athlete's build differs from them belongs to the offset: a
threshold means the part of the body at the bar, not the number."""
HOLD_SD_L, POSE_SD_L = 0.015, 0.03
"""One-sigma errors of one hold: with which it is found again, 1 cm (own judgement); and by which the same
height reads off in a hold and in a pull (own measurement on rendered films of three holds)."""
ATHLETE_SD_L, PART_SD_L = 0.03, 0.02
"""How far athletes' heights read off, one sigma: all heights alike (0.021 L between rendered films, own
measurement, and their build), and each for itself (where chin and chest lie, own judgement)."""
LARGEST_OFFSET_L = 0.15
"""A larger offset is a wrong hold or a wrong bar (own judgement)."""
STILL_MPS, HELD_S = 0.08, 0.8
"""Speed and time of a hold (own judgement)."""
STEADY_S = 0.5
"""The speed of a hold is a mean over this time, s: a body held still trembles, as read, by up to
0.3 m/s from frame to frame (own measurement on a rendered film of three holds)."""
HOLD_BAND_L = (-0.45, 0.45)
"""Heights between which a hold is looked for: over the hang, under the support."""


@dataclass(frozen=True)
class Hold:
    """A place the athlete held: its middle in s of the film, and the shoulder's height as read, L."""

    at_s: float
    height_L: Measured


def holds_of(reading: Reading) -> tuple[Hold, ...]:
    """Return the still places between hang and support, in order of time.

    Parameters
    ----------
    reading : Reading
        A reading without a calibration.
    """
    t = np.array(reading.curves.t_s)
    height, sd = np.array(reading.curves.shoulder_L), np.array(reading.curves.shoulder_sd_L)
    frames = STEADY_S * reading.film.slowed / float(np.median(np.diff(t)))
    drift = uniform_filter1d(np.array(reading.curves.rise_mps), max(1, round(frames)), mode="nearest")
    still = np.abs(drift) < STILL_MPS
    still &= (height > HOLD_BAND_L[0]) & (height < HOLD_BAND_L[1])
    edges = np.diff(np.concatenate([[False], still, [False]]).astype(int))
    found = []
    for first, end in zip(np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0], strict=True):
        if t[end - 1] - t[first] >= HELD_S * reading.film.slowed:
            inside = slice(first, end)
            middle = Measured(float(np.median(height[inside])), float(np.median(sd[inside])))
            found.append(Hold(float((t[first] + t[end - 1]) / 2), middle))
    return tuple(found)


def calibrate(holds: Mapping[str, Measured]) -> Calibration:
    """Return the offset of an athlete's heights from what was read in holds of known height.

    A hold is itself read with an error, so each offset is drawn towards the mean of all and
    that towards none, as far as the spread of athletes and of holds says (best linear
    unbiased prediction): one hold read askew no longer tears two near heights apart.

    Parameters
    ----------
    holds : mapping of str to Measured
        Height read in each hold, by its name in :data:`HOLD_HEIGHTS`.

    Raises
    ------
    BadInput
        No hold, an unknown one, or heights that cannot be of these holds.
    """
    unknown = sorted(set(holds) - set(HOLD_HEIGHTS))
    if unknown or not holds:
        raise BadInput(
            f"holds {unknown} are not known" if unknown else "there is no hold to calibrate by",
            do=f"Name them {', '.join(HOLD_HEIGHTS)}.",
        )
    order = sorted(holds, key=lambda name: holds[name].value)
    read = np.array([holds[name].value for name in order])
    seen = read - np.array([HOLD_HEIGHTS[name] for name in order])
    if order != [name for name in HOLD_HEIGHTS if name in holds] or (np.abs(seen) > LARGEST_OFFSET_L).any():
        said = ", ".join(f"{name} at {hold.value:+.2f} L" for name, hold in holds.items())
        raise BadInput(
            f"these holds cannot be: {said}",
            do="Check which hold is which and where the bar is drawn, or film the holds again.",
        )
    own = ATHLETE_SD_L**2 + PART_SD_L**2 * np.eye(len(order))
    share = own @ np.linalg.inv(own + (HOLD_SD_L**2 + POSE_SD_L**2) * np.eye(len(order)))
    sd = np.sqrt(np.diag(own - share @ own))
    return Calibration(
        tuple(
            Offset(*one)
            for one in zip(read.tolist(), map(Measured, (share @ seen).tolist(), sd.tolist()), strict=True)
        )
    )
