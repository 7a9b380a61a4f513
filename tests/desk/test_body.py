"""The body model's answer on the page: in the athlete's unit, and never without its band."""

from dataclasses import replace

import pytest

from overbar.athlete.person import Athlete
from overbar.desk.body import body_view
from overbar.mechanics.margins import DEFAULT_SWING_DEG, Offset, Person
from overbar.mechanics.surrogate import read_table

PERSON = Person(1.70, 76.3, 1.35, 0.036, sex="f")


def test_every_threshold_carries_its_band(athlete: Athlete) -> None:
    view = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG)
    assert [row.name for row in view.rows] == ["From a still hang, quiet legs", "From a front swing of 15°"]
    assert all("80 %" in row.say and "1.35 ± 0.04" in row.say for row in view.rows)
    assert view.changed == ""
    assert view.caution


def test_more_strength_gives_more_margin_whatever_the_unit(athlete: Athlete) -> None:
    kilograms = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG, belt=5)
    pounds = body_view(replace(athlete, mass_unit="lb"), PERSON, read_table(), DEFAULT_SWING_DEG, belt=5)
    none = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG, belt=0.001)
    first = [float(view.changed.split()[1].replace("−", "-")) for view in (none, pounds, kilograms)]
    assert first == sorted(first)
    # 5 kg on 76.3 kg are 0.066 of body mass; 5 lb are 0.030.
    assert first[2] - first[0] == pytest.approx(0.066, abs=0.02)
    assert first[1] - first[0] == pytest.approx(0.030, abs=0.02)


def test_an_athlete_in_pounds_reads_steps_in_pounds(athlete: Athlete) -> None:
    view = body_view(replace(athlete, mass_unit="lb"), PERSON, read_table(), DEFAULT_SWING_DEG)
    step = {lever.name: lever.step for lever in view.levers}
    assert step["pull strength"] == "+5 lb on the belt"
    assert "kg" not in view.say + "".join(step.values())


def test_what_only_explains_two_athletes_is_not_offered_as_a_lever(athlete: Athlete) -> None:
    view = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG)
    assert view.levers
    assert not any("arm length" in lever.name for lever in view.levers)


def test_what_the_coachs_own_athletes_did_moves_the_threshold_and_is_said(athlete: Athlete) -> None:
    moved = Offset(-0.12, 0.05, 0.21, attempts=14, over=6, athletes=3)
    before = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG)
    after = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG, offset=moved)

    def needs(text: str) -> float:
        return float(text.split()[1])

    for i in range(2):
        assert needs(after.rows[i].say) == pytest.approx(needs(before.rows[i].say) - 0.12, abs=0.011)
    assert (
        "14 logged attempts of 3 athletes, 6 over the bar, moved every threshold down by 0.12" in after.learnt
    )
    assert "No logged attempt" in before.learnt


def test_longer_arms_and_a_later_pull_are_asked_in_the_coachs_units(athlete: Athlete) -> None:
    later = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG, later_s=0.3)
    assert "−" in later.changed
    inches = body_view(replace(athlete, length_unit="in"), PERSON, read_table(), DEFAULT_SWING_DEG, arm=1)
    centimetres = body_view(athlete, PERSON, read_table(), DEFAULT_SWING_DEG, arm=2.54)
    assert inches.changed == centimetres.changed != ""
