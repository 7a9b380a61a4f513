"""What a phone says of a film is checked before a byte of it is taken."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.records.conftest import someone

import overbar.sheet.film as sheet_film
from overbar.errors import BadInput
from overbar.records import Records, open_records
from overbar.settings import Settings
from overbar.sheet.film import keep_film, told_of

NOW = datetime(2026, 4, 27, 18, 0, tzinfo=UTC)
FILMED = datetime(2026, 4, 27, 17, 30, tzinfo=UTC)
FILM = Path(__file__).parent.parent / "films" / "early_side_gym.mp4"


@pytest.fixture
def records(tmp_path: Path) -> Records:
    made = open_records(Settings(tmp_path / "records", tmp_path / "cache"), clock=lambda: NOW)
    made.save_athlete(someone("tove"))
    return made


async def pieces(data: bytes) -> AsyncIterator[bytes]:
    for start in range(0, len(data), 50_000):
        yield data[start : start + 50_000]


def sent(records: Records, folder: Path, data: bytes, may: str = "coach") -> str:
    told = told_of(records, "tove", "set.mp4", FILMED, "muscle_up", None, may)
    # On a thread of its own: the browser tests leave a loop running on this one.
    with ThreadPoolExecutor(1) as aside:
        return aside.submit(
            lambda: asyncio.run(keep_film(records, "tove", told, pieces(data), folder))
        ).result()


def test_a_film_is_kept_once_and_waits_for_its_reading(records: Records, tmp_path: Path) -> None:
    sha = sent(records, tmp_path / "in", FILM.read_bytes(), "coach,show")
    assert sent(records, tmp_path / "in", FILM.read_bytes(), "coach,show") == sha
    (film,) = records.films("tove")
    assert (film.exercise, film.filmed_at, film.status) == ("muscle_up", FILMED, "waiting")
    assert (film.consent.show, film.consent.keep) == (True, False)
    assert list((tmp_path / "in").iterdir()) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"may": "keep"}, "coaching use"),
        ({"may": "coach,all"}, "'all'"),
        ({"exercise": "squat"}, "squat"),
        ({"filmed": datetime(2026, 4, 27, 17)}, "time zone"),
    ],
)
def test_what_cannot_be_is_refused(records: Records, change: dict[str, object], said: str) -> None:
    told = {"name": "a.mp4", "filmed": FILMED, "exercise": "muscle_up", "added_kg": None, "may": "coach"}
    with pytest.raises(BadInput, match=said):
        told_of(records, "tove", **(told | change))  # type: ignore[arg-type]


def test_a_phone_whose_clock_runs_ahead_filmed_no_later_than_now(records: Records) -> None:
    told = told_of(records, "tove", "a.mp4", datetime(2027, 1, 1, tzinfo=UTC), "muscle_up", None, "coach")
    assert told.filmed_at == NOW


def test_no_more_than_so_many_bytes_are_taken_and_none_of_them_stay(
    records: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheet_film, "AT_MOST_BYTES", 60_000)
    with pytest.raises(BadInput, match="larger"):
        sent(records, tmp_path / "in", FILM.read_bytes())
    with pytest.raises(BadInput, match="empty"):
        sent(records, tmp_path / "in", b"")
    assert list((tmp_path / "in").iterdir()) == []
    assert records.films("tove") == []


def test_no_more_than_so_many_films_are_taken_in_a_day(
    records: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent(records, tmp_path / "in", FILM.read_bytes())
    monkeypatch.setattr(sheet_film, "A_DAY_AT_MOST", 1)
    with pytest.raises(BadInput, match="one day"):
        sent(records, tmp_path / "in", FILM.read_bytes())
