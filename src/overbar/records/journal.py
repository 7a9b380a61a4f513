"""The journal: when each fact arrived or was corrected, so that what was known at a time can be told.

Logs can arrive late and are corrected in place; a decision of the past must be made
again from what was known then. Each arrival and correction adds an entry here that
never changes. A row without an entry is older than the journal and counts as known
from its own day on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import Connection, insert, select

from overbar.records import schema

Key = tuple[str, str]


@dataclass(frozen=True)
class Entry:
    """One arrival or correction: when, of what kind, which row of it, and the row as it was from then on."""

    at: datetime
    kind: str
    key: str
    form: Any


@dataclass(frozen=True)
class Known:
    """What the journal says was known at a moment.

    Attributes
    ----------
    at : datetime.datetime
    forms : mapping of (kind, key) to dict
        The newest entry up to the moment.
    named : frozenset of (kind, key)
        Everything the journal ever speaks of.
    """

    at: datetime
    forms: Mapping[Key, Any]
    named: frozenset[Key]

    def form(self, kind: str, key: str, now: Any) -> Any:
        """Return a row as it was then, given as it is now; None when it was not known yet."""
        return self.forms.get((kind, key)) if (kind, key) in self.named else now


def start_of(on: date) -> datetime:
    """Return when a day begins anywhere on earth."""
    return datetime.combine(on, time(), UTC) - timedelta(hours=14)


def write(c: Connection, athlete_id: str, kind: str, key: str, form: Any, at: datetime) -> None:
    """Add an entry."""
    c.execute(insert(schema.journal).values(athlete_id=athlete_id, at=at, kind=kind, key=key, form=form))


def speaks_of(c: Connection, athlete_id: str, kind: str, key: str) -> bool:
    """Say whether there is an entry about something."""
    table = schema.journal
    query = select(table.c.id).where(
        table.c.athlete_id == athlete_id, table.c.kind == kind, table.c.key == key
    )
    return c.execute(query.limit(1)).first() is not None


def entries_of(c: Connection, athlete_id: str) -> list[Entry]:
    """Return an athlete's entries in the order they were written."""
    table = schema.journal
    query = select(table.c.at, table.c.kind, table.c.key, table.c.form).where(
        table.c.athlete_id == athlete_id
    )
    return [Entry(*row) for row in c.execute(query.order_by(table.c.id))]


def known_at(c: Connection, athlete_id: str, at: datetime) -> Known:
    """Return what the journal says was known at a moment."""
    table = schema.journal
    query = select(table.c.kind, table.c.key, table.c.at, table.c.form).where(
        table.c.athlete_id == athlete_id
    )
    forms: dict[Key, Any] = {}
    named: set[Key] = set()
    for row in c.execute(query.order_by(table.c.id)):
        named.add((row.kind, row.key))
        if row.at <= at:
            forms[row.kind, row.key] = row.form
    return Known(at, forms, frozenset(named))
