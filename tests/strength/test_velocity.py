"""Rep speed against Beckham 2018, Munoz-Lopez 2017 and Sanchez-Moreno 2017."""

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.strength.rep_max import epley
from overbar.strength.velocity import (
    SPEED_AT_1RM_MPS,
    SPEED_OFFSET_SD,
    SPEED_READING_SD,
    load_speed_line,
    reps_from_speed,
    speed_from_reps,
    speed_loss,
)


@pytest.mark.parametrize(("speed", "reps"), [(0.456, 5.0), (0.652, 10.0)])
def test_speed_says_the_most_reps(speed, reps):
    # Beckham et al. 2018
    assert reps_from_speed(speed) == pytest.approx(reps, abs=0.05)


@pytest.mark.parametrize(
    ("reps", "speed"), [(1, 0.300), (2, 0.339), (5, 0.456), (8, 0.574), (10, 0.652), (15, 0.848), (20, 1.043)]
)
def test_most_reps_say_the_speed(reps, speed):
    assert speed_from_reps(reps) == pytest.approx(speed, abs=0.001)


def test_the_scatter_about_the_line_is_what_its_published_fit_leaves():
    """R^2 = 0.841 (Beckham et al. 2018) leaves 40 % of the spread, 1.75 of some 4.4 repetitions."""
    assert np.sqrt(1 - 0.841) * 4.4 == pytest.approx(1.75, abs=0.01)
    assert np.hypot(SPEED_OFFSET_SD, SPEED_READING_SD) == pytest.approx(1.75, abs=0.01)


def test_the_fitted_line_reaches_the_published_speed_at_1rm():
    # Beckham with Epley gives the speed at any load; Sanchez-Moreno: 0.20 +- 0.05 m/s at 1RM, so 0.15 to 0.30
    reps = np.arange(1, 9)
    masses = [100 / epley(1, r) for r in reps]
    line = load_speed_line(masses, [speed_from_reps(r) for r in reps])
    assert SPEED_AT_1RM_MPS[0] - SPEED_AT_1RM_MPS[1] <= line.speed_at(100) <= 0.30
    assert line.r2 > 0.95
    assert line.mass_at(line.speed_at(77.0)) == pytest.approx(77.0)


def test_a_published_line_has_its_best_power_at_the_published_load():
    # Munoz-Lopez et al. 2017: 71.0 +- 6.6 % of 1RM; a line through 0.20 m/s at 1RM and 0.68 m/s at 71 %
    line = load_speed_line([71, 85.5, 100], [0.68, 0.44, 0.20])
    assert 0.5 <= line.best_power_mass_kg / 100 <= 0.776


def test_three_loads_are_needed_and_speed_must_fall():
    with pytest.raises(BadInput):
        load_speed_line([80, 80, 80], [0.5, 0.5, 0.5])
    with pytest.raises(BadInput, match="rises"):
        load_speed_line([80, 90, 100], [0.3, 0.4, 0.5])


def test_speed_loss_is_a_share_of_the_first_rep():
    assert speed_loss([0.60, 0.52, 0.45]) == pytest.approx(0.25)
