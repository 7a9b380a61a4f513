"""The demo: three invented athletes, the same every time, told honestly.

The athletes' numbers are those of the handbook's demo cases (trade.md 7.4).
"""

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from overbar.demo import build_demo
from overbar.demo.build import kept_reading
from overbar.demo.readings import read_demo_film
from overbar.errors import BadInput
from overbar.ladder import load_ladder
from overbar.planning import decide
from overbar.records import Records, open_records

TODAY = date(2026, 4, 27)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    records = open_records(build_demo(tmp_path_factory.mktemp("demo") / "records"))
    yield records
    records.close()


def test_it_says_that_it_is_invented_and_stands_on_one_day(demo: Records) -> None:
    house = demo.house()
    assert "invented" in house.notice
    assert house.coach == "Oda Quillfeather"
    assert demo.today() == TODAY
    assert demo.now().date() == TODAY


def test_three_athletes_with_sixteen_weeks_each(demo: Records) -> None:
    assert [one.id for one in demo.athletes()] == ["bram", "davit", "ines"]
    for athlete in demo.athletes():
        history = demo.history(athlete.id, TODAY)
        assert len(history.weeks) == 16
        assert history.weeks[0].starts == date(2026, 1, 5)
        assert len(history.sessions) >= 48
        assert all(one.on <= TODAY for one in history.sets)


def test_it_is_the_same_every_time(demo: Records, tmp_path: Path) -> None:
    again = open_records(build_demo(tmp_path / "again"))
    for athlete in demo.athletes():
        assert again.history(athlete.id) == demo.history(athlete.id)
        assert again.weeks(athlete.id) == demo.weeks(athlete.id)
    again.close()


def test_it_is_never_built_over_something(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(BadInput, match="not empty"):
        build_demo(tmp_path)
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_the_logs_are_those_of_the_cases(demo: Records) -> None:
    """Handbook trade.md 7.4: starts with 5, 7 and 5; first valid tries in week 14, 14 and none."""
    first_valid = {}
    for athlete in demo.athletes():
        history = demo.history(athlete.id, TODAY)
        valid = [one.on for one in history.attempts if one.outcome == "valid"]
        first_valid[athlete.id] = (valid[0] - date(2026, 1, 5)).days // 7 + 1 if valid else None
    assert first_valid == {"davit": 14, "ines": 14, "bram": None}
    last = [one for one in demo.history("davit").attempts if one.on >= date(2026, 4, 20)]
    assert (len(last), sum(one.outcome == "valid" for one in last)) == (10, 7)


def test_loads_are_ones_the_athletes_can_make(demo: Records) -> None:
    """Davit has kg plates, Ines water in a backpack, Bram lb plates (trade.md 2.7)."""
    for stored in demo.weeks("bram"):
        for session in stored.week.sessions:
            for slot in session.slots:
                assert all(piece.endswith("lb") for piece in slot.load.pieces)
    loads = {one.added_kg for one in demo.history("ines").sets}
    assert all(load == round(load * 2) / 2 for load in loads)


def test_pain_comes_first_today(demo: Records) -> None:
    weeks = {}
    for athlete in demo.athletes():
        history = demo.history(athlete.id, TODAY)
        weeks[athlete.id] = decide(history, load_ladder(athlete.skill), TODAY)
    urgent = {name: week.verdict.urgent for name, week in weeks.items()}
    assert max(urgent, key=lambda name: urgent[name]) == "ines"
    assert weeks["ines"].verdict.decision == "change_exercise"
    assert weeks["bram"].verdict.gate is not None
    assert weeks["bram"].verdict.gate.weakest is not None


def test_every_film_has_its_reading_and_its_consent(demo: Records) -> None:
    films = demo.films()
    assert len(films) == 6
    for row in films:
        assert row.status == "read"
        assert row.consent.coach
        reading = demo.reading(row.sha256)
        assert reading is not None
        assert reading.usable


@pytest.mark.parametrize("file", ["early_side_gym.mp4", "low_side_gym.mp4"])
def test_the_kept_reading_is_what_the_film_room_says_now(file: str) -> None:
    kept, fresh = kept_reading(file), read_demo_film(file)
    assert kept is not None
    assert (kept.main_fault, kept.view.kind, kept.counted) == (
        fresh.main_fault,
        fresh.view.kind,
        fresh.counted,
    )
    assert [one.outcome for one in kept.attempts] == [one.outcome for one in fresh.attempts]
    assert [one.kind for one in kept.reps] == [one.kind for one in fresh.reps]
    for old, new in zip(kept.attempts, fresh.attempts, strict=True):
        for name, measured in new.measures.items():
            was = old.measures[name]
            assert was.value == pytest.approx(measured.value, abs=max(measured.sd, 1e-3) * 0.5), name


def test_what_the_films_show_stands_in_the_histories(demo: Records) -> None:
    davit = demo.history("davit", TODAY)
    assert {one.main_fault for one in davit.films} >= {"F20", "F03"}
    assert any(one.source == "film" and one.outcome == "valid" for one in davit.attempts)
    assert any(one.counted_by == "film" and one.reps == 3 for one in davit.sets)
    bram = demo.history("bram", TODAY)
    assert [one.main_fault for one in bram.films] == ["F04"]
    assert not bram.attempts
    heights = [
        one for one in bram.measurements if one.test == "swing_high_L" and one.ref == bram.films[0].ref
    ]
    assert heights == []  # a drill is no height test


def test_the_days_of_each_athlete_hold_two_days_between_heavy_pulls(demo: Records) -> None:
    """A to C at least 48 hours apart (trade.md 2.4)."""
    for athlete in demo.athletes():
        days = sorted({one.on for one in demo.history(athlete.id).sets})
        assert all(later - earlier >= timedelta(days=2) for earlier, later in pairwise(days))
