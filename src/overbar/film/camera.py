"""What is taken for known of the camera, since a phone film does not say it: lens, distance and height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FOCAL_PER_LONG_SIDE = 0.83
"""Focal length of a phone's main camera in films, in long sides of the picture (62 degrees; common
practice)."""
UNDER_BAR_M = 0.95
"""The camera stands about this far under the bar (filming instruction: chest to head height of a standing
adult; one-sigma spread 0.35 m)."""
HALF_GRIP_M = 0.25
HALF_SHOULDERS_M = 0.20
"""Hands from the body's middle plane in the usual grip, and shoulder joints (ANSUR II biacromial breadth
0.37 to 0.42 m, handbook science.md section 4.4)."""
HANG_LENGTH_PER_STATURE, HANG_LENGTH_SPREAD = 0.380, 0.018
"""L as a share of stature, and its one-sigma spread between people: trade sources give 0.36 to 0.39;
ANSUR II gives grip above acromion 0.394 (men) and 0.383 (women), the joint lying below the acromion
(handbook science.md section 4.4)."""


@dataclass(frozen=True)
class Camera:
    """Lens and scale of one film.

    Attributes
    ----------
    focal_px : float
        Focal length in pixels.
    hang_length_m, hang_length_sd_m : float
        The athlete's L in m and its one-sigma error.
    """

    focal_px: float
    hang_length_m: float
    hang_length_sd_m: float

    def rise_of(self, nearer_m: float, hang_length_px: float) -> float:
        """Return how many pixels higher a point at bar height appears when it is nearer by so many m.

        A camera under the bar looks up at it: what is nearer is seen higher in the picture.
        """
        pixels_per_m = hang_length_px / self.hang_length_m
        distance_m = self.focal_px / pixels_per_m
        return nearer_m * UNDER_BAR_M / distance_m * pixels_per_m

    def rise_per_forward(self, height_L: Array, hang_length_px: float) -> Array:
        """Return how much higher a point at this height over the bar is seen, per step nearer, both in L."""
        distance_m = self.focal_px * self.hang_length_m / hang_length_px
        return np.asarray((UNDER_BAR_M + height_L * self.hang_length_m) / distance_m)


def camera_of(width_px: int, height_px: int, stature_m: float) -> Camera:
    """Return the camera taken for a film of this size of an athlete of this stature."""
    return Camera(
        FOCAL_PER_LONG_SIDE * max(width_px, height_px),
        HANG_LENGTH_PER_STATURE * stature_m,
        HANG_LENGTH_SPREAD * stature_m,
    )
