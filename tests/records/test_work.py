"""The films waiting to be read: claimed under a lease, started again when a worker dies."""

import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import update
from tests.records.test_films import FILMED, film
from tests.records.test_findings import a_reading, rep

from overbar.errors import NotSetUp, UnusableFilm
from overbar.film.reading import Reading
from overbar.progress import Progress
from overbar.records import FilmConsent, Records, open_records, queue, schema
from overbar.records.database import writing
from overbar.records.work import read_next, work


@pytest.fixture
def waiting(records: Records, tmp_path: Path) -> str:
    row = records.add_film(
        "tove",
        film(tmp_path / "a.mp4", sound=False),
        FILMED,
        "strict_pull_up",
        consent=FilmConsent(coach=True),
    )
    records.enqueue_reading(row.sha256)
    return row.sha256


def reads(path: Path, stature_m: float, mass_kg: float | None, progress: Progress, cache: Path) -> Reading:
    progress(0.5, "looking")
    return a_reading(stature_m=stature_m, mass_kg=mass_kg, reps=(rep(), rep(counted=False)))


def test_a_waiting_film_is_read_and_stands_in_the_history(records: Records, waiting: str) -> None:
    assert read_next(records, reads)
    assert not read_next(records, reads)
    assert records.film(waiting).status == "read"
    assert records.underway() == []
    kept = records.reading(waiting)
    assert kept is not None
    assert (kept.film.sha256, kept.film.name, kept.stature_m) == (waiting, "a.mp4", 1.70)
    history = records.history("tove")
    assert [one.usable for one in history.films] == [True]
    assert [(one.reps, one.counted_by) for one in history.sets] == [(1, "film")]
    assert history.films[0].on.isoformat() == "2026-04-21"  # 18:40 UTC is the next morning in Auckland


def test_asking_twice_is_asking_once(records: Records, waiting: str) -> None:
    records.enqueue_reading(waiting)
    assert len(records.underway()) == 1


def test_one_film_is_never_read_by_two_workers(records: Records, waiting: str) -> None:
    assert records.claim_reading("one") is not None
    assert records.claim_reading("two") is None
    assert records.film(waiting).status == "reading"


def test_a_film_whose_worker_was_killed_is_started_again(records: Records, waiting: str) -> None:
    dead = records.claim_reading("killed")
    assert dead is not None
    with writing(records.engine) as connection:
        connection.execute(update(schema.work).values(lease_until=datetime.now(UTC) - timedelta(seconds=1)))
    again = records.claim_reading("next")
    assert again is not None
    assert again.film_sha256 == waiting
    assert not records.renew_reading(dead, 0.9, "still here")
    assert not records.finish_reading(dead, a_reading())
    assert records.reading(waiting) is None
    assert records.finish_reading(again, a_reading())
    assert records.film(waiting).status == "read"


def test_a_film_that_kills_every_worker_is_given_up(records: Records, waiting: str) -> None:
    for n in range(queue.MOST_TRIES):
        assert records.claim_reading(f"worker {n}") is not None
        with writing(records.engine) as connection:
            past = datetime.now(UTC) - timedelta(seconds=1)
            connection.execute(update(schema.work).values(lease_until=past))
    assert records.claim_reading("last") is None
    assert records.film(waiting).status == "failed"


@pytest.mark.parametrize(
    ("error", "status", "why"),
    [
        (
            UnusableFilm("no_person", "Nobody hangs from a bar here.", "Film again."),
            "unusable",
            "Nobody hangs",
        ),
        (NotSetUp("the nets are missing", do="Run make setup."), "failed", "make setup"),
        (RuntimeError("inside"), "failed", "RuntimeError"),
    ],
)
def test_a_film_that_cannot_be_read_says_why(
    records: Records, waiting: str, error: Exception, status: str, why: str
) -> None:
    def fails(*_: object) -> Reading:
        raise error

    assert read_next(records, fails)
    row = records.film(waiting)
    assert row.status == status
    assert why in row.why
    assert records.underway() == []


def test_progress_is_seen_by_others_while_a_film_is_read(records: Records, waiting: str) -> None:
    seen: list[tuple[float, str]] = []

    def slow(path: Path, stature: float, mass: float | None, progress: Progress, cache: Path) -> Reading:
        progress(0.4, "finding the athlete")
        until = time.monotonic() + 10
        while not seen and time.monotonic() < until:
            now = [(one.share, one.doing) for one in records.underway() if one.share > 0]
            seen.extend(now)
            time.sleep(0.05)
        return a_reading()

    read_next(records, slow)
    assert seen == [(0.4, "finding the athlete")]


def test_a_worker_stops_when_told(records: Records, waiting: str) -> None:
    stop = threading.Event()
    thread = threading.Thread(target=work, args=(records.settings, stop, reads))
    thread.start()
    until = time.monotonic() + 20
    while records.film(waiting).status != "read" and time.monotonic() < until:
        time.sleep(0.05)
    stop.set()
    thread.join(timeout=10)
    assert not thread.is_alive()
    assert records.film(waiting).status == "read"


def test_a_corrected_reading_stands_beside_the_original(records: Records, waiting: str) -> None:
    records.save_reading(waiting, a_reading(reps=(rep(), rep())))
    corrected = a_reading(reps=(rep(), rep(counted=False)))
    records.correct_reading(waiting, {"bar": [1, 2]}, "the coach", corrected)
    now, before = records.reading(waiting), records.reading(waiting, original=True)
    assert now is not None
    assert before is not None
    assert (now.counted, before.counted) == (1, 2)
    assert [one.reps for one in records.history("tove").sets] == [1]


def test_saying_what_a_film_shows_changes_what_is_taken_from_it(records: Records, waiting: str) -> None:
    records.save_reading(waiting, a_reading(reps=(rep("high_pull", peak=0.1),)))
    records.describe_film(waiting, "swing_high_pull")
    assert {one.test for one in records.history("tove").measurements} == {"swing_high_L"}
    records.describe_film(waiting, "strict_high_pull")
    assert {one.test for one in records.history("tove").measurements} == {"strict_high_L"}


def test_readings_outlive_closing_the_records(records: Records, waiting: str) -> None:
    records.save_reading(waiting, a_reading())
    again = open_records(records.settings)
    assert again.reading(waiting) == records.reading(waiting)
    again.close()
