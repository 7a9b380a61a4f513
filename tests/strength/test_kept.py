"""Strength kept between weeks is the same as reading the whole log again, whatever was done to the log."""

import random
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overbar.simulation.coverage import logged_life
from overbar.strength import estimate
from overbar.strength import posterior as model
from overbar.strength.kept import NOTHING, SPANS_DAYS, as_parts, estimate_on, from_parts, key_of
from overbar.strength.prior import Prior, prior_for
from overbar.strength.sets import LoggedSet

LIFE = logged_life(4, weeks=10)
MIDDLE = LIFE.sets[len(LIFE.sets) // 2].on
HALF = estimate_on(LIFE.sets, LIFE.sex, through=MIDDLE)
WHOLE = estimate_on(LIFE.sets, LIFE.sex)


def test_a_log_read_at_once_gives_the_estimate_and_a_few_beliefs_to_go_on_from():
    assert WHOLE.points == estimate(LIFE.sets, LIFE.sex)
    assert WHOLE.newest is not None
    assert WHOLE.newest.on == LIFE.sets[-1].on
    days = [belief.on for _, belief in WHOLE.beliefs]
    assert days == sorted(set(days))
    assert len(days) <= 1 + len(SPANS_DAYS)
    assert estimate_on([]) == NOTHING


def test_going_on_week_by_week_is_reading_the_whole_log():
    kept = NOTHING
    for week in range(1, 11):
        through = LIFE.sets[0].on + timedelta(weeks=week)
        kept = estimate_on(LIFE.sets, LIFE.sex, kept=from_parts(*as_parts(kept)), through=through)
    assert kept.points == WHOLE.points
    assert [key for key, _ in kept.beliefs] == [key for key, _ in WHOLE.beliefs]
    assert as_parts(kept) == as_parts(WHOLE)


def test_going_on_reads_only_what_is_new(monkeypatch: pytest.MonkeyPatch):
    seen = []
    observe = model.observe
    monkeypatch.setattr("overbar.strength.kept.observe", lambda b, s: seen.append(b.on) or observe(b, s))
    estimate_on(LIFE.sets, LIFE.sex, kept=HALF)
    assert min(seen) > MIDDLE
    seen.clear()
    late = replace(LIFE.sets[-1], on=MIDDLE - timedelta(days=1), order=9)
    points = estimate_on([*LIFE.sets, late], LIFE.sex, kept=WHOLE).points
    assert min(seen) > LIFE.sets[0].on  # from an earlier kept belief, not from the start
    assert points == estimate([*LIFE.sets, late], LIFE.sex)


def a_set(day: int, reps: int, added: float, left: float | None) -> LoggedSet:
    on = LIFE.sets[0].on + timedelta(days=day)
    return LoggedSet(on, "strict_pull_up", 80.0, added, reps, left, order=day % 3)


EDITS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), st.integers(0, 80), st.integers(0, 12), st.sampled_from((None, 0.0, 2.0))),
        st.tuples(st.just("change"), st.integers(0, 10_000), st.integers(0, 12), st.just(None)),
        st.tuples(st.just("remove"), st.integers(0, 10_000), st.just(0), st.just(None)),
        st.tuples(st.just("cut"), st.integers(0, 10_000), st.just(0), st.just(None)),
    ),
    max_size=3,
)


@settings(max_examples=40, deadline=None)
@given(edits=EDITS, seed=st.integers(0, 99), kept=st.sampled_from((HALF, WHOLE)))
def test_whatever_was_added_late_changed_removed_or_shuffled_the_figures_are_those_of_a_fresh_estimate(
    edits, seed, kept
):
    sets = list(LIFE.sets)
    for what, place, reps, left in edits:
        if what == "add":
            sets.append(a_set(place, reps, 2.5 * (place % 3), left))
        elif what == "cut":
            sets = sets[: max(1, place % len(sets))]
        elif what == "remove" and len(sets) > 1:
            sets.pop(place % len(sets))
        elif what == "change":
            k = place % len(sets)
            sets[k] = replace(sets[k], reps=reps, reps_left=None)
    random.Random(seed).shuffle(sets)
    found = estimate_on(sets, LIFE.sex, kept=kept)
    assert found.points == estimate(sets, LIFE.sex)
    again = estimate_on(sets, LIFE.sex, kept=found)
    assert as_parts(again) == as_parts(found)


def test_bytes_hold_all_of_it():
    again = from_parts(*as_parts(WHOLE))
    assert again.points == WHOLE.points
    for (key, belief), (key_again, belief_again) in zip(WHOLE.beliefs, again.beliefs, strict=True):
        assert key == key_again
        assert np.array_equal(belief.cov, belief_again.cov)
        assert np.array_equal(belief.first_weight, belief_again.first_weight)
        assert (belief.on, belief.trained_on, belief.recent, belief.body_mass_kg) == (
            belief_again.on,
            belief_again.trained_on,
            belief_again.recent,
            belief_again.body_mass_kg,
        )
    assert from_parts(*as_parts(NOTHING)) == NOTHING


@pytest.mark.parametrize(
    "change",
    [
        {"reps": 3},
        {"body_mass_kg": 81.3},
        {"added_kg": -2.5},
        {"reps_left": 4.0},
        {"first_rep_speed_mps": 0.51},
        {"failed": True},
        {"order": 7},
        {"session": "Z"},
        {"exercise": "weighted_pull_up"},
        {"seconds": 5.0},
    ],
)
def test_every_number_the_estimate_reads_is_in_the_key(change):
    prior = prior_for("m")
    first = a_set(0, 5, 0.0, 1.0)
    others = LIFE.sets[1:]
    assert key_of([replace(first, **change), *others], "m", prior) != key_of([first, *others], "m", prior)


def test_the_key_knows_the_numbers_it_was_made_with_and_not_the_order_of_rows(monkeypatch):
    prior = prior_for("m")
    key = key_of(LIFE.sets, "m", prior)
    assert key_of(LIFE.sets[::-1], "m", prior) == key
    assert key_of(LIFE.sets, "m", prior_for("f")) != key
    assert key_of(LIFE.sets, "m", Prior((1.3, 0.1), (8.1, 1.9))) != key
    twice = [*LIFE.sets, LIFE.sets[0]]
    assert key_of(twice, "m", prior) != key
    assert key_of([*twice, LIFE.sets[0]], "m", prior) != key_of(twice, "m", prior)
    monkeypatch.setattr("overbar.strength.kept._model", lambda: "another version of the model")
    from overbar.strength.kept import _basis

    _basis.cache_clear()
    assert key_of(LIFE.sets, "m", prior) != key
    _basis.cache_clear()
