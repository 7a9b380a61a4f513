"""The upper end of the gripping hands, seen in narrow strips of the picture along the forearms.

The nets place the wrist of a hanging arm too low by up to a hand's length where a
post or bracket stands in line with it; the picture itself shows where skin ends
and the bar begins. The strips are cut while the film is read, so that nothing of
the film itself has to be kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from overbar.film.decode import Picture

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

HIGH, WIDE = 112, 40
"""Size of a strip in its own pixels."""
TRUNK_PER_PIXEL = 0.0125
"""Size of a strip's pixel in trunk lengths: 6 mm."""
MOST_STRIPS = 90
SKIN_SD_FLOOR = (9.6, 2.2, 2.2)
"""Least spread of skin colour (lightness, a, b of CIELAB in 8 bits); lightness varies most with shade."""
SKIN_LIMIT = 2.6
"""Colour distance, in spreads, up to which a pixel is skin."""
SHADE_SD, SHINE_SD, TINT_SD = 32.0, 13.0, 3.5
"""The same where the ground is known too: fingers lie in their own shade, so that they are much darker than
the forearm and paler in tint (own judgement)."""
SHADED_LIMIT = 4.0
"""Colour distance, in those spreads, past which nothing is skin."""
COLOUR_BINS = (16, 5, 5)
"""Steps of lightness, a and b in which the colours of the ground are counted."""
HAND_LEAST_WIDTH = (3.0, 0.33)
"""A hand is at least this wide: strip pixels (18 mm), and a share of the forearm's width; an end-on bar is
thinner (own judgement)."""
WIDEST_ARM = 0.31
"""A forearm wider than this (trunk lengths) is not told from its background."""
BREAK_ROWS = 4
"""Rows without skin that end a hand: a joint between bricks is thinner, a bar is not."""
HAND_ROWS = 12
"""Uppermost rows of a hand by which its place across is told: 7 cm."""
FEWEST_CORE, FEWEST_GROUND = 20, 150
"""Fewest pixels of the forearm and of the ground it is told by."""
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


def plumb(strips: Strips, roll_deg: float, pivot: tuple[float, float]) -> Strips:
    """Return strips whose rows tell heights with the camera's roll taken out; the pictures stay."""
    left, top, size = (strips.place[..., k] for k in range(3))
    cosine, sine = np.cos(np.radians(roll_deg)), np.sin(np.radians(roll_deg))
    across, down = left + WIDE / 2 * size - pivot[0], top - pivot[1]
    place = strips.place.copy()
    place[..., 0] = pivot[0] + cosine * across + sine * down - WIDE / 2 * size
    place[..., 1] = pivot[1] - sine * across + cosine * down
    place[..., 2] = size * cosine
    return replace(strips, place=place)


def hand_ends(strip: Picture, wrist_row: float) -> tuple[float | None, float | None, float | None]:
    """Return the row where the hand ends upwards, told in three ways.

    By the odds of skin against the colours of this strip's own ground: finds shaded
    fingers too. By skin colour alone. Column by column, where the bar breaks the
    skin off: the last resort before a ground of the colour of skin. Each is None
    where it fails.

    Parameters
    ----------
    strip : ndarray of uint8, shape (HIGH, WIDE, 3)
        The strip.
    wrist_row : float
        Row of the wrist by the nets.
    """
    first = int(np.clip(wrist_row + _CORE_BELOW_WRIST, 20, HIGH - 24))
    soft = np.asarray(cv2.GaussianBlur(strip, (3, 3), 0), np.uint8)
    lab = cv2.cvtColor(soft, cv2.COLOR_RGB2LAB).astype(np.float64)
    skin = _skin(lab, first)
    opened = np.asarray(cv2.morphologyEx(skin, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8)), np.uint8)
    return _followed(_by_odds(lab, first), first), _top(opened, first, 0.25), _broken_off(skin, first)


def hand_place(strip: Picture, wrist_row: float) -> tuple[float, float] | None:
    """Return column and row of the strip where the hand ends upwards, by the odds of skin; None if not told.

    The column is the middle of the uppermost ``HAND_ROWS`` rows of the hand.
    """
    first = int(np.clip(wrist_row + _CORE_BELOW_WRIST, 20, HIGH - 24))
    soft = np.asarray(cv2.GaussianBlur(strip, (3, 3), 0), np.uint8)
    arm = _by_odds(cv2.cvtColor(soft, cv2.COLOR_RGB2LAB).astype(np.float64), first)
    row = _followed(arm, first)
    if arm is None or row is None:
        return None
    columns = np.nonzero(arm[int(row) : int(row) + HAND_ROWS])[1]
    return float(np.median(columns)), row


def _core(first: int) -> tuple[slice, slice]:
    """Return the rows and columns that surely are forearm."""
    middle = slice(WIDE // 2 - _CORE_HALF_WIDTH, WIDE // 2 + _CORE_HALF_WIDTH + 1)
    return slice(first, HIGH - _EDGE), middle


def _usual(lab: Array, first: int) -> tuple[Array, Array]:
    sample = lab[_core(first)].reshape(-1, 3)
    usual = np.median(sample, axis=0)
    return usual, 1.48 * np.median(np.abs(sample - usual), axis=0)


def _by_odds(lab: Array, first: int) -> Mask | None:
    """Return the arm as the pixels that are skin rather than ground, or None where no arm is told.

    The ground's colours are counted beside the arm found so far, three times over.
    """
    usual, spread = _usual(lab, first)
    away = lab - usual
    # Skin in shade keeps its tint or loses it as it darkens: anything between is no distance.
    tint = usual[1:] - 128.0
    faded = tint * np.clip(lab[..., :1] / max(float(usual[0]), 1.0), 0.3, 1.0)
    away[..., 1:] = lab[..., 1:] - np.clip(
        lab[..., 1:], 128.0 + np.minimum(tint, faded), 128.0 + np.maximum(tint, faded)
    )
    shine, tint_sd = max(float(spread[0]), SHINE_SD), np.maximum(spread[1:], TINT_SD)
    squared = (away[..., 0] / np.where(away[..., 0] < 0, SHADE_SD, shine)) ** 2
    squared += ((away[..., 1:] / tint_sd) ** 2).sum(2)
    volume = (2 * np.pi) ** 1.5 * (SHADE_SD + shine) / 2 * float(np.prod(tint_sd))
    log_skin = -0.5 * squared - np.log(volume)
    edges = [np.arange(0, 256 + step, step) for step in COLOUR_BINS]
    cell = tuple(np.clip(np.digitize(lab[..., k], edges[k]) - 1, 0, len(edges[k]) - 2) for k in range(3))
    mask = squared < SHADED_LIMIT**2 / 2
    for again in (True, True, False):
        arm = _joined_to_core(mask, first, connectivity=4)
        if arm is None or not again:
            return arm
        beside = ~(cv2.dilate(arm.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0)
        if beside.sum() < FEWEST_GROUND:
            return None
        count, _ = np.histogramdd(lab[beside], bins=edges)
        share = gaussian_filter(count, 0.7) / (beside.sum() * np.prod(COLOUR_BINS))
        mask = (log_skin > np.log(share[cell] + 1e-7)) & (squared < SHADED_LIMIT**2)
    return None


def _joined_to_core(mask: Mask, first: int, connectivity: int) -> Mask | None:
    _, parts = cv2.connectedComponents(mask.astype(np.uint8), connectivity=connectivity)
    inside = parts[_core(first)]
    inside = inside[inside > 0]
    return np.asarray(parts == np.bincount(inside).argmax()) if len(inside) >= FEWEST_CORE else None


def _followed(arm: Mask | None, first: int) -> float | None:
    """Return the row up to which the arm can be followed without a break."""
    width = _width_of(arm, first)
    if arm is None or width is None:
        return None
    least = max(HAND_LEAST_WIDTH[0], HAND_LEAST_WIDTH[1] * width)
    row, here = first, arm[first]
    while row > 0:
        reached = cv2.dilate(here.astype(np.uint8)[None], np.ones((1, 5), np.uint8))[0] > 0
        above = arm[row - 1] & reached
        if above.sum() < least:
            break
        here = above
        row -= 1
    # The picture is softened: its last row is half ground.
    return float(row + 1) if row > 1 else None


def _width_of(arm: Mask | None, first: int) -> float | None:
    """Return the forearm's width in strip pixels, or None where it cannot be a forearm."""
    if arm is None:
        return None
    width = float(np.median(arm.sum(1)[first : HIGH - _EDGE]))
    return width if 3 <= width <= WIDEST_ARM / TRUNK_PER_PIXEL else None


def _skin(lab: Array, first: int) -> NDArray[np.uint8]:
    usual, own = _usual(lab, first)
    spread = np.maximum(own, SKIN_SD_FLOOR)
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


def _top(mask: NDArray[np.uint8], first: int, least_share: float) -> float | None:
    arm = _joined_to_core(mask > 0, first, connectivity=8)
    usual = _width_of(arm, first)
    if arm is None or usual is None:
        return None
    width = arm.sum(1)
    row = first
    while row > 0 and width[row - 1] >= max(2.0, least_share * usual):
        row -= 1
    return float(row) if row > 1 else None
