"""A film from the phone: taken in as it arrives, kept only with the athlete's own tick."""

from __future__ import annotations

import tempfile
from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from anyio import to_thread

from overbar.errors import BadInput
from overbar.records import FilmConsent, Records

AT_MOST_BYTES = 500_000_000
"""A phone film of a set is under a fifth of it (own judgement)."""
A_DAY_AT_MOST = 40
"""Films a link takes in a day, so that a link in wrong hands fills no disk (own judgement)."""
TICKS = ("coach", "keep", "show", "improve")


@dataclass(frozen=True)
class Told:
    """What the phone says of a film.

    Attributes
    ----------
    name : str
        File name on the phone.
    filmed_at : datetime.datetime
        Timezone-aware.
    exercise : str
        Exercise id.
    added_kg : float or None
    consent : FilmConsent
    """

    name: str
    filmed_at: datetime
    exercise: str
    added_kg: float | None
    consent: FilmConsent


def told_of(
    records: Records,
    athlete_id: str,
    name: str,
    filmed: datetime,
    exercise: str,
    added_kg: float | None,
    may: str,
) -> Told:
    """Check what a phone says of a film before a byte of it is taken.

    Parameters
    ----------
    filmed : datetime.datetime
        Timezone-aware.
    may : str
        The athlete's ticks, joined by commas: coach, keep, show, improve.

    Raises
    ------
    BadInput
        A value that cannot be, no tick for coaching use, or too many films today.
    """
    ticks = [tick for tick in may.split(",") if tick]
    unknown = [tick for tick in ticks if tick not in TICKS]
    if unknown:
        raise BadInput(f"there is no tick {unknown[0]!r}", "may", "Load the sheet again.")
    if "coach" not in ticks:
        raise BadInput(
            "the tick for coaching use is missing", do="Without it a film can be neither read nor looked at."
        )
    if exercise not in records.ladder_for(athlete_id).exercises:
        raise BadInput(f"there is no exercise {exercise!r}", "exercise", "Load the sheet again.")
    if filmed.tzinfo is None:
        raise BadInput(f"{filmed} is in no time zone", "filmed", "Load the sheet again.")
    now = records.now()
    today = [film for film in records.films(athlete_id) if now - film.first_seen_at < timedelta(days=1)]
    if len(today) >= A_DAY_AT_MOST:
        raise BadInput(
            f"{A_DAY_AT_MOST} films have come from you in one day",
            do="Send it tomorrow, or give it to your coach another way.",
        )
    consent = FilmConsent(*(tick in ticks for tick in TICKS))
    # A phone whose clock runs ahead filmed no later than the film arrived.
    return Told(Path(name).name[-100:] or "film", min(filmed, now), exercise, added_kg, consent)


async def keep_film(
    records: Records, athlete_id: str, told: Told, pieces: AsyncIterator[bytes], folder: Path
) -> str:
    """Keep a film as it arrives and ask for its reading; the same film again changes nothing.

    Parameters
    ----------
    pieces : async iterator of bytes
        The file.
    folder : pathlib.Path
        Where it lies until it is whole.

    Returns
    -------
    str
        SHA-256 of the film.

    Raises
    ------
    BadInput
        Too large, or empty.
    UnusableFilm
        The file is no film.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as made:
        path = Path(made) / told.name
        size = 0
        with path.open("wb") as out:
            async for piece in pieces:
                size += len(piece)
                if size > AT_MOST_BYTES:
                    raise BadInput(
                        f"the film is larger than {AT_MOST_BYTES // 1_000_000} MB", do="Trim it first."
                    )
                out.write(piece)
        if size == 0:
            raise BadInput("the film is empty", do="Choose the file again.")
        row = await to_thread.run_sync(
            lambda: records.add_film(
                athlete_id,
                path,
                told.filmed_at,
                exercise=told.exercise,
                added_kg=told.added_kg,
                consent=told.consent,
            )
        )
    if row.status == "waiting" and row.consent.coach:
        records.enqueue_reading(row.sha256)
    return row.sha256
