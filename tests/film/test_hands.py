"""The hand's upper end in strips drawn by hand, before plain, patterned and skin-coloured ground."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.film.hands import HIGH, WIDE, cut_strip, hand_ends

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
