"""What the coach's own athletes say of the next one, in the records: learnt weekly, kept with decisions."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from tests.records.conftest import NOW, someone
from tests.records.test_past import Clock

from overbar.planning import decide
from overbar.records import Records, open_records, schema
from overbar.records.database import reading
from overbar.records.forget import forget
from overbar.records.own_athletes import EVERY, learn_from_athletes, learn_when_due, prior_for_new, told
from overbar.records.past import replay_athlete
from overbar.settings import Settings
from overbar.simulation.coverage import FIRST_DAY, FOREIGN, logged_life
from overbar.strength.prior import prior_for

HAD = {f"had{k}": logged_life(7000 + k, 16, "f", people=FOREIGN) for k in range(4)}
NEW = logged_life(7100, 6, "f", people=FOREIGN)
BEGINS = FIRST_DAY + timedelta(weeks=20)
SUNDAY = BEGINS + timedelta(weeks=6, days=-1)


@pytest.fixture
def clock() -> Clock:
    clock = Clock()
    clock.at = datetime(SUNDAY.year, SUNDAY.month, SUNDAY.day, 18, tzinfo=NOW.tzinfo)
    return clock


@pytest.fixture
def records(tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """Four athletes of sixteen weeks, and a new one of six."""
    kept = open_records(Settings(tmp_path / "records", tmp_path / "cache"), clock=clock)
    for name, life in HAD.items():
        kept.save_athlete(someone(name, time_zone="UTC"))
        kept.add_sets(name, life.sets, "test")
    kept.save_athlete(someone("new", time_zone="UTC"))
    later = BEGINS - FIRST_DAY
    kept.add_sets("new", [replace(done, on=done.on + later) for done in NEW.sets], "test")
    yield kept
    kept.close()


def priors(records: Records) -> dict[str, object]:
    return {one.id: records.history(one.id, SUNDAY).prior for one in records.athletes()}


def test_nothing_is_believed_of_others_before_they_are_asked(records: Records) -> None:
    assert set(priors(records).values()) == {None}


def test_a_new_athlete_begins_from_the_others_and_the_published_norm(records: Records) -> None:
    learn_from_athletes(records)
    prior = records.history("new", SUNDAY).prior
    assert prior is not None
    assert prior.athletes == 4
    assert prior.basis.startswith("from 4 of your athletes and the published norm")
    assert prior.R[0] > prior_for("f").R[0]
    assert {one.athlete for one in told(records)} == {*HAD, "new"}
    assert prior_for_new(records, "f").athletes == 5


def test_the_week_says_what_strength_began_from(records: Records) -> None:
    learn_from_athletes(records)
    history = records.history("new", SUNDAY)
    week = decide(history, records.ladder_for("new"), SUNDAY)
    assert week.verdict.strength_from == history.prior
    assert "4 of your athletes" in week.verdict.strength_from.says()
    published = decide(replace(history, prior=None), records.ladder_for("new"), SUNDAY)
    assert published.verdict.strength != week.verdict.strength


def test_asked_again_without_new_logs_all_stays_and_is_asked_once_a_week(
    records: Records, clock: Clock
) -> None:
    assert learn_when_due(records)
    first = priors(records)
    assert not learn_when_due(records)
    clock.at += EVERY
    assert learn_when_due(records)
    assert priors(records) == first


def test_a_prior_stays_once_the_own_log_is_sixteen_weeks_long(records: Records, clock: Clock) -> None:
    learn_from_athletes(records)
    first = priors(records)
    records.save_athlete(someone("more", time_zone="UTC"))
    life = logged_life(7200, 16, "f", people=FOREIGN)
    records.add_sets("more", life.sets, "test")
    learn_from_athletes(records)
    second = priors(records)
    assert {name: second[name] for name in HAD} == {name: first[name] for name in HAD}
    assert second["new"] != first["new"]  # still young, and one more speaks
    assert records.history("new", SUNDAY).prior.athletes == 5


def test_a_past_decision_keeps_the_prior_it_was_made_with(records: Records, clock: Clock) -> None:
    history = records.history("new", SUNDAY)
    records.save_week(decide(history, records.ladder_for("new"), SUNDAY), clock.at)
    clock.at += timedelta(weeks=1)
    learn_from_athletes(records)
    later = SUNDAY + timedelta(weeks=1)
    history = records.history("new", later)
    assert history.prior is not None
    records.save_week(decide(history, records.ladder_for("new"), later), clock.at)
    assert [one.differs for one in replay_athlete(records, "new").weeks] == [(), ()]
    forget(records, "had2")
    assert records.history("new", SUNDAY).prior is None  # learnt anew from those who stay
    assert [one.differs for one in replay_athlete(records, "new").weeks] == [(), ()]
    learn_when_due(records)
    assert records.history("new", SUNDAY).prior.athletes == 3


def test_who_is_forgotten_speaks_no_longer(records: Records) -> None:
    learn_when_due(records)
    forget(records, "had1")
    with reading(records.engine) as c:
        rows = c.execute(select(schema.own_athletes)).all()
    assert {row.athlete_id for row in rows} == {"had0", "had2", "had3", "new"}
    assert all(row.prior is None for row in rows)
    assert learn_when_due(records)  # at once, not a week later


def test_three_athletes_who_have_only_two_others_keep_the_published_norm(tmp_path: Path) -> None:
    kept = open_records(Settings(tmp_path / "r", tmp_path / "c"), clock=lambda: NOW)
    for name, life in list(HAD.items())[:3]:
        kept.save_athlete(someone(name, time_zone="UTC"))
        kept.add_sets(name, life.sets, "test")
    learn_from_athletes(kept)
    assert [kept.history(one.id, date(2026, 12, 1)).prior for one in kept.athletes()] == [None] * 3
    kept.close()
