"""Logged facts of an athlete: kept once each, however often they arrive."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from datetime import date, datetime
from typing import Any, TypeVar

from sqlalchemy import Connection, RowMapping, Table, func, insert, select, update

from overbar.planning.history import AttemptLog, BodyNote, Measurement, PainReport, SessionLog
from overbar.records import journal, schema
from overbar.records.journal import Known
from overbar.records.written import from_plain, to_plain
from overbar.strength.sets import LoggedSet

Fact = SessionLog | PainReport | BodyNote | Measurement | AttemptLog
F = TypeVar("F", SessionLog, PainReport, BodyNote, Measurement, AttemptLog)

FACT_TABLES: dict[type[Any], Table] = {
    SessionLog: schema.sessions,
    PainReport: schema.pain,
    BodyNote: schema.body,
    Measurement: schema.measurements,
    AttemptLog: schema.attempts,
}


def add_sets(
    connection: Connection, athlete_id: str, sets: Iterable[LoggedSet], source: str, at: datetime
) -> int:
    """Add the sets that are not there yet and return how many.

    Two sets of one day are the same when exercise, load, reps, reps left, time
    and who counted are the same. A log that says ``5 x 5`` has five equal sets,
    so equal ones are counted: a log that comes again adds only what it has more.
    """
    offered = sorted(sets, key=lambda one: (one.on, one.order))
    if not offered:
        return 0
    table = schema.sets
    there: Counter[tuple[date, str]] = Counter()
    rows = connection.execute(
        select(table.c.on, table.c.what, func.count())
        .where(table.c.athlete_id == athlete_id, table.c.on.between(offered[0].on, offered[-1].on))
        .group_by(table.c.on, table.c.what)
    )
    for on, what, count in rows:
        there[on, what] = count
    seen: Counter[tuple[date, str]] = Counter()
    new = []
    for one in offered:
        key = (one.on, _what(one))
        seen[key] += 1
        if seen[key] > there[key]:
            row = asdict(one) | {"what": key[1], "nth": seen[key], "source": source, "added_at": at}
            new.append(row | {"athlete_id": athlete_id})
    if new:
        connection.execute(insert(table), new)
    return len(new)


def _what(one: LoggedSet) -> str:
    parts = (
        one.exercise,
        f"{one.added_kg:.2f}",
        str(one.reps),
        "" if one.reps_left is None else f"{one.reps_left:g}",
        "" if one.seconds is None else f"{one.seconds:g}",
        "failed" if one.failed else "",
        one.counted_by,
    )
    return "|".join(parts)


def sets_of(
    connection: Connection, athlete_id: str, until: date | None, known: Known | None = None
) -> tuple[LoggedSet, ...]:
    """Return the athlete's sets up to and including a day, oldest first; with ``known`` those there then."""
    table = schema.sets
    names = [field.name for field in fields(LoggedSet)]
    query = select(*(table.c[name] for name in names)).where(table.c.athlete_id == athlete_id)
    if until is not None:
        query = query.where(table.c.on <= until)
    if known is not None:
        query = query.where(table.c.added_at <= known.at)
    # Fetched at once: row by row takes a quarter longer over two years of sets.
    rows = connection.execute(query.order_by(table.c.on, table.c.order)).all()
    return tuple(LoggedSet(*row) for row in rows)


def put(connection: Connection, athlete_id: str, fact: Fact, at: datetime) -> bool:
    """Keep one fact; what is told later about the same day fills in or corrects it.

    Parameters
    ----------
    connection : sqlalchemy.Connection
    athlete_id : str
    fact : SessionLog, PainReport, BodyNote, Measurement or AttemptLog
    at : datetime.datetime
        When it arrived, for the journal.

    Returns
    -------
    bool
        Whether anything is different now.
    """
    table = FACT_TABLES[type(fact)]
    row = asdict(fact) | {"athlete_id": athlete_id}
    if isinstance(fact, PainReport):
        row["flags"] = list(fact.flags)
    same = [column == row[column.name] for column in table.primary_key]
    kept = connection.execute(select(table).where(*same)).mappings().one_or_none()
    key = _key(table, row)
    if kept is None:
        connection.execute(insert(table).values(row))
        journal.write(connection, athlete_id, table.name, key, to_plain(fact), at)
        return True
    fresh = {
        name: value for name, value in row.items() if value not in (None, "", []) and kept[name] != value
    }
    if fresh:
        before = _fact(type(fact), kept)
        if not journal.speaks_of(connection, athlete_id, table.name, key):
            since = journal.start_of(before.on)
            journal.write(connection, athlete_id, table.name, key, to_plain(before), since)
        connection.execute(update(table).where(*same).values(fresh))
        after = _fact(type(fact), {**kept, **fresh})
        journal.write(connection, athlete_id, table.name, key, to_plain(after), at)
    return bool(fresh)


def _key(table: Table, row: Mapping[Any, Any]) -> str:
    """What names a row among those of its athlete, for the journal."""
    return json.dumps([str(row[c.name]) for c in table.primary_key if c.name != "athlete_id"])


def _fact(kind: Any, row: Mapping[Any, Any]) -> Any:
    values = {field.name: row[field.name] for field in fields(kind)}
    if kind is PainReport:
        values["flags"] = tuple(values["flags"])
    return kind(**values)


def facts_of(
    connection: Connection, kind: type[F], athlete_id: str, until: date | None, known: Known | None = None
) -> tuple[F, ...]:
    """Return all facts of one kind up to and including a day, oldest first; with ``known`` as they were."""
    table = FACT_TABLES[kind]
    names = [field.name for field in fields(kind)]
    query = select(*(table.c[name] for name in names)).where(table.c.athlete_id == athlete_id)
    if until is not None:
        query = query.where(table.c.on <= until)
    keys = [column for column in table.primary_key if column.name != "athlete_id"]
    rows = connection.execute(query.order_by(*keys)).mappings()
    if known is None:
        return tuple(_fact(kind, row) for row in rows)
    forms = (known.form(table.name, _key(table, row), row) for row in rows)
    return tuple(
        _fact(kind, form) if isinstance(form, RowMapping) else from_plain(kind, form, table.name)
        for form in forms
        if form is not None
    )
