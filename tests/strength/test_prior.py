"""What is believed before the first set is what was published."""

import numpy as np
import pytest

from overbar.strength.posterior import usual_gain
from overbar.strength.prior import PRIORS, prior_for


def test_ordinary_men_begin_at_the_college_mean():
    # Johnson et al. 2009, 35 men: 1.16 SD 0.15; 8.1 SD 1.9 repetitions at 80 %
    prior = prior_for("m")
    assert pytest.approx((1.16, 0.15), abs=0.011) == prior.R
    assert prior.reps_at_80 == (8.1, 1.9)


def test_trained_men_lie_between_the_two_published_samples():
    # Coyne et al. 2015: 1.43 SD 0.15; Munoz-Lopez et al. 2017: 1.50 SD 0.34
    R, spread = prior_for("m", "trained").R
    assert 1.43 <= R <= 1.50
    assert 0.15 < spread < 0.34


def test_women_do_more_repetitions_at_80_percent_than_men():
    # Johnson et al. 2009, 23 women: 10.5 SD 2.2
    assert prior_for("f").reps_at_80 == (10.5, 2.2)


def test_reserve_is_under_reported_as_published():
    # Halperin et al. 2022: 0.95 (0.17 to 1.73), 12 studies; 1.73 - 0.17 is four standard errors of the mean
    for prior in PRIORS.values():
        assert prior.reserve_bias[0] == 0.95
        assert prior.reserve_bias[1] >= (1.73 - 0.17) / 3.92


def test_trained_men_gain_about_what_was_published():
    # Sanchez-Moreno et al. 2017, 52 men: 1RM +3.4 % in 12 weeks, so 0.3 % a week (from memory)
    assert np.log(1.034) / 12 == pytest.approx(float(usual_gain(1.45)), rel=0.1)


@pytest.mark.parametrize("key", PRIORS)
def test_every_prior_says_where_it_is_from(key):
    prior = PRIORS[key]
    assert "published" in prior.basis
    assert prior.why
    assert prior.says().startswith("from the published norm")
