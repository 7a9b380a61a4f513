"""Replay from the records: the past comes out the same, from what was known then, not later."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from tests.records.conftest import someone

from overbar.athlete.kit import Bar, Kit, Plate
from overbar.demo import build_demo
from overbar.ladder import ladder_from_files, load_ladder
from overbar.planning import decide
from overbar.planning.history import BodyNote, CoachWord, Measurement, PainReport, SessionLog
from overbar.records import Records, open_records
from overbar.records.past import decided, replay_all, replay_athlete
from overbar.settings import Settings
from overbar.strength.sets import LoggedSet

FIRST = date(2026, 1, 5)
WEEKS = 8


class Clock:
    """A clock the test sets."""

    at = datetime(2026, 1, 5, 7, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    """Eight weeks with late logs, corrections, a changed kit, words of the coach and a refused week."""
    folder = tmp_path_factory.mktemp("lived")
    clock = Clock()
    records = open_records(Settings(folder / "records", folder / "cache"), clock=clock)
    kit = Kit("belt", (Plate(10), Plate(5, 2), Plate(2.5, 2)), bars=(Bar("rig", True),))
    records.save_athlete(someone(kit=kit, time_zone="Europe/Oslo"))
    late: list[LoggedSet] = []
    for week in range(WEEKS):
        monday = FIRST + timedelta(weeks=week)
        for number, label in enumerate("ABC"):
            on = monday + timedelta(days=2 * number)
            clock.at = datetime(on.year, on.month, on.day, 20, tzinfo=UTC)
            log = [
                LoggedSet(on, "strict_pull_up", 64.0, 0.0, 5 + (week > 2), 1.0, session=label, order=n)
                for n in range(4)
            ]
            if week == 3 and label == "C":
                late = log  # comes in two weeks later
                continue
            records.add_sets("tove", log, "test")
            records.add_session("tove", SessionLog(on, label, True, 7.0))
            records.add_pain("tove", PainReport(on, "", 0.0, 0.0))
        records.add_body("tove", BodyNote(monday, 64.0, 7.0))
        sunday = monday + timedelta(days=6)
        clock.at = datetime(sunday.year, sunday.month, sunday.day, 19, tzinfo=UTC)
        if week == 4:
            records.save_athlete(replace(records.athlete("tove"), kit=replace(kit, plates=(Plate(5, 2),))))
        history = records.history("tove", sunday)
        proposed = decide(history, records.ladder_for("tove"), sunday)
        key = records.save_week(proposed, clock.at)
        clock.at += timedelta(minutes=5)
        records.settle(key, "refused" if week == 5 else "accepted", "travels" if week == 5 else "")
        if week == 5:
            records.add_sets("tove", late, "late")
            # the pain of week 4 is corrected: it had been 4, not 0
            hurt = FIRST + timedelta(weeks=4, days=2)
            records.add_pain("tove", PainReport(hurt, "", 4.0, 4.0))
            records.say("tove", CoachWord(clock.at, "rule:D-S", "ignore", "feels fresh", sunday))
            records.add_measurement("tove", Measurement(monday, "deep_dips", 6.0, None, "coach", "seen"))
    yield records
    records.close()


def test_every_stored_decision_comes_out_the_same(lived: Records) -> None:
    again = replay_athlete(lived, "tove")
    assert len(again.weeks) == WEEKS
    assert again.left_out == 0
    assert [one.differs for one in again.weeks] == [()] * WEEKS
    stored = lived.weeks("tove")
    assert [one.now for one in again.weeks] == [one.week for one in stored]  # word for word


def test_a_film_corrected_later_counts_for_earlier_decisions_as_it_was_read_then(tmp_path: Path) -> None:
    records = open_records(build_demo(tmp_path / "demo"))
    film = next(one for one in records.films("davit") if one.exercise == "strict_pull_up")
    read = records.reading(film.sha256)
    assert read is not None
    before, then = records.history("davit"), film.filmed_at + timedelta(hours=3)
    assert records.history("davit", known_at=film.filmed_at).films != before.films
    records.correct_reading(film.sha256, [], "coach", replace(read, reps=()))
    now, as_then = records.history("davit"), records.history("davit", known_at=then)
    day = film.filmed_at.date()
    counted = [[one.reps for one in h.sets if one.counted_by == "film"] for h in (before, now, as_then)]
    assert counted[0]
    assert counted[1] == []
    assert counted[2] == counted[0]
    assert [f for f in as_then.films if f.on == day] == [f for f in before.films if f.on == day]
    records.close()


def test_twice_is_once(lived: Records) -> None:
    assert replay_athlete(lived, "tove") == replay_athlete(lived, "tove")


def test_what_came_late_is_not_in_the_history_as_known_then(lived: Records) -> None:
    past = decided(lived, "tove")
    day = FIRST + timedelta(weeks=3, days=4)
    seen = [sum(one.on == day for one in each.history.sets) for each in past]
    assert seen == [0] * 6 + [4] * 2
    hurt = FIRST + timedelta(weeks=4, days=2)
    assert [next((r.worst for r in each.history.pain if r.on == hurt), None) for each in past] == [
        *[None] * 4,
        0.0,
        0.0,
        4.0,
        4.0,
    ]
    assert [len(each.history.athlete.kit.plates) for each in past] == [3] * 4 + [1] * 4
    assert [len(each.history.coach) for each in past] == [0] * 6 + [1] * 2
    assert [any(m.source == "coach" for m in each.history.measurements) for each in past] == [
        *[False] * 6,
        *[True] * 2,
    ]


def test_from_the_dates_alone_the_past_would_have_come_out_otherwise(lived: Records) -> None:
    from overbar.planning import replay

    history = lived.history("tove")
    again = replay(history, load_ladder(), until=history.weeks[-1].starts)
    assert any(one.differs for one in again)


def test_a_changed_ladder_shows_which_decisions_would_have_been_others(lived: Records) -> None:
    shipped = load_ladder()
    files = ((n, t.replace("full >= 10", "full >= 99")) for n, t in shipped.files)
    other = ladder_from_files(
        (n, t + '\n[[rule]]\nid = "MORE"\nname = "Always"\nphase = "plan"\nwhen = "1"\nsay = "Always."\n'
         'basis = "own judgement"\nwhy = "test"\n' if n.endswith("bar_muscle_up/rules.toml") else t)
        for n, t in files
    )  # fmt: skip
    again = replay_athlete(lived, "tove", other)
    assert len(again.otherwise) == WEEKS
    assert all(any("now fires: Always (MORE)" in say for say in one.differs) for one in again.weeks)
    assert again.ladder == other.version
    chained = replay_athlete(lived, "tove", other, chained=True)
    assert len(chained.weeks) == WEEKS


def test_who_cannot_be_replayed_is_named_and_keeps_nobody_else_back(lived: Records) -> None:
    heard: list[float] = []
    found, failed = replay_all(
        lived, ["nobody", "tove"], weeks=2, progress=lambda share, doing: heard.append(share)
    )
    assert [one.athlete_id for one in found] == ["tove"]
    assert len(found[0].weeks) == 2
    assert failed[0][0] == "nobody"
    assert heard[-1] == 1.0
