"""The upper end of the gripping hands, seen in narrow strips of the picture along the forearms.

The nets place the wrist of a hanging arm too low by up to a hand's length where a
post or bracket stands in line with it; the picture itself shows where skin ends
and the bar begins. The strips are cut while the film is read, so that nothing of
the film itself has to be kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from overbar.film.decode import Picture

Array = NDArray[np.float64]

HIGH, WIDE = 112, 40
"""Size of a strip in its own pixels."""
TRUNK_PER_PIXEL = 0.0125
"""Size of a strip's pixel in trunk lengths: 6 mm."""
MOST_STRIPS = 90
SKIN_SD_FLOOR = (9.6, 2.2, 2.2)
"""Least spread of skin colour (lightness, a, b of CIELAB in 8 bits); lightness varies most with shade."""
SKIN_LIMIT = 2.6
"""Colour distance, in spreads, up to which a pixel is skin."""
WIDEST_ARM = 0.31
"""A forearm wider than this (trunk lengths) is not told from its background."""
BREAK_ROWS = 4
"""Rows without skin that end a hand: a joint between bricks is thinner, a bar is not."""
HAND_AND_MORE = 62
"""Rows above the forearm's core the hand can reach: 0.4 m."""
_CORE_BELOW_WRIST, _CORE_HALF_WIDTH, _EDGE = 8, 3, 6


@dataclass(frozen=True)
class Strips:
    """Strips of both arms in frames where the arms were up.

    Attributes
    ----------
    frame : ndarray of int, shape (k,)
        Frame of each pair.
    pictures : ndarray of uint8, shape (k, 2, HIGH, WIDE, 3)
        Left and right arm; the bottom middle lies at the elbow.
    place : ndarray, shape (k, 2, 4)
        Left edge, top edge and size of a strip pixel, in pixels of the film; row of the wrist.
    """

    frame: NDArray[np.int64]
    pictures: NDArray[np.uint8]
    place: Array


def cut_strip(picture: Picture, elbow: Array, wrist: Array, trunk_px: float) -> tuple[Picture, Array]:
    """Cut the strip that runs up from an elbow past its hand."""
    size = trunk_px * TRUNK_PER_PIXEL
    left = 0.7 * wrist[0] + 0.3 * elbow[0] - size * WIDE / 2
    top = elbow[1] - size * HIGH
    move = np.array([[size, 0.0, left], [0.0, size, top]])
    strip = cv2.warpAffine(
        picture,
        move,
        (WIDE, HIGH),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(strip, np.uint8), np.array([left, top, size, (wrist[1] - top) / size])


def hand_ends(strip: Picture, wrist_row: float) -> tuple[float | None, float | None, float | None]:
    """Return the row where the hand ends upwards, told in three ways.

    By skin colour: sure on plain grounds. By cutting the arm out: sure on patterned
    and noisy ones. Column by column, where the bar breaks the skin off: the last
    resort before a ground of the colour of skin. Each is None where it fails.

    Parameters
    ----------
    strip : ndarray of uint8, shape (HIGH, WIDE, 3)
        The strip.
    wrist_row : float
        Row of the wrist by the nets.
    """
    first = int(np.clip(wrist_row + _CORE_BELOW_WRIST, 20, HIGH - 24))
    soft = np.asarray(cv2.GaussianBlur(strip, (3, 3), 0), np.uint8)
    skin = _skin(soft, first)
    opened = np.asarray(cv2.morphologyEx(skin, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8)), np.uint8)
    by_cut = _top(_cut_out(soft, first), first, 0.3, _reach_up(first))
    return _top(opened, first, 0.25, 0), by_cut, _broken_off(skin, first)


def _reach_up(first: int) -> int:
    return max(3, first - HAND_AND_MORE)


def _skin(soft: Picture, first: int) -> NDArray[np.uint8]:
    lab = cv2.cvtColor(soft, cv2.COLOR_RGB2LAB).astype(np.float64)
    middle = slice(WIDE // 2 - _CORE_HALF_WIDTH, WIDE // 2 + _CORE_HALF_WIDTH + 1)
    sample = lab[first : HIGH - _EDGE, middle].reshape(-1, 3)
    usual = np.median(sample, axis=0)
    spread = np.maximum(1.48 * np.median(np.abs(sample - usual), axis=0), SKIN_SD_FLOOR)
    return (np.sqrt((((lab - usual) / spread) ** 2).mean(2)) < SKIN_LIMIT).astype(np.uint8)


def _broken_off(skin: NDArray[np.uint8], first: int) -> float | None:
    """Return the row at which columns along the arm lose the skin for good."""
    ends = []
    for middle in range(WIDE // 2 - 5, WIDE // 2 + 6):
        column = skin[:, middle - 1 : middle + 2].mean(1) >= 0.5
        if column[first : first + 12].mean() < 0.7:
            continue
        row = first
        while row > BREAK_ROWS and column[row - BREAK_ROWS : row].any():
            row -= 1
        if row > BREAK_ROWS:
            ends.append(row + int(np.argmax(column[row:])))
    # Beside the bar a ground of skin colour runs on upwards: the lowest end several columns share counts.
    shared = [one for one in ends if sum(abs(other - one) <= 3 for other in ends) >= 3]
    return float(np.median([one for one in shared if max(shared) - one <= 3])) if shared else None


def _cut_out(soft: Picture, first: int) -> NDArray[np.uint8]:
    """Cut the arm out by graph cut (Rother, Kolmogorov and Blake 2004) from a core that is surely arm."""
    mask = np.full((HIGH, WIDE), cv2.GC_PR_BGD, np.uint8)
    middle = WIDE // 2
    mask[:, middle - 8 : middle + 8] = cv2.GC_PR_FGD
    mask[: _reach_up(first)] = cv2.GC_BGD
    mask[:, :2] = mask[:, -2:] = cv2.GC_BGD
    mask[first : HIGH - _EDGE, middle - 2 : middle + 3] = cv2.GC_FGD
    ground, arm = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)
    cv2.grabCut(np.ascontiguousarray(soft), mask, None, ground, arm, 3, cv2.GC_INIT_WITH_MASK)  # type: ignore[call-overload]
    return ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8)


def _top(mask: NDArray[np.uint8], first: int, least_share: float, edge: int) -> float | None:
    _, parts = cv2.connectedComponents(mask, connectivity=8)
    core = parts[first : HIGH - _EDGE, WIDE // 2 - _CORE_HALF_WIDTH : WIDE // 2 + _CORE_HALF_WIDTH + 1]
    inside = core[core > 0]
    if len(inside) < 20:
        return None
    width = (parts == np.bincount(inside).argmax()).sum(1)
    arm = float(np.median(width[first : HIGH - _EDGE]))
    if not 3 <= arm <= WIDEST_ARM / TRUNK_PER_PIXEL:
        return None
    row = first
    while row > 0 and width[row - 1] >= max(2.0, least_share * arm):
        row -= 1
    return float(row) if row > edge + 1 else None
