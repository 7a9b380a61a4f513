"""A word of the coach is about something there is, and a date of the coach's own is a date."""

from datetime import UTC, date, datetime

import pytest
from tests.planning.people import history

from overbar.errors import BadInput
from overbar.ladder import load_ladder
from overbar.planning.coach_words import FIRST_REP, KINDS, check_word, coach_dates
from overbar.planning.history import TAKEN_BACK, CoachWord

LADDER = load_ladder()
AT = datetime(2026, 3, 4, 12, tzinfo=UTC)


def word(about, choice="met", at=AT):
    return CoachWord(at, about, choice, "I saw it")


@pytest.mark.parametrize(
    ("about", "choice", "named"),
    [
        ("rung:S9", "set", "S7"),
        ("gate:G0", "met", "G4"),
        ("item:G4:handstand", "met", "deep_dips"),
        ("rule:NO-SUCH", "ignore", "D-S"),
        ("fault:F99", "met", "F13"),
        ("exercise:ring_row", "leave_out", "strict_pull_up"),
        ("exercise:dead_hang", "no_such_exercise", "leave_out"),
        ("answer:limit", "luck", "technique"),
        ("place:swept", "met", "checked"),
        ("weather:sun", "met", "rung"),
        ("forecast:G4:no_such_item", "2026-06-01", "first_rep"),
    ],
)
def test_a_word_about_what_is_not_there_is_refused_with_what_there_is(about, choice, named):
    with pytest.raises(BadInput) as refused:
        check_word(word(about, choice), LADDER)
    assert named in refused.value.say()


def test_every_kind_of_word_can_be_said():
    said = {
        "rung:S2": "set",
        "gate:G4": "met",
        "item:G4:deep_dips": "not_met",
        "rule:WB-UP": "ignore",
        "fault:F13": "met",
        "exercise:dead_hang": "leave_out",
        "answer:limit": "technique",
        "place:checked": "met",
        "adult:present": "met",
        "flag:settled": "met",
        f"forecast:{FIRST_REP}": "2026-06-01/2026-07-15",
    }
    for about, choice in said.items():
        check_word(word(about, choice), LADDER)
    assert {about.partition(":")[0] for about in said} == set(KINDS)


def test_a_word_about_what_the_ladder_no_longer_has_can_still_be_taken_back():
    check_word(word("rule:GONE", TAKEN_BACK), LADDER)


@pytest.mark.parametrize("choice", ["soon", "2026-13-01", "2026-07-15/2026-06-01", "2026-06-01/"])
def test_a_date_that_is_none_is_refused(choice):
    if choice.endswith("/"):
        check_word(word(f"forecast:{FIRST_REP}", choice), LADDER)  # one day
        return
    with pytest.raises(BadInput):
        check_word(word(f"forecast:{FIRST_REP}", choice), LADDER)


def test_the_newest_date_counts_until_it_is_taken_back():
    about = f"forecast:{FIRST_REP}"
    later, last = AT.replace(day=10), AT.replace(day=20)
    rows = history(
        coach=(
            word(about, "2026-08-01", later),
            word(about, "2026-06-01/2026-07-15"),
            word(about, TAKEN_BACK, last),
        )
    )
    first = coach_dates(rows, date(2026, 3, 6))[about]
    assert (first.early, first.late, first.reason) == (date(2026, 6, 1), date(2026, 7, 15), "I saw it")
    assert coach_dates(rows, date(2026, 3, 12))[about].early == date(2026, 8, 1)
    assert coach_dates(rows, date(2026, 3, 22)) == {}


def test_a_date_of_the_coach_changes_no_decision():
    from overbar.planning import decide

    bare = history()
    rows = history(coach=(word(f"forecast:{FIRST_REP}", "2026-06-01"),))
    assert decide(rows, LADDER, AT.date()) == decide(bare, LADDER, AT.date())
