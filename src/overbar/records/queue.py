"""What is to be done: films waiting to be read, claimed under a lease.

A worker that dies says nothing; its lease runs out and the next one starts the
film again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, and_, delete, insert, or_, select, update

from overbar.records import schema

LEASE = timedelta(seconds=90)
"""How long a silent worker keeps a film (own judgement: far longer than it reports progress)."""
MOST_TRIES = 3
"""A film whose reading stops this often without an answer is given up (own judgement)."""


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
    free = or_(table.c.state == "waiting", and_(table.c.state == "running", table.c.lease_until < now))
    row = connection.execute(
        select(table.c.id, table.c.film_sha256, table.c.tries)
        .where(free)
        .order_by(table.c.tries, table.c.asked_at, table.c.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    ).first()
    if row is None:
        return None
    if row.tries >= MOST_TRIES:
        finish(connection, row.id, row.film_sha256, "failed", "Reading it stopped several times.")
        return claim(connection, worker, now)
    connection.execute(
        update(table)
        .where(table.c.id == row.id)
        .values(
            state="running",
            worker=worker,
            lease_until=now + LEASE,
            tries=row.tries + 1,
            share=0.0,
            doing="starting",
        )
    )
    connection.execute(
        update(schema.films).where(schema.films.c.sha256 == row.film_sha256).values(status="reading", why="")
    )
    return Task(row.id, row.film_sha256, worker)


def renew(connection: Connection, task: Task, share: float, doing: str, now: datetime) -> bool:
    """Say how far it is and keep the lease; False when somebody else has the film now."""
    done = connection.execute(
        update(schema.work)
        .where(schema.work.c.id == task.id, schema.work.c.worker == task.worker)
        .values(lease_until=now + LEASE, share=share, doing=doing)
    )
    return done.rowcount == 1


def holds(connection: Connection, task: Task) -> bool:
    """Say whether the worker still has the film."""
    worker = connection.execute(select(schema.work.c.worker).where(schema.work.c.id == task.id)).scalar()
    return worker == task.worker


def finish(connection: Connection, task_id: int, sha: str, status: str, why: str) -> None:
    """Take the film off the list with the outcome shown on it."""
    connection.execute(delete(schema.work).where(schema.work.c.id == task_id))
    connection.execute(
        update(schema.films).where(schema.films.c.sha256 == sha).values(status=status, why=why)
    )


def underway(connection: Connection) -> list[Doing]:
    """Return every film waiting or being read, in the order they were asked for."""
    table = schema.work
    rows = connection.execute(select(table).order_by(table.c.asked_at, table.c.id))
    return [Doing(r.film_sha256, r.state, r.share, r.doing, r.asked_at, r.tries) for r in rows]
