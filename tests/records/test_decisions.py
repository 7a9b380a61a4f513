"""Verdicts with the coach's standing and reason, and the coach's own words."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.records.conftest import NOW

from overbar.athlete.kit import Load
from overbar.errors import BadInput, NotFound
from overbar.planning.history import CoachWord
from overbar.planning.verdict import Evidence, FiredRule, PlannedSession, PlannedSlot, Verdict, Week
from overbar.records import Records

MONDAY = date(2026, 4, 20)


def week(starts: date = MONDAY, added: float = 5.0, decision: str = "add_load") -> Week:
    rule = FiredRule("L-UP1", "up", (Evidence("set", starts, "+5 kg x 5"),), "common practice", "why")
    verdict = Verdict("tove", starts, starts, "S2", "Loaded", decision, "Up.", 0, (rule,), None, None)  # type: ignore[arg-type]
    slot = PlannedSlot("weighted_pull_up", "Weighted pull-up", 1, 3, 5, Load(added, ("5 l water",)))
    return Week(verdict, (PlannedSession("A", starts, "Heavy", (slot,)),), (("top", added),))


def test_a_verdict_comes_back_as_given(records: Records) -> None:
    key = records.save_week(week(), NOW)
    stored = records.latest_week("tove")
    assert stored is not None
    assert (stored.id, stored.week, stored.standing, stored.decided_at) == (key, week(), "proposed", NOW)


def test_accepting_changing_and_refusing_are_kept_with_the_reason(records: Records) -> None:
    key = records.save_week(week(), NOW)
    records.settle(key, "changed", "plates are away", week(added=2.5))
    stored = records.week(key)
    assert stored.week == week()
    assert stored.changed == week(added=2.5)
    assert stored.holds == week(added=2.5)
    assert (stored.standing, stored.reason, stored.at) == ("changed", "plates are away", NOW)
    records.settle(key, "refused", "she is ill")
    assert records.week(key).holds is None
    records.settle(key, "accepted")
    assert records.week(key).holds == week()


@pytest.mark.parametrize("standing", ["changed", "refused"])
def test_an_overrule_without_a_reason_is_not_taken(records: Records, standing: str) -> None:
    key = records.save_week(week(), NOW)
    with pytest.raises(BadInput, match="no reason"):
        records.settle(key, standing, " ", week() if standing == "changed" else None)


def test_a_standing_that_does_not_exist_is_named(records: Records) -> None:
    with pytest.raises(BadInput, match="perhaps"):
        records.settle(records.save_week(week(), NOW), "perhaps")
    with pytest.raises(NotFound):
        records.settle(99, "accepted")


def test_planning_remembers_the_last_word_on_each_past_week(records: Records) -> None:
    first = records.save_week(week(added=4.0), NOW - timedelta(days=8))
    records.save_week(week(added=6.0), NOW - timedelta(days=7))
    records.settle(first, "changed", "less", week(added=3.0))
    records.save_week(week(MONDAY + timedelta(days=7)), NOW)
    (past,) = records.history("tove", date(2026, 4, 26)).weeks
    assert past.starts == MONDAY
    assert past.top_added_kg == 3.0
    assert past.overruled == "less"
    assert past.slots == (("A", "weighted_pull_up", 1, 3, 5, 3.0),)


def test_the_week_being_planned_is_not_its_own_past(records: Records) -> None:
    """Deciding twice on the same Monday must give the same week."""
    records.settle(records.save_week(week(), NOW), "accepted")
    assert records.history("tove", MONDAY).weeks == ()
    assert len(records.history("tove", MONDAY + timedelta(days=1)).weeks) == 1


def test_a_refused_week_leaves_no_plan_behind(records: Records) -> None:
    records.settle(records.save_week(week(), NOW), "refused", "on holiday")
    (past,) = records.history("tove").weeks
    assert (past.slots, past.top_added_kg, past.overruled) == ((), None, "on holiday")


def test_a_word_of_the_coach_is_kept_once_and_only_from_when_it_was_said(records: Records) -> None:
    said = datetime(2026, 4, 21, 12, 0, tzinfo=UTC)  # the first minutes of 22 April in Auckland
    word = CoachWord(said, "gate:G3", "met", "seen in person", date(2026, 5, 1))
    records.say("tove", word)
    records.say("tove", word)
    assert records.history("tove", date(2026, 4, 21)).coach == ()
    assert records.history("tove", date(2026, 4, 22)).coach == (word,)


def test_a_week_that_the_program_no_longer_understands_names_the_field(records: Records) -> None:
    from sqlalchemy import update

    from overbar.records import schema
    from overbar.records.database import writing

    key = records.save_week(week(), NOW)
    with writing(records.engine) as connection:
        connection.execute(update(schema.weeks).values(form={"verdict": {}}))
    with pytest.raises(BadInput, match=rf"verdict {key}"):
        records.week(key)


def test_changing_the_copy_does_not_change_the_proposal(records: Records) -> None:
    key = records.save_week(week(), NOW)
    other = replace(week(), deload=True)
    records.settle(key, "changed", "deload", other)
    assert records.week(key).week.deload is False
