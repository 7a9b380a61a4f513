"""Ladders by version: kept whole, and which one each athlete is planned under.

A version is known by the SHA-256 of its texts. An athlete who was never planned
follows the version new athletes start with; from the first kept plan on the
athlete stays on that version until the coach moves him.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update

from overbar.errors import BadInput, NotFound, OverbarError
from overbar.ladder import Ladder, ladder_from_files, load_ladder, shipped
from overbar.records import schema

SHORTEST = 6
"""So many characters of a fingerprint name a version, when only one begins so."""
WHOLE = 64
"""Characters of a whole fingerprint."""
SHIPPED, OWN = "shipped", "coach"
FIRST_PLAN = "The first plan was made under it."
TEXT_NOT_KEPT = (
    "The program that planned before did not keep its ladder ({then}); from now on the text is kept."
)
STARTS_WITH = "ladder for new athletes:"
"""How the ``house`` table names the version that new athletes of a skill start with."""
READ_AT_MOST = 24
_READ: OrderedDict[str, Ladder] = OrderedDict()
_LOCK = threading.Lock()


@dataclass(frozen=True)
class LadderVersion:
    """One kept ladder.

    Attributes
    ----------
    fingerprint : str
        SHA-256 of its texts.
    skill, name, version : str
        The skill's id and name, and the version as verdicts show it.
    origin : {"shipped", "coach"}
        Came with the program, or written by the coach.
    made_from : str or None
        Fingerprint of the version it was edited from.
    kept_at : datetime.datetime or None
        When it was kept; None for one that comes with the program and no plan was made under.
    kept_by, note : str
        Who kept it, and what for.
    athletes : int
        How many are planned under it now.
    """

    fingerprint: str
    skill: str
    name: str
    version: str
    origin: str
    made_from: str | None
    kept_at: datetime | None
    kept_by: str
    note: str
    athletes: int = 0


@dataclass(frozen=True)
class LadderMove:
    """One athlete set on a version: from when on, from which one, and why."""

    athlete_id: str
    at: datetime
    skill: str
    from_version: str | None
    to_version: str
    reason: str
    by: str


@dataclass(frozen=True)
class LadderDraft:
    """What the coach is writing: texts that may hold slips."""

    skill: str
    made_from: str
    files: tuple[tuple[str, str], ...]
    changed_at: datetime


def keep(
    c: Connection,
    ladder: Ladder,
    at: datetime,
    by: str = "",
    note: str = "",
    made_from: str | None = None,
    origin: str = OWN,
) -> bool:
    """Keep a ladder whole; return whether it was not there yet."""
    table = schema.ladder_versions
    there = select(table.c.fingerprint).where(table.c.fingerprint == ladder.fingerprint)
    if c.execute(there).first() is not None:
        return False
    c.execute(
        insert(table).values(
            fingerprint=ladder.fingerprint,
            skill=ladder.skill.id,
            name=ladder.skill.name,
            version=ladder.version,
            files=[list(file) for file in ladder.files],
            origin=origin,
            made_from=made_from,
            kept_at=at,
            kept_by=by,
            note=note,
        )
    )
    return True


def versions(c: Connection, skill: str | None = None) -> list[LadderVersion]:
    """Return all kept versions and those that come with the program, newest first."""
    table, moves = schema.ladder_versions, schema.ladder_moves
    last = select(func.max(moves.c.id)).group_by(moves.c.athlete_id, moves.c.skill)
    count = select(moves.c.to_version, func.count().label("on")).where(moves.c.id.in_(last))
    on: dict[str, int] = {row.to_version: row.on for row in c.execute(count.group_by(moves.c.to_version))}
    query = select(*(column for column in table.c if column.name != "files"))
    kept = [
        LadderVersion(**row, athletes=on.get(row["fingerprint"], 0))
        for row in c.execute(query.order_by(table.c.kept_at.desc(), table.c.fingerprint)).mappings()
    ]
    there = {one.fingerprint for one in kept}
    ours = (load_ladder(name) for name in shipped())
    new = [
        LadderVersion(one.fingerprint, one.skill.id, one.name, one.version, SHIPPED, None, None, "", "")
        for one in ours
        if one.fingerprint not in there
    ]
    return [one for one in (*new, *kept) if skill in (None, one.skill)]


def version_named(c: Connection, text: str) -> LadderVersion:
    """Return the version with a fingerprint, the beginning of one, or a version as verdicts show it.

    Raises
    ------
    NotFound
        No version is called so, or more than one.
    """
    found = [
        one
        for one in versions(c)
        if one.version == text or (len(text) >= SHORTEST and one.fingerprint.startswith(text))
    ]
    if len(found) != 1:
        known = ", ".join(one.version for one in versions(c)[:8])
        what = (
            f"there is no ladder version {text!r}" if not found else f"{text!r} begins {len(found)} versions"
        )
        raise NotFound(what, do=f"There are: {known}.")
    return found[0]


def ladder_with(c: Connection, fingerprint: str) -> Ladder:
    """Return a kept ladder, read once.

    Raises
    ------
    NotFound
        It is not kept.
    BadInput
        This program cannot read it any more.
    """
    with _LOCK:
        if fingerprint in _READ:
            _READ.move_to_end(fingerprint)
            return _READ[fingerprint]
    ladder = next((one for one in map(load_ladder, shipped()) if one.fingerprint == fingerprint), None)
    if ladder is None:
        table = schema.ladder_versions
        row = c.execute(
            select(table.c.files, table.c.version).where(table.c.fingerprint == fingerprint)
        ).one_or_none()
        if row is None:
            raise NotFound(f"there is no ladder version {fingerprint[:12]!r}")
        try:
            ladder = ladder_from_files((name, text) for name, text in row.files)
        except OverbarError as error:
            raise BadInput(
                f"the ladder version {row.version} cannot be read by this program: {error.what}",
                error.where,
                "Move its athletes to another version, or keep a corrected one.",
            ) from error
    with _LOCK:
        _READ[fingerprint] = ladder
        while len(_READ) > READ_AT_MOST:
            _READ.popitem(last=False)
    return ladder


# --- who is planned under which ----------------------------------------------


def standing_on(c: Connection, athlete_id: str, skill: str) -> str | None:
    """Return the fingerprint of the version an athlete is planned under; None before the first plan."""
    moves = schema.ladder_moves
    query = (
        select(moves.c.to_version)
        .where(moves.c.athlete_id == athlete_id, moves.c.skill == skill)
        .order_by(moves.c.id.desc())
        .limit(1)
    )
    found: str | None = c.execute(query).scalar()
    return found


def standing(c: Connection, skill: str) -> dict[str, str]:
    """Return, for every athlete planned for a skill, the fingerprint of the version in force."""
    moves = schema.ladder_moves
    last = select(func.max(moves.c.id)).where(moves.c.skill == skill).group_by(moves.c.athlete_id)
    rows = c.execute(select(moves.c.athlete_id, moves.c.to_version).where(moves.c.id.in_(last)))
    return {row.athlete_id: row.to_version for row in rows}


def ladder_of(c: Connection, athlete_id: str, skill: str) -> Ladder:
    """Return the ladder an athlete is planned under, or would start with."""
    held = standing_on(c, athlete_id, skill) or start_of(c, skill)
    return ladder_with(c, held) if held else load_ladder(skill)


def start_of(c: Connection, skill: str) -> str | None:
    """Return the version new athletes of a skill start with, when the coach has chosen one."""
    found: str | None = c.execute(
        select(schema.house.c.value).where(schema.house.c.name == _start_name(skill))
    ).scalar()
    return found


def start_with(c: Connection, skill: str, fingerprint: str) -> None:
    """Let new athletes of a skill start with a version."""
    c.execute(delete(schema.house).where(schema.house.c.name == _start_name(skill)))
    c.execute(insert(schema.house).values(name=_start_name(skill), value=fingerprint))


def _start_name(skill: str) -> str:
    return f"{STARTS_WITH}{skill}"


def stay(c: Connection, athlete_id: str, ladder: Ladder, at: datetime, by: str, reason: str) -> None:
    """Set an athlete who stands on no version yet on the one just planned under."""
    if standing_on(c, athlete_id, ladder.skill.id) is None:
        keep(c, ladder, at, by, origin=origin_of(ladder))
        _set_on(c, [athlete_id], ladder, at, by, reason)


def move(
    c: Connection, athlete_ids: Iterable[str], ladder: Ladder, at: datetime, by: str, reason: str
) -> tuple[str, ...]:
    """Move athletes to a version; return those who were on another one.

    Raises
    ------
    BadInput
        No reason, or an athlete trains another skill.
    """
    if not reason.strip():
        raise BadInput("no reason was given", do="Say why in a few words; it is kept with the move.")
    athletes, moved = schema.athletes, []
    for athlete_id in athlete_ids:
        form = c.execute(select(athletes.c.form).where(athletes.c.id == athlete_id)).scalar()
        if form is None:
            raise NotFound(f"there is no athlete {athlete_id!r}")
        if form["skill"] != ladder.skill.id:
            raise BadInput(
                f"{athlete_id} trains {form['skill']!r}, the ladder is for {ladder.skill.id!r}",
                do="Choose a ladder of the athlete's own skill.",
            )
        if form["method"] and form["method"] not in ladder.methods:
            raise BadInput(
                f"{athlete_id} trains by {form['method']!r}, which {ladder.version} does not have",
                do=f"Set another method first: {', '.join(ladder.methods)}.",
            )
        if standing_on(c, athlete_id, ladder.skill.id) != ladder.fingerprint:
            moved.append(athlete_id)
    keep(c, ladder, at, by, origin=origin_of(ladder))
    _set_on(c, moved, ladder, at, by, reason.strip())
    return tuple(moved)


def _set_on(
    c: Connection, athlete_ids: Sequence[str], ladder: Ladder, at: datetime, by: str, reason: str
) -> None:
    for athlete_id in athlete_ids:
        c.execute(
            insert(schema.ladder_moves).values(
                athlete_id=athlete_id,
                at=at,
                skill=ladder.skill.id,
                from_version=standing_on(c, athlete_id, ladder.skill.id),
                to_version=ladder.fingerprint,
                reason=reason,
                by=by,
            )
        )


def moves_of(c: Connection, athlete_id: str) -> tuple[LadderMove, ...]:
    """Return an athlete's moves, oldest first."""
    table = schema.ladder_moves
    query = select(*(column for column in table.c if column.name != "id"))
    rows = c.execute(query.where(table.c.athlete_id == athlete_id).order_by(table.c.id)).mappings()
    return tuple(LadderMove(**row) for row in rows)


def version_of_week(c: Connection, athlete_id: str, skill: str, label: str) -> Ladder | None:
    """Return the ladder a verdict names, when it can be told."""
    current = ladder_of(c, athlete_id, skill)
    if label == current.version:
        return current
    table = schema.ladder_versions
    found = c.execute(select(table.c.fingerprint).where(table.c.version == label)).scalars().all()
    return ladder_with(c, found[0]) if len(found) == 1 else None


def origin_of(ladder: Ladder) -> str:
    """Say whether a ladder came with this program or is the coach's own."""
    known = ladder.skill.id in shipped() and load_ladder(ladder.skill.id).fingerprint == ladder.fingerprint
    return SHIPPED if known else OWN


def adopt(c: Connection) -> int:
    """Set athletes with plans of an older program on this program's ladder; return how many.

    Older programs did not keep the text. Where the verdicts name this program's
    version the athlete simply stays on it; where they name another, the reason of
    the move says so, since that text is nowhere to be had.
    """
    athletes, weeks, at, adopted = schema.athletes, schema.weeks, datetime.now(UTC), 0
    for athlete_id, form in c.execute(select(athletes.c.id, athletes.c.form)).all():
        skill = form.get("skill", "")
        if skill not in shipped() or standing_on(c, athlete_id, skill) is not None:
            continue
        newest = (
            select(weeks.c.form)
            .where(weeks.c.athlete_id == athlete_id)
            .order_by(weeks.c.decided_at.desc(), weeks.c.id.desc())
            .limit(1)
        )
        week = c.execute(newest).scalar()
        if week is None:
            continue
        then, ladder = week["verdict"].get("ladder_version", ""), load_ladder(skill)
        same = then == ladder.version
        reason = FIRST_PLAN if same else TEXT_NOT_KEPT.format(then=then or "no version named")
        stay(c, athlete_id, ladder, at, "", reason)
        adopted += 1
        for row in c.execute(select(weeks.c.id, weeks.c.form).where(weeks.c.athlete_id == athlete_id)).all():
            if row.form["verdict"].get("ladder_version", "") == ladder.version:
                c.execute(update(weeks).where(weeks.c.id == row.id).values(ladder=ladder.fingerprint))
    return adopted


# --- drafts ------------------------------------------------------------------


def draft_of(c: Connection, skill: str) -> LadderDraft | None:
    """Return what the coach is writing, or None."""
    table = schema.ladder_drafts
    row: Any = c.execute(select(table).where(table.c.skill == skill)).one_or_none()
    if row is None:
        return None
    return LadderDraft(row.skill, row.made_from, tuple((n, t) for n, t in row.files), row.changed_at)


def keep_draft(
    c: Connection, skill: str, made_from: str, files: Sequence[tuple[str, str]], at: datetime
) -> None:
    """Keep what the coach is writing."""
    drop_draft(c, skill)
    values = {"skill": skill, "made_from": made_from, "files": [list(f) for f in files], "changed_at": at}
    c.execute(insert(schema.ladder_drafts).values(values))


def drop_draft(c: Connection, skill: str) -> None:
    """Throw away what the coach was writing."""
    c.execute(delete(schema.ladder_drafts).where(schema.ladder_drafts.c.skill == skill))
