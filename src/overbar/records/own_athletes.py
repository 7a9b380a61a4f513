"""What the coach's own athletes say of the next one, learnt from their first logs and kept.

An athlete's prior is made anew at most once a week while the own log is young, and then
stays: so the same history gives the same verdict, and a decision keeps the prior it was
made with.
"""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from overbar.planning import pulls_of
from overbar.progress import Progress, silent
from overbar.records import schema
from overbar.records.database import reading, writing
from overbar.records.store import OWN_ATHLETES, Records
from overbar.records.written import from_plain, to_plain
from overbar.strength.kept import key_of
from overbar.strength.own_athletes import FIRST_DAYS, Says, first_sets, own_prior, says_of
from overbar.strength.prior import Prior, prior_for

EVERY = timedelta(days=7)
"""Athletes are asked anew once a week (own judgement: a prior moves slowly, and numbers that change under
the coach's eyes are of no use)."""


def learn_when_due(records: Records, progress: Progress = silent) -> bool:
    """Learn from everybody's first logs when a week has passed; return whether it was done."""
    with reading(records.engine) as c:
        row = c.execute(select(schema.house.c.value).where(schema.house.c.name == OWN_ATHLETES)).scalar()
    now = records.now()
    if row is not None and timedelta(0) <= now - datetime.fromisoformat(json.loads(row)) < EVERY:
        return False
    learn_from_athletes(records, progress)
    with writing(records.engine) as c:
        c.execute(delete(schema.house).where(schema.house.c.name == OWN_ATHLETES))
        c.execute(insert(schema.house).values(name=OWN_ATHLETES, value=json.dumps(now.isoformat())))
    return True


def learn_from_athletes(records: Records, progress: Progress = silent) -> None:
    """Ask every athlete's first log, and give those whose own log is young a prior from the others."""
    everybody = records.athletes()
    first: dict[str, date | None] = {}
    for done, athlete in enumerate(everybody):
        progress(done / len(everybody), f"first weeks of {athlete.name}")
        on = records.today(athlete.id)
        sets = first_sets(pulls_of(records.history(athlete.id, on), records.ladder_for(athlete.id), on))
        first[athlete.id] = sets[0].on if sets else None
        key = key_of(sets, athlete.sex, prior_for(athlete.sex))
        if key != _log_key(records, athlete.id):
            says = says_of(athlete.id, sets, athlete.sex)
            with writing(records.engine) as c:
                _put(c, athlete.id, {"log_key": key, "said_at": records.now(), "says": _plain(says)})
    said = told(records)
    for athlete in everybody:
        since = first[athlete.id]
        young = since is None or (records.today(athlete.id) - since).days < FIRST_DAYS
        with writing(records.engine) as c:
            if young or not _has_prior(c, athlete.id):
                prior = own_prior(said, athlete.sex, but=athlete.id)
                kept = None if prior == prior_for(athlete.sex) else to_plain(prior)
                _put(c, athlete.id, {"prior": kept, "prior_at": records.now()})
    progress(1.0, "done")


def told(records: Records) -> list[Says]:
    """Return what every athlete's first log says, of those long enough to say anything."""
    table = schema.own_athletes
    with reading(records.engine) as c:
        rows = c.execute(select(table.c.athlete_id, table.c.says).order_by(table.c.athlete_id)).all()
    return [from_plain(Says, row.says, f"athlete {row.athlete_id}") for row in rows if row.says is not None]


def prior_for_new(records: Records, sex: str, training: str = "ordinary") -> Prior:
    """Return the prior of somebody who is not in the records."""
    return own_prior(told(records), sex, training)


def _log_key(records: Records, athlete_id: str) -> str | None:
    table = schema.own_athletes
    with reading(records.engine) as c:
        return c.execute(select(table.c.log_key).where(table.c.athlete_id == athlete_id)).scalar()


def _has_prior(c: Connection, athlete_id: str) -> bool:
    table = schema.own_athletes
    return c.execute(select(table.c.prior_at).where(table.c.athlete_id == athlete_id)).scalar() is not None


def _put(c: Connection, athlete_id: str, values: dict[str, Any]) -> None:
    """Keep some columns of an athlete's row; nothing when the athlete was forgotten meanwhile."""
    table = schema.own_athletes
    if c.execute(update(table).where(table.c.athlete_id == athlete_id).values(values)).rowcount:
        return
    there = select(schema.athletes.c.id).where(schema.athletes.c.id == athlete_id)
    if c.execute(there).first() is not None:
        c.execute(insert(table).values({"athlete_id": athlete_id} | values))


def _plain(says: Says | None) -> Any:
    return None if says is None else to_plain(says)
