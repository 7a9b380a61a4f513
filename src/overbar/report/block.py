"""What a block report says: plain values from one athlete's history. Pure.

A block is the last few weeks. Every number carries its uncertainty or is exact;
what the program does not know is said to be not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.ladder import Ladder
from overbar.planning.history import AttemptLog, History, Measurement
from overbar.planning.verdict import GateItem, Week
from overbar.planning.week import strength_of
from overbar.records.decisions import StoredWeek
from overbar.records.store import House
from overbar.report.sessions_calendar import dose
from overbar.strength.sets import StrengthPoint
from overbar.units import lb_from_kg

USUAL_WEEKS = 6
"""How many weeks a block report looks back on, if not told (4-6 week blocks, handbook trade.md 1.2)."""
HEIGHTS = ("strict_high_L", "swing_high_L")
LIMITS = (
    "Heights are measured in films, with one sigma; a change smaller than that is no change.",
    "Strength is estimated from the log, with a 90 % interval; single tests differ by about 4 % by chance.",
    "Dates are ranges under the assumptions named, not promises.",
    "This is coaching, not a medical opinion. Pain that grows, wakes you or comes with a stop-now sign: "
    "stop, and see someone who can look at it.",
)


@dataclass(frozen=True)
class Point:
    """A value of a day with the ends of its interval."""

    on: date
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Line:
    """One line of a chart."""

    name: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Chart:
    """A small chart: its title says what is shown, in which unit, with which interval."""

    title: str
    unit: str
    lines: tuple[Line, ...]
    mark: float | None = None
    mark_say: str = ""


@dataclass(frozen=True)
class WeekRow:
    """One week of the block in words."""

    starts: str
    sessions: str
    pain: str
    tries: str
    decision: str
    coach: str


@dataclass(frozen=True)
class FaultRow:
    """A fault a film named, and what was asked for it."""

    on: str
    fault: str
    cue: str


@dataclass(frozen=True)
class SessionColumn:
    """A session of the next week."""

    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class BlockReport:
    """All of it, in the order it is printed."""

    name: str
    goal: str
    rung: str
    period: str
    coach: str
    notice: str
    matters: str
    then: str
    now: str
    short: str
    summary: tuple[str, ...]
    charts: tuple[Chart, ...]
    weeks: tuple[WeekRow, ...]
    faults: tuple[FaultRow, ...]
    outlook: tuple[str, ...]
    assumes: str
    next_week: str
    sessions: tuple[SessionColumn, ...]
    cautions: tuple[str, ...]
    limits: tuple[str, ...]


def block_report(
    history: History,
    current: Week,
    agreed: bool,
    stored: Sequence[StoredWeek],
    ladder: Ladder,
    house: House,
    on: date,
    weeks: int = USUAL_WEEKS,
    outlook: Iterable[str] = (),
    assumes: str = "",
    strength: Sequence[StrengthPoint] | None = None,
) -> BlockReport:
    """Put a block report together.

    Parameters
    ----------
    history : History
        Everything up to ``on``.
    current : Week
        The week that comes, agreed to or proposed.
    agreed : bool
        Whether the coach has agreed to it.
    stored : sequence of StoredWeek
        Verdicts with what the coach made of them.
    ladder : Ladder
    house : House
    on : datetime.date
        Last day of the block.
    weeks : int
        Length of the block.
    outlook, assumes : iterable of str, str
        The forecast in words, and what it assumes.
    strength : sequence of StrengthPoint, optional
        Estimates made elsewhere; otherwise they are made from ``history.sets``.
    """
    athlete = history.athlete
    points = strength_of(history, ladder, on) if strength is None else tuple(strength)
    monday = on - timedelta(days=on.weekday())
    first = monday - timedelta(weeks=weeks)
    verdict = current.verdict
    weakest = verdict.gate.weakest if verdict.gate else None
    return BlockReport(
        name=athlete.name,
        goal=athlete.goal,
        rung=verdict.rung_name,
        period=f"{_day(first)} to {_day(on)} {on.year} ({weeks} weeks)",
        coach=", ".join(filter(None, (house.coach, house.place))),
        notice=house.notice,
        matters=weakest.say if weakest else "every hard item of the gate is shown",
        then=_then(history, ladder, weakest, first, points),
        now=_value(weakest),
        short=weakest.shortfall_say if weakest else "",
        summary=tuple(_summary(history, ladder, first, on, points)),
        charts=tuple(_charts(history, first, on, points)),
        weeks=tuple(_week_row(history, stored, first + timedelta(weeks=n)) for n in range(weeks)),
        faults=tuple(_faults(history, ladder, first)),
        outlook=tuple(outlook),
        assumes=assumes,
        next_week=f"{verdict.headline} ({'agreed' if agreed else 'proposed'})",
        sessions=tuple(
            SessionColumn(
                f"{session.label}  {session.title}, {session.on:%a} {_day(session.on)}",
                tuple(f"{s.name}: {dose(s)}, {s.load.say(athlete.mass_unit)}" for s in session.slots),
            )
            for session in current.sessions
        ),
        cautions=_cautions(current),
        limits=LIMITS,
    )


def _then(
    history: History,
    ladder: Ladder,
    weakest: GateItem | None,
    first: date,
    strength: Sequence[StrengthPoint],
) -> str:
    """The same value as it was known in the block's first week, from evidence young enough then."""
    if weakest is None or weakest.test not in ladder.tests:
        return "not measured"
    test, last = ladder.tests[weakest.test], first + timedelta(days=6)
    if test.reads.fact == "R":
        points = [p for p in strength if p.on <= last]
        if points:
            return f"{points[-1].R:.2f} ({points[-1].R_low:.2f} to {points[-1].R_high:.2f})"
    seen = [
        one
        for one in history.measurements
        if one.test == test.id and 0 <= (last - one.on).days <= test.max_age_days
    ]
    if not seen:
        return "not measured"
    best = (max if test.better == "more" else min)(seen, key=lambda one: one.value)
    return _number(best.value, best.sd, test.unit)


def _value(item: GateItem | None) -> str:
    if item is None or item.value is None:
        return "not measured"
    return _number(item.value, item.sd, item.unit)


def _number(value: float, sd: float | None, unit: str) -> str:
    spread = f" ± {sd:.2g}" if sd else ""
    return f"{value:.3g}{spread}" + ("" if unit in ("R", "yes/no") else f" {unit}")


def _summary(
    history: History, ladder: Ladder, first: date, on: date, strength: Sequence[StrengthPoint]
) -> Iterable[str]:
    unit = history.athlete.mass_unit
    points = [p for p in strength if p.on >= first]
    if points:
        whole = [
            f"{_whole(p.one_rm_kg, unit)} ({_whole(p.one_rm_kg * p.R_low / p.R, unit)} to "
            f"{_whole(p.one_rm_kg * p.R_high / p.R, unit)})"
            for p in (points[0], points[-1])
        ]
        ratio = [f"{p.R:.2f} ({p.R_low:.2f} to {p.R_high:.2f})" for p in (points[0], points[-1])]
        yield f"Strength, body and load of one pull-up: {whole[0]} then, {whole[1]} now (90 % intervals)."
        yield f"Strength over body mass, R: {ratio[0]} then, {ratio[1]} now (90 % intervals)."
    masses = [note for note in history.body if note.body_mass_kg is not None and first <= note.on <= on]
    if masses:
        then, now = (
            sorted(note.body_mass_kg or 0.0 for note in part)[len(part) // 2]
            for part in (masses[:3], masses[-3:])
        )
        shown = f"{_tenth(then, unit)} then, {_tenth(now, unit)} now"
        yield f"Body mass: {shown} (middle of three mornings)."
    for test in HEIGHTS:
        best = _best(history.measurements, test, first, on)
        if best is not None:
            spread = f" ± {best.sd:.2f}" if best.sd else ""
            yield f"Best {ladder.tests[test].name}: {best.value:+.2f}{spread} L, {_day(best.on)}."
    tries = [one for one in history.attempts if first <= one.on <= on]
    if tries:
        valid = sum(one.outcome == "valid" for one in tries)
        low, high = success_interval(valid, len(tries))
        yield f"Tries: {valid} of {len(tries)} valid; chance of one {low:.0%} to {high:.0%} (90 % interval)."


def success_interval(valid: int, tries: int) -> tuple[float, float]:
    """90 % interval of the chance of a valid try (Jeffreys: beta with one half added to each side).

    Examples
    --------
    >>> [round(end, 2) for end in success_interval(7, 10)]
    [0.44, 0.88]
    """
    from scipy.stats import beta

    low, high = beta.ppf((0.05, 0.95), valid + 0.5, tries - valid + 0.5)
    return float(low), float(high)


def _best(measurements: Iterable[Measurement], test: str, first: date, on: date) -> Measurement | None:
    seen = [one for one in measurements if one.test == test and first <= one.on <= on]
    return max(seen, key=lambda one: one.value, default=None)


def _charts(history: History, first: date, on: date, strength: Sequence[StrengthPoint]) -> Iterable[Chart]:
    unit = history.athlete.mass_unit
    points = [p for p in strength if p.on >= first]
    if points:
        ratio = tuple(Point(p.on, p.R, p.R_low, p.R_high) for p in points)
        yield Chart("Strength over body mass, R, with its 90 % interval", "", (Line("R", ratio),))
        whole = tuple(
            Point(
                p.on,
                *(
                    _in(kg, unit)
                    for kg in (p.one_rm_kg, p.one_rm_kg * p.R_low / p.R, p.one_rm_kg * p.R_high / p.R)
                ),
            )
            for p in points
        )
        title = f"Strength, body and load in {unit}, with its 90 % interval"
        yield Chart(title, unit, (Line("strength", whole),))
    masses = tuple(
        Point(note.on, mass, mass, mass)
        for note in history.body
        if note.body_mass_kg is not None and first <= note.on <= on
        for mass in (_in(note.body_mass_kg, unit),)
    )
    if masses:
        yield Chart(f"Body mass in {unit}, each morning logged", unit, (Line("body mass", masses),))
    lines = []
    for test, name in zip(HEIGHTS, ("strict", "with swing"), strict=True):
        seen = tuple(
            Point(one.on, one.value, one.value - (one.sd or 0.0), one.value + (one.sd or 0.0))
            for one in history.measurements
            if one.test == test and first <= one.on <= on
        )
        if seen:
            lines.append(Line(name, seen))
    if lines:
        yield Chart("Height of the high pull in L over the bar, one sigma", "L", tuple(lines), 0.0, "bar")


def _week_row(history: History, stored: Sequence[StoredWeek], monday: date) -> WeekRow:
    sunday = monday + timedelta(days=6)
    visits = [one for one in history.sessions if monday <= one.on <= sunday]
    done = sum(one.done for one in visits)
    reasons = ", ".join(dict.fromkeys(one.reason for one in visits if one.reason and not one.done))
    pains = [one for one in history.pain if monday <= one.on <= sunday]
    worst = max(pains, key=lambda one: one.worst, default=None)
    pain = "not scored"
    if worst is not None:
        place = " ".join(filter(None, (worst.site, worst.side)))
        morning = "" if worst.next_morning is None else f", next morning {worst.next_morning:g}"
        pain = f"{worst.worst:g}" + (f" {place}{morning}" if worst.worst else "")
    week = next((one for one in reversed(stored) if one.week.verdict.week_starts == monday), None)
    return WeekRow(
        starts=_day(monday),
        sessions=f"{done} of {len(visits)}" + (f" ({reasons})" if reasons else ""),
        pain=pain,
        tries=_tries([one for one in history.attempts if monday <= one.on <= sunday]),
        decision=week.week.verdict.headline if week else "",
        coach=(f"{week.standing}: {week.reason}" if week.reason else week.standing) if week else "",
    )


def _tries(tries: Sequence[AttemptLog]) -> str:
    return f"{sum(one.outcome == 'valid' for one in tries)} of {len(tries)}" if tries else ""


def _faults(history: History, ladder: Ladder, first: date) -> Iterable[FaultRow]:
    for film in history.films:
        if film.on >= first and film.main_fault is not None and film.main_fault in ladder.faults:
            fault = ladder.faults[film.main_fault]
            yield FaultRow(_day(film.on), fault.name, fault.cue)


def _cautions(week: Week) -> tuple[str, ...]:
    return tuple(dict.fromkeys(caution for session in week.sessions for caution in session.cautions))


def _whole(kg: float, unit: str) -> str:
    """A mass to the whole unit: its interval is wider than that."""
    return f"{_in(kg, unit):.0f} {unit}"


def _tenth(kg: float, unit: str) -> str:
    return f"{_in(kg, unit):.1f} {unit}"


def _in(kg: float, unit: str) -> float:
    return lb_from_kg(kg) if unit == "lb" else kg


def _day(on: date) -> str:
    return f"{on.day} {on:%b}"
