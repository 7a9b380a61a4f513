"""The camera's own movement, told from what stands still behind the athlete.

A hand-held phone drifts and trembles by several pixels, as much as a fault of
timing or height is worth. Corners of the first picture, away from the athlete,
are followed through the film; their common shift is the camera's.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from overbar.film.decode import Picture

WIDTH = 480
"""Pictures are followed at about this width: a shift is told to a tenth of a pixel there."""
MOST_CORNERS = 80
FEWEST_CORNERS = 8
STILL_PX = 0.35
"""Median shift, in pixels of the small picture, under which the camera stood still."""
_WINDOW = (15, 15)


class Steadier:
    """Follows the ground behind the athlete from the first picture on."""

    def __init__(self, first: Picture, middle: tuple[float, float], side: float) -> None:
        self.step = max(1, round(first.shape[1] / WIDTH))
        self.scale = 1.0 / self.step
        self.reference = self._small(first)
        mask = np.full(self.reference.shape, 255, np.uint8)
        x, y = middle[0] * self.scale, middle[1] * self.scale
        half_wide, half_high = 0.38 * side * self.scale, 0.55 * side * self.scale
        cv2.rectangle(
            mask,
            (int(x - half_wide), int(y - half_high)),
            (int(x + half_wide), int(y + half_high)),
            0,
            -1,
        )
        corners = cv2.goodFeaturesToTrack(self.reference, MOST_CORNERS, 0.02, 8, mask=mask)
        self.corners = corners if corners is not None else np.zeros((0, 1, 2), np.float32)
        self.last = np.zeros(2)

    def shift(self, picture: Picture) -> NDArray[np.float64]:
        """Return how far the still ground has moved in this picture, (dx, dy) in its pixels."""
        if len(self.corners) < FEWEST_CORNERS:
            return np.zeros(2)
        guess = (self.corners + self.last.astype(np.float32)).astype(np.float32)
        moved, found, _ = cv2.calcOpticalFlowPyrLK(
            self.reference,
            self._small(picture),
            self.corners,
            guess,
            winSize=_WINDOW,
            maxLevel=2,
            flags=cv2.OPTFLOW_USE_INITIAL_FLOW,
            criteria=(cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 12, 0.02),
        )
        good = found.ravel() == 1
        if good.sum() >= FEWEST_CORNERS:
            steps = (moved - self.corners)[good, 0]
            middle = np.median(steps, axis=0)
            near = np.hypot(*(steps - middle).T) < 2.0
            if near.sum() >= FEWEST_CORNERS:
                self.last = steps[near].mean(0).astype(np.float64)
        return self.last / self.scale

    def _small(self, picture: Picture) -> NDArray[np.uint8]:
        return np.ascontiguousarray(picture[:: self.step, :: self.step, 1])


def settled(shifts: NDArray[np.float64], width_px: float) -> NDArray[np.float64]:
    """Return the shifts, or none at all when the camera stood still: following has its own noise."""
    if np.median(np.hypot(*shifts.T)) < STILL_PX * width_px / WIDTH:
        return np.zeros_like(shifts)
    return shifts
