"""Simulated athletes: their truth is drawn from published spreads and told as people tell it."""

from datetime import date

import numpy as np
import pytest

from overbar.simulation.hidden import Training, draw
from overbar.strength.rep_max import EQUATIONS

DAY = date(2026, 1, 5)


def lives(count, **asked):
    for seed in range(count):
        rng = np.random.default_rng(seed)
        yield Training(draw(rng, **asked), rng)


def test_reps_at_80_percent_have_the_published_mean_and_spread():
    # Johnson et al. 2009: men 8.1 (SD 1.9)
    reps = [life.hidden.reps_at(np.log(1.25)) for life in lives(400, sex="m")]
    assert np.mean(reps) == pytest.approx(8.1, abs=0.35)
    assert np.std(reps) == pytest.approx(1.9, abs=0.3)


def test_reserve_is_under_reported_by_the_published_mean():
    # Halperin et al. 2022: 0.95 repetitions too few; zero is the least one can say
    said = [np.mean([life.felt_left(5) for _ in range(40)]) for life in lives(200)]
    assert 5 - np.mean(said) == pytest.approx(0.95, abs=0.12)


def test_a_mass_at_the_maximum_goes_once():
    for life in lives(20):
        assert life.hidden.reps_at(0.0) == pytest.approx(1.0, abs=0.05)
        assert life.hidden.reps_at(-0.05) < 1


def test_a_set_to_failure_is_marked_and_a_stopped_one_is_not():
    life = next(lives(1, R=(1.30, 0.01)))
    life.start_day()
    assert life.do_set(DAY, 0.0, 30, to_failure=True).failed
    life.start_day()
    assert not life.do_set(DAY, 0.0, 2).failed


def test_sets_tire():
    fresh, tired = [], []
    for life in lives(60, R=(1.30, 0.01)):
        life.start_day()
        reps = [life.do_set(DAY, 0.0, 30, to_failure=True).reps for _ in range(5)]
        fresh.append(reps[0])
        tired.append(reps[4])
    assert np.mean(tired) < np.mean(fresh) - 1


def test_half_of_the_curves_are_published_equations():
    # An equation stretched to the athlete's own reps: the shape is the equation's.
    assert len(EQUATIONS) == 7
    bends = []
    for life in lives(200, sex="m"):
        at = np.array([life.hidden.log_ratio[10 * n] for n in (3, 5, 9)])
        bends.append((at[2] - at[1]) / (at[1] - at[0]) / 2)
    assert min(bends) < 0.7
    assert max(bends) > 1.0
