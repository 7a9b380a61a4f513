"""A version is tried on the past and on simulated athletes, in a process of its own."""

from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path

import pytest
from sqlalchemy import update

import overbar.records.trials as room
from overbar.demo import build_demo
from overbar.errors import BadInput
from overbar.ladder import load_ladder
from overbar.records import Records, open_records, schema
from overbar.records.database import writing
from overbar.records.forget import forget
from overbar.records.trials import ask, athletes_of, decided_since, newest, run


@pytest.fixture
def records(tmp_path: Path) -> Records:
    return open_records(build_demo(tmp_path / "records"))


@pytest.fixture
def mine(records: Records, tmp_path: Path) -> str:
    path = tmp_path / "mine.toml"
    path.write_text('takes = ["bar_muscle_up"]\nleaves_out = ["rule:D-S"]\n', encoding="utf-8")
    return records.keep_ladder(load_ladder(path=path), "", load_ladder().fingerprint).fingerprint


def test_on_the_past_it_names_the_athletes_and_weeks_that_come_out_otherwise(
    records: Records, mine: str
) -> None:
    trial = ask(records, mine, "past")
    assert ask(records, mine, "past") == trial
    process = get_context("spawn").Process(target=run, args=(records.settings, trial.id), daemon=True)
    process.start()
    process.join(120)
    done = newest(records, mine, "past")
    assert done is not None
    assert (done.state, done.share) == ("done", 1.0)
    found = {one.athlete_id: one for one in athletes_of(records, done.id)}
    assert {key: one.weeks for key, one in found.items()} == {"bram": 16, "davit": 16, "ines": 16}
    assert any("Deload due" in say for _, says in found["davit"].otherwise for say in says)
    assert found["ines"].otherwise == ()
    assert decided_since(records, done) == 0
    week = records.latest_week("ines")
    assert week is not None
    records.save_week(week.week, done.asked_at + timedelta(days=1))
    assert decided_since(records, done) == 1  # what it has not seen
    forget(records, "davit")
    assert {one.athlete_id for one in athletes_of(records, done.id)} == {"bram", "ines"}


def test_simulated_athletes_live_under_it_and_under_the_one_it_was_made_from(
    records: Records, mine: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "SIMULATED_ATHLETES", 2)
    monkeypatch.setattr(room, "SIMULATED_WEEKS", 12)
    trial = ask(records, mine, "simulated")
    run(records.settings, trial.id)
    done = newest(records, mine, "simulated")
    assert done is not None
    assert done.state == "done"
    assert [one["version"] for one in done.result["runs"]] == [
        records.ladder(mine).version,
        load_ladder().version,
    ]


def test_one_whose_process_was_ended_goes_stale_and_can_be_asked_again(records: Records, mine: str) -> None:
    trial = ask(records, mine, "past")
    with writing(records.engine) as c:
        long_ago = datetime.now(UTC) - timedelta(minutes=5)
        c.execute(update(schema.ladder_trials).values(state="running", seen_at=long_ago))
    held = newest(records, mine, "past")
    assert held is not None
    assert held.state == "stopped"
    assert ask(records, mine, "past").id != trial.id


def test_what_cannot_be_done_is_said_on_the_trial(records: Records, mine: str) -> None:
    with pytest.raises(BadInput):
        ask(records, mine, "future")
    trial = ask(records, mine, "simulated")
    with writing(records.engine) as c:
        c.execute(update(schema.ladder_versions).values(files=[["mine.toml", "[skill"]]))
    from overbar.records import ladders

    ladders._READ.clear()
    run(records.settings, trial.id)
    failed = newest(records, mine, "simulated")
    assert failed is not None
    assert failed.state == "failed"
    assert "cannot be read" in failed.doing


def test_a_trial_asked_for_twice_at_once_is_done_once(records: Records, mine: str) -> None:
    trial = ask(records, mine, "past")
    run(records.settings, trial.id)
    done = newest(records, mine, "past")
    run(records.settings, trial.id)  # the second desk's process finds it done
    assert newest(records, mine, "past") == done


def test_an_athlete_forgotten_during_a_trial_does_not_end_it(
    records: Records, mine: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    trial = ask(records, mine, "past")
    replayed = room.replay_athlete

    def forgotten_meanwhile(kept: Records, athlete_id: str, *rest: object, **more: object) -> object:
        found = replayed(kept, athlete_id, *rest, **more)  # type: ignore[arg-type]
        if athlete_id == "davit":
            forget(records, "davit")
        return found

    monkeypatch.setattr(room, "replay_athlete", forgotten_meanwhile)
    run(records.settings, trial.id)
    done = newest(records, mine, "past")
    assert done is not None
    assert done.state == "done"
    assert {one.athlete_id for one in athletes_of(records, done.id)} == {"bram", "ines"}
