"""Intake: kit as gyms have it, units as people have them, and nothing read from an unanswered question."""

from datetime import date

import pytest

from overbar.athlete.screening import allowance
from overbar.desk.intake import Answered, athlete_from_form, short_id
from overbar.desk.intake_form import shown_values

TODAY = date(2026, 3, 4)
GOOD = {
    "name": "Wilma Tarn",
    "stature": "170",
    "body_mass": "64.5",
    "days_per_week": "3",
    "mass_unit": "kg",
    "length_unit": "cm",
    "sex": "f",
    "carrier": "belt",
    "plates": "10 kg x2, 5 kg, 2,5 kg x 2, 1.25",
    "bands": "green: 22 / 12\nthin red: 10 to 5",
    "bar-name-1": "rig",
    "bar-swing-1": "yes",
    "active_now": "yes",
    "known_disease": "no",
    "symptoms_now": "no",
}


def taken_in(**changes: str) -> Answered:
    return athlete_from_form(GOOD | changes, TODAY)


def test_a_full_form_becomes_an_athlete() -> None:
    athlete = taken_in().athlete
    assert athlete is not None
    assert (athlete.id, athlete.stature_m, athlete.body_mass_kg) == ("wilma", 1.70, 64.5)
    assert [(plate.mass_kg, plate.count) for plate in athlete.kit.plates] == [
        (10, 2),
        (5, 1),
        (2.5, 2),
        (1.25, 1),
    ]
    assert athlete.kit.bands[1].help_at_mid_pull_kg == 7.5
    assert athlete.kit.swing_allowed
    assert athlete.joined == TODAY


def test_pounds_and_inches_become_kilograms_and_metres() -> None:
    athlete = taken_in(
        mass_unit="lb", length_unit="in", stature="70", body_mass="180", plates="10, 2.5 lb x2, 5 kg"
    ).athlete
    assert athlete is not None
    # International yard and pound agreement, 1959.
    assert athlete.stature_m == pytest.approx(1.778)
    assert athlete.body_mass_kg == pytest.approx(81.647, abs=1e-3)
    assert [plate.unit for plate in athlete.kit.plates] == ["lb", "lb", "kg"]
    assert athlete.kit.plates[0].mass_kg == pytest.approx(4.53592, abs=1e-5)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("stature", "17", "outside"),
        ("stature", "tall", "no number"),
        ("body_mass", "", "Give"),
        ("plates", "10 kg x2, big one", "big one"),
        ("bands", "green 22", "green"),
        ("born", "2015-01-01", "gym club"),
        ("born", "yesterday", "date"),
        ("name", " ", "name"),
    ],
)
def test_a_wrong_answer_is_named_by_its_field_and_the_rest_is_kept(field: str, value: str, said: str) -> None:
    answered = taken_in(**{field: value})
    assert answered.athlete is None
    assert list(answered.wrong) == [field]
    assert said in answered.wrong[field]


def test_a_question_not_answered_is_never_read_as_no() -> None:
    athlete = taken_in(known_disease="").athlete
    assert athlete is not None
    assert athlete.screening.known_disease is None
    assert allowance(athlete.screening, TODAY).clearance == "not_answered"


def test_what_the_form_shows_can_be_kept_again_without_change() -> None:
    athlete = taken_in().athlete
    assert athlete is not None
    shown = {
        key: str(value) for key, value in shown_values(athlete, TODAY).items() if isinstance(value, str | int)
    }
    shown |= {"bar-name-1": "rig", "bar-swing-1": "yes", "box": ""}
    assert athlete_from_form(shown, TODAY, before=athlete).athlete == athlete


def test_a_limit_is_kept_with_its_reason_and_lifted_by_a_tick() -> None:
    limited = athlete_from_form(
        GOOD | {"limit_pattern": "swing", "limit_why": "old shoulder strain"}, TODAY
    ).athlete
    assert limited is not None
    assert limited.screening.limits[0].why == "old shoulder strain"
    lifted = athlete_from_form(GOOD | {"lift-0": "yes"}, TODAY, before=limited).athlete
    assert lifted is not None
    assert not lifted.screening.limits
    without = athlete_from_form(GOOD | {"limit_pattern": "swing"}, TODAY)
    assert "limit_why" in without.wrong


def test_two_people_of_one_name_get_two_keys() -> None:
    assert short_id("Ines Farrowgate", []) == "ines"
    assert short_id("Ines Farrowgate", ["ines"]) == "ines-farrowgate"
    assert short_id("Ines Farrowgate", ["ines", "ines-farrowgate"]) == "ines-farrowgate-2"
    assert short_id("New", []) != "new"
