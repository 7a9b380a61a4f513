"""The words a ladder may use, and the engine that gives them values, are the same list."""

from datetime import timedelta

from tests.planning.people import MONDAY, SUNDAY, history, strong, week_of_sets

from overbar.ladder import load_ladder
from overbar.ladder.vocabulary import FACTS, QUESTIONS, TEST_FIELDS, WATCH_FIELDS, pieces
from overbar.planning.case import make_case
from overbar.planning.facts import HISTORY, OWN, Facts

BUILDING = {"planned_pull_reps", "planned_hard_sets", "gate_open"}
"""Facts that exist only while a week is being made."""


def facts():
    ladder = load_ladder()
    mondays = (MONDAY - timedelta(days=7), MONDAY)
    done = [week_of_sets(m, [[5, 5, 5], [5, 5], [5, 4]], added=2.5, left=1) for m in mondays]
    sets = tuple(one for week in done for one in week)
    case = make_case(history(sets=sets), ladder, SUNDAY, strong(SUNDAY, 1.2))
    return Facts(case, ladder.rungs["S1"])


def test_the_engine_knows_every_fact_of_the_vocabulary_and_no_other():
    assert set(HISTORY) | set(OWN) | BUILDING == set(FACTS)


def test_every_fact_can_be_asked_for_without_failing():
    found = facts()
    for name in FACTS:
        found.look(name)


def test_every_question_has_an_answer():
    assert set(facts().questions) == set(QUESTIONS)


def test_every_field_of_a_watch_has_a_value():
    found = facts()
    for field in WATCH_FIELDS:
        value = found.look(f"loaded.{field}")
        assert isinstance(value, float), field


def test_every_field_of_a_test_can_be_read():
    found = facts()
    for field in TEST_FIELDS:
        found.look(f"test.strict_pull_ups.{field}")


def test_a_sentence_is_split_into_words_and_places():
    assert [(before, unit) for before, _, unit in pieces("at {a:mass}, {b} of {c:.0f}.")] == [
        ("at ", "mass"),
        (", ", ""),
        (" of ", ".0f"),
        (".", ""),
    ]
