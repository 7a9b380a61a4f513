"""What is to be done, claimed under a lease: films waiting to be read, and the leases of any such table.

A worker that dies says nothing; its lease runs out and the next one starts the
work again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, Table, and_, delete, insert, or_, select, update

from overbar.records import schema

LEASE = timedelta(seconds=90)
"""How long a silent worker keeps its work (own judgement: far longer than it reports progress)."""
MOST_TRIES = 3
"""Work that stops this often without an answer is given up (own judgement)."""


@dataclass(frozen=True)
class Task:
    """A film claimed by one worker."""

    id: int
    film_sha256: str
    worker: str


@dataclass(frozen=True)
class Doing:
    """How far the reading of a film is."""

    film_sha256: str
    state: str
    share: float
    doing: str
    asked_at: datetime
    tries: int
    began_at: datetime | None = None
    worker: str = ""


def enqueue(connection: Connection, sha: str, now: datetime) -> None:
    """Ask for a film to be read; asking twice is asking once."""
    there = connection.execute(select(schema.work.c.id).where(schema.work.c.film_sha256 == sha)).first()
    if there is None:
        row = {"film_sha256": sha, "state": "waiting", "asked_at": now, "worker": ""}
        connection.execute(insert(schema.work).values(row | {"tries": 0, "share": 0.0, "doing": ""}))
        connection.execute(
            update(schema.films).where(schema.films.c.sha256 == sha).values(status="waiting", why="")
        )


def claim(connection: Connection, worker: str, now: datetime) -> Task | None:
    """Take the film that waits longest, or one whose worker fell silent; None when there is none."""
    table = schema.work
    row = next_free(connection, table, now)
    if row is None:
        return None
    if row.tries >= MOST_TRIES:
        finish(connection, row.id, row.film_sha256, "failed", "Reading it stopped several times.")
        return claim(connection, worker, now)
    lease(connection, table, row, worker, now)
    connection.execute(
        update(schema.films).where(schema.films.c.sha256 == row.film_sha256).values(status="reading", why="")
    )
    return Task(row.id, row.film_sha256, worker)


def next_free(connection: Connection, table: Table, now: datetime) -> Row[Any] | None:
    """Return the row that waits longest, or one whose worker fell silent; None when there is none."""
    free = or_(table.c.state == "waiting", and_(table.c.state == "running", table.c.lease_until < now))
    return connection.execute(
        select(table)
        .where(free)
        .order_by(table.c.tries, table.c.asked_at, table.c.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    ).first()


def lease(connection: Connection, table: Table, row: Row[Any], worker: str, now: datetime) -> None:
    """Give a row to a worker."""
    values = {"state": "running", "worker": worker, "lease_until": now + LEASE, "tries": row.tries + 1}
    connection.execute(
        update(table)
        .where(table.c.id == row.id)
        .values(values | {"share": 0.0, "doing": "starting", "began_at": now})
    )


def keep(
    connection: Connection, table: Table, id_: int, worker: str, share: float, doing: str, now: datetime
) -> bool:
    """Say how far a row is and keep its lease; False when somebody else has it now."""
    done = connection.execute(
        update(table)
        .where(table.c.id == id_, table.c.worker == worker, table.c.state == "running")
        .values(lease_until=now + LEASE, share=share, doing=doing)
    )
    return done.rowcount == 1


def holders(connection: Connection, table: Table) -> set[str]:
    """Return the workers that hold a row."""
    return set(connection.execute(select(table.c.worker).where(table.c.state == "running")).scalars())


def let_go(connection: Connection, table: Table, worker: str, now: datetime) -> None:
    """Take a dead worker's row away at once, so that the next one starts it again."""
    connection.execute(
        update(table).where(table.c.worker == worker, table.c.state == "running").values(lease_until=now)
    )


def renew(connection: Connection, task: Task, share: float, doing: str, now: datetime) -> bool:
    """Say how far it is and keep the lease; False when somebody else has the film now."""
    return keep(connection, schema.work, task.id, task.worker, share, doing, now)


def holds(connection: Connection, task: Task) -> bool:
    """Say whether the worker still has the film."""
    worker = connection.execute(select(schema.work.c.worker).where(schema.work.c.id == task.id)).scalar()
    return worker == task.worker


def finish(connection: Connection, task_id: int, sha: str, status: str, why: str, problem: str = "") -> None:
    """Take the film off the list with the outcome shown on it."""
    connection.execute(delete(schema.work).where(schema.work.c.id == task_id))
    connection.execute(
        update(schema.films)
        .where(schema.films.c.sha256 == sha)
        .values(status=status, why=why, problem=problem)
    )


def underway(connection: Connection) -> list[Doing]:
    """Return every film waiting or being read, in the order they were asked for."""
    table = schema.work
    rows = connection.execute(select(table).order_by(table.c.asked_at, table.c.id))
    return [
        Doing(r.film_sha256, r.state, r.share, r.doing, r.asked_at, r.tries, r.began_at, r.worker)
        for r in rows
    ]
