"""Margins, levers, what-if and the learning of the offset."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from overbar.errors import BadInput
from overbar.mechanics.margins import (
    FORM_SD_R,
    PERSON_SD_R,
    STRONG_ENOUGH_AND_OVER,
    Change,
    LoggedAttempt,
    Person,
    answer,
    answer_from,
    learn,
    levers,
    need,
    prior_offset,
    push_from_dip,
    speed_from_first_rep,
    what_if,
)
from overbar.mechanics.surrogate import Table, read_table, reference_of

STARTER = Person(1.75, 75.0, 1.17, sex="m")
READY = Person(1.75, 75.0, 1.60, sex="m")


def test_no_threshold_without_its_band(table: Table) -> None:
    found = answer(table, STARTER, 15.0)
    data = found.to_json(reference_of(table, 15.0))
    for start in ("still", "swing"):
        assert data["needs_low"][start] < data["needs"][start] < data["needs_high"][start]
        assert data["margin_low"][start] < data["margin"][start] < data["margin_high"][start]
        assert data["margin"][start] == pytest.approx(data["has"] - data["needs"][start], abs=1e-3)
    assert "band" in found.say
    assert "stop at pain" in data["caution"].lower()
    json.dumps(data)


def test_the_answer_has_every_field_of_the_contract(table: Table) -> None:
    data = answer(table, STARTER, 20.0).to_json(reference_of(table, 20.0))
    assert set(data) >= {
        "needs",
        "has",
        "margin",
        "swing_deg",
        "peak_hand_force_bw",
        "duration_s",
        "converged",
        "levers",
    }
    assert all(set(lever) >= {"name", "unit", "step", "gain_R"} for lever in data["levers"])


def test_five_pull_ups_are_not_yet_enough(table: Table) -> None:
    # common practice, no source: at about five strict pull-ups (R 1.17 by Epley) no one tries
    found = answer(table, STARTER, 15.0)
    assert found.margin["swing"].high < 0
    assert "strength first" in found.say


def test_the_trades_rule_of_thumb_is_shown_beside_the_models_band(table: Table) -> None:
    # common practice, no source: three to five reps with a quarter of body mass (R 1.37 to 1.47) begin with a
    # swing. The model asks for more; its band reaches the rule at 20 degrees and more, and both are shown.
    data = answer(table, STARTER, 25.0).to_json(reference_of(table, 25.0))
    assert data["needs_low"]["swing"] < data["trade_rule_R"][1] < data["needs"]["swing"]


@pytest.mark.parametrize("sex", ["f", "m", "unstated"])
@pytest.mark.parametrize("stature", [1.50, 1.75, 2.00])
def test_more_swing_needs_less_strength(table: Table, sex: str, stature: float) -> None:
    # common practice, no source: a bigger swing makes it easier
    who = replace(STARTER, stature_m=stature, sex=sex)
    asked = [need(table, who, swing).value for swing in (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0)]
    assert all(later < earlier + 0.01 for earlier, later in pairwise(asked))
    assert asked[-1] < asked[1] - 0.2


@given(st.floats(45, 120), st.floats(1.5, 2.0), st.sampled_from(["f", "m"]), st.floats(0, 35))
@settings(max_examples=40, deadline=None)
def test_body_mass_alone_does_not_move_the_threshold(
    mass: float, stature: float, sex: str, swing: float
) -> None:
    # dimensional analysis: strength in body masses, same proportions
    table = read_table()
    here = need(table, Person(stature, mass, 1.3, sex=sex), swing)
    there = need(table, Person(stature, 75.0, 1.3, sex=sex), swing)
    assert here.value == pytest.approx(there.value)


def test_a_pause_in_the_turn_over_is_the_costliest_single_fault(table: Table) -> None:
    # common practice, no source; every variant says so
    faults = {lever.name: lever.gain_R for lever in levers(table, READY, 20.0) if lever.kind == "fault"}
    assert min(faults, key=lambda name: faults[name]) == "pause in the turn-over"
    costs = [what_if(table, READY, 20.0, Change(pause_s=t)).value for t in (0.05, 0.1, 0.15, 0.2)]
    assert all(later < earlier for earlier, later in pairwise(costs))


def test_pulling_late_costs(table: Table) -> None:
    # common practice, no source: pulling shortly after the front of the swing beats pulling later
    gains = what_if(table, READY, 20.0, Change(pull_later_s=0.3))
    assert gains.high < 0
    assert gains.value < -0.03
    for times, added in table.waits.values():
        best = times[int(np.argmin(added))]
        assert best <= 0.2
        assert added[times.index(0.6)] >= 0.04
        # From the best start on, later never asks for less.
        after = added[times.index(best) :]
        assert after == sorted(after)


def test_a_kilo_on_the_belt_is_exactly_that(table: Table) -> None:
    gain = what_if(table, READY, 20.0, Change(belt_kg=1.5))
    assert gain.value == pytest.approx(1.5 / 75.0)
    assert gain.low == gain.high


def test_losing_fat_buys_more_than_the_same_kilos_on_the_belt(table: Table) -> None:
    lighter = what_if(table, READY, 20.0, Change(body_mass_kg=-2.0))
    stronger = what_if(table, READY, 20.0, Change(belt_kg=2.0))
    assert lighter.value > stronger.value > 0


def test_levers_are_ranked(table: Table) -> None:
    gains = [lever.gain_R for lever in levers(table, READY, 15.0)]
    assert gains == sorted(gains, reverse=True)


def test_no_attempts_leave_the_prior_as_it_is(table: Table) -> None:
    start = prior_offset(table)
    after = learn(table, [])
    assert after.mean == pytest.approx(0.0, abs=1e-6)
    assert after.sd == pytest.approx(start.sd, rel=1e-3)
    assert "No logged attempt" in after.say()


def test_a_success_below_the_threshold_moves_it_down_and_a_failure_above_moves_it_up(table: Table) -> None:
    weak = replace(STARTER, R=1.38)
    strong = replace(STARTER, R=1.95)
    down = learn(table, [LoggedAttempt("a", weak, 20.0, True)])
    up = learn(table, [LoggedAttempt("a", strong, 20.0, False)])
    assert down.mean < -0.05
    assert up.mean > 0.02
    assert abs(down.mean) > abs(up.mean)  # a failure may be timing; a success cannot be luck of strength
    assert down.sd < down.prior_sd
    assert "down by" in down.say()


def test_attempts_of_a_known_population_bring_the_offset_home(table: Table) -> None:
    # simulation with a known truth: the thresholds are 0.25 lower than the model says
    rng = np.random.default_rng(5)
    truth = -0.25
    attempts = []
    for n in range(120):
        who = replace(STARTER, R=float(rng.uniform(1.1, 1.9)))
        middle = float(
            np.mean([table.need(v, "m", "swing", replace(who.place, swing_deg=20.0)) for v in table.variants])
        )
        strong = who.R + rng.normal(0, who.R_sd) - rng.normal(0, 0.08) > middle + truth
        attempts.append(LoggedAttempt(f"athlete {n}", who, 20.0, bool(strong and rng.random() < 0.7)))
    after = learn(table, attempts)
    assert after.mean == pytest.approx(truth, abs=2.5 * after.sd)
    assert after.sd < 0.06
    moved = need(table, STARTER, 20.0, after)
    before = need(table, STARTER, 20.0)
    assert moved.value == pytest.approx(before.value + after.mean)
    assert moved.high - moved.low < before.high - before.low


def test_many_tries_of_one_athlete_say_less_than_as_many_of_many(table: Table) -> None:
    weak = replace(STARTER, R=1.38)
    one = learn(table, [LoggedAttempt("same", weak, 20.0, True) for _ in range(12)])
    many = learn(table, [LoggedAttempt(f"athlete {n}", weak, 20.0, True) for n in range(12)])
    assert one.sd > 1.3 * many.sd
    assert (one.athletes, many.athletes, one.over) == (1, 12, 12)


def test_a_swing_no_film_shows_makes_an_attempt_say_less(table: Table) -> None:
    weak = replace(STARTER, R=1.30)
    seen = learn(table, [LoggedAttempt("a", weak, 20.0, True)])
    unseen = learn(table, [LoggedAttempt("a", weak, 20.0, True, swing_sd_deg=8.0)])
    assert seen.mean < unseen.mean < 0
    assert unseen.sd > seen.sd


def test_learning_is_the_exact_posterior(table: Table) -> None:
    # against plain numerical integration over the common shift and each athlete's own (SciPy)
    weak, strong = replace(STARTER, R=1.45), replace(STARTER, R=1.70)
    tries = [
        LoggedAttempt("a", weak, 20.0, False),
        LoggedAttempt("a", weak, 20.0, True),
        LoggedAttempt("b", strong, 20.0, True),
    ]
    start = prior_offset(table)
    needed = need(table, STARTER, 20.0).value
    between = np.hypot(PERSON_SD_R, STARTER.R_sd)

    def of_one(shift: float, own: list[LoggedAttempt]) -> float:
        def given(e: float) -> float:
            value = norm.pdf(e, 0, between)
            for one in own:
                p = STRONG_ENOUGH_AND_OVER * norm.cdf((one.person.R - needed - shift - e) / FORM_SD_R)
                value *= p if one.over else 1 - p
            return float(value)

        return float(quad(given, -6 * between, 6 * between, points=[0.0], limit=200)[0])

    grid = np.linspace(-1.2, 1.2, 161)
    weight = np.array([norm.pdf(d, 0, start.sd) * of_one(d, tries[:2]) * of_one(d, tries[2:]) for d in grid])
    weight /= weight.sum()
    mean = float(weight @ grid)
    found = learn(table, tries)
    assert found.mean == pytest.approx(mean, abs=0.003)
    assert found.sd == pytest.approx(float(np.sqrt(weight @ (grid - mean) ** 2)), rel=0.02)


def test_dips_and_first_reps_scale_push_and_speed() -> None:
    assert push_from_dip(0.99, 1.40) == pytest.approx(1.0)
    assert push_from_dip(1.11, 1.40) > 1.2  # Coyne et al. 2015 on parallel bars
    assert speed_from_first_rep(0.80, 1.40) > 1.1
    assert 0.75 <= speed_from_first_rep(0.2, 1.40) < 1.0


def test_what_cannot_be_meant_is_refused_with_its_value(table: Table) -> None:
    with pytest.raises(BadInput, match="125"):
        Person(1.75, 75.0, 125.0)
    with pytest.raises(BadInput, match="50"):
        need(table, STARTER, 50.0)
    with pytest.raises(BadInput, match="-80"):
        what_if(table, STARTER, 20.0, Change(body_mass_kg=-80.0))


def test_a_body_solved_in_full_beyond_the_table_is_answered_without_levers(table: Table) -> None:
    each = {"still": {"middle": 2.04}, "swing": {"middle": 1.35}}
    found = answer_from(table, Person(1.78, 80.0, 1.3), 45.0, each)
    assert found.levers == ()
    assert found.needs["swing"].value == pytest.approx(1.35, abs=0.01)
    assert "bought by" not in found.say
