"""What a phone sends: kept when it can be, refused by its place when it cannot."""

from datetime import date

import pytest

from overbar.errors import BadInput
from overbar.sheet.log import session_facts

TODAY = date(2026, 3, 27)
EXERCISES = {"weighted_pull_up": None, "dead_hang": None}
FLAGS = {"pop": None}
SENT = {
    "on": "2026-03-27",
    "label": "A",
    "sets": [
        {"exercise": "weighted_pull_up", "reps": 5, "added_kg": 12.5, "reps_left": 1},
        {"exercise": "dead_hang", "reps": 0, "added_kg": 0, "seconds": 20},
    ],
    "pain": [{"site": "inner elbow", "side": "right", "worst": 4}],
    "effort": 7,
    "minutes": 55,
}


def test_a_session_becomes_sets_session_and_pain() -> None:
    facts = session_facts(SENT, EXERCISES, FLAGS, TODAY, 64.5)
    assert [(one.exercise, one.reps, one.added_kg, one.session) for one in facts.sets] == [
        ("weighted_pull_up", 5, 12.5, "A"),
        ("dead_hang", 0, 0.0, "A"),
    ]
    assert facts.sets[0].body_mass_kg == 64.5
    assert facts.session is not None
    assert (facts.session.done, facts.session.effort) == (True, 7)
    assert (facts.pain[0].worst, facts.pain[0].next_morning) == (4, None)
    assert facts.body is None


def test_the_morning_answer_goes_to_the_day_of_the_pain() -> None:
    told = {
        "on": "2026-03-26",
        "site": "inner elbow",
        "side": "right",
        "worst": 4,
        "next_morning": 3,
        "at_night": True,
    }
    facts = session_facts({"on": "2026-03-27", "label": "", "morning": told}, EXERCISES, FLAGS, TODAY, 64.5)
    assert facts.session is None
    assert (facts.pain[0].on, facts.pain[0].next_morning, facts.pain[0].at_night) == (
        date(2026, 3, 26),
        3,
        True,
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pain": [{"site": "elbow", "worst": 11}]}, r"pain\.0\.worst"),
        ({"sets": [{"exercise": "squat", "reps": 5, "added_kg": 0}]}, "squat"),
        ({"sets": [{"exercise": "dead_hang", "reps": 500, "added_kg": 0}]}, r"sets\.0\.reps"),
        ({"on": "2020-01-01"}, "date of the phone"),
        ({"on": "soon"}, "on"),
        ({"surprise": 1}, "surprise"),
        ({"tries": [{"n": 0, "outcome": "valid"}]}, r"tries\.0\.n"),
        ({"tries": [{"n": 1, "outcome": "nearly"}]}, r"tries\.0\.outcome"),
    ],
)
def test_what_cannot_be_is_named_by_its_place(change: dict[str, object], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        session_facts(SENT | change, EXERCISES, FLAGS, TODAY, 64.5)


def test_a_try_is_kept_by_its_number_and_its_outcome() -> None:
    tries = [{"n": 1, "outcome": "failed"}, {"n": 2, "outcome": "valid"}]
    facts = session_facts(SENT | {"tries": tries}, EXERCISES, FLAGS, TODAY, 64.5)
    assert [(one.on, one.n, one.outcome, one.source) for one in facts.tries] == [
        (TODAY, 1, "failed", "log"),
        (TODAY, 2, "valid", "log"),
    ]
