"""The reps-at-load curve: a single is a measurement, and the published equations lie inside the curves."""

import numpy as np
import pytest

from overbar.strength.curve import CURVES, LOG_AT_80, bend, curves, slope
from overbar.strength.prior import MEN_REPS, WOMEN_REPS
from overbar.strength.rep_max import EQUATIONS


def test_every_curve_puts_a_single_at_the_maximum():
    assert np.allclose(bend(1.0), 0.0)


def test_every_curve_has_its_slope():
    here, step = 4.7, 1e-6
    assert np.allclose((bend(here + step) - bend(here - step)) / (2 * step), slope(here), rtol=1e-6)


@pytest.mark.parametrize("reps", [MEN_REPS, WOMEN_REPS])
def test_the_middle_curves_pass_through_the_published_reps_at_80_percent(reps):
    # Johnson et al. 2009: men 8.1 (SD 1.9), women 10.5 (SD 2.2)
    steepness, _ = curves(reps)
    middle = np.arange(CURVES) % 9 == 4
    assert np.allclose((steepness * bend(reps[0]))[middle], LOG_AT_80)


def test_women_s_curve_is_flatter_than_men_s():
    assert np.all(curves(WOMEN_REPS)[0] < curves(MEN_REPS)[0])


@pytest.mark.parametrize("reps", [3, 5, 8, 10, 12])
@pytest.mark.parametrize("name", EQUATIONS)
def test_every_published_equation_lies_inside_the_curves_carried(name, reps):
    steepness, _ = curves(MEN_REPS)
    said = np.log(EQUATIONS[name](1, reps) / EQUATIONS[name](1, 1))
    carried = steepness * bend(reps)
    assert carried.min() < said < carried.max()
