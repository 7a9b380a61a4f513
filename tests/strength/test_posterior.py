"""Strength from mixed logs: against exact answers, SciPy, a particle filter, and hidden truths."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from overbar.simulation.coverage import logged_life, strength_coverage
from overbar.simulation.hidden import Training, draw
from overbar.strength import estimate, estimate_smoothed, parameters_used
from overbar.strength import posterior as model
from overbar.strength.curve import BEND_WEIGHTS, BENDS, STEPS
from overbar.strength.posterior import STRENGTH, beliefs, by_day, fell_short, filtered, look_back
from overbar.strength.prior import Prior, prior_for
from overbar.strength.rep_max import epley, one_rep_max
from overbar.strength.sets import LoggedSet
from overbar.units import kg_from_lb, lb_from_kg

DAY = date(2026, 1, 5)


def one(reps, added=0.0, left=None, failed=False, on=DAY, body=80.0, order=0, speed=None):
    return LoggedSet(on, "strict_pull_up", body, added, reps, left, speed, failed=failed, order=order)


# --- one set ---------------------------------------------------------------


def test_a_single_to_failure_is_a_measurement_of_the_single():
    point = estimate([one(1, added=20.0, failed=True)], "m")[0]
    assert point.one_rm_kg == pytest.approx(100.0, rel=0.02)
    assert point.R_high / point.R_low < 1.15


@pytest.mark.parametrize("reps", [3, 5, 8, 10])
def test_a_man_s_set_to_failure_lies_among_the_published_equations(reps):
    # the seven equations at this count, lowest less 1 % to highest plus 1 %
    R = estimate([one(reps, failed=True)], "m")[0].R
    said = [one_rep_max(1.0, reps, name) for name in ("epley", "brzycki", "lombardi", "wathan", "lander")]
    assert min(said) * 0.99 <= R <= max(said) * 1.01


def test_five_strict_pull_ups_are_the_college_mean():
    # Epley 1.17, Brzycki 1.13 x body mass; Johnson et al. 2009: college men 1.16 SD 0.15
    point = estimate([one(5, failed=True)], "m")[0]
    assert 1.13 <= point.R <= 1.19
    assert point.R_low < epley(1, 5) < point.R_high


def test_a_woman_s_reps_say_less_strength_than_a_man_s():
    # Johnson et al. 2009: 10.5 reps at 80 % against 8.1
    assert estimate([one(8, failed=True)], "f")[0].R < estimate([one(8, failed=True)], "m")[0].R


def test_loads_are_judged_as_system_mass():
    plain, loaded = (estimate([one(5, added=added, failed=True)], "m")[0] for added in (0.0, 8.0))
    assert 1.085 < loaded.R / plain.R < 1.115


def test_band_help_is_taken_off_and_trusted_less_than_a_plate():
    band = estimate([one(5, added=-16.0, failed=True)], "m")[0]
    plate = estimate([one(5, added=16.0, failed=True)], "m")[0]
    assert band.R < 1.05 < plate.R
    sure = model.beliefs([one(5, added=-16.0, failed=True)], "m")[0].moments(STRENGTH)[1][0, 0]
    assert sure > 0


def test_what_a_band_is_off_by_does_not_average_out_over_its_sets():
    """By hand: help known to a tenth moves the log of what is left to lift by 0.1 x help / mass, however many
    sets are done; a set with another band tells."""
    wide = Prior((1.0, 0.3), (8.1, 1.9))
    banded = [one(5, added=-30.0, failed=True, on=DAY + timedelta(days=2 * k)) for k in range(30)]
    last = beliefs(banded, prior=wide)[-1]
    _, cov = last.moments(STRENGTH)
    mass = banded[0].system_mass_kg
    assert np.sqrt(cov[0, 0]) > 0.85 * 0.1 * 30.0 / mass
    lighter = one(1, added=-14.0, failed=True, on=last.on + timedelta(days=2))
    other = beliefs([*banded, lighter], prior=wide)[-1]
    assert other.band_kg == 14.0
    assert other.moments(STRENGTH)[1][0, 0] < cov[0, 0]


def test_a_load_that_did_not_move_says_nothing_new_when_tried_again_that_day():
    wide = Prior((1.2, 0.3), (8.1, 1.9))
    once = one(0, added=20.0)
    again = [replace(once, order=k) for k in range(4)]
    assert pytest.approx(estimate([once], prior=wide)[0].R, rel=1e-9) == estimate(again, prior=wide)[0].R
    lighter = [once, replace(once, added_kg=10.0, order=1)]
    assert estimate(lighter, prior=wide)[0].R < estimate([once], prior=wide)[0].R


def test_one_repetition_and_no_second_means_the_single_is_no_less_than_the_mass():
    wide = Prior((1.2, 0.3), (8.1, 1.9))
    point = estimate([one(1, added=20.0, failed=True)], prior=wide)[0]
    assert 1.0 <= point.one_rm_kg / one(1, added=20.0).system_mass_kg < 1.03


def test_reps_left_are_read_as_under_reported():
    # Halperin et al. 2022: 0.95 too few on average, so five with one left are nearly seven
    told = estimate([one(5, left=1)], "m")[0].R
    assert estimate([one(6, failed=True)], "m")[0].R < told < estimate([one(8, failed=True)], "m")[0].R


def test_a_set_that_ended_early_is_a_lower_bound_only():
    wide = Prior((1.2, 0.3), (8.1, 1.9))
    easy = estimate([one(2)], prior=wide)[0]
    hard = estimate([one(2, failed=True)], prior=wide)[0]
    assert easy.R > hard.R
    assert easy.R > 1.16
    assert estimate([one(12)], prior=wide)[0].R_low > 1.2


def test_zero_reps_is_a_failed_first_rep_and_never_not_logged():
    wide = Prior((1.2, 0.3), (8.1, 1.9))
    failed = estimate([one(0, added=16.0)], prior=wide)[0]
    assert failed.R < 1.2
    assert failed.R_high < 1.32


def test_a_fast_first_rep_says_more_than_a_slow_one():
    slow, fast = (estimate([one(3, speed=speed)], "m")[0].R for speed in (0.42, 0.75))
    assert fast > slow + 0.03


def test_a_set_short_of_its_fellows_was_near_the_end():
    assert fell_short([one(5), one(5), one(4), one(4)]).reps == 4
    assert fell_short([one(5), one(3, added=10), one(3, added=10)]) is None
    # A longer first set with back-offs, and short fast sets at the end, are plans.
    assert fell_short([one(7), one(4), one(4), one(4)]) is None
    assert fell_short([one(5), one(5), one(5), one(2), one(2)]) is None
    tired = [one(reps, order=k) for k, reps in enumerate((5, 5, 5, 4, 3))]
    steady = [one(5, order=k) for k in range(5)]
    assert estimate(tired, "m")[0].R < estimate(steady, "m")[0].R


def test_holds_and_lowerings_are_not_repetitions():
    assert estimate([replace(one(1), seconds=5.0)]) == ()
    assert estimate([]) == ()


# --- exactness ---------------------------------------------------------------


def test_one_window_moves_the_belief_to_its_exact_mean_and_variance():
    # SciPy's integral of Gaussian x blurred window
    mean, sd, low, high, blur = 0.10, 0.08, 0.12, 0.19, 0.02
    moved, cov, chance = model._moved(
        np.array([[mean]]),
        np.array([[[sd**2]]]),
        np.array([[1.0]]),
        np.array([mean]),
        np.array([low]),
        np.array([high]),
        np.array([blur]),
    )

    def weight(x):
        inside = norm.cdf((high - x) / blur) - norm.cdf((low - x) / blur)
        return norm.pdf(x, mean, sd) * (model.SLIP * model.SLIP_SPREAD[0] + (1 - model.SLIP) * inside)

    total = quad(weight, -0.5, 0.7, limit=200)[0]
    first = quad(lambda x: x * weight(x), -0.5, 0.7, limit=200)[0] / total
    second = quad(lambda x: (x - first) ** 2 * weight(x), -0.5, 0.7, limit=200)[0] / total
    assert chance[0] == pytest.approx(total, rel=1e-6)
    assert moved[0, 0] == pytest.approx(first, rel=1e-6)
    assert cov[0, 0, 0] == pytest.approx(second, rel=1e-5)


def _particles(sets, sex, count, rng):
    """A bootstrap particle filter of the same model, written apart, for sets to failure."""
    prior = prior_for(sex)
    bends = rng.choice(3, count, p=BEND_WEIGHTS)
    start = model.begin(sets[0].on, sets[0].body_mass_kg, prior)
    log_kg = rng.normal(start.mean[0, 0], np.sqrt(start.cov[0, 0, 0]), count)
    gain = rng.normal(*prior.gain, count)
    at_80 = prior.reps_at_80[0] + prior.reps_at_80[1] * rng.choice(
        STEPS, count, p=np.exp(-(STEPS**2) / 2) / np.exp(-(STEPS**2) / 2).sum()
    )

    def bend(reps):
        n = np.maximum(np.broadcast_to(reps, count), 0.2)
        powers = [np.log(n) if k == 0 else (n**k - 1) / k for k in BENDS]
        return np.choose(bends, powers)

    steep = np.log(1.25) / bend(np.maximum(at_80, 2.5))
    out, last = [], sets[0].on
    for done in sets:
        weeks = (done.on - last).days / 7
        last = done.on
        usual = model.usual_gain(np.exp(log_kg) / done.body_mass_kg)
        log_kg = log_kg + gain * usual * weeks + rng.normal(0, model.DRIFT_SD * weeks**0.5, count)
        gain = gain + rng.normal(0, model.GAIN_DRIFT_SD * weeks**0.5, count)
        today = log_kg + rng.normal(0, model.DAY_SD, count) - np.log(done.system_mass_kg)
        inside = norm.cdf((steep * bend(done.reps + 0.5) - today) / model.SET_SD) - norm.cdf(
            (steep * bend(done.reps - 0.5) - today) / model.SET_SD
        )
        weight = model.SLIP * model.SLIP_SPREAD[0] + (1 - model.SLIP) * inside
        weight /= weight.sum()
        mean = weight @ log_kg
        out.append((mean, np.sqrt(weight @ (log_kg - mean) ** 2)))
        keep = np.searchsorted(np.cumsum(weight), (rng.random() + np.arange(count)) / count).clip(
            0, count - 1
        )
        log_kg, gain, steep, bends = log_kg[keep], gain[keep], steep[keep], bends[keep]
    return np.array(out)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_filter_agrees_with_a_particle_filter_of_the_same_model(seed, monkeypatch):
    # The two allowances for curves that are not quite the athlete's are no part of the exact model.
    monkeypatch.setattr(model, "STEEP_SD", 1e-4)
    monkeypatch.setattr(model, "CURVE_FORGETS", 0.0)
    rng = np.random.default_rng(seed)
    life = Training(draw(rng, "m", (1.25, 0.04)), rng)
    sets = []
    for week in range(12):
        life.start_day()
        sets.append(life.do_set(DAY + timedelta(weeks=week), 0.0, 30, to_failure=True))
        life.live(7)
    exact = _particles(sets, "m", 60_000, np.random.default_rng(5))
    found = beliefs(sets, "m")
    means = np.array([b.moments(STRENGTH)[0][0] for b in found])
    sds = np.array([np.sqrt(b.moments(STRENGTH)[1][0, 0]) for b in found])
    # In units of what is not known: the Gaussian on each curve is an approximation.
    assert np.abs((means - exact[:, 0]) / exact[:, 1]).max() < 0.35
    assert np.abs(sds / exact[:, 1] - 1).max() < 0.25


def _told_particles(sets, count, rng):
    """A bootstrap particle filter for reps with reps left told, written apart from the filter."""
    prior = prior_for("m")
    bends = rng.choice(3, count, p=BEND_WEIGHTS)
    start = model.begin(sets[0].on, 80.0, prior)
    log_kg = rng.normal(start.mean[0, 0], np.sqrt(start.cov[0, 0, 0]), count)
    gain, habit = rng.normal(*prior.gain, count), rng.normal(*prior.reserve_bias, count)
    chances = np.exp(-(STEPS**2) / 2) / np.exp(-(STEPS**2) / 2).sum()
    at_80 = np.maximum(prior.reps_at_80[0] + prior.reps_at_80[1] * rng.choice(STEPS, count, p=chances), 4.5)

    def bend(n):
        n = np.maximum(np.broadcast_to(n, count), 0.2)
        return np.choose(bends, [np.log(n) if k == 0 else (n**k - 1) / k for k in BENDS])

    steep = np.log(1.25) / bend(at_80)
    base, per_rep = model.RESERVE_READING_SD
    last = sets[0].on
    for done in sets:
        weeks = (done.on - last).days / 7
        last = done.on
        log_kg = log_kg + gain * model.usual_gain(np.exp(log_kg) / 80) * weeks
        log_kg = log_kg + rng.normal(0, model.DRIFT_SD * weeks**0.5, count)
        gain = gain + rng.normal(0, model.GAIN_DRIFT_SD * weeks**0.5, count)
        ratio = log_kg + rng.normal(0, np.hypot(model.DAY_SD, model.SET_SD), count)
        share = (ratio - np.log(done.system_mass_kg)) / steep
        powers = [np.exp(share) if k == 0 else np.maximum(1 + k * share, 1e-9) ** (1 / k) for k in BENDS]
        left = np.choose(bends, powers) - done.reps
        sd = base + per_rep * np.clip(left, 0, model.MOST_LEFT + 3)
        edge = habit + done.reps_left + 0.5 - left
        low = 0.0 if done.reps_left < 0.25 else norm.cdf((edge - 1) / sd)
        inside = norm.cdf(edge / sd) - low
        weight = (left > -0.5) * (0.01 / 30 + 0.99 * inside) + 1e-12
        weight /= weight.sum()
        places = (rng.random() + np.arange(count)) / count
        keep = np.searchsorted(np.cumsum(weight), places).clip(0, count - 1)
        log_kg, gain, steep, bends, habit = (x[keep] for x in (log_kg, gain, steep, bends, habit))
    return log_kg.mean(), log_kg.std(), habit.mean()


@pytest.mark.parametrize(("added", "reps"), [(0.0, 4), (8.0, 3)])
def test_reps_left_told_agree_with_a_particle_filter_of_the_same_model(added, reps, monkeypatch):
    monkeypatch.setattr(model, "STEEP_SD", 1e-4)
    monkeypatch.setattr(model, "CURVE_FORGETS", 0.0)
    # Reports that scatter by as much as the model expects of them. (The filter takes that
    # scatter as known; the exact posterior would also learn from it.)
    told = [3, 5, 2, 4, 1, 3, 6, 3, 2, 4, 5, 3, 1, 4, 3, 2]
    sets = [one(reps, added, left, on=DAY + timedelta(days=3 * k)) for k, left in enumerate(told)]
    mean, sd, _ = _told_particles(sets, 120_000, np.random.default_rng(3))
    found = beliefs(sets, "m")[-1]
    centre, cov = found.moments(STRENGTH)
    assert abs(centre[0] - mean) / sd < 0.35
    assert abs(np.sqrt(cov[0, 0]) / sd - 1) < 0.25


def test_none_left_again_and_again_does_not_make_the_habit_absurd():
    # None left is the least one can say: it cannot show that reserve is over-reported.
    sets = [one(2, left=0, on=DAY + timedelta(days=2 * k)) for k in range(40)]
    habit = beliefs(sets, "m")[-1].moments(model.RESERVE)[0][0]
    assert habit > 0.3


def test_looking_back_agrees_with_the_kalman_smoother_of_statsmodels():
    from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

    sets = [one(4 + k // 2, failed=True, on=DAY + timedelta(weeks=k)) for k in range(8)]
    steps = filtered(sets, "m")
    # On one curve every day is a Gaussian step. The pseudo-measurement that makes it is read back
    # from the filter's own before and after, and given to statsmodels' smoother.
    curve, known, size = 13, [0, 1, 2, 3, 4, 5], 6
    smoother = KalmanSmoother(k_endog=size, k_states=size)
    values, noises, moves = [], [], []
    for belief, ahead, move in steps:
        before, after = ahead.cov[curve][np.ix_(known, known)], belief.cov[curve][np.ix_(known, known)]
        gained = np.linalg.inv(after) - np.linalg.inv(before)
        seen = (
            np.linalg.inv(after) @ belief.mean[curve][known]
            - np.linalg.inv(before) @ (ahead.mean[curve][known])
        )
        noises.append(np.linalg.inv(gained + 1e-6 * np.eye(size)))
        values.append(np.linalg.inv(gained + 1e-6 * np.eye(size)) @ seen)
        moves.append(move[curve][np.ix_(known, known)])
    smoother.bind(np.array(values))
    smoother["design"] = np.eye(size)
    smoother["selection"] = np.eye(size)
    smoother["obs_cov"] = np.array(noises).transpose(1, 2, 0)
    smoother["transition"] = np.array([*moves[1:], np.eye(size)]).transpose(1, 2, 0)
    moved = []
    for (belief, _, _), (_, ahead, move) in pairwise(steps):
        carried = move[curve] @ belief.cov[curve] @ move[curve].T
        moved.append((ahead.cov[curve] - carried)[np.ix_(known, known)])
    smoother["state_cov"] = np.array([*moved, np.zeros((size, size))]).transpose(1, 2, 0)
    first = steps[0][1]
    smoother.initialize_known(first.mean[curve][known], first.cov[curve][np.ix_(known, known)])
    theirs = smoother.smooth().smoothed_state
    for place in (0, 3, 6):
        ours, _ = look_back(steps, place)
        assert ours.mean[curve][0] == pytest.approx(theirs[0, place], abs=2e-5)


def test_looking_back_ends_where_the_filter_ends_and_is_surer_before():
    life = logged_life(3)
    ahead, back = estimate(life.sets, life.sex), estimate_smoothed(life.sets, life.sex)
    assert back[-1] == ahead[-1]
    middle = len(back) // 3
    assert back[middle].R_high / back[middle].R_low < ahead[middle].R_high / ahead[middle].R_low


# --- properties ---------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.randoms(use_true_random=False), st.integers(0, 30))
def test_the_order_of_rows_changes_nothing(random, seed):
    sets = list(logged_life(seed, weeks=5).sets)
    shuffled = sets.copy()
    random.shuffle(shuffled)
    assert estimate(shuffled, "m") == estimate(sets, "m")


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 30))
def test_pounds_and_kilograms_change_nothing(seed):
    sets = logged_life(seed, weeks=4).sets
    there_and_back = [
        replace(
            s,
            body_mass_kg=kg_from_lb(lb_from_kg(s.body_mass_kg)),
            added_kg=kg_from_lb(lb_from_kg(s.added_kg)),
        )
        for s in sets
    ]
    for a, b in zip(estimate(sets, "m"), estimate(there_and_back, "m"), strict=True):
        assert abs(b.R / a.R - 1) < 1e-9


def test_what_comes_later_never_changes_what_was_known():
    sets = logged_life(11).sets
    whole, cut = estimate(sets, "m"), estimate(sets, "m", through=DAY + timedelta(weeks=6))
    assert whole[: len(cut)] == cut


def test_one_slip_of_the_pen_does_not_carry_the_estimate_away():
    sets = list(logged_life(11).sets)
    before = estimate(sets, "m")[-1].R
    slip = one(60, left=1, on=sets[-1].on, body=sets[-1].body_mass_kg, order=99)
    after = estimate([*sets, slip], "m")[-1].R
    assert abs(after / before - 1) < 0.05


def test_a_long_lay_off_costs_little_for_three_weeks_and_then_more():
    # detraining review 2022, second-hand: about three weeks cost little
    belief = beliefs([one(8, failed=True)], "m")[-1]
    fresh = belief.point().one_rm_kg
    three = model.advance(belief, DAY + timedelta(days=21)).point()
    ten = model.advance(belief, DAY + timedelta(days=70)).point()
    assert three.one_rm_kg >= fresh * 0.99
    assert ten.one_rm_kg < three.one_rm_kg * 0.97
    assert ten.R_high / ten.R_low > three.R_high / three.R_low


def test_the_days_are_grouped_oldest_first():
    days = by_day([one(5, on=DAY + timedelta(days=2)), one(5), one(4)])
    assert [(day, len(sets)) for day, sets in days] == [(DAY, 2), (DAY + timedelta(days=2), 1)]


# --- hidden truths --------------------------------------------------------------


def test_nine_in_ten_intervals_hold_the_hidden_truth_without_bias():
    # Target 87 to 93 % and 0.5 % on many athletes (benchmarks print them); here with the error of 120.
    found = strength_coverage(120, seed=1)
    assert 0.85 <= found.share <= 0.96
    assert abs(found.bias) <= 0.011


def test_every_number_used_is_told_with_its_ground():
    used = parameters_used("f")
    assert used["prior"]["reps_at_80_percent"] == [10.5, 2.2]
    assert "Johnson" in used["prior"]["basis"]
    assert "Halperin" in used["prior"]["basis"]
