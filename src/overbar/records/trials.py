"""A ladder version tried before a real athlete is moved to it: on the past, and on simulated athletes.

A trial runs in a process of its own and writes how far it is into its row; when the
process is ended the row goes stale and can be asked for again.
"""

from __future__ import annotations

import logging
import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select, update

from overbar.errors import BadInput, NotFound, OverbarError
from overbar.ladder import Ladder
from overbar.records import schema
from overbar.records.database import reading, writing
from overbar.records.past import replay_athlete
from overbar.records.store import Records, open_records
from overbar.settings import Settings

log = logging.getLogger(__name__)

PAST, SIMULATED = "past", "simulated"
STALE_AFTER = timedelta(seconds=60)
"""A running trial that has not been heard of for so long has ended (own judgement)."""
REPORT_S = 0.5
PAST_WEEKS = 26
"""So many of the newest weeks are made again (half a year; own judgement)."""
SIMULATED_ATHLETES, SIMULATED_WEEKS, SEED = 24, 60, 1
"""A small run: it finds slips, not percentages (own judgement)."""


@dataclass(frozen=True)
class OneAthlete:
    """What a version would have decided for one athlete.

    Attributes
    ----------
    athlete_id : str
    weeks : int
        Past decisions made again.
    otherwise : tuple of (datetime str, tuple of str)
        Weeks that come out otherwise: Monday, and what differs in words.
    why : str
        Why it could not be done, or "".
    """

    athlete_id: str
    weeks: int
    otherwise: tuple[tuple[str, tuple[str, ...]], ...]
    why: str = ""


@dataclass(frozen=True)
class Trial:
    """One trial of a version.

    Attributes
    ----------
    id : int
    version : str
        Fingerprint of the version tried.
    kind : {"past", "simulated"}
    state : {"waiting", "running", "done", "failed", "stopped"}
    asked_at : datetime.datetime
    share : float
    doing : str
    result : dict or None
        Of a simulated one: the runs of the version and of the one it was made from.
    """

    id: int
    version: str
    kind: str
    state: str
    asked_at: datetime
    share: float
    doing: str
    result: Any

    @property
    def under_way(self) -> bool:
        """Whether it is still to end."""
        return self.state in ("waiting", "running")


def ask(records: Records, version: str, kind: str) -> Trial:
    """Ask for a trial; one that is under way is not asked for twice.

    Raises
    ------
    BadInput
        No such kind.
    """
    if kind not in (PAST, SIMULATED):
        raise BadInput(f"a trial of kind {kind!r}", do=f"Choose {PAST} or {SIMULATED}.")
    now = datetime.now(UTC)
    values = {"version": version, "kind": kind, "state": "waiting", "asked_at": records.now(), "seen_at": now}
    with writing(records.engine) as c:
        held = _newest(c, version, kind)
        if held is not None and held.under_way:
            return held
        query = insert(schema.ladder_trials).values(**values, share=0.0, doing="waiting")
        key = int(c.execute(query.returning(schema.ladder_trials.c.id)).scalar_one())
        return _trial(c, key)


def newest(records: Records, version: str, kind: str) -> Trial | None:
    """Return the newest trial of a version, or None."""
    with reading(records.engine) as c:
        return _newest(c, version, kind)


def decided_since(records: Records, trial: Trial) -> int:
    """Return how many weekly decisions were made since a trial: what it has not seen."""
    weeks = schema.weeks
    with reading(records.engine) as c:
        found = c.execute(select(func.count()).where(weeks.c.decided_at > trial.asked_at)).scalar_one()
    return int(found)


def athletes_of(records: Records, trial_id: int) -> tuple[OneAthlete, ...]:
    """Return what a trial on the past has found so far, athlete by athlete."""
    table = schema.ladder_trial_athletes
    with reading(records.engine) as c:
        rows = c.execute(select(table).where(table.c.trial_id == trial_id).order_by(table.c.athlete_id))
        return tuple(map(_one_athlete, rows))


def trials_of(records: Records, athlete_id: str) -> tuple[OneAthlete, ...]:
    """Return what every trial on the past found for one athlete, oldest first."""
    table = schema.ladder_trial_athletes
    with reading(records.engine) as c:
        rows = c.execute(select(table).where(table.c.athlete_id == athlete_id).order_by(table.c.trial_id))
        return tuple(map(_one_athlete, rows))


def run(settings: Settings, trial_id: int) -> None:
    """Do a trial to its end (what the process of its own runs), unless another process has begun it."""
    records = open_records(settings)
    try:
        table = schema.ladder_trials
        with writing(records.engine) as c:
            waiting = (table.c.id == trial_id, table.c.state == "waiting")
            mine = c.execute(update(table).where(*waiting).values(state="running", seen_at=datetime.now(UTC)))
            trial = _trial(c, trial_id)
        if mine.rowcount == 0:
            return
        try:
            result = None
            if trial.kind == PAST:
                _past(records, trial)
            else:
                result = _simulated(records, trial)
            _report(records, trial_id, 1.0, "", state="done", result=result)
        except OverbarError as error:
            _report(records, trial_id, 1.0, error.say(), state="failed")
        except Exception as error:  # the reason belongs on the page, not only in a log
            log.exception("trial %s failed", trial_id)
            _report(records, trial_id, 1.0, f"It failed: {type(error).__name__}.", state="failed")
    finally:
        records.close()


def _past(records: Records, trial: Trial) -> None:
    ladder = records.ladder(trial.version)
    ids = [one.id for one in records.athletes() if one.skill == ladder.skill.id]
    for number, athlete_id in enumerate(ids):
        _report(records, trial.id, number / len(ids), f"athlete {number + 1} of {len(ids)}", state="running")
        weeks, otherwise, why = 0, [], ""
        try:
            past = replay_athlete(records, athlete_id, ladder, weeks=PAST_WEEKS)
            weeks = len(past.weeks)
            otherwise = [
                {"starts": one.starts.isoformat(), "differs": list(one.differs)} for one in past.otherwise
            ]
        except OverbarError as error:
            why = error.say()
        with writing(records.engine) as c:
            there = select(schema.athletes.c.id).where(schema.athletes.c.id == athlete_id)
            if c.execute(there).first() is None:
                continue  # forgotten since the trial began
            c.execute(
                insert(schema.ladder_trial_athletes).values(
                    trial_id=trial.id, athlete_id=athlete_id, weeks=weeks, otherwise=otherwise, why=why
                )
            )


def _simulated(records: Records, trial: Trial) -> dict[str, Any]:
    from overbar.simulation.dry_run import dry_run, plain

    ladder, other = records.ladder(trial.version), _made_from(records, trial.version)
    ladders = [ladder] if other is None else [ladder, other]
    told = [0.0]

    def progress(number: int) -> Any:
        def report(share: float, doing: str) -> None:
            if time.monotonic() - told[0] >= REPORT_S:
                told[0] = time.monotonic()
                _report(records, trial.id, (number + share) / len(ladders), doing, state="running")

        return report

    runs = [
        plain(dry_run(one, SIMULATED_ATHLETES, SEED, SIMULATED_WEEKS, progress=progress(number), batch=1))
        for number, one in enumerate(ladders)
    ]
    return {"runs": runs}


def _made_from(records: Records, version: str) -> Ladder | None:
    """Return the ladder to stand beside, when there is one."""
    base = records.ladder_beside(version)
    return records.ladder(base) if base else None


def _report(
    records: Records, trial_id: int, share: float, doing: str, state: str, result: Any = None
) -> None:
    table = schema.ladder_trials
    values = {"state": state, "share": share, "doing": doing, "seen_at": datetime.now(UTC)}
    with writing(records.engine) as c:
        c.execute(update(table).where(table.c.id == trial_id).values(**values, result=result))


def _newest(c: Connection, version: str, kind: str) -> Trial | None:
    table = schema.ladder_trials
    query = select(table.c.id).where(table.c.version == version, table.c.kind == kind)
    key = c.execute(query.order_by(table.c.id.desc()).limit(1)).scalar()
    return None if key is None else _trial(c, key)


def _one_athlete(row: Row[Any]) -> OneAthlete:
    otherwise = tuple((one["starts"], tuple(one["differs"])) for one in row.otherwise)
    return OneAthlete(row.athlete_id, row.weeks, otherwise, row.why)


def _trial(c: Connection, trial_id: int) -> Trial:
    table = schema.ladder_trials
    row: Row[Any] | None = c.execute(select(table).where(table.c.id == trial_id)).one_or_none()
    if row is None:
        raise NotFound(f"there is no trial {trial_id}")
    stale = row.state in ("waiting", "running") and datetime.now(UTC) - row.seen_at > STALE_AFTER
    state = "stopped" if stale else row.state
    return Trial(row.id, row.version, row.kind, state, row.asked_at, row.share, row.doing, row.result)
