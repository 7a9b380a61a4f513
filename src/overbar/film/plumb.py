"""Which way is down in the picture: the camera's roll, from uprights and from the hanging body.

A phone leaned against a bottle is a few degrees askew, which at five degrees moves a
point a hang length below the bar by 0.09 L fore or aft. Three witnesses are weighed:
people hold a phone about level; a body that hangs has its mass under its hands; posts,
walls and door frames stand plumb.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from overbar.film.decode import Picture
from overbar.film.reading import Measured

Array = NDArray[np.float64]

LEVEL_SD_DEG = 3.0
"""One-sigma roll of phone films before anything is seen (own judgement)."""
BODY_SD_DEG = 2.5
"""One-sigma error of the line from hands to mass centre in the hang (own measurement on 40 films with known
truth)."""
UPRIGHT_SD_DEG = 0.5
"""One-sigma error of the lean of the uprights that stand together (own judgement)."""
STANDS = 8
"""Parts of the picture's width in which all uprights count as one."""
SEARCHED_DEG = 12.0
"""Lines further from plumb than this are no uprights."""
TOGETHER_DEG = 1.0
"""Lines this close to one roll agree on it (own judgement)."""
SHORTEST_SHARE = 0.08
"""Shorter lines, in picture heights, are left out."""
LEAST_LENGTH = 0.5
"""Length of agreeing lines, in picture heights, that makes a witness (own judgement)."""
LEAN_PER_WIDTH_DEG = 6.0
"""Uprights lean apart over the width of a picture by this, one sigma, since a camera that looks up or down
sees them converge: a pitch of 5 degrees."""
_WIDTH = 960


def uprights(picture: Picture, athlete: tuple[float, float, float]) -> Array:
    """Return the lines near plumb outside the athlete's region.

    Parameters
    ----------
    picture : ndarray of uint8, shape (height, width, 3)
        A picture of the film.
    athlete : (float, float, float)
        Middle and side of the athlete's square region, in pixels.

    Returns
    -------
    ndarray, shape (k, 3)
        Each line's place from the picture's middle (widths), its lean clockwise from plumb (degrees) and its
        length (picture heights).
    """
    step = max(1, round(picture.shape[1] / _WIDTH))
    small = np.ascontiguousarray(picture[::step, ::step, 1])
    lines = cv2.createLineSegmentDetector().detect(small)[0]
    if lines is None:
        return np.zeros((0, 3))
    x1, y1, x2, y2 = lines.reshape(-1, 4).astype(np.float64).T
    high, wide = small.shape
    length = np.hypot(x2 - x1, y2 - y1) / high
    down = np.where(y2 > y1, 1.0, -1.0)
    lean = np.degrees(np.arctan2(-(x2 - x1) * down, np.abs(y2 - y1)))
    x, y, side = (value / step for value in athlete)
    inside = (np.abs((x1 + x2) / 2 - x) < 0.15 * side) & (np.abs((y1 + y2) / 2 - y) < 0.5 * side)
    used = (np.abs(lean) < SEARCHED_DEG + LEAN_PER_WIDTH_DEG) & (length > SHORTEST_SHARE) & ~inside
    return np.stack([((x1 + x2) / 2 / wide - 0.5)[used], lean[used], length[used]], 1)


def roll_of(lines: Array, body_lean_deg: float | None) -> Measured:
    """Return the camera's roll in degrees, positive when the picture's content leans clockwise.

    Parameters
    ----------
    lines : ndarray, shape (k, 3)
        As :func:`uprights` gives them.
    body_lean_deg : float or None
        Lean of the line from the mass centre up to the hands in the hang, clockwise from plumb.
    """
    witnesses = [(0.0, LEVEL_SD_DEG)]
    if body_lean_deg is not None:
        witnesses.append((body_lean_deg, BODY_SD_DEG))
    before = _weighed(witnesses)
    agreeing = _agreeing(lines, before)
    return _with_uprights(agreeing, before) if agreeing[:, 2].sum() >= LEAST_LENGTH else before


def _weighed(witnesses: list[tuple[float, float]]) -> Measured:
    weight = np.array([1 / sd**2 for _, sd in witnesses])
    value = float((weight * [value for value, _ in witnesses]).sum() / weight.sum())
    return Measured(value, float(1 / np.sqrt(weight.sum())))


def _agreeing(lines: Array, before: Measured) -> Array:
    """Return the lines that share one roll, a pitched camera's convergence allowed for."""
    if not len(lines):
        return lines
    place, lean, length = lines.T
    rolls = np.arange(-SEARCHED_DEG, SEARCHED_DEG + 0.01, 0.25)
    pitches = LEAN_PER_WIDTH_DEG * np.linspace(-2.5, 2.5, 31)
    off = lean[:, None, None] - rolls[:, None] - pitches * place[:, None, None]
    agree = (length[:, None, None] * np.exp(-0.5 * (off / (TOGETHER_DEG / 2)) ** 2)).sum(0)
    # A body whose arms were misread must not outvote the lines: level alone may explain them as well.
    by_body = np.exp(-0.5 * ((rolls - before.value) / before.sd) ** 2)
    likely = np.maximum(by_body, np.exp(-0.5 * (rolls / LEVEL_SD_DEG) ** 2))[:, None]
    likely = likely * np.exp(-0.5 * (pitches / LEAN_PER_WIDTH_DEG) ** 2)
    roll, pitch = np.unravel_index((agree * likely).argmax(), agree.shape)
    return lines[np.abs(lean - rolls[roll] - pitches[pitch] * place) < TOGETHER_DEG]


def _with_uprights(lines: Array, before: Measured) -> Measured:
    """Return the roll after lines that agree: least squares for roll and convergence, both held by priors."""
    place, lean, length = lines.T
    stand = np.minimum(((place + 0.5) * STANDS).astype(int), STANDS - 1)
    matrix = np.diag([1 / before.sd**2, 1 / LEAN_PER_WIDTH_DEG**2])
    right = np.array([before.value / before.sd**2, 0.0])
    for one in np.unique(stand):
        here = stand == one
        row = np.array([1.0, np.average(place[here], weights=length[here])])
        matrix += np.outer(row, row) / UPRIGHT_SD_DEG**2
        right += row * np.average(lean[here], weights=length[here]) / UPRIGHT_SD_DEG**2
    spread = np.linalg.inv(matrix)
    return Measured(float((spread @ right)[0]), float(np.sqrt(spread[0, 0])))
