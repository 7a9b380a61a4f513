"""The athlete's hang length in metres: from stature and proportions, refined by a marked length."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from overbar.errors import BadInput
from overbar.film.bar import Hang, joined
from overbar.film.camera import HALF_SHOULDERS_M, Camera
from overbar.film.reading import KnownLength
from overbar.film.track import Track
from overbar.film.view import Looking

SHORTEST_PX = 20.0
"""Marked points closer together than this say nothing (own judgement)."""
LENGTHS_M = (0.05, 5.0)
"""Lengths that can be meant: a small plate to a high bar over the floor (own judgement)."""
MARK_SD_PX = 2.5
"""One-sigma error of a marked point (own judgement: a finger's or mouse's care)."""
DEPTH_SD_M = 0.25
"""One-sigma distance of the marked thing before or behind the athlete's middle plane (own judgement: a plate
leaned against the post, the bar's end)."""

LENGTH_PER_BODY, LENGTH_PER_BODY_SD = 0.815, 0.05
"""L over stature as a share of L over the way shoulder, hip, knee, ankle that the nets see from the side in a
hang; and its relative one-sigma error: 0.041 over 85 films with known truth, and real bodies and clothes vary
more (own measurement and judgement)."""


def by_proportions(camera: Camera, track: Track, looking: Looking, hang: Hang, stature_m: float) -> Camera:
    """Return the camera with the hang length refined by how long the arms are for the body, from the side.

    Stature alone says an athlete's arms within 5 %; the film shows both arms and body.
    """
    if looking.view.kind != "side":
        return camera
    points = [joined(track, looking, part)[hang.frames] for part in ("shoulder", "hip", "knee", "ankle")]
    body_px = float(np.median(sum(np.hypot(*(a - b).T) for a, b in pairwise(points))))
    told_m = LENGTH_PER_BODY * stature_m * hang.length_px / body_px
    return _weighed(camera, told_m, float(np.hypot(LENGTH_PER_BODY_SD, hang.sd_px / hang.length_px)))


def _weighed(camera: Camera, told_m: float, relative_sd: float) -> Camera:
    weights = np.array([1 / camera.hang_length_sd_m**2, 1 / (relative_sd * told_m) ** 2])
    length_m = float((weights * [camera.hang_length_m, told_m]).sum() / weights.sum())
    return replace(camera, hang_length_m=length_m, hang_length_sd_m=float(1 / np.sqrt(weights.sum())))


def check_known_length(known: KnownLength, width_px: int, height_px: int) -> None:
    """Refuse a marked length that cannot be meant.

    Raises
    ------
    BadInput
        Points outside the picture or too close together, or an impossible length.
    """
    if not LENGTHS_M[0] <= known.length_m <= LENGTHS_M[1]:
        raise BadInput(
            f"a marked length of {known.length_m:g} m cannot be meant",
            do=f"Give it in metres, {LENGTHS_M[0]:g} to {LENGTHS_M[1]:g}.",
        )
    for x, y in ((known.x1_px, known.y1_px), (known.x2_px, known.y2_px)):
        if not (0 <= x <= width_px and 0 <= y <= height_px):
            raise BadInput(
                f"the marked point {x:g}, {y:g} lies outside the picture of {width_px} x {height_px}",
                do="Mark both ends in the first picture.",
            )
    apart = np.hypot(known.x2_px - known.x1_px, known.y2_px - known.y1_px)
    if not apart >= SHORTEST_PX:
        raise BadInput(f"the marked points are {apart:.0f} pixels apart", do="Mark something longer.")


def scaled(camera: Camera, hang: Hang, looking: Looking, known: KnownLength | None) -> Camera:
    """Return the camera with the hang length in metres refined by a marked length.

    Stature's share and the marked length are weighed by their errors; the marked one knows
    neither how deep in the picture its thing stands nor more than the marks are good for.
    """
    if known is None:
        return camera
    marked_px = float(np.hypot(known.x2_px - known.x1_px, known.y2_px - known.y1_px))
    pixels_per_m = marked_px / known.length_m
    distance_m = camera.focal_px / pixels_per_m
    # The hang length was seen at the near shoulder's depth, the marked thing stands at the middle's.
    nearer = 1.0 - HALF_SHOULDERS_M * looking.side_on / distance_m
    told_m = hang.length_px / pixels_per_m * nearer
    relative = np.sqrt(
        2 * (MARK_SD_PX / marked_px) ** 2
        + (DEPTH_SD_M / distance_m) ** 2
        + (hang.sd_px / hang.length_px) ** 2
    )
    return _weighed(camera, told_m, float(relative))
