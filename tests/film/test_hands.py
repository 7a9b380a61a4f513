"""The hand's upper end in strips drawn by hand, before plain, patterned and skin-coloured ground."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.film.hands import HIGH, WIDE, Strips, cut_strip, hand_ends, plumb
from overbar.film.track import turn

SKIN = (200, 150, 120)
BAR = (95, 96, 100)


def strip(ground: tuple[int, int, int], end_row: int, noise: float = 2.0, seed: int = 0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    picture = np.empty((HIGH, WIDE, 3))
    picture[:] = ground
    picture[:end_row, 18:23] = BAR
    picture[end_row:, 14:26] = SKIN
    return np.clip(picture + rng.normal(0, noise, picture.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("end_row", [30, 40, 50])
@pytest.mark.parametrize("ground", [(225, 225, 220), (110, 160, 220), (40, 60, 30)])
def test_before_a_plain_ground_colour_tells_the_end(ground, end_row):
    by_colour, _, broken = hand_ends(strip(ground, end_row), end_row + 12)
    assert by_colour == pytest.approx(end_row, abs=2)
    assert broken == pytest.approx(end_row, abs=2)


def test_before_a_ground_of_skin_colour_the_bar_still_breaks_it_off():
    by_colour, _, broken = hand_ends(strip(SKIN, 40), 52)
    assert by_colour is None
    assert broken == pytest.approx(40, abs=3)


@pytest.mark.parametrize("ground", [(110, 160, 220), (90, 130, 60), (225, 225, 220)])
def test_fingers_in_their_own_shade_belong_to_the_hand(ground):
    """A light forearm, fingers a third as bright, a bar that runs on upwards: the hand ends where they do."""
    picture = strip(ground, 48).astype(float)
    picture[40:48, 15:25] = np.array(SKIN) * 0.45
    by_odds, by_colour, _ = hand_ends(np.clip(picture, 0, 255).astype(np.uint8), 60)
    assert by_odds == pytest.approx(40, abs=2)
    assert by_colour is None or by_colour > 44


def test_an_end_on_bar_of_nearly_the_hands_colour_is_too_thin_to_be_it():
    picture = strip((110, 160, 220), 40).astype(float)
    picture[:40, 19:22] = (180, 145, 125)
    by_odds, _, _ = hand_ends(np.clip(picture, 0, 255).astype(np.uint8), 52)
    assert by_odds == pytest.approx(40, abs=2)


def test_strips_of_a_leaning_phone_tell_heights_as_if_it_stood():
    place = np.array([[[180.0, 100.0, 1.25, 60.0]] * 2])
    strips = Strips(np.array([0]), np.zeros((1, 2, HIGH, WIDE, 3), np.uint8), place)
    level = plumb(strips, 5.0, (640.0, 360.0)).place[0, 0]
    middle = np.array([180.0 + WIDE / 2 * 1.25, 100.0 + 40 * 1.25])
    upright = turn(middle, -5.0, (640.0, 360.0))
    assert level[1] + 40 * level[2] == pytest.approx(upright[1], abs=0.5)


def test_where_nothing_is_told_nothing_is_said():
    assert hand_ends(np.full((HIGH, WIDE, 3), 128, np.uint8), 60.0)[0] is None


def test_a_strip_runs_up_from_the_elbow():
    picture = np.zeros((400, 400, 3), np.uint8)
    picture[290:311, 190:211] = 255
    cut, (left, top, size, wrist_row) = cut_strip(
        picture, np.array([200.0, 300.0]), np.array([200.0, 250.0]), 100.0
    )
    assert cut.shape == (HIGH, WIDE, 3)
    assert cut[-3:, WIDE // 2 - 2 : WIDE // 2 + 2].min() > 200
    assert top + HIGH * size == pytest.approx(300)
    assert left + WIDE / 2 * size == pytest.approx(200)
    assert top + wrist_row * size == pytest.approx(250)
