"""Whether the bar gives: how far the gripping hands move to and fro in a hang while the ground is still."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from overbar.film.bar import GRIP_BEYOND_WRIST, Hang
from overbar.film.hands import Strips, hand_place
from overbar.film.reading import Measured
from overbar.film.track import Track
from overbar.film.view import Looking

Array = NDArray[np.float64]

LEAST_S, FEWEST_LOOKS = 1.2, 12
"""A hang must last this long, and its hand be told in so many pictures (own judgement: half a swing)."""
APART_S = 0.7
"""Looks further apart than this belong to two hangs (own judgement)."""
STEADY_S = 0.2
"""What moves faster than this is taken for a misread hand, s (own judgement)."""
SWAY = (5, 95)
"""Percentiles of the hand's place across between which it moves."""
SHIFT_SD_L = 0.015
"""One-sigma error of that way, L (own measurement on 43 films whose bar stands still: median 0.010, 84 %
within 0.016, the greatest 0.038; a bar moved by 0.118 L read 0.097)."""


def bar_shift(track: Track, looking: Looking, hang: Hang, strips: Strips) -> Measured | None:
    """Return how far the bar moves across the picture in a hang, in L, from the side; None if not told.

    Two looks must agree, and the lesser counts: the skin of the near hand in the
    picture, and the grip as the nets see it. A hand-held camera's own shift is out
    of both.
    """
    if not looking.shows_depth_plane:
        return None
    arm = ("left", "right").index(looking.near)
    looks = []
    for i in np.nonzero(hang.frames[np.minimum(strips.frame, len(hang.frames) - 1)])[0]:
        left, _, size, wrist_row = strips.place[i, arm]
        place = hand_place(strips.pictures[i, arm], wrist_row)
        if place is not None:
            looks.append((int(strips.frame[i]), left + place[0] * size))
    if len(looks) < FEWEST_LOOKS:
        return None
    frames, across = np.array([frame for frame, _ in looks]), np.array([x for _, x in looks])
    wrist, elbow = track.at(f"{looking.near}_wrist"), track.at(f"{looking.near}_elbow")
    grip = (wrist + GRIP_BEYOND_WRIST * (wrist - elbow))[:, 0]
    found = []
    for run in np.split(np.arange(len(frames)), np.nonzero(np.diff(track.t_s[frames]) > APART_S)[0] + 1):
        first, last = frames[run[0]], frames[run[-1]]
        if len(run) >= FEWEST_LOOKS and track.t_s[last] - track.t_s[first] >= LEAST_S:
            step = float(np.median(np.diff(track.t_s)))
            found.append(min(_way(across[run], 3), _way(grip[first : last + 1], round(STEADY_S / step))))
    if not found:
        return None
    return Measured(max(found) / hang.length_px / looking.foreshortening, SHIFT_SD_L)


def _way(place: Array, width: int) -> float:
    """Return how far a place moves to and fro, without what lasts less than ``width`` looks."""
    windows = np.lib.stride_tricks.sliding_window_view(place, min(max(1, width), len(place)))
    low, high = np.percentile(np.median(windows, axis=1), SWAY)
    return float(high - low)
