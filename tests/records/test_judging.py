"""A limit the coach moves counts for films read before too, and what was said then stays known."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.records.test_films import FILMED, film

import overbar.demo
from overbar.film import rejudge
from overbar.film.reading import Reading, read_reading
from overbar.ladder import Ladder, ladder_from_files, load_ladder
from overbar.records import Records
from overbar.records.judging import judge_again, judge_anew, judged_otherwise
from overbar.records.work import work

FOLDER = Path(overbar.demo.__file__).parent / "films"
SHIPPED = load_ladder()


def low_pull_from(limit: str) -> Ladder:
    """Return the shipped ladder that calls a pull low under another height."""
    old = '["swing_peak_L", "<", 0.1]'
    assert any(old in text for _, text in SHIPPED.files)
    new = f'["swing_peak_L", "<", {limit}]'
    return ladder_from_files((name, text.replace(old, new)) for name, text in SHIPPED.files)


@pytest.fixture(scope="module")
def early() -> Reading:
    """A pull that starts too early and does not get over the bar."""
    return rejudge(read_reading(FOLDER / "early_side_gym.reading.json"))


@pytest.fixture
def read(records: Records, early: Reading, tmp_path: Path) -> str:
    row = records.add_film("tove", film(tmp_path / "a.mp4", sound=False), FILMED, "muscle_up")
    records.save_reading(row.sha256, early)
    return row.sha256


def names(reading: Reading | None) -> set[str]:
    assert reading is not None
    return {fault.id for fault in reading.faults}


def move(records: Records, ladder: Ladder) -> None:
    records.keep_ladder(ladder, "other heights")
    records.move_to_ladder(["tove"], ladder.version, "these heights suit her")


def test_a_moved_limit_judges_the_films_read_before(records: Records, read: str) -> None:
    before = records.reading(read)
    assert "F04" in names(before)
    assert judged_otherwise(records) == []
    move(records, low_pull_from("-0.9"))
    assert judged_otherwise(records) == [read]
    assert judge_anew(records) == 1
    after = records.reading(read)
    assert "F04" not in names(after)
    assert judged_otherwise(records) == []
    # Only what is said of faults moves: the numbers and the first reading stay.
    assert before is not None
    assert after is not None
    assert (after.attempts, after.curves, after.joints) == (before.attempts, before.curves, before.joints)
    assert records.reading(read, original=True) == before
    assert "F04" not in dict(records.history("tove").films[-1].faults)


def test_what_was_said_then_stays_known_then(records: Records, read: str) -> None:
    then = records.now()
    records._clock = lambda: then + timedelta(days=7)
    move(records, low_pull_from("-0.9"))
    judge_anew(records)
    assert "F04" not in dict(records.history("tove").films[-1].faults)
    assert "F04" in dict(records.history("tove", known_at=then + timedelta(days=1)).films[-1].faults)


def test_moving_back_says_the_same_again(records: Records, read: str) -> None:
    before = records.reading(read)
    move(records, low_pull_from("-0.9"))
    judge_anew(records)
    records.move_to_ladder(["tove"], SHIPPED.version, "back")
    assert judge_anew(records) == 1
    assert names(records.reading(read)) == names(before)


def test_points_put_right_stay_when_a_film_is_judged_anew(
    records: Records, read: str, early: Reading
) -> None:
    place = {"frame": 30, "joint": "left_hip", "x_px": 600.0, "y_px": 400.0}
    corrected = records.correct_reading(read, [place], "Oda")
    move(records, low_pull_from("-0.9"))
    judge_anew(records)
    after = records.reading(read)
    assert after is not None
    assert after.joints == corrected.joints
    assert records.corrections(read) == [place]
    # Taken back later, the first reading's numbers come again, with the limits in force.
    taken_back = records.correct_reading(read, [], "Oda")
    assert taken_back.attempts == early.attempts
    assert "F04" not in names(taken_back)


def test_another_rule_leaves_the_films_alone(records: Records, read: str) -> None:
    other = ladder_from_files(
        (name, text.replace("sessions_missed_7d >= 1", "sessions_missed_7d >= 2"))
        for name, text in SHIPPED.files
    )
    move(records, other)
    assert judged_otherwise(records) == []


def test_a_reading_of_an_older_program_is_judged_once_and_says_the_same(
    records: Records, read: str, early: Reading
) -> None:
    records.save_reading(read, replace(early, judged_by=""))
    entries = len(records.journal("tove"))
    assert judged_otherwise(records) == [read]
    assert not judge_again(records, read)
    assert judged_otherwise(records) == []
    assert len(records.journal("tove")) == entries


def test_the_worker_judges_anew_by_itself(records: Records, read: str) -> None:
    move(records, low_pull_from("-0.9"))
    stop = threading.Event()
    thread = threading.Thread(target=work, args=(records.settings, stop), daemon=True)
    thread.start()
    for _ in range(300):
        if not judged_otherwise(records):
            break
        stop.wait(0.1)
    stop.set()
    thread.join(timeout=30)
    assert "F04" not in names(records.reading(read))
