"""Replay: every past decision made again, to see that it stays the same or what a changed ladder alters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from overbar.ladder.form import Ladder
from overbar.planning.history import History, PastWeek
from overbar.planning.verdict import Week
from overbar.planning.week import decide, past_week, strength_of
from overbar.progress import Progress, silent
from overbar.strength.sets import StrengthPoint


@dataclass(frozen=True)
class Replayed:
    """One past week decided again.

    Attributes
    ----------
    starts : datetime.date
        Monday of the week planned.
    then : PastWeek or None
        What was decided at the time, when it is known.
    now : Week
        What is decided now from the same evidence.
    differs : tuple of str
        What is not the same, in words; empty when nothing is, or ``then`` is not known.
    """

    starts: date
    then: PastWeek | None
    now: Week
    differs: tuple[str, ...]


def replay(
    history: History,
    ladder: Ladder,
    until: date | None = None,
    chained: bool = False,
    strength: Sequence[StrengthPoint] | None = None,
    progress: Progress = silent,
) -> tuple[Replayed, ...]:
    """Decide all past weeks again, each from what was known the day before it started.

    Parameters
    ----------
    history : History
        With the past decisions in ``weeks``.
    ladder : Ladder
        The ladder to decide with; a changed one shows what it would have decided.
    until : datetime.date, optional
        Last Monday to replay; by default the newest past week's.
    chained : bool
        False: each week remembers the decisions made at the time. True: each week
        remembers the replayed ones, as if this ladder had been used from the start.
    strength : sequence of StrengthPoint, optional
        Estimates per date as known on that date; made from the sets otherwise.
    progress : Progress

    Returns
    -------
    tuple of Replayed
        Oldest first; the same arguments give the same result, always.
    """
    mondays = _mondays(history, until)
    last = mondays[-1] if mondays else date.min
    points = strength_of(history, ladder, last) if strength is None else tuple(strength)
    then = {week.starts: week for week in history.weeks}
    remembered: list[PastWeek] = []
    out = []
    for number, monday in enumerate(mondays):
        progress(number / len(mondays), f"week of {monday.isoformat()}")
        on = monday - timedelta(days=1)
        known = tuple(remembered) if chained else tuple(w for w in history.weeks if w.starts < monday)
        week = decide(replace(history, weeks=known), ladder, on, points)
        remembered.append(past_week(week))
        before = then.get(monday)
        out.append(Replayed(monday, before, week, differences(before, week) if before else ()))
    progress(1.0, "replayed")
    return tuple(out)


def _mondays(history: History, until: date | None) -> list[date]:
    dated = [one.on for one in history.sets] + [one.on for one in history.measurements]
    starts = [week.starts for week in history.weeks]
    if not dated and not starts:
        return []
    first_day = min(dated, default=min(starts, default=date.max))
    first = min([first_day + timedelta(days=7 - first_day.weekday()), *starts])
    end = until or (max(starts) if starts else max(dated) + timedelta(days=7))
    return [first + timedelta(days=7 * n) for n in range(max(0, (end - first).days // 7 + 1))]


def differences(then: PastWeek, now: Week) -> tuple[str, ...]:
    """Say in words what a past decision and a new one do not share."""
    new = past_week(now)
    out = []
    if then.rung != new.rung:
        out.append(f"rung {then.rung}, now {new.rung}")
    if then.decision != new.decision:
        out.append(f"decision {then.decision}, now {new.decision}")
    gone, come = set(then.rules) - set(new.rules), set(new.rules) - set(then.rules)
    if gone:
        out.append("rules no longer firing: " + ", ".join(sorted(gone)))
    if come:
        out.append("rules now firing: " + ", ".join(sorted(come)))
    if not then.overruled and (then.top_added_kg or 0.0) != (new.top_added_kg or 0.0):
        out.append(f"heaviest load {then.top_added_kg or 0:g} kg, now {new.top_added_kg or 0:g} kg")
    if then.deload != new.deload:
        out.append("deload then" if then.deload else "deload now")
    return tuple(out)
