"""The forecast as drawn: every bar inside its months, the latest marked, what-ifs within reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from overbar.desk.outlook import habits_from_form, outlook_view, range_in_words
from overbar.errors import BadInput
from overbar.planning.coach_words import CoachDate
from overbar.planning.history import History, Measurement
from overbar.planning.outlook import Ahead, look_ahead
from overbar.strength.forecast import When
from overbar.strength.sets import LoggedSet

ON = date(2026, 3, 29)


@pytest.fixture(scope="module")
def ahead(ladder: Any) -> Ahead:
    from tests.planning.people import athlete

    sets = tuple(
        LoggedSet(ON - timedelta(weeks=w, days=d), "strict_pull_up", 78, 0, 5, 1.0)
        for w in range(6)
        for d in (2, 4, 6)
    )
    heights = tuple(
        Measurement(ON - timedelta(weeks=w), "strict_high_L", -0.10 - 0.01 * w, 0.02, "film")
        for w in range(6)
    )
    return look_ahead(History(athlete(), sets=sets, measurements=heights), ladder, ON)


def test_every_bar_lies_inside_the_drawing_and_one_a_gate_is_marked(ahead: Ahead, ladder: Any) -> None:
    view = outlook_view(ahead, ahead.usual, {}, 78, "kg", {}, ladder)
    rows = [row for gate in view.gates for row in gate.rows]
    bars = [row.bar for row in rows if row.bar]
    assert bars
    assert all(0 <= bar.left <= bar.right <= 100 for bar in bars)
    assert all(bar.left <= bar.likely <= bar.right for bar in bars if bar.likely is not None)
    for gate in view.gates:
        assert sum(row.decides for row in gate.rows) == any(not row.reached for row in gate.rows)
    assert all(0 <= place <= 100 for place, _ in view.ticks)
    assert "8 times in 10" in view.say


def test_a_what_if_is_drawn_over_what_happens_without_it(ahead: Ahead, ladder: Any) -> None:
    lived = habits_from_form(ahead.usual, {"missed": "14"}, 78, "kg")
    view = outlook_view(ahead, lived, {"missed": "14"}, 78, "kg", {}, ladder)
    moved = [(row.usual, row.bar) for gate in view.gates for row in gate.rows if row.bar]
    assert all(usual is not None and bar.left >= usual.left for usual, bar in moved)
    assert "later" in view.then
    assert view.asked["missed"] == "14"


def test_pounds_and_kilograms_ask_the_same(ahead: Ahead) -> None:
    in_kg = habits_from_form(ahead.usual, {"mass": "-2"}, 78, "kg")
    in_lb = habits_from_form(ahead.usual, {"mass": "-4.409245"}, 78, "lb")
    assert in_lb.body_mass_change == pytest.approx(in_kg.body_mass_change, rel=1e-6)
    assert in_kg.body_mass_change == pytest.approx(-2 / 78)


def test_a_lower_body_mass_is_called_a_sum_not_advice(ahead: Ahead, ladder: Any) -> None:
    lived = habits_from_form(ahead.usual, {"mass": "-2"}, 78, "kg")
    assert "not advice" in outlook_view(ahead, lived, {"mass": "-2"}, 78, "kg", {}, ladder).then


@pytest.mark.parametrize(
    "form",
    [{"mass": "-20"}, {"sleep": "2"}, {"days": "9"}, {"light": "x"}, {"missed": "-1"}, {"missed": "1e9"}],
)
def test_a_slip_of_the_finger_is_named(ahead: Ahead, form: dict[str, str]) -> None:
    with pytest.raises(BadInput):
        habits_from_form(ahead.usual, form, 78, "kg")


def test_nothing_asked_is_as_so_far(ahead: Ahead) -> None:
    assert habits_from_form(ahead.usual, {}, 78, "kg") == ahead.usual


def test_a_range_without_an_end_says_so() -> None:
    when = When("height", False, date(2026, 6, 30), None, None, 0.4, date(2028, 3, 26))
    assert range_in_words(when) == "not before 30 Jun 2026, no end to name"
    assert range_in_words(replace(when, early=None)) == "not within two years at this rate"
    assert range_in_words(replace(when, reached=True)) == "reached"


def test_the_coachs_own_date_stands_beside_the_computed_one(ahead: Ahead, ladder: Any) -> None:
    gate = ahead.look()[0]
    about = f"forecast:{gate.id}:{gate.keys[0]}"
    said = CoachDate(about, date(2026, 6, 1), date(2026, 7, 15), "he sleeps better now", ON)
    bare = outlook_view(ahead, ahead.usual, {}, 78, "kg", {}, ladder)
    view = outlook_view(ahead, ahead.usual, {}, 78, "kg", {about: said}, ladder)
    assert [row.say for g in view.gates for row in g.rows] == [row.say for g in bare.gates for row in g.rows]
    own = view.gates[0].rows[0].own
    assert own is not None
    assert 0 < own.left < own.right <= 100
    assert (view.own[0].say, view.own[0].reason) == ("1 Jun to 15 Jul 2026", "he sleeps better now")
    assert ("forecast:first_rep", "First valid rep") in view.may_date
