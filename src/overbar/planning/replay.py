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
from overbar.strength.sets import LoggedSet, StrengthPoint
from overbar.units import mass_in_words

DECISION_WORDS = {
    "add_load": "more load",
    "add_rep": "more reps",
    "hold": "the same again",
    "ease": "an easier week",
    "deload": "a lighter week",
    "climb": "one rung up",
    "change_exercise": "another exercise",
    "stop_and_refer": "stop and refer",
    "ask": "ask first",
}


@dataclass(frozen=True)
class Decided:
    """One past decision and what was known when it was made.

    Attributes
    ----------
    on : datetime.date
        Day of the decision.
    history : History
        As known then: what arrived later is not in it.
    ladder : Ladder or None
        The version that decided; None when its text is not kept.
    week : Week
        As proposed then.
    """

    on: date
    history: History
    ladder: Ladder | None
    week: Week


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
    by_coach : bool
        The coach decided then without a proposal of the program, so that what differs is no
        change of the program's mind.
    """

    starts: date
    then: PastWeek | None
    now: Week
    differs: tuple[str, ...]
    by_coach: bool = False


def replay(
    history: History,
    ladder: Ladder,
    until: date | None = None,
    chained: bool = False,
    strength: Sequence[StrengthPoint] | None = None,
    progress: Progress = silent,
) -> tuple[Replayed, ...]:
    """Decide all past weeks again, each from what is dated up to the day before it started.

    Where the moments are known at which rows arrived, :func:`replay_decided` leaves out
    what came in late.

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
        unit = history.athlete.mass_unit
        differs = differences(before, past_week(week), ladder, unit) if before else ()
        out.append(Replayed(monday, before, week, differs))
    progress(1.0, "replayed")
    return tuple(out)


def replay_decided(
    decided: Sequence[Decided],
    ladder: Ladder | None = None,
    chained: bool = False,
    progress: Progress = silent,
) -> tuple[Replayed, ...]:
    """Decide again what was decided, each time from the history as it was known then.

    Parameters
    ----------
    decided : sequence of Decided
        Oldest first.
    ladder : Ladder, optional
        None decides with the version that decided then: every decision must come out the
        same, and one whose ladder is not kept is left out. A ladder shows what it would have
        decided beside what the version of then decides from the same evidence, so that what
        differs comes from the ladder alone.
    chained : bool
        Each decision remembers the replayed ones instead of those made at the time.
    progress : Progress
    """
    remembered: dict[date, PastWeek] = {}
    estimates: Estimates = {}
    out = []
    for number, one in enumerate(decided):
        progress(number / len(decided), f"week of {one.week.verdict.week_starts.isoformat()}")
        with_ladder = ladder or one.ladder
        if with_ladder is None:
            continue
        known = one.history
        if chained:
            starts = one.week.verdict.week_starts
            known = replace(known, weeks=tuple(w for s, w in sorted(remembered.items()) if s < starts))
        week = _decide(known, with_ladder, one.on, estimates, decided)
        remembered[week.verdict.week_starts] = past_week(week)
        then = past_week(one.week)
        if ladder is not None and one.ladder is not None:
            then = past_week(_decide(one.history, one.ladder, one.on, estimates, decided))
        differs = differences(then, past_week(week), with_ladder, known.athlete.mass_unit, one.ladder)
        if ladder is None and not differs and week != one.week:
            differs = ("the words or the evidence of the verdict",)
        own = ladder is None and one.week.verdict.by_coach
        out.append(Replayed(then.starts, then, week, differs, own))
    progress(1.0, "replayed")
    return tuple(out)


Estimates = dict[tuple[object, ...], tuple[StrengthPoint, ...]]


def _decide(
    known: History, ladder: Ladder, on: date, estimates: Estimates, decided: Sequence[Decided]
) -> Week:
    return decide(known, ladder, on, _strength(known, ladder, on, estimates, decided))


def _strength(
    known: History, ladder: Ladder, on: date, estimates: Estimates, decided: Sequence[Decided]
) -> tuple[StrengthPoint, ...]:
    """Estimate strength from the sets known then.

    Estimates are made as known on each date, so one run over the last decision's sets
    serves every decision whose sets are the first of them; a late log asks for a run of its own.
    """
    last = decided[-1]
    if _up_to(last.history.sets, on) == _up_to(known.sets, on):
        tests = frozenset(key for key, one in ladder.exercises.items() if one.strength_test)
        key = (tests, tuple(ladder.spoken.items()), known.athlete.sex, known.prior)
        if key not in estimates:
            whole = replace(known, sets=last.history.sets)
            estimates[key] = strength_of(whole, ladder, last.on)
        return tuple(point for point in estimates[key] if point.on <= on)
    return strength_of(known, ladder, on)


def _up_to(sets: Sequence[LoggedSet], on: date) -> tuple[LoggedSet, ...]:
    return tuple(one for one in sets if one.on <= on)


def _mondays(history: History, until: date | None) -> list[date]:
    dated = [one.on for one in history.sets] + [one.on for one in history.measurements]
    starts = [week.starts for week in history.weeks]
    if not dated and not starts:
        return []
    first_day = min(dated, default=min(starts, default=date.max))
    first = min([first_day + timedelta(days=7 - first_day.weekday()), *starts])
    end = until or (max(starts) if starts else max(dated) + timedelta(days=7))
    return [first + timedelta(days=7 * n) for n in range(max(0, (end - first).days // 7 + 1))]


# --- what differs, in words ------------------------------------------------------


def differences(
    then: PastWeek, now: PastWeek, ladder: Ladder, unit: str = "kg", was: Ladder | None = None
) -> tuple[str, ...]:
    """Say in words what a past decision and a new one do not share.

    Parameters
    ----------
    then, now : PastWeek
    ladder, was : Ladder
        The one deciding now and the one that decided then; they give the names, and what
        neither knows is shown by its id.
    unit : {"kg", "lb"}
        What loads are said in.
    """
    rungs, faults = ladder.rungs, ladder.faults
    out = []
    if then.rung != now.rung:
        out.append(f"rung {_name(rungs, then.rung)}, now {_name(rungs, now.rung)}")
    if then.decision != now.decision:
        before, after = (DECISION_WORDS.get(one.decision, one.decision) for one in (then, now))
        out.append(f"decision: {before}, now {after}")
    names = _rule_names(was or ladder) | _rule_names(ladder)
    gone, come = set(then.rules) - set(now.rules), set(now.rules) - set(then.rules)
    if gone:
        out.append("no longer fires: " + ", ".join(names.get(r, r) for r in sorted(gone)))
    if come:
        out.append("now fires: " + ", ".join(names.get(r, r) for r in sorted(come)))
    if not then.overruled:
        out += _changed_lines(then, now, ladder, unit)
    if then.deload != now.deload:
        out.append("a lighter week then" if then.deload else "a lighter week now")
    if then.fault != now.fault:
        before, after = (_name(faults, f) if f else "no fault" for f in (then.fault, now.fault))
        out.append(f"fault: {before}, now {after}")
    if dict(then.state) != dict(now.state):
        out += _changed_numbers(dict(then.state), dict(now.state))
    return tuple(out)


def _rule_names(ladder: Ladder) -> dict[str, str]:
    """Return what rules and faults are called, with their ids behind."""
    rules = [*ladder.rules.values(), *(rule for method in ladder.methods.values() for rule in method.rule)]
    return {one.id: f"{one.name} ({one.id})" for one in rules} | {
        one.id: f"{one.name} ({one.id})" for one in ladder.faults.values()
    }


Slot = tuple[str, str, int, int, int, float]


def _changed_lines(then: PastWeek, now: PastWeek, ladder: Ladder, unit: str) -> list[str]:
    """Say which planned lines differ, session by session."""

    def said(slot: Slot) -> str:
        _, _, sets, low, high, added = slot
        reps = f"{low}-{high}" if low != high else f"{high}"
        load = f" at {mass_in_words(added, unit, signed=True)}" if added else ""
        return f"{sets} x {reps}{load}" if high else f"{sets} sets{load}"

    out = []
    before, after = _by_exercise(then.slots), _by_exercise(now.slots)
    for key in dict.fromkeys([*before, *after]):
        old, new = before.get(key, []), after.get(key, [])
        if old == new:
            continue
        name = _name(ladder.exercises, key[1])
        was, is_now = (" and ".join(map(said, slots)) or "not planned" for slots in (old, new))
        out.append(f"session {key[0]}, {name.lower()}: {was}, now {is_now}")
    return out


def _by_exercise(slots: Sequence[Slot]) -> dict[tuple[str, str], list[Slot]]:
    found: dict[tuple[str, str], list[Slot]] = {}
    for slot in slots:
        found.setdefault((slot[0], slot[1]), []).append(slot)
    return found


def _changed_numbers(then: dict[str, float], now: dict[str, float]) -> list[str]:
    out = []
    for name in sorted(then.keys() | now.keys()):
        if then.get(name) != now.get(name):
            before, after = (f"{one[name]:g}" if name in one else "none" for one in (then, now))
            out.append(f"remembered {name.replace('_', ' ')}: {before}, now {after}")
    return out


def _name(table: object, key: str) -> str:
    found = table.get(key) if hasattr(table, "get") else None
    return str(found.name) if found is not None else key
