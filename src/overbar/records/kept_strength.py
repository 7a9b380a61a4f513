"""An athlete's strength from the records: read on from where it was left, and kept again."""

from __future__ import annotations

from datetime import date

from sqlalchemy import delete, insert, select

from overbar.ladder import Ladder
from overbar.planning import pulls_of
from overbar.planning.history import History
from overbar.records import schema
from overbar.records.database import reading, writing
from overbar.records.store import Records
from overbar.strength.kept import NOTHING, Kept, as_parts, estimate_on, from_parts


def strength_on(records: Records, history: History, ladder: Ladder, on: date) -> Kept:
    """Return an athlete's strength up to a day, the same as reading the whole log again.

    Rows that came late, were changed or taken away, another prior or another version of
    the program are noticed, and what they touch is estimated afresh.

    Parameters
    ----------
    records : Records
        Where strength is kept between calls.
    history : History
        The athlete's, at least up to ``on``.
    ladder : Ladder
        Says which sets show strength.
    on : datetime.date
    """
    sets = pulls_of(history, ladder, on)
    before = _kept(records, history.athlete.id)
    now = estimate_on(sets, history.athlete.sex, history.prior, before)
    if now.newest is None:
        return now
    longer = before.newest is None or before.newest.on <= now.newest.on
    if longer and [key for key, _ in before.beliefs] != [key for key, _ in now.beliefs]:
        _keep(records, history.athlete.id, now)
    return now


def _kept(records: Records, athlete_id: str) -> Kept:
    table = schema.kept_strength
    with reading(records.engine) as c:
        row = c.execute(select(table).where(table.c.athlete_id == athlete_id)).one_or_none()
    return NOTHING if row is None else from_parts(row.log_keys, row.beliefs, row.points)


def _keep(records: Records, athlete_id: str, kept: Kept) -> None:
    table = schema.kept_strength
    keys, beliefs, points = as_parts(kept)
    with writing(records.engine) as c:
        c.execute(delete(table).where(table.c.athlete_id == athlete_id))
        there = select(schema.athletes.c.id).where(schema.athletes.c.id == athlete_id)
        if c.execute(there).first() is not None:  # not forgotten meanwhile
            row = {"athlete_id": athlete_id, "log_keys": keys, "beliefs": beliefs, "points": points}
            c.execute(insert(table).values(row))
