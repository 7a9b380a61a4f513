"""Strength kept in the records: the same as reading the log again, and no more work than the new days."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import select

from overbar.planning import decide, strength_of
from overbar.records import Records, schema
from overbar.records.backup import back_up, restore
from overbar.records.database import reading
from overbar.records.forget import forget
from overbar.records.kept_strength import strength_on
from overbar.records.store import open_records
from overbar.settings import Settings
from overbar.simulation.coverage import logged_life
from overbar.strength import kept as kept_room
from overbar.strength.sets import LoggedSet

LIFE = logged_life(4, weeks=12)
LAST = LIFE.sets[-1].on


@pytest.fixture
def logged(records: Records) -> Records:
    records.add_sets("tove", LIFE.sets, "test")
    return records


def asked(records: Records, on: date = LAST) -> tuple:
    history, ladder = records.history("tove", on), records.ladder_for("tove")
    found = strength_on(records, history, ladder, on)
    assert found.points == strength_of(history, ladder, on)
    return found.points


def rows(records: Records) -> list:
    with reading(records.engine) as c:
        return list(c.execute(select(schema.kept_strength.c.athlete_id, schema.kept_strength.c.log_keys)))


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[date]:
    """The days whose sets were read."""
    seen: list[date] = []
    observe = kept_room.observe
    monkeypatch.setattr("overbar.strength.kept.observe", lambda b, s: seen.append(b.on) or observe(b, s))
    return seen


def test_a_second_look_reads_no_set_again(logged: Records, read: list[date]) -> None:
    asked(logged)
    assert len(read) == len({done.on for done in LIFE.sets})
    read.clear()
    asked(logged)
    assert read == []


def test_a_week_costs_its_own_days(logged: Records, read: list[date]) -> None:
    asked(logged, LAST - timedelta(days=7))
    read.clear()
    asked(logged)
    assert read == sorted({done.on for done in LIFE.sets if done.on > LAST - timedelta(days=7)})


def test_a_row_that_comes_late_is_read_with_what_follows_it_and_not_the_whole_log(
    logged: Records, read: list[date]
) -> None:
    asked(logged)
    read.clear()
    late = LoggedSet(LAST - timedelta(days=9), "strict_pull_up", 64.0, 0.0, 6, 1.0, order=20)
    logged.add_sets("tove", [late], "late")
    asked(logged)
    assert min(read) > LIFE.sets[0].on
    assert late.on in read


def test_a_look_into_the_past_leaves_what_is_kept_of_today(logged: Records, read: list[date]) -> None:
    asked(logged)
    before = rows(logged)
    asked(logged, LAST - timedelta(days=30))
    assert rows(logged) == before


def test_another_sex_or_prior_is_another_estimate(logged: Records) -> None:
    first = asked(logged)
    logged.save_athlete(replace(logged.athlete("tove"), sex="m"))
    assert asked(logged) != first


def test_a_decision_on_kept_strength_is_the_decision_on_the_whole_log(logged: Records) -> None:
    history, ladder = logged.history("tove", LAST), logged.ladder_for("tove")
    strength_on(logged, history, ladder, LAST - timedelta(days=20))
    points = strength_on(logged, history, ladder, LAST).points
    assert decide(history, ladder, LAST, points) == decide(history, ladder, LAST)


def test_kept_strength_goes_with_the_athlete_and_comes_back_from_a_backup(logged: Records, tmp_path) -> None:
    points = asked(logged)
    back_up(logged, tmp_path / "all.zip")
    restored = Settings(records=tmp_path / "again", cache=tmp_path / "cache-again")
    restore(tmp_path / "all.zip", restored)
    again = open_records(restored, clock=logged.now)
    assert rows(again) == rows(logged)
    assert asked(again) == points
    again.close()
    forget(logged, "tove")
    assert rows(logged) == []


def test_nothing_logged_keeps_nothing(records: Records) -> None:
    assert asked(records) == ()
    assert rows(records) == []
