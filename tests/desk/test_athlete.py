"""The athlete's page in words: the weakest item first, every number with its uncertainty."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from overbar.athlete.person import Athlete
from overbar.desk import athlete as one
from overbar.ladder import Ladder
from overbar.planning.history import History, Measurement, PainReport
from overbar.planning.verdict import Week
from overbar.strength.prior import prior_for
from overbar.strength.sets import LoggedSet, StrengthPoint

TODAY = date(2026, 3, 27)


def test_the_weakest_hard_item_leads_with_its_shortfall(week: Week) -> None:
    rows = one.gate_rows(week.verdict.gate, TODAY)
    assert [row.say for row in rows] == ["Swing high pull", "Skin whole", "Deep dips", "Pull start in time"]
    assert rows[0].weakest
    assert rows[0].shortfall == "3 cm short"
    assert rows[0].value == "+0.14 ± 0.02 L"
    assert one.weakest_in_words(week.verdict.gate) == "Swing high pull: 3 cm short"


def test_strength_is_told_with_its_interval_and_in_the_athletes_unit() -> None:
    point = StrengthPoint(date(2026, 3, 25), 1.353, 1.31, 1.40, 103.2, 76.3)
    line = one.strength_line(point, prior_for("m"), "kg", TODAY)
    assert line is not None
    assert line.ratio == "1.35 (1.31 to 1.40)"
    assert "26.9 kg" in line.meaning
    assert line.begun.startswith("from the published norm: R 1.17 ± 0.15")
    pounds = one.strength_line(point, prior_for("m"), "lb", TODAY)
    assert pounds is not None
    assert "lb" in pounds.one_rm
    assert "kg" not in pounds.one_rm


def test_the_last_cue_says_whether_its_drill_is_in_the_log(
    athlete: Athlete, week: Week, ladder: Ladder
) -> None:
    drill = next(iter(ladder.exercises))
    cued = replace(
        week,
        verdict=replace(
            week.verdict,
            cue="Wait, then pull.",
            fault_name="Early pull",
            drill=drill,
            week_starts=date(2026, 3, 23),
        ),
    )
    nothing = one.last_cue((cued,), History(athlete), ladder, TODAY)
    assert nothing is not None
    assert "not in the log" in nothing.tried
    logged = History(athlete, sets=(LoggedSet(date(2026, 3, 25), drill, 64.5, 0.0, 3),))
    tried = one.last_cue((cued,), logged, ladder, TODAY)
    assert tried is not None
    assert tried.tried == "drill logged on 1 day since"


def test_heights_are_drawn_in_centimetres_and_zero_is_a_height(athlete: Athlete, week: Week) -> None:
    measured = replace(athlete, hang_length_m=0.62)
    seen = tuple(
        Measurement(date(2026, 3, 1) + timedelta(days=7 * i), "swing_high_L", value, 0.02, "film")
        for i, value in enumerate((-0.05, 0.0, 0.10))
    )
    drawn = one.curves(measured, History(measured, measurements=seen), (), week.verdict.gate)["heights"][
        "swing"
    ]
    assert drawn["height"] == pytest.approx([-3.1, 0.0, 6.2])
    assert drawn["sd"] == pytest.approx([1.24] * 3)
    assert drawn["needs"] == pytest.approx(11.2)


def test_old_pain_is_not_brought_up_again(athlete: Athlete) -> None:
    old = PainReport(date(2025, 12, 1), "shoulder", 3)
    new = PainReport(date(2026, 3, 24), "inner elbow", 4, 3, side="right")
    assert one.pain_in_words(History(athlete, pain=(old,)), TODAY) == ""
    said = one.pain_in_words(History(athlete, pain=(old, new)), TODAY)
    assert said == "Last pain logged: inner elbow (right) 4 of 10, 3 the next morning, 3 days ago."
