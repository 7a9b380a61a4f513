"""Forecasts: the passage law against SciPy, the trend against statsmodels, ranges against hidden dates."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import invgauss

from overbar.simulation.coverage import forecast_coverage, height_coverage
from overbar.strength.forecast import (
    Habits,
    first_passage,
    forecast_strength,
    forecast_value,
    latest,
    soonest,
    trend,
    weeks_of_usual_gain,
    what_ifs,
    when,
)
from overbar.strength.posterior import beliefs
from overbar.strength.sets import LoggedSet

DAY = date(2026, 1, 5)


def heights(rate=0.0125, weeks=10, sd=0.02):
    return [(DAY + timedelta(weeks=k), -0.12 + rate * k, sd) for k in range(weeks + 1)]


def belief_of(reps=5):
    return beliefs([LoggedSet(DAY, "strict_pull_up", 80, 0, reps, failed=True)], "m")[-1]


def test_the_passage_law_is_the_inverse_gaussian_of_scipy():
    distance, rate, spread = 3.0, 0.4, 0.7
    mean, shape = distance / rate, (distance / spread) ** 2
    times = np.array([1.0, 4.0, 7.5, 12.0, 30.0])
    theirs = invgauss.cdf(times, mean / shape, scale=shape)
    assert first_passage(np.array(distance), np.array(rate), spread, times) == pytest.approx(theirs, abs=1e-9)


def test_the_passage_law_holds_for_walks_that_go_the_wrong_way():
    # reflection principle: without drift P(T <= t) = 2 (1 - Phi(a / sqrt t)); a falling walk is rarer
    level = first_passage(np.array(1.0), np.array(0.0), 1.0, np.array(4.0))
    falling = first_passage(np.array(1.0), np.array(-0.3), 1.0, np.array(4.0))
    assert level == pytest.approx(2 * (1 - 0.691462), abs=1e-5)
    assert falling < level


def test_the_trend_is_the_local_linear_trend_of_statsmodels():
    from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

    values = [
        (DAY + timedelta(weeks=k), v, 0.02) for k, v in enumerate((-0.1, -0.09, -0.05, -0.06, -0.02, 0.01))
    ]
    ours = trend(values, (0.01, 0.006), 0.004, 0.02)
    theirs = KalmanFilter(k_endog=1, k_states=2)
    theirs.bind(np.array([v for _, v, _ in values[1:]]))
    theirs["design"] = np.array([[1.0, 0.0]])
    theirs["transition"] = np.array([[1.0, 1.0], [0.0, 1.0]])
    theirs["selection"] = np.eye(2)
    theirs["state_cov"] = np.diag([0.004**2, 0.0])
    theirs["obs_cov"] = np.array([[0.02**2]])
    start = np.array([[1.0, 1.0], [0.0, 1.0]])
    first = np.diag([0.02**2, 0.006**2])
    theirs.initialize_known(
        start @ np.array([-0.1, 0.01]), start @ first @ start.T + np.diag([0.004**2, 0.0])
    )
    found = theirs.filter()
    assert [ours.level, ours.rate] == pytest.approx(list(found.filtered_state[:, -1]), abs=1e-9)
    assert ours.cov == pytest.approx(found.filtered_state_cov[:, :, -1], abs=1e-9)


def test_usual_gains_take_half_a_year_from_five_pull_ups_to_tries():
    # own judgement in the handbook of the trade (2.8): usual athletes at five reps, 20 to 28 weeks
    assert 20 <= weeks_of_usual_gain(1.17, 1.37) <= 32


def test_a_forecast_is_a_range_around_a_middle_and_says_what_it_assumes():
    said = forecast_strength(belief_of(), 1.37)
    assert said.early < said.likely
    assert said.late is None or said.likely < said.late
    assert any("days a week" in one for one in said.assumes)
    assert "8 in 10" in said.say()


def test_what_is_reached_is_said_to_be_reached():
    assert forecast_strength(belief_of(10), 1.10).reached
    assert forecast_value("dips", [(DAY, 9.0, None)], 5.0).reached


def test_what_never_comes_is_not_given_a_date():
    falling = [(DAY + timedelta(weeks=k), 0.05 - 0.01 * k, 0.01) for k in range(12)]
    assert forecast_value("height", falling, 0.18, usual_rate=(0.0, 0.002)).late is None


def test_fewer_days_less_sleep_a_light_week_and_a_missed_fortnight_come_later():
    lived = Habits(used_to_sleep_h=7.0, sleep_h=7.0)
    usual = forecast_strength(belief_of(), 1.32, habits=lived).likely
    for name, changed in what_ifs(lived).items():
        moved = forecast_strength(belief_of(), 1.32, habits=changed).likely
        if name in ("days a week up to 4", "body mass 3 % lower, strength kept (a sum, not advice)"):
            assert moved < usual, name
        else:
            assert moved > usual, name


def test_a_missed_fortnight_costs_about_a_fortnight():
    usual = forecast_strength(belief_of(), 1.32).likely
    missed = forecast_strength(belief_of(), 1.32, habits=Habits(missed_days=14)).likely
    assert 10 <= (missed - usual).days <= 18


def test_two_days_a_week_take_half_as_long_again():
    # own judgement (U-2D): about two thirds of the rate
    usual = (forecast_strength(belief_of(), 1.32).likely - DAY).days
    two = (forecast_strength(belief_of(), 1.32, habits=Habits(days_a_week=2)).likely - DAY).days
    assert two / usual == pytest.approx(1.5, abs=0.15)


def test_less_body_mass_at_the_same_strength_saves_weeks():
    # handbook of the trade 2.8: a loss of 3 % saves 3 to 7 weeks in its model
    usual = forecast_strength(belief_of(), 1.37).likely
    lighter = forecast_strength(belief_of(), 1.37, habits=Habits(body_mass_change=-0.03)).likely
    assert 2 <= (usual - lighter).days / 7 <= 9


def test_the_latest_item_decides():
    today = DAY + timedelta(weeks=10)
    strength = forecast_strength(belief_of(8), 1.37, today)
    height = forecast_value("height", heights(0.004), 0.18, on=today)
    both = latest([strength, height], "tries")
    assert both.likely >= max(strength.likely, height.likely)
    slowest = max((strength, height), key=lambda one: one.likely)
    assert slowest.item in both.assumes[0]
    either = soonest([strength, height], "one of them")
    assert either.likely <= min(strength.likely, height.likely)


def test_items_already_reached_do_not_hold_back():
    today = DAY + timedelta(weeks=10)
    done = forecast_value("dips", [(DAY, 9.0, None)], 5.0, on=today)
    height = forecast_value("height", heights(), 0.18)
    assert latest([done, height]).likely == height.likely
    assert latest([done]).reached


def test_a_value_that_should_fall_is_forecast_downwards():
    stall = [(DAY + timedelta(weeks=k), 0.60 - 0.03 * k, 0.02) for k in range(8)]
    said = forecast_value("stall", stall, 0.20, direction="down")
    assert not said.reached
    assert said.likely is not None


def test_a_surer_rate_gives_a_narrower_range():
    wide = when("x", DAY, (10.0, 1.0), (0.5, 0.2))
    narrow = when("x", DAY, (10.0, 1.0), (0.5, 0.05))
    assert (narrow.late - narrow.early) < (wide.late - wide.early)


def test_eight_in_ten_ranges_hold_the_hidden_day_of_strength():
    # Target 75 to 85 % on many athletes (benchmarks print it); here with the error of 60 athletes.
    assert 0.70 <= forecast_coverage(60, seed=4, at_weeks=(8,)).share <= 0.95


def test_eight_in_ten_ranges_hold_the_hidden_day_of_height():
    assert 0.68 <= height_coverage(150, seed=6).share <= 0.92
