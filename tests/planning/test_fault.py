"""One fault, one cue, one drill a week."""

from datetime import UTC, datetime, timedelta

import pytest
from tests.planning.people import (
    MONDAY,
    SUNDAY,
    athlete,
    history,
    lines,
    no_pain,
    sessions,
    slots,
    strong,
    week_of_sets,
)

from overbar.ladder import load_ladder
from overbar.planning import decide
from overbar.planning.history import CoachWord, FilmFinding, PastWeek

LADDER = load_ladder()


def film(days_ago, main=None, usable=True, view="side", **chances):
    return FilmFinding(
        SUNDAY - timedelta(days=days_ago),
        f"{days_ago:064d}",
        "swing_high_pull",
        usable,
        main,
        tuple(chances.items()),
        view,
    )


def judged(*films, rung="S3", who=None, weeks=None, **rows):
    rows = {
        "sets": week_of_sets(MONDAY, [[5, 5], [5, 5], [5]]),
        "sessions": sessions(MONDAY),
        "pain": no_pain(MONDAY),
        "weeks": weeks or (PastWeek(MONDAY, rung, "hold"),),
    } | rows
    return decide(history(who, films=films, **rows), LADDER, SUNDAY, strong(SUNDAY, 1.35))


def test_a_fault_counts_when_two_of_the_last_three_usable_films_show_it():
    assert judged(film(4, "F06"), film(2, "F06"), film(1)).verdict.fault == "F06"
    assert judged(film(4), film(2, "F06"), film(1)).verdict.fault is None
    assert judged(film(9, "F06"), film(6, "F06"), film(4), film(2), film(1)).verdict.fault is None


def test_a_film_that_could_not_be_read_counts_for_nothing_and_a_new_one_is_asked_for():
    week = judged(film(4, "F06"), film(2, "F06"), film(1, usable=False))
    assert week.verdict.fault == "F06"
    assert any("One new film" in q for q in week.verdict.questions)


def test_films_from_the_side_neither_show_nor_clear_what_only_the_front_shows():
    # handbook trade.md 3.2 and 3.4: one arm first is told from front or rear, in two of three.
    front = (film(9, "F03", view="front", F03=0.9), film(5, "F03", view="front", F03=0.9))
    side = (film(4), film(3), film(2), film(1))
    assert judged(*front, *side).verdict.fault == "F03"
    assert judged(front[0], *side).verdict.fault is None
    cleared = (film(4, view="front"), film(3, view="rear"))
    assert judged(*front, *cleared).verdict.fault is None


def test_what_stops_a_session_needs_one_film_only():
    assert judged(film(4, "F02", F02=0.9), film(2), film(1)).verdict.fault == "F02"
    assert judged(film(4, "F25", view="front", F25=0.9), film(1, view="front")).verdict.fault == "F25"


def test_safety_comes_before_height_and_height_before_swing():
    # handbook trade.md 3.4
    both = (film(2, "F08", F08=0.9, F04=0.8), film(1, "F08", F08=0.9, F04=0.8))
    assert judged(*both).verdict.fault == "F04"
    drop = (*both, film(0, "F02"))
    assert judged(*drop).verdict.fault == "F02"


def test_the_unlikely_does_not_count():
    assert judged(film(2, F06=0.3), film(1, F06=0.3)).verdict.fault is None


def test_its_cue_and_drill_are_in_the_week_in_place_of_something_not_on_top():
    plain = judged()
    week = judged(film(2, "F06"), film(1, "F06"))
    assert week.verdict.cue == "Wait until you float in front, then pull."
    assert week.verdict.drill in LADDER.faults["F06"].drills
    drill = lines(week, week.verdict.drill)
    assert drill
    assert drill[0].note.startswith("Wait until you float")
    assert len(slots(week)) <= len(slots(plain)) + 1


def test_a_drill_the_kit_cannot_do_is_left_for_the_next_one():
    door = athlete(kit=type(athlete().kit)(bars=()))
    week = judged(film(2, "F06"), film(1, "F06"), who=door)
    assert week.verdict.fault == "F06"
    assert week.verdict.drill is None


def test_a_cue_stays_for_two_sessions():
    before = (PastWeek(MONDAY, "S3", "hold", fault="F08"),)
    both = (film(2, F08=0.9, F06=0.9), film(1, F08=0.9, F06=0.9))
    one_session = {"sets": week_of_sets(MONDAY, [[5, 5]]), "sessions": sessions(MONDAY, "A")}
    assert judged(*both, weeks=before, **one_session).verdict.fault == "F08"
    assert judged(*both, weeks=before).verdict.fault == "F06"


def test_the_coach_names_one_or_sets_one_aside():
    films = (film(2, "F06"), film(1, "F06"))
    said = datetime(2026, 3, 6, 9, tzinfo=UTC)
    aside = CoachWord(said, "fault:F06", "ignore", "camera angle")
    assert judged(*films, coach=(aside,)).verdict.fault is None
    named = CoachWord(said, "fault:F13", "met", "seen in person")
    assert judged(*films, coach=(named,)).verdict.fault == "F13"


@pytest.mark.parametrize("fault", LADDER.faults.values(), ids=lambda f: f.id)
def test_every_fault_has_a_cue_a_look_and_what_changes_next_week(fault):
    assert fault.cue.endswith(".")
    assert fault.look
    assert fault.next_week
