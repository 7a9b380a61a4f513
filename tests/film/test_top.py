"""The height of a top, on curves whose top is known."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.film.top import READS_HIGH_L, top_height


def test_the_top_of_a_free_flight_is_told_to_a_thousandth():
    # Outside: a body in free flight moves on a parabola (9.81 m/s2, L = 0.68 m).
    t = np.arange(60) / 30
    flight = 0.3 - 0.5 * 9.81 * (t - 1.01) ** 2 / 0.68
    top = top_height(t, flight, np.full(60, 0.02), 15, 45)
    assert top.value + READS_HIGH_L == pytest.approx(0.3, abs=0.001)


def test_noise_is_not_taken_for_height():
    t = np.arange(120) / 30
    hold = -1.0 + 0.83 / (1.0 + ((t - 2) / 0.8) ** 8)
    noise = np.random.default_rng(3).normal(0, 0.02, 120)
    seen = hold + np.convolve(noise, np.ones(3) / 3, "same")
    top = top_height(t, seen, np.full(120, 0.02), 30, 90)
    assert abs(top.value - hold[45:75].max()) < abs(seen[45:75].max() - hold[45:75].max())


def test_a_film_of_few_frames_keeps_its_highest_point():
    t = np.arange(4) / 5
    top = top_height(t, np.array([-1.0, -0.4, -0.2, -0.5]), np.full(4, 0.03), 0, 3)
    assert top.value + READS_HIGH_L == pytest.approx(-0.2)
    assert top.sd == pytest.approx(0.03)
