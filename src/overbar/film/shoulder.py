"""Where the shoulder joint lies, told from what the two nets mark.

One net marks the top of the shoulder, the other the armpit's height while the arm is
overhead; both move on the shoulder as the arm comes down. Two corrections: a table of
how far each net is off as the upper arm turns, for both shoulders in any view; and,
for the near shoulder of a side view, the joint's height as a weighted sum of
everything both nets mark on that side, fitted to films with known truth.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Column = Callable[[str], int]
"""Takes a joint's name, gives its column."""

SHOULDERS_PER_TRUNK = 0.72
"""Seen distance of the shoulder points in a square front view, trunk lengths (own measurement on truth
films)."""
ARM_LEVELS = (-0.75, 0.0, 0.85, 0.97)
SHOULDER_LOW = {
    "landmarks": {
        "side": (-0.022, -0.040, -0.050, -0.034),
        "front": (-0.030, -0.012, -0.012, 0.085),
        "rear": (-0.065, -0.080, -0.080, 0.085),
    },
    "finder": {
        "side": (-0.070, -0.042, -0.035, 0.034),
        "front": (-0.078, -0.055, -0.020, 0.085),
        "rear": (-0.125, -0.140, -0.080, 0.085),
    },
}
"""How far each net sees the shoulder below its joint centre along the trunk, in trunk lengths, where the
upper arm points this far up (1 overhead, -1 hanging down: the cosine from plumb). Medians over 60 films with
known truth (spread between films 0.03; few films from front and rear)."""
NEAR_FILE = "near_shoulder.json"
ARM_STEPS = (-1.0, -0.75, -0.3, 0.0, 0.4, 0.7, 0.85, 0.93, 0.97)
"""Where the weighted sum may bend as the upper arm turns, on the scale of ``ARM_LEVELS``."""
OVERHEAD, DOWN = (0.85, 0.97), (-0.2, -0.6)
"""Arm levels between which the nets' disagreement about the shoulder begins to count otherwise (own
judgement: one net takes the armpit for the shoulder overhead, the other its top over the bar)."""
MARKS = ("nose", "ear", "shoulder", "elbow", "wrist", "hip", "knee")
LIMBS = (("shoulder", "elbow"), ("elbow", "wrist"), ("hip", "knee"), ("knee", "ankle"), ("shoulder", "ear"))
"""What is put in: the marks of the near side, and how long its limbs look in the film."""
LIMB_SEEN_PERCENT = 80
"""A limb's length is what so many per cent of the frames stay under: where it lies across the look."""
SIDE_TO, SIDE_FROM = 0.62, 0.42
"""Shoulder width over that of a front view up to which the weighted sum counts in part and in full (sines of
38 and 25 degrees off the side: it was fitted to films up to 25)."""


def forward_of(look: Array, column: Column) -> int:
    """Return where an athlete faces in the picture, +1 right and -1 left, from places of shape (n, m, 2)."""

    def middle(part: str) -> Array:
        return np.asarray((look[:, column(f"left_{part}"), 0] + look[:, column(f"right_{part}"), 0]) / 2)

    head = np.nanmedian(look[:, column("nose"), 0] - middle("ear"))
    feet = np.nanmedian(middle("toe") - middle("heel"))
    return 1 if head + 0.5 * feet >= 0 else -1


def to_joint_centres(place: Array, column: Column, trunk: float) -> None:
    """Move the shoulder points of both nets, in place, to where the joint centres are.

    Parameters
    ----------
    place : ndarray, shape (2, n, m, 2)
        Places by the landmark net and by the finder, in pixels.
    column : callable
        Column of a joint.
    trunk : float
        Trunk length in pixels.
    """
    forward = forward_of(place[0], column)
    near = "right" if forward > 0 else "left"
    height = near_height(place, column, trunk, near, forward)
    width = _by_table(place, column, trunk)
    share = float(np.clip((SIDE_TO - abs(width)) / (SIDE_TO - SIDE_FROM), 0.0, 1.0))
    told = np.isfinite(height)
    for shoulder in place[:, :, column(f"{near}_shoulder")]:
        shoulder[told, 1] += share * (height[told] - shoulder[told, 1])


def near_height(place: Array, column: Column, trunk: float, near: str, forward: int) -> Array:
    """Return the row of the near shoulder's joint in each frame, shape (n,); NaN without both nets."""
    seen, mark = near_features(place, column, trunk, near, forward)
    return np.asarray(mark - trunk * (seen @ _weights()[:-1] + _weights()[-1]))


def near_features(place: Array, column: Column, trunk: float, near: str, forward: int) -> tuple[Array, Array]:
    """Return what the weighted sum is taken over, shape (n, k), and the finder's row of the shoulder, (n,).

    Lengths are in trunk lengths, forward and up positive, from the finder's near shoulder.
    """

    def at(net: int, part: str) -> Array:
        return np.asarray(place[net][:, column(part if part == "nose" else f"{near}_{part}")])

    origin = at(1, "shoulder")
    axes = np.array([forward, -1.0]) / trunk
    marks = [
        (at(net, part) - origin) * axes for net in (0, 1) for part in MARKS if (net, part) != (1, "shoulder")
    ]
    up = _overhead(place, column, near)
    apart = -((at(0, "shoulder") - origin) / trunk)[:, 1]
    otherwise = [apart * np.clip((up - low) / (high - low), 0.0, 1.0) for low, high in (OVERHEAD, DOWN)]
    lean = _down(place, column) * [forward, 1.0]
    limbs = [
        np.nanpercentile(np.hypot(*(at(net, a) - at(net, b)).T), LIMB_SEEN_PERCENT) / trunk
        for net in (0, 1)
        for a, b in LIMBS
    ]
    bends = [np.maximum(0.0, up - step) for step in ARM_STEPS]
    columns = [*bends, *otherwise, *lean.T, *np.hstack(marks).T, *np.tile(limbs, (len(up), 1)).T]
    return np.stack(columns, 1), origin[:, 1]


@cache
def _weights() -> Array:
    """Return the fitted weights, the constant last."""
    text = resources.files("overbar.film").joinpath(NEAR_FILE).read_text(encoding="utf-8")
    return np.array(json.loads(text)["weights"], np.float64)


def _by_table(place: Array, column: Column, trunk: float) -> float:
    """Correct both shoulders by the table; return how wide they look, 1 from the front, -1 from behind."""
    left, right = (place[:, :, column(f"{side}_shoulder")] for side in ("left", "right"))
    width = float(np.nanmedian((left - right)[..., 0])) / trunk / SHOULDERS_PER_TRUNK
    # The offset lies along the trunk, which leans back in a pull.
    down = _down(place, column)
    turned, facing = min(1.0, abs(width)), "front" if width > 0 else "rear"
    for side in ("left", "right"):
        shoulder = place[:, :, column(f"{side}_shoulder")]
        overhead = _overhead(place, column, side)
        for net, low in enumerate(SHOULDER_LOW.values()):
            table = (1.0 - turned) * np.array(low["side"]) + turned * np.array(low[facing])
            shoulder[net] -= trunk * np.interp(overhead, ARM_LEVELS, table)[:, None] * down
    return width


def _down(place: Array, column: Column) -> Array:
    """Return the direction of the trunk from shoulders to hips, shape (n, 2)."""

    def both(part: str) -> Array:
        return np.asarray(place[:, :, column(f"left_{part}")] + place[:, :, column(f"right_{part}")])

    down: Array = np.asarray(np.nanmean((both("hip") - both("shoulder")) / 2, axis=0), np.float64)
    return down / np.maximum(np.hypot(down[:, 0], down[:, 1]), 1e-6)[:, None]


def _overhead(place: Array, column: Column, side: str) -> Array:
    """Return how far up an upper arm points, 1 overhead and -1 hanging down.

    The finder looks at few frames and the landmarks lose an arm at times: both together tell.
    """
    arm = place[:, :, column(f"{side}_elbow")] - place[:, :, column(f"{side}_shoulder")]
    upward = -arm[..., 1] / np.maximum(np.hypot(arm[..., 0], arm[..., 1]), 1e-6)
    return np.asarray(np.nanmean(upward, axis=0))
