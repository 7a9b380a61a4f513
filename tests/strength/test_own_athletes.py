"""The coach's own athletes move the published norm: little when few, and never by an echo of one's own log.

The pooling is checked against published meta-analyses and against statsmodels and SciPy.
"""

import random

import numpy as np
import pytest
from scipy.optimize import minimize
from statsmodels.stats.meta_analysis import combine_effects

from overbar.simulation.coverage import FOREIGN, logged_life, new_athlete_coverage
from overbar.strength.own_athletes import (
    FIRST_DAYS,
    LEAST_ATHLETES,
    LEAST_SPREAD,
    SIZE,
    Says,
    circle_of,
    first_sets,
    own_prior,
    says_of,
)
from overbar.strength.prior import prior_for

NO_NORM = {"norm_counts": (1e-9,) * SIZE, "spread_counts": 0.0, "least_spread": 1e-6}
EIGHT_SCHOOLS = ((28, 8, -3, 7, -1, 1, 18, 12), (15, 10, 16, 11, 9, 11, 10, 18))
"""Effects of coaching in eight schools and their standard errors. Source: Gelman et al., Bayesian Data
Analysis, section 5.5 (from memory)."""
TUBERCULOSIS = (
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619), (33, 5036, 47, 5761),
    (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232),
    (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825),
)  # fmt: skip
"""Thirteen vaccine trials: ill and well with and without vaccine. Source: Colditz et al. 1994, JAMA 271:698
(from memory)."""


def says(values: np.ndarray, errors: np.ndarray, sex: str = "m") -> list[Says]:
    """Athletes who say something of the first number only."""
    found = []
    for k, (value, error) in enumerate(zip(values, errors, strict=True)):
        information = np.zeros((SIZE, SIZE))
        information[0, 0] = 1 / error**2
        rows = tuple(tuple(float(x) for x in row) for row in information)
        found.append(Says(f"a{k}", sex, "ordinary", 30, (float(value / error**2), 0.0, 0.0, 0.0), rows))
    return found


def log_risk_ratios() -> tuple[np.ndarray, np.ndarray]:
    ill, well, ill_0, well_0 = np.array(TUBERCULOSIS, float).T
    value = np.log(ill / (ill + well)) - np.log(ill_0 / (ill_0 + well_0))
    return value, np.sqrt(1 / ill - 1 / (ill + well) + 1 / ill_0 - 1 / (ill_0 + well_0))


def pooled(values, errors) -> tuple[float, float, float]:
    circle = circle_of(
        says(np.asarray(values, float), np.asarray(errors, float)), ("m", "ordinary"), **NO_NORM
    )
    return float(circle.off[0, 0]), float(np.sqrt(circle.off_cov[0, 0, 0])), float(circle.spread[0])


def test_without_a_norm_the_mean_and_spread_are_those_published_for_the_thirteen_vaccine_trials():
    """REML of the log risk ratio: -0.7145 (0.1798), tau^2 0.3132 (Viechtbauer 2010, J Stat Softw 36(3); from
    memory)."""
    mean, error, spread = pooled(*log_risk_ratios())
    assert mean == pytest.approx(-0.7145, abs=2e-4)
    assert error == pytest.approx(0.1798, abs=2e-4)
    assert spread**2 == pytest.approx(0.3132, abs=3e-4)


def test_without_a_norm_the_spread_is_scipys_maximum_of_the_restricted_likelihood():
    values, errors = log_risk_ratios()

    def minus_log(at: np.ndarray) -> float:
        weight = 1 / (errors**2 + np.exp(2 * at[0]))
        mean = np.sum(weight * values) / weight.sum()
        return 0.5 * float(
            np.sum(weight * (values - mean) ** 2) - np.sum(np.log(weight)) + np.log(weight.sum())
        )

    best = minimize(minus_log, [0.0], method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-12})
    assert pooled(values, errors)[2] == pytest.approx(np.exp(best.x[0]), rel=1e-3)


def test_equal_errors_give_statsmodels_spread_of_paule_and_mandel():
    """With equal errors the restricted maximum and Paule & Mandel's estimate are the same."""
    values = np.array([0.4, -0.1, 1.3, 0.7, 0.2, -0.6, 1.1, 0.9])
    outside = combine_effects(values, np.full(8, 0.09), method_re="iterated")
    mean, error, spread = pooled(values, np.full(8, 0.3))
    assert spread**2 == pytest.approx(outside.tau2, rel=1e-4)
    assert mean == pytest.approx(outside.mean_effect_re, rel=1e-6)
    assert error == pytest.approx(outside.sd_eff_w_re, rel=1e-4)


def test_eight_schools_pool_as_published_when_they_do_not_differ():
    """Complete pooling: 7.7 with standard error 4.1; the restricted maximum of tau is zero."""
    mean, error, spread = pooled(*EIGHT_SCHOOLS)
    assert spread < 1.0
    assert mean == pytest.approx(7.7, abs=0.1)
    assert error == pytest.approx(4.1, abs=0.1)


def test_what_an_athlete_says_is_the_posterior_with_the_norm_taken_out():
    """Normal by hand: a norm of 0 +- 1 and a log of 2 +- 0.5 give 1.6; the log alone says 2."""
    from overbar.strength.own_athletes import _without

    norm = np.diag([1.0, 1.0])
    known = np.diag([1.0 + 4.0, 1.0])
    pull, information = _without(known, known @ np.array([1.6, 0.0]), norm)
    assert information == pytest.approx(np.diag([4.0, 0.0]))
    assert pull[0] / information[0, 0] == pytest.approx(2.0)
    assert pull[1] == 0.0


@pytest.fixture(scope="module")
def circle():
    lives = [logged_life(7000 + k, 16, people=FOREIGN) for k in range(8)]
    found = [says_of(f"a{k}", life.sets, life.sex) for k, life in enumerate(lives)]
    return [one for one in found if one is not None]


def test_fewer_than_three_others_leave_the_published_norm(circle):
    assert own_prior(circle[: LEAST_ATHLETES - 1], "m") == prior_for("m")
    assert own_prior([], "f") == prior_for("f")
    assert own_prior(circle[:LEAST_ATHLETES], "m", but=circle[0].athlete) == prior_for("m")


def test_few_athletes_move_the_norm_little_and_more_of_them_more(circle):
    norm = prior_for("m")
    few, more = own_prior(circle[:3], "m"), own_prior(circle, "m")
    assert norm.R[0] < few.R[0] < more.R[0]
    assert few.R[0] - norm.R[0] < 0.6 * norm.R[1]
    assert few.athletes == 3
    assert few.basis.startswith("from 3 of your athletes and the published norm")


def test_nobody_hears_an_echo_of_the_own_log(circle):
    without = [one for one in circle if one.athlete != "a2"]
    assert own_prior(circle, "m", but="a2") == own_prior(without, "m")


def test_each_athlete_counts_once_and_the_order_of_athletes_changes_nothing(circle):
    prior = own_prior(circle, "f")
    assert own_prior([*circle, *circle], "f") == prior
    shuffled = random.Random(3).sample(circle, len(circle))
    assert own_prior(shuffled, "f") == prior


def test_a_group_learns_most_from_its_own_and_a_little_from_the_others():
    strong = says(np.full(10, 2.0), np.full(10, 0.3), sex="m")
    women = [own_prior(strong, "f").R[0] - prior_for("f").R[0], prior_for("f").R[1]]
    men = [own_prior(strong, "m").R[0] - prior_for("m").R[0], prior_for("m").R[1]]
    assert 0.3 < women[0] / women[1] < men[0] / men[1] < 2.0


def test_a_narrow_circle_does_not_make_the_next_one_sure():
    alike = says(np.full(40, 0.0), np.full(40, 0.05))
    prior = own_prior(alike, "m")
    assert prior.R[1] >= 0.99 * LEAST_SPREAD * prior_for("m").R[1]


def test_only_the_first_sixteen_weeks_speak_and_a_short_log_says_nothing():
    life = logged_life(5, weeks=22)
    whole = says_of("one", life.sets, life.sex)
    assert whole == says_of("one", first_sets(life.sets), life.sex)
    assert max((done.on - life.sets[0].on).days for done in first_sets(life.sets)) < FIRST_DAYS
    assert says_of("one", life.sets[:30], life.sex) is None
    assert says_of("one", [], life.sex) is None


def test_a_log_without_a_single_report_says_nothing_of_the_habit_of_reporting():
    from dataclasses import replace

    life = logged_life(11)
    silent = [replace(done, reps_left=None) for done in life.sets]
    heard, mute = (says_of("one", sets, life.sex) for sets in (life.sets, silent))
    assert heard is not None
    assert mute is not None
    assert mute.information[2][2] < 0.05 < heard.information[2][2]


def test_twenty_earlier_athletes_bring_a_new_one_of_another_population_into_the_interval():
    """Population a published spread off the norm; small version of what the benchmark prints."""
    before, after = new_athlete_coverage(coaches=2, earlier=20, new=20, seed=5)
    assert abs(after.bias) < abs(before.bias) - 0.01
    assert after.share > before.share
    assert after.rms < before.rms
