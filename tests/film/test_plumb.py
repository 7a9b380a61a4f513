"""The camera's roll, told from posts, from a hanging body, and taken out of a turned film."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from overbar.film.bar import hang_at, hang_lean_deg
from overbar.film.camera import camera_of
from overbar.film.motion import in_bar_frame
from overbar.film.plumb import roll_of, uprights
from overbar.film.reading import BarPoint
from overbar.film.track import plumb, to_joints, turn
from overbar.film.view import look_from

from .test_view import figure

ATHLETE = (640.0, 360.0, 300.0)
MIDDLE = (640.0, 360.0)


def gym(roll_deg: float, pitch_per_width_deg: float = 0.0) -> np.ndarray:
    """Draw a wall with posts and a door frame, the whole turned clockwise."""
    picture = np.full((720, 1280, 3), 190, np.uint8)
    for x in (150, 300, 980, 1130):
        lean = np.radians(pitch_per_width_deg * (x / 1280 - 0.5))
        ends = np.array([[x + 300 * np.sin(lean), 60.0], [x - 300 * np.sin(lean), 660.0]])
        (x1, y1), (x2, y2) = turn(ends, roll_deg, MIDDLE)
        cv2.line(picture, (round(x1), round(y1)), (round(x2), round(y2)), (60, 60, 60), 14, cv2.LINE_AA)
    return picture


@pytest.mark.parametrize("roll", [-6.0, -3.0, 0.0, 4.5])
def test_posts_tell_the_roll_within_its_own_uncertainty(roll):
    told = roll_of(uprights(gym(roll), ATHLETE), None)
    assert told.value == pytest.approx(roll, abs=0.6)
    assert abs(told.value - roll) < 3 * told.sd


@pytest.mark.parametrize("convergence", [-8.0, 8.0])
def test_posts_that_converge_because_the_camera_looks_up_are_no_roll(convergence):
    assert roll_of(uprights(gym(0.0, convergence), ATHLETE), None).value == pytest.approx(0.0, abs=0.7)


def test_a_single_post_beside_tells_less_than_posts_on_both_sides():
    lines = uprights(gym(3.0), ATHLETE)
    assert roll_of(lines[lines[:, 0] < 0], None).sd > 1.5 * roll_of(lines, None).sd


def test_without_posts_the_hanging_body_and_a_level_hand_are_weighed():
    none = np.zeros((0, 3))
    assert roll_of(none, None).value == 0.0
    told = roll_of(none, 4.0)
    assert 1.5 < told.value < 3.0
    assert told.sd > 1.5


def test_a_body_whose_arms_were_misread_does_not_outvote_four_posts():
    assert roll_of(uprights(gym(0.0), ATHLETE), 9.0).value == pytest.approx(0.0, abs=0.7)


def test_a_hanging_body_leans_as_the_picture_does():
    track = figure(0)
    level = hang_lean_deg(track, look_from(track))
    turned = replace(plumb(track, -5.0, MIDDLE), roll_deg=0.0)
    assert hang_lean_deg(turned, look_from(turned)) - level == pytest.approx(5.0, abs=0.2)
    assert hang_lean_deg(figure(0, raised=False), look_from(figure(0, raised=False))) is None


def test_heights_and_places_of_a_turned_film_are_those_of_the_level_one():
    level = figure(0)
    camera, bar = camera_of(1280, 720, 1.78), BarPoint(600.0, 200.0, 2.0)
    looking = look_from(level)
    expected = in_bar_frame(level, looking, hang_at(level, looking, bar), camera)
    filmed = replace(plumb(level, -6.0, MIDDLE), roll_deg=0.0)
    again = plumb(filmed, 6.0, MIDDLE)
    x, y = again.in_picture(600.0, 200.0)
    motion = in_bar_frame(again, looking, hang_at(again, looking, BarPoint(x, y, 2.0)), camera)
    assert np.allclose(motion.shoulder, expected.shoulder, atol=1e-6)
    assert np.allclose(motion.hip_x, expected.hip_x, atol=1e-6)
    # Left as filmed, the hips would lie 1.18 m x sin 6 degrees aside: 0.18 L.
    askew = in_bar_frame(filmed, looking, hang_at(filmed, looking, BarPoint(x, y, 2.0)), camera)
    assert np.abs(askew.hip_x - expected.hip_x).min() > 0.15


def test_the_joints_of_a_reading_lie_on_the_picture_as_it_was_filmed():
    filmed = figure(0)
    joints = to_joints(plumb(filmed, 4.0, MIDDLE))
    assert np.allclose(joints.x_px, filmed.x, atol=0.06)
    assert np.allclose(joints.y_px, filmed.y, atol=0.06)
