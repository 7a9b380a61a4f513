"""Retest error against Coyne et al. 2015, and real rises against hidden ones."""

from datetime import date, timedelta

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.simulation.coverage import logged_life
from overbar.strength.retest import (
    DIP_OVER_PULL,
    PULL_UP_MEAN,
    PULL_UP_SD,
    is_rise_real,
    rise_between,
    smallest_real_change,
    standard_error,
)
from overbar.strength.sets import LoggedSet


def test_the_retest_error_of_the_pull_up_single_is_the_published_one():
    # Coyne et al. 2015: SD 0.15, ICC 0.96 -> SEM 0.030, MDC95 0.083; ICC 0.99 -> 0.015, 0.042
    assert standard_error(0.15, 0.96) == pytest.approx(0.030, abs=0.0005)
    assert smallest_real_change(0.030) == pytest.approx(0.083, abs=0.0005)
    assert smallest_real_change(standard_error(0.15, 0.99)) == pytest.approx(0.042, abs=0.0005)


@pytest.mark.parametrize(("icc", "share", "kg"), [(0.96, 0.058, 9.9), (0.99, 0.029, 4.9)])
def test_two_bare_tests_must_differ_by_the_published_share_and_kilograms(icc, share, kg):
    # Coyne et al. 2015: relative 1.43 SD 0.15, absolute 105.90 SD 17.78 kg; computed from SD and ICC
    change = smallest_real_change(standard_error(PULL_UP_SD, icc)) / PULL_UP_MEAN
    assert change == pytest.approx(share, abs=0.0005)
    assert smallest_real_change(standard_error(17.78, icc)) == pytest.approx(kg, abs=0.06)


def test_dip_over_pull_is_the_published_ratio():
    assert pytest.approx(1.11, abs=0.01) == DIP_OVER_PULL


def test_one_test_up_by_four_percent_is_noise_and_three_tests_up_by_five_percent_are_not():
    assert not is_rise_real(1.30, 1.30 * 1.04)
    assert is_rise_real(1.30, 1.30 * 1.05, tests=3)


def test_the_interval_of_a_rise_holds_the_hidden_rise_nine_times_in_ten():
    held = []
    for seed in range(60):
        life = logged_life(9_000 + seed)
        truth = dict(life.truth)
        rise = rise_between(life.sets, date(2026, 2, 2), None, life.sex)
        bodies = {
            day: np.median([s.body_mass_kg for s in life.sets if s.on == day])
            for day in (rise.since, rise.until)
        }
        true = truth[rise.until] * bodies[rise.until] / (truth[rise.since] * bodies[rise.since]) - 1
        held.append(rise.low <= true <= rise.high)
    assert np.mean(held) >= 0.78  # 90 % less three standard errors of 60 athletes


def test_the_same_reps_at_the_same_mass_are_no_rise():
    sets = [
        LoggedSet(date(2026, 1, 5) + timedelta(days=3 * k), "strict_pull_up", 80.0, 0.0, 6, failed=True)
        for k in range(2)
    ]
    rise = rise_between(sets, sets[0].on, None, "m")
    assert not rise.real
    assert "within the noise" in rise.say()


def test_eight_reps_after_five_are_a_real_rise():
    sets = [
        LoggedSet(date(2026, 1, 5) + timedelta(days=7 * k), "strict_pull_up", 80.0, 0.0, reps, failed=True)
        for k, reps in enumerate((5, 5, 6, 7, 8, 8))
    ]
    rise = rise_between(sets, sets[0].on, None, "m")
    assert rise.real
    assert rise.chance > 0.99


def test_one_day_is_no_rise():
    with pytest.raises(BadInput):
        rise_between([LoggedSet(date(2026, 1, 5), "strict_pull_up", 80, 0, 5)], date(2026, 1, 5))
