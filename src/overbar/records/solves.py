"""Full solves of the body model: asked for, done in the background under a lease, kept with their answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, insert, select, update

from overbar.records import queue
from overbar.records.schema import body_solves

UNDER_WAY = ("waiting", "running")


@dataclass(frozen=True)
class SolveTask:
    """A body claimed by one worker."""

    id: int
    asked: dict[str, Any]
    worker: str


@dataclass(frozen=True)
class Solve:
    """A full solve as the records know it.

    Attributes
    ----------
    id : int
    asked : dict
        Body, strength, swing and version it was asked for.
    state : {"waiting", "running", "done", "failed"}
    asked_at, began_at, done_at : datetime.datetime or None
    share, doing : float, str
        How far it is.
    tries : int
        How often a worker has begun it.
    why : str
        Why there is no answer.
    answer : dict or None
        What the solver gave.
    """

    id: int
    asked: dict[str, Any]
    state: str
    asked_at: datetime
    began_at: datetime | None
    done_at: datetime | None
    share: float
    doing: str
    tries: int
    why: str
    answer: dict[str, Any] | None

    @property
    def under_way(self) -> bool:
        """Whether an answer is still to come."""
        return self.state in UNDER_WAY


def ask(connection: Connection, athlete_id: str, asked: dict[str, Any], now: datetime) -> int:
    """Ask for a solve and return its key; asking while one is under way is asking once."""
    there = connection.execute(
        select(body_solves.c.id).where(
            body_solves.c.athlete_id == athlete_id, body_solves.c.state.in_(UNDER_WAY)
        )
    ).scalar()
    if there is not None:
        return int(there)
    row = {"athlete_id": athlete_id, "asked": asked, "state": "waiting", "asked_at": now, "worker": ""}
    values = row | {"tries": 0, "share": 0.0, "doing": "", "why": ""}
    key = connection.execute(insert(body_solves).values(values).returning(body_solves.c.id)).scalar_one()
    return int(key)


def claim(connection: Connection, worker: str, now: datetime) -> SolveTask | None:
    """Take the body that waits longest, or one whose worker fell silent; None when there is none."""
    row = queue.next_free(connection, body_solves, now)
    if row is None:
        return None
    if row.tries >= queue.MOST_TRIES:
        why = "The full solve stopped several times."
        _end(connection, row.id, {"state": "failed", "why": why, "done_at": now})
        return claim(connection, worker, now)
    queue.lease(connection, body_solves, row, worker, now)
    return SolveTask(row.id, row.asked, worker)


def finish(connection: Connection, task: SolveTask, outcome: dict[str, Any] | str, now: datetime) -> bool:
    """Keep an answer, or the reason there is none; nothing when another worker has taken over."""
    holder = connection.execute(
        select(body_solves.c.worker).where(body_solves.c.id == task.id, body_solves.c.state == "running")
    ).scalar()
    if holder != task.worker:
        return False
    ended: dict[str, Any] = {"done_at": now, "share": 1.0, "doing": ""}
    if isinstance(outcome, str):
        _end(connection, task.id, ended | {"state": "failed", "why": outcome})
    else:
        _end(connection, task.id, ended | {"state": "done", "answer": outcome})
    return True


def newest(connection: Connection, athlete_id: str, solved: bool) -> Solve | None:
    """Return an athlete's newest solve, or the newest one with an answer."""
    query = _of(athlete_id)
    if solved:
        query = query.where(body_solves.c.state == "done")
    row = connection.execute(query.order_by(body_solves.c.id.desc()).limit(1)).first()
    return None if row is None else Solve(*row)


def every(connection: Connection, athlete_id: str) -> list[Solve]:
    """Return all of an athlete's solves, oldest first."""
    return [Solve(*row) for row in connection.execute(_of(athlete_id).order_by(body_solves.c.id))]


def _of(athlete_id: str) -> Select[Any]:
    columns = (body_solves.c[name] for name in Solve.__dataclass_fields__)
    return select(*columns).where(body_solves.c.athlete_id == athlete_id)


def _end(connection: Connection, id_: int, values: dict[str, Any]) -> None:
    connection.execute(update(body_solves).where(body_solves.c.id == id_).values(values))
