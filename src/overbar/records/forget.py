"""Erasing: one film, the films whose time is over, or one athlete with all there is, with proof."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, null, select, update

from overbar.errors import OverbarError
from overbar.records import films, schema
from overbar.records.database import reading, writing
from overbar.records.film_marks import calibration_of
from overbar.records.films import FilmRow
from overbar.records.store import BODY_OFFSET, FINDINGS, OWN_ATHLETES, Records


@dataclass(frozen=True)
class Proof:
    """What was erased, and how it was made sure.

    Attributes
    ----------
    rows : dict of str to int
        Rows erased of each table.
    films : int
        Film files erased.
    digest : str
        SHA-256 over everything that was erased, as kept in the list of deletions:
        whoever holds a copy handed over can show it is the same, nobody else learns
        anything from it.
    left : int
        Rows and films found afterwards; 0, or erasing would have failed.
    """

    rows: dict[str, int]
    films: int
    digest: str
    left: int


def forget(records: Records, athlete_id: str) -> Proof:
    """Erase an athlete: every row, every reading, every film.

    Raises
    ------
    NotFound
        Nobody has that id.
    OverbarError
        Something was found afterwards.
    """
    name = records.athlete(athlete_id).name
    kept = records.films(athlete_id)
    with writing(records.engine) as connection:
        rows, digest = _erased(connection, athlete_id)
        connection.execute(delete(schema.athletes).where(schema.athletes.c.id == athlete_id))
        # What the athlete's tries and first log taught goes too; it is learnt anew from those who stay.
        learnt = schema.house.c.name.in_((BODY_OFFSET, OWN_ATHLETES))
        connection.execute(delete(schema.house).where(learnt))
        connection.execute(update(schema.own_athletes).values(prior=null(), prior_at=None))
        what = f"one athlete: {sum(rows.values())} rows, {len(kept)} films"
        values = {"at": records.now(), "what": what, "proof": digest}
        connection.execute(insert(schema.deletions).values(values))
    gone = sum(records.film_store.remove(film.stored_as) for film in kept)
    _wipe(records)
    left = _left(records, athlete_id, name, kept)
    if left:
        raise OverbarError(
            f"{left} traces were found after erasing.",
            do="The rows and films are erased. Close the desk, then open and close the records once; where "
            "the name stands in a note on somebody else or on a ladder, change that note.",
        )
    return Proof(rows, gone, digest, left)


def delete_film(records: Records, sha: str, keep_numbers: bool) -> FilmRow:
    """Erase a film; its reading stays only if the athlete says so.

    A height calibration made from it goes with its numbers, and all films are reckoned without.
    """
    film, held = records.film(sha), False
    with writing(records.engine) as connection:
        on = records.today(film.athlete_id)
        table = schema.films
        connection.execute(update(table).where(table.c.sha256 == film.sha256).values(deleted_on=on))
        connection.execute(delete(schema.work).where(schema.work.c.film_sha256 == film.sha256))
        if not keep_numbers:
            readings = schema.readings
            connection.execute(delete(readings).where(readings.c.film_sha256 == film.sha256))
            journal = schema.journal
            told = (journal.c.athlete_id == film.athlete_id, journal.c.key == film.sha256)
            connection.execute(delete(journal).where(*told, journal.c.kind == FINDINGS))
            connection.execute(update(table).where(table.c.sha256 == film.sha256).values(known_length=null()))
            made = calibration_of(connection, film.athlete_id)
            held = made is not None and made.film_sha256 == film.sha256
        values = {"at": records.now(), "what": "one film", "proof": film.sha256}
        connection.execute(insert(schema.deletions).values(values))
    records.film_store.remove(film.stored_as)
    if held:
        records.calibrate_heights(film.athlete_id, None, "the deletion of the film of the holds")
    return records.film(film.sha256)


def films_due(records: Records, on: date) -> list[FilmRow]:
    """Return the films whose time is over and which are still kept."""
    return [
        film
        for film in records.films()
        if film.keep_until is not None and film.keep_until < on and film.deleted_on is None
    ]


def erase_due(records: Records) -> int:
    """Erase every film whose time is over, keeping its numbers; return how many there were.

    The numbers stay with the training record (handbook trade.md 5.7); they go with
    :func:`delete_film` when the athlete wants that.
    """
    due = films_due(records, records.today())
    for film in due:
        delete_film(records, film.sha256, keep_numbers=True)
    return len(due)


def _erased(connection: Connection, athlete_id: str) -> tuple[dict[str, int], str]:
    """Count and sum up everything of an athlete."""
    digest, rows = hashlib.sha256(), {}
    for table in schema.metadata.sorted_tables:
        query = _rows_of(table, athlete_id)
        if query is None:
            continue
        rows[table.name] = 0
        for row in connection.execute(query.order_by(*table.primary_key)).mappings():
            digest.update(json.dumps(dict(row), default=str, sort_keys=True).encode())
            rows[table.name] += 1
    return rows, digest.hexdigest()


def _rows_of(table: Table, athlete_id: str) -> Any:
    if table is schema.athletes:
        return select(table).where(table.c.id == athlete_id)
    if "athlete_id" in table.c:
        return select(table).where(table.c.athlete_id == athlete_id)
    if "film_sha256" in table.c:
        own = select(schema.films.c.sha256).where(schema.films.c.athlete_id == athlete_id)
        return select(table).where(table.c.film_sha256.in_(own))
    return None


def _wipe(records: Records) -> None:
    """Leave no erased page in an SQLite file or its write-ahead log."""
    if records.engine.dialect.name != "sqlite":
        return
    raw = records.engine.raw_connection()
    try:
        for statement in ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
            raw.cursor().execute(statement).fetchall()
    finally:
        raw.close()


def _left(records: Records, athlete_id: str, name: str, kept: list[FilmRow]) -> int:
    """Look for what is left: rows, film files, the name in any text and in the bytes of an SQLite file."""
    left = 0
    with reading(records.engine) as connection:
        for table in schema.metadata.sorted_tables:
            query = _rows_of(table, athlete_id)
            if query is not None:
                left += connection.execute(select(func.count()).select_from(query.subquery())).scalar_one()
        for film in kept:
            left += films.known_film(connection, film.sha256, athlete_id) is not None
    left += len({film.stored_as for film in kept} & set(records.film_store.names()))
    named, part_of_another = _told_of(records, name)
    left += named
    if part_of_another:
        # The bytes hold it too then, as part of a longer word that stays.
        return left
    database = records.engine.url.database
    if records.engine.dialect.name == "sqlite" and database:
        for suffix in ("", "-wal"):
            path = Path(database + suffix)
            if path.exists():
                left += name.encode() in path.read_bytes()
    return left


def _told_of(records: Records, name: str) -> tuple[int, bool]:
    """Return in how many values the name stands, and whether it is also a part of longer words."""
    whole = re.compile(rf"(?<!\w){re.escape(name)}(?!\w)")
    named, part = 0, False
    with reading(records.engine) as connection:
        for table in schema.metadata.sorted_tables:
            for row in connection.execute(select(table)):
                for value in row:
                    if not isinstance(value, str | list | dict):
                        continue
                    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
                    if name in text:
                        named += bool(whole.search(text))
                        part |= bool(name in whole.sub("", text))
    return named, part
