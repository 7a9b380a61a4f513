"""Weekly verdicts with what the coach made of them, and the coach's own words."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from typing import Any, Literal

from sqlalchemy import Connection, Row, insert, select, update

from overbar.errors import BadInput, NotFound
from overbar.planning.history import CoachWord, PastWeek
from overbar.planning.verdict import Week
from overbar.planning.week import stops_of
from overbar.records import schema
from overbar.records.written import from_plain, to_plain
from overbar.strength.prior import Prior

Standing = Literal["proposed", "accepted", "changed", "refused"]
STANDINGS: tuple[Standing, ...] = ("proposed", "accepted", "changed", "refused")
MAIN_PULLS = ("weighted_pull_up", "strict_pull_up")
"""Exercises whose load is remembered as the week's top load."""


@dataclass(frozen=True)
class StoredWeek:
    """A verdict as it was given, and what the coach made of it.

    Attributes
    ----------
    id : int
        Key of the verdict.
    athlete_id : str
    week : Week
        As the program proposed it; never altered.
    decided_at : datetime.datetime
    standing : {"proposed", "accepted", "changed", "refused"}
    reason : str
        The coach's reason for changing or refusing, or a line with the acceptance.
    at : datetime.datetime or None
        When the coach settled it.
    changed : Week or None
        The week as the coach changed it.
    ladder : str
        Fingerprint of the ladder that decided; "" when it is not kept.
    """

    id: int
    athlete_id: str
    week: Week
    decided_at: datetime
    standing: Standing = "proposed"
    reason: str = ""
    at: datetime | None = None
    changed: Week | None = None
    ladder: str = ""

    @property
    def holds(self) -> Week | None:
        """The week that is in force: as changed, as proposed, or none when refused."""
        if self.standing == "refused":
            return None
        return self.changed or self.week


def save_week(connection: Connection, week: Week, decided_at: datetime, ladder: str | None = None) -> int:
    """Keep a verdict, with the fingerprint of the ladder that decided, and return its key."""
    row = _columns(week) | {
        "athlete_id": week.verdict.athlete_id,
        "week_starts": week.verdict.week_starts,
        "decided_at": decided_at,
        "form": to_plain(week),
        "standing": "proposed",
        "reason": "",
        "ladder": ladder,
    }
    query = insert(schema.weeks).values(row).returning(schema.weeks.c.id)
    return int(connection.execute(query).scalar_one())


def settle(
    connection: Connection, verdict_id: int, standing: str, reason: str, changed: Week | None, at: datetime
) -> None:
    """Keep what the coach made of a verdict; the proposal itself stays as it was."""
    if standing not in STANDINGS:
        raise BadInput(f"standing {standing!r} is none of {', '.join(STANDINGS)}")
    if standing in ("changed", "refused") and not reason.strip():
        raise BadInput(f"a {standing} week has no reason", do="Say why in a few words; it is kept with it.")
    if (standing == "changed") != (changed is not None):
        raise BadInput("a changed week and the standing 'changed' belong together")
    done = connection.execute(
        update(schema.weeks)
        .where(schema.weeks.c.id == verdict_id)
        .values(
            standing=standing,
            reason=reason.strip(),
            settled_at=None if standing == "proposed" else at,
            changed=to_plain(changed) if changed else None,
        )
    )
    if done.rowcount != 1:
        raise NotFound(f"there is no verdict {verdict_id}")


def weeks_of(connection: Connection, athlete_id: str, newest_only: bool = False) -> list[StoredWeek]:
    """Return the athlete's verdicts in the order they were given."""
    table = schema.weeks
    query = select(table).where(table.c.athlete_id == athlete_id)
    if newest_only:
        query = query.order_by(table.c.decided_at.desc(), table.c.id.desc()).limit(1)
    else:
        query = query.order_by(table.c.decided_at, table.c.id)
    return [_stored(row) for row in connection.execute(query)]


def week_with(connection: Connection, verdict_id: int) -> StoredWeek:
    """Return one verdict by its key."""
    row = connection.execute(select(schema.weeks).where(schema.weeks.c.id == verdict_id)).one_or_none()
    if row is None:
        raise NotFound(f"there is no verdict {verdict_id}")
    return _stored(row)


def _stored(row: Row[Any]) -> StoredWeek:
    return StoredWeek(
        id=row.id,
        athlete_id=row.athlete_id,
        week=from_plain(Week, row.form, f"verdict {row.id}"),
        decided_at=row.decided_at,
        standing=row.standing,
        reason=row.reason,
        at=row.settled_at,
        changed=from_plain(Week, row.changed, f"verdict {row.id}") if row.changed else None,
        ladder=row.ladder or "",
    )


def as_they_stood(stored: list[StoredWeek], at: datetime) -> list[StoredWeek]:
    """Return the verdicts given before a moment, with what the coach had made of them by then."""
    return [
        one
        if one.at is None or one.at <= at
        else replace(one, standing="proposed", reason="", at=None, changed=None)
        for one in stored
        if one.decided_at < at
    ]


def prior_at(stored: list[StoredWeek], at: datetime) -> Prior | None:
    """Return what was believed of strength beforehand in the newest decision up to a moment."""
    made = [one for one in stored if one.decided_at <= at]
    return made[-1].week.verdict.strength_from if made else None


def _columns(week: Week) -> dict[str, Any]:
    verdict = week.verdict
    return {"decision": verdict.decision, "urgent": verdict.urgent, "headline": verdict.headline}


def past_weeks(stored: list[StoredWeek], before: date | None) -> tuple[PastWeek, ...]:
    """Return what planning remembers: one entry a week, the last word on it.

    A verdict the coach settled beats a later proposal that nobody looked at.
    """
    last: dict[date, StoredWeek] = {}
    for one in stored:
        starts = one.week.verdict.week_starts
        if before is not None and starts >= before:
            continue
        kept = last.get(starts)
        if kept is None or one.standing != "proposed" or kept.standing == "proposed":
            last[starts] = one
    return tuple(_past(last[starts]) for starts in sorted(last))


def _past(stored: StoredWeek) -> PastWeek:
    week = stored.holds or stored.week
    refused = stored.standing == "refused"
    slots = tuple(
        (session.label, slot.exercise, slot.sets, slot.reps_low, slot.reps_high, slot.load.added_kg)
        for session in week.sessions
        for slot in session.slots
    )
    loads = [added for _, exercise, _, _, _, added in slots if exercise in MAIN_PULLS]
    return PastWeek(
        starts=week.verdict.week_starts,
        rung=week.verdict.rung,
        decision=week.verdict.decision,
        rules=tuple(rule.id for rule in week.verdict.rules if not rule.ignored),
        deload=week.deload and not refused,
        top_added_kg=max(loads) if loads and not refused else None,
        fault=week.verdict.fault,
        slots=() if refused else slots,
        state=week.state,
        overruled=stored.reason if stored.standing in ("changed", "refused") else "",
        stops=() if refused else stops_of(week),
    )


def say(connection: Connection, athlete_id: str, word: CoachWord) -> None:
    """Keep a word of the coach; the same word twice is one."""
    table = schema.coach_words
    row = {field.name: getattr(word, field.name) for field in fields(word)} | {"athlete_id": athlete_id}
    same = [table.c[name] == value for name, value in row.items()]
    if connection.execute(select(table.c.id).where(*same)).first() is None:
        connection.execute(insert(table).values(row))


def words_of(connection: Connection, athlete_id: str, until: datetime | None) -> tuple[CoachWord, ...]:
    """Return the coach's words about an athlete up to a moment, oldest first."""
    table = schema.coach_words
    names = [field.name for field in fields(CoachWord)]
    query = select(*(table.c[name] for name in names)).where(table.c.athlete_id == athlete_id)
    if until is not None:
        query = query.where(table.c.said_at <= until)
    return tuple(CoachWord(*row) for row in connection.execute(query.order_by(table.c.said_at, table.c.id)))
