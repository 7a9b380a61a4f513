"""The height of a top: of a curve with errors the highest point is an error's, so a parabola tells it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overbar.film.reading import Measured

Array = NDArray[np.float64]

WINDOW_S = 0.3
"""Length of the parabola, s: over it a body in free flight moves on one, and a hold stands still. On films
with known truth it halves the scatter of tops against the highest point of the curve."""
NEAR_TOP_L = 0.06
"""Frames this close under the highest one are tried as the top, L (own judgement: twice a height's sd)."""
READS_HIGH_L = 0.005
"""What the highest of several parabolas still lies over the top (own measurement: 111 tops)."""


def top_height(t_s: Array, height: Array, sd: Array, first: int, last: int) -> Measured:
    """Return the height of the top between two frames, in L.

    Parameters
    ----------
    t_s, height, sd : ndarray, shape (n,)
        The whole film's times in s, heights and their one-sigma errors in L.
    first, last : int
        First and last frame of the way.

    Examples
    --------
    >>> t = np.arange(60) / 30
    >>> flight = 0.3 - 4.9 * (t - 1.0) ** 2 / 0.68
    >>> round(top_height(t, flight, np.full(60, 0.02), 20, 40).value + READS_HIGH_L, 6)
    0.3
    """
    way = height[first : last + 1]
    highest = first + int(way.argmax())
    tried = first + np.nonzero(way > height[highest] - NEAR_TOP_L)[0]
    # At the corner of a hold a parabola overshoots: the top is never over the highest point.
    best = min(max(_parabola(t_s, height, int(frame)) for frame in tried), float(height[highest]))
    return Measured(best - READS_HIGH_L, float(sd[highest]))


def _parabola(t_s: Array, height: Array, frame: int) -> float:
    """Return the parabola's height at one frame; the curve's own where too few frames are near."""
    near = np.abs(t_s - t_s[frame]) <= WINDOW_S / 2
    if near.sum() < 5 or frame in (0, len(t_s) - 1):
        return float(height[frame])
    return float(np.polyfit(t_s[near] - t_s[frame], height[near], 2)[2])
