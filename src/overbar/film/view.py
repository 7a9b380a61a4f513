"""From where the camera looks, told from the athlete's own body."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overbar.film.reading import Measured, View
from overbar.film.shoulder import SHOULDERS_PER_TRUNK, forward_of
from overbar.film.track import NAMES, Track

Array = NDArray[np.float64]

OBLIQUE_FROM_DEG, FRONT_FROM_DEG = 22.0, 51.0
"""A view is oblique between these angles off the square side view: films 40 degrees off read 37 to 46, and
films square from the front 55 while the arms are overhead, which narrows the shoulders, and 75 to 90 else."""
SIDES_ALIKE_DEG = 65.0
"""From this angle on both sides of the body count alike (own judgement)."""
VIEW_SD_DEG = 8.0
"""One-sigma error of the angle (own measurement on truth films)."""


@dataclass(frozen=True)
class Looking:
    """The view, and what follows from it for the two sides.

    Attributes
    ----------
    view : View
        As reported.
    forward : int
        Direction of the athlete's front in the picture: +1 right, -1 left.
    near : {"left", "right"}
        Side of the body nearer to the camera (either, in a front or rear view).
    near_weight : float
        Weight of the near side when both are joined: 1 in a square side view, 0.5 from the front.
    towards : float
        Share of a step forward that brings the athlete nearer to the camera: 1 from the front, -1 from
        behind.
    """

    view: View
    forward: int
    near: str
    near_weight: float
    towards: float = 0.0

    @property
    def side_on(self) -> float:
        """1 in a square side view, 0 where both sides count alike."""
        return 2 * self.near_weight - 1

    @property
    def shows_depth_plane(self) -> bool:
        """Whether fore and aft motion lies in the picture (side and oblique views)."""
        return self.view.kind in ("side", "oblique")

    @property
    def foreshortening(self) -> float:
        """Share of a fore and aft length that an oblique view leaves to be seen; 1 where none is read."""
        if not self.shows_depth_plane:
            return 1.0
        return math.cos(math.radians(min(self.view.off_side.value, SIDES_ALIKE_DEG)))

    @property
    def shows_both_sides(self) -> bool:
        """Whether left can be compared with right (front and rear views)."""
        return self.view.kind in ("front", "rear")


def look_from(track: Track) -> Looking:
    """Tell view, facing and near side from a track."""
    width = _width(track)
    share = min(1.0, abs(width) / SHOULDERS_PER_TRUNK)
    off_side = math.degrees(math.asin(share))
    forward = forward_of(np.stack([track.x, track.y], -1), NAMES.index)
    if off_side >= FRONT_FROM_DEG:
        kind = "front" if width > 0 else "rear"
    else:
        kind = "oblique" if off_side >= OBLIQUE_FROM_DEG else "side"
    if kind in ("front", "rear"):
        facing = "none"
    else:
        facing = "right" if forward > 0 else "left"
    near = "right" if forward > 0 else "left"
    weight = 1.0 - 0.5 * min(1.0, off_side / SIDES_ALIKE_DEG)
    return Looking(
        View(kind, facing, Measured(off_side, VIEW_SD_DEG)),
        forward,
        near,
        weight,
        math.copysign(share, width),
    )


def _width(track: Track) -> float:
    """Return left minus right shoulder in trunk lengths: positive when the athlete faces the camera."""
    shoulders = track.at("left_shoulder")[:, 0] - track.at("right_shoulder")[:, 0]
    return float(np.median(shoulders) / track.trunk_px)
