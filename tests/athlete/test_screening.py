"""Preparticipation screening against the published logic (ACSM 2015, Magal & Riebe 2016)."""

from datetime import date

import pytest

from overbar.athlete.screening import Limit, Screening, allowance

DAY = date(2026, 3, 2)
FINE = Screening(DAY, active_now=True, known_disease=False, symptoms_now=False)


@pytest.mark.parametrize(
    ("active", "disease", "symptoms", "expected"),
    [
        (True, False, False, "train"),
        (False, False, False, "train"),
        (True, True, False, "clear_before_hard"),
        (False, True, False, "clear_first"),
        (True, False, True, "clear_first"),
        (False, True, True, "clear_first"),
    ],
)
def test_the_decision_table_of_the_published_algorithm(
    active: bool, disease: bool, symptoms: bool, expected: str
) -> None:
    # Handbook science.md section 8 (decision table there from memory).
    answers = Screening(DAY, active_now=active, known_disease=disease, symptoms_now=symptoms)
    assert allowance(answers, DAY).clearance == expected


def test_a_question_left_open_is_not_read_as_no() -> None:
    assert allowance(Screening(DAY, active_now=True, symptoms_now=False), DAY).clearance == "not_answered"
    assert allowance(Screening(), DAY).clearance == "not_answered"


def test_pregnancy_asks_for_clearance_first() -> None:
    answers = Screening(DAY, True, False, False, pregnant_or_recent_birth=True)
    assert allowance(answers, DAY).clearance == "clear_first"


def test_a_limit_holds_until_its_last_day_and_gives_its_reason() -> None:
    limit = Limit("swing", "old shoulder strain: pain-free hang first", date(2026, 3, 20))
    limited = Screening(DAY, True, False, False, limits=(limit,))
    assert allowance(limited, DAY).clearance == "train_with_limits"
    assert "shoulder" in allowance(limited, DAY).why
    assert allowance(limited, date(2026, 3, 21)).clearance == "train"
    assert allowance(FINE, DAY).refer_to == ""
