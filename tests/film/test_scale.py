"""Hang length in metres from stature and from a length marked in the picture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.film import rescale
from overbar.film.bar import Hang
from overbar.film.camera import HALF_SHOULDERS_M, camera_of
from overbar.film.reading import BarPoint, KnownLength
from overbar.film.scale import by_proportions, check_known_length, scaled
from overbar.film.track import NAMES
from overbar.film.view import look_from

from .test_view import figure

CAMERA = camera_of(1280, 720, 1.78)
SIDE = look_from(figure(0))
PX_PER_M = 220.0


def hang_of(length_m: float) -> Hang:
    """Return a hang as a pinhole sees it: the near shoulder stands nearer than the middle plane."""
    nearer = 1.0 - HALF_SHOULDERS_M * SIDE.side_on * PX_PER_M / CAMERA.focal_px
    px = length_m * PX_PER_M / nearer
    return Hang(BarPoint(600, 200, 1.0), px, 0.01 * px, np.ones(10, bool))


def plate(diameter_m: float = 0.45) -> KnownLength:
    return KnownLength(300.0, 600.0, 300.0, 600.0 - diameter_m * PX_PER_M, diameter_m)


def test_without_a_marked_length_stature_says_it():
    assert scaled(CAMERA, hang_of(0.62), SIDE, None) == CAMERA


def test_arms_short_for_the_body_draw_the_scale_towards_themselves():
    # What the nets see of a body of 1.78 m, with arms by its stature and 15 % shorter (drawn, no source).
    body = 1.78 * PX_PER_M * 0.815
    track = figure(0)
    points = ("shoulder", "hip", "knee", "ankle")
    below = dict(zip(points, np.cumsum([0.0, 0.30, 0.35, 0.35]) * body, strict=True))
    y = track.y.copy()
    for side in ("left", "right"):
        for point in points:
            y[:, NAMES.index(f"{side}_{point}")] = 300.0 + below[point]
    straight = replace(track, x=np.full_like(track.x, 600.0), y=y)
    told = []
    for share in (1.0, 0.85):
        px = share * CAMERA.hang_length_m * PX_PER_M
        hang = Hang(BarPoint(600, 200, 1.0), px, 0.01 * px, np.ones(len(track.t_s), bool))
        told.append(by_proportions(CAMERA, straight, SIDE, hang, 1.78))
    assert told[0].hang_length_m == pytest.approx(CAMERA.hang_length_m, rel=0.01)
    assert 0.87 * CAMERA.hang_length_m < told[1].hang_length_m < 0.96 * CAMERA.hang_length_m
    assert all(one.hang_length_sd_m < CAMERA.hang_length_sd_m for one in told)
    front = look_from(figure(90))
    assert by_proportions(CAMERA, straight, front, hang_of(0.6), 1.78) == CAMERA


def test_a_marked_plate_draws_the_scale_towards_the_athletes_own_arms():
    short = hang_of(0.60)
    told = scaled(CAMERA, short, SIDE, plate())
    assert 0.60 < told.hang_length_m < CAMERA.hang_length_m
    assert told.hang_length_sd_m < CAMERA.hang_length_sd_m
    assert abs(told.hang_length_m - 0.60) < 2 * told.hang_length_sd_m


def test_a_longer_thing_tells_the_scale_better_than_a_short_one():
    hang = hang_of(0.68)
    bar_height, small_plate = plate(2.3), plate(0.20)
    small = scaled(CAMERA, hang, SIDE, small_plate).hang_length_sd_m
    assert scaled(CAMERA, hang, SIDE, bar_height).hang_length_sd_m < small


@pytest.mark.parametrize("seed", range(20))
def test_drawn_scenes_are_read_within_their_uncertainty(seed):
    rng = np.random.default_rng(seed)
    true = 1.78 * rng.normal(0.380, 0.018)
    hang = hang_of(true)
    depth = 1.0 + rng.normal(0, 0.25) * PX_PER_M / CAMERA.focal_px
    marked = replace(plate(1.0), y2_px=600.0 - PX_PER_M * depth + rng.normal(0, 3.0))
    told = scaled(CAMERA, hang, SIDE, marked)
    assert abs(told.hang_length_m - true) < 3 * told.hang_length_sd_m


@pytest.mark.parametrize(
    ("known", "says"),
    [
        (replace(plate(), length_m=45.0), "cannot be meant"),
        (replace(plate(), length_m=float("nan")), "cannot be meant"),
        (replace(plate(), x1_px=-5.0), "outside the picture"),
        (replace(plate(), y2_px=590.0), "pixels apart"),
    ],
)
def test_a_marked_length_that_cannot_be_meant_is_refused(known, says):
    with pytest.raises(BadInput, match=says):
        check_known_length(known, 1280, 720)


@pytest.mark.xdist_group("films")
def test_a_reading_is_rescaled_without_its_film_and_back(good):
    reading, truth = good
    px_per_m = reading.hang_length.px / truth["hang_length_m"]
    known = KnownLength(300.0, 100.0, 300.0, 100.0 + px_per_m, 1.0)
    again = rescale(reading, known)
    assert again.known_length == known
    assert again.hang_length.sd_m < reading.hang_length.sd_m
    assert again.reps[0].peak_shoulder_L.value == pytest.approx(
        reading.reps[0].peak_shoulder_L.value, abs=0.02
    )
    assert rescale(again, None).hang_length.m == pytest.approx(reading.hang_length.m, rel=1e-4)
