"""One athlete on one page: rung, weakest gate item, strength, last film, what was said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from overbar.athlete.anthropometry import body_length
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Limit, allowance
from overbar.desk.figures import ago, day, mass, measured, ratio_interval, sentence
from overbar.desk.gauge import Gauge, gauge_of_item, gauge_of_margin
from overbar.ladder import Ladder
from overbar.planning.history import History
from overbar.planning.verdict import Evidence, GateItem, GateState, Verdict, Week
from overbar.strength.prior import Prior
from overbar.strength.sets import StrengthPoint
from overbar.units import KG_PER_LB, M_PER_INCH

CLEARANCES = {
    "train": "Cleared to train",
    "train_with_limits": "Trains with limits",
    "clear_before_hard": "A doctor's word before hard work",
    "clear_first": "A doctor first: no training planned",
    "not_answered": "Health questions not all answered",
}
"""What the screening answers allow, in words."""

HEIGHT_TESTS = {"strict_high_L": "strict", "swing_high_L": "swing"}
"""Height tests of the ladder that the curve shows, and their names in it."""


@dataclass(frozen=True)
class RungStep:
    """One rung of the ladder drawn beside the page: passed, here or ahead."""

    id: str
    name: str
    state: str


@dataclass(frozen=True)
class EvidenceLine:
    """One piece of evidence in words, with the address of the film it comes from, if any."""

    say: str
    when: str
    film: str


@dataclass(frozen=True)
class GateRow:
    """One gate item as the page shows it."""

    say: str
    state: str
    value: str
    needs: str
    shortfall: str
    hard: bool
    weakest: bool
    gauge: Gauge | None
    evidence: tuple[EvidenceLine, ...]


@dataclass(frozen=True)
class MarginRow:
    """One margin of strength-or-technique."""

    name: str
    say: str
    gauge: Gauge


@dataclass(frozen=True)
class RuleRow:
    """One rule that fired, with what it rests on."""

    id: str
    say: str
    basis: str
    why: str
    would_change: str
    ignored: bool
    evidence: tuple[EvidenceLine, ...]


@dataclass(frozen=True)
class Cue:
    """The last cue given, and what is logged of its drill since."""

    cue: str
    fault: str
    drill: str
    given: str
    tried: str


@dataclass(frozen=True)
class StrengthLine:
    """Strength in one line: ratio, one-rep maximum, day, each with its interval, and what it began from."""

    ratio: str
    one_rm: str
    meaning: str
    when: str
    begun: str
    basis: str


@dataclass(frozen=True)
class Person:
    """The head of the page."""

    id: str
    name: str
    facts: tuple[str, ...]
    goal: str
    clearance: str
    clearance_why: str
    clearance_refer: str
    limits: tuple[str, ...]


def person(athlete: Athlete, on: date) -> Person:
    """Return who the athlete is, and what screening allows, in words."""
    allowed = allowance(athlete.screening, on)
    age = athlete.age_on(on)
    facts = [
        f"{age} years" if age is not None else "",
        f"{athlete.stature_m:.2f} m",
        f"{athlete.days_per_week} days a week",
        _kit_in_words(athlete),
    ]
    return Person(
        id=athlete.id,
        name=athlete.name,
        facts=tuple(fact for fact in facts if fact),
        goal=athlete.goal,
        clearance=CLEARANCES[allowed.clearance],
        clearance_why=allowed.why,
        clearance_refer=allowed.refer_to,
        limits=tuple(limit_in_words(limit, on) for limit in athlete.screening.limits if limit.holds_on(on)),
    )


def rung_steps(ladder: Ladder, rung: str) -> tuple[RungStep, ...]:
    """Return every rung with its state, lowest first."""
    ids = list(ladder.rungs)
    here = ids.index(rung)
    states = {True: "passed", False: "ahead"}
    return tuple(
        RungStep(rung_id, ladder.rungs[rung_id].name, "here" if place == here else states[place < here])
        for place, rung_id in enumerate(ids)
    )


def gate_rows(gate: GateState | None, on: date) -> tuple[GateRow, ...]:
    """Return the items of a gate: the weakest first, then unmet, then met; hard before soft."""
    if gate is None:
        return ()
    weakest = gate.weakest
    order = {False: 0, None: 1, True: 2}
    items = sorted(gate.items, key=lambda item: (item is not weakest, not item.hard, order[item.met]))
    return tuple(_gate_row(item, item is weakest, on) for item in items)


def weakest_in_words(gate: GateState | None) -> str:
    """Return the weakest hard item with its shortfall, in one sentence."""
    if gate is None:
        return "No gate above this rung."
    if gate.open:
        return f"The gate {gate.name} is open." if not gate.overruled else f"Opened by you: {gate.overruled}"
    item = gate.weakest
    if item is None:
        return "Nothing hard is missing."
    return f"{sentence(item.say)}: {item.shortfall_say or 'no evidence young enough'}"


def margin_rows(verdict: Verdict) -> tuple[MarginRow, ...]:
    """Return the strength-or-technique margins with their lines."""
    return tuple(
        MarginRow(
            sentence(margin.name),
            margin.say.removeprefix(f"{margin.name}: "),
            gauge_of_margin(margin),
        )
        for margin in verdict.margins
    )


def rule_rows(verdict: Verdict, on: date) -> tuple[RuleRow, ...]:
    """Return the rules that fired with their evidence in words."""
    return tuple(
        RuleRow(
            rule.id,
            sentence(rule.say),
            rule.basis,
            rule.why,
            rule.would_change,
            rule.ignored,
            evidence_lines(rule.evidence, on),
        )
        for rule in verdict.rules
    )


def evidence_lines(evidence: tuple[Evidence, ...], on: date) -> tuple[EvidenceLine, ...]:
    """Return evidence in words, newest first."""
    newest = sorted(evidence, key=lambda piece: piece.on, reverse=True)
    return tuple(
        EvidenceLine(piece.say, day(piece.on, on), piece.ref if piece.kind == "film" else "")
        for piece in newest
    )


def strength_line(point: StrengthPoint | None, prior: Prior, unit: str, on: date) -> StrengthLine | None:
    """Return the newest strength in words, or None when nothing was logged."""
    if point is None:
        return None
    kilograms = point.body_mass_kg
    one_rm = (
        f"{mass(point.one_rm_kg, unit)} "
        f"({mass(point.R_low * kilograms, unit)} to {mass(point.R_high * kilograms, unit)})"
    )
    extra = mass(max(point.one_rm_kg - kilograms, 0.0), unit)
    return StrengthLine(
        ratio=ratio_interval(point.R, point.R_low, point.R_high),
        one_rm=one_rm,
        meaning=f"one strict pull-up with about {extra} hung on, at {mass(kilograms, unit)} body mass",
        when=ago(point.on, on),
        begun=prior.says(),
        basis=prior.basis,
    )


def last_cue(weeks: tuple[Week, ...], history: History, ladder: Ladder, on: date) -> Cue | None:
    """Return the newest cue of a settled week, and whether its drill is in the log since."""
    for week in sorted(weeks, key=lambda week: week.verdict.week_starts, reverse=True):
        verdict = week.verdict
        if verdict.cue and verdict.week_starts <= on:
            drill = ladder.exercises.get(verdict.drill or "")
            days = {entry.on for entry in history.sets if drill and entry.exercise == drill.id}
            since = sorted(seen for seen in days if verdict.week_starts <= seen <= on)
            if not drill:
                tried = "it has no drill to log"
            elif since:
                tried = f"drill logged on {len(since)} {'day' if len(since) == 1 else 'days'} since"
            else:
                tried = "drill not in the log since: ask whether it was tried"
            return Cue(
                verdict.cue,
                verdict.fault_name or "",
                drill.name if drill else "",
                day(verdict.week_starts, on),
                tried,
            )
    return None


def hang_length_m(athlete: Athlete) -> tuple[float, float]:
    """Return the hang length in m with its spread: measured, or upper arm + forearm to grip."""
    if athlete.hang_length_m:
        return athlete.hang_length_m, 0.01
    upper = body_length("shoulder_elbow_length", athlete.stature_m, athlete.sex)
    fore = body_length("elbow_grip_length", athlete.stature_m, athlete.sex)
    return upper.m + fore.m, (upper.sd_m**2 + fore.sd_m**2) ** 0.5


def curves(
    athlete: Athlete, history: History, points: tuple[StrengthPoint, ...], gate: GateState | None
) -> dict[str, Any]:
    """Return what the curves beside the plan draw, dates as ISO days.

    Returns
    -------
    dict
        ``strength`` (value with 90 % band, and the needed value if the gate asks
        for one), ``heights`` against the bar in the athlete's unit (``strict`` and
        ``swing``, each with its one-sigma spread), ``body`` (mass in the athlete's unit) and
        ``pain`` (0 to 10, worst and next morning).
    """
    hang = hang_length_m(athlete)[0] / (M_PER_INCH if athlete.length_unit == "in" else 0.01)
    needs = {item.test: item.needs for item in gate.items} if gate else {}
    heights: dict[str, Any] = {"unit": athlete.length_unit}
    for test, name in HEIGHT_TESTS.items():
        seen = sorted((m for m in history.measurements if m.test == test), key=lambda m: m.on)
        heights[name] = {
            "on": [m.on.isoformat() for m in seen],
            "height": [round(m.value * hang, 2) for m in seen],
            "sd": [round((m.sd or 0.0) * hang, 2) for m in seen],
            "needs": None if needs.get(test) is None else round(float(needs[test] or 0.0) * hang, 1),
        }
    body = sorted((note for note in history.body if note.body_mass_kg), key=lambda note: note.on)
    pain = sorted(history.pain, key=lambda report: report.on)
    scale = 1 / KG_PER_LB if athlete.mass_unit == "lb" else 1.0
    ratio_needed = next((value for test, value in needs.items() if test in ("R", "pull_R")), None)
    return {
        "strength": {
            "on": [point.on.isoformat() for point in points],
            "R": [round(point.R, 4) for point in points],
            "low": [round(point.R_low, 4) for point in points],
            "high": [round(point.R_high, 4) for point in points],
            "needs": ratio_needed,
        },
        "heights": heights,
        "body": {
            "on": [note.on.isoformat() for note in body],
            "mass": [round((note.body_mass_kg or 0.0) * scale, 2) for note in body],
            "unit": athlete.mass_unit,
        },
        "pain": {
            "on": [report.on.isoformat() for report in pain],
            "worst": [report.worst for report in pain],
            "morning": [
                report.next_morning if report.worst or report.next_morning else None for report in pain
            ],
            "site": [f"{report.site} {report.side}".strip() for report in pain],
        },
    }


def _gate_row(item: GateItem, weakest: bool, on: date) -> GateRow:
    states = {True: "met", False: "short", None: "no evidence"}
    unit = "" if item.unit == "yes/no" else item.unit
    if item.value is None:
        value = ""
    elif item.unit == "yes/no":
        value = "yes" if item.value >= 1 else "no"
    else:
        value = measured(item.value, item.sd, unit, signed=unit in ("L", "cm"))
    needs = (
        ""
        if item.needs is None or item.unit == "yes/no"
        else measured(item.needs, None, unit, signed=unit == "L")
    )
    return GateRow(
        say=sentence(item.say),
        state=states[item.met],
        value=value,
        needs=needs,
        shortfall=item.shortfall_say,
        hard=item.hard,
        weakest=weakest,
        gauge=None if item.met else gauge_of_item(item),
        evidence=evidence_lines(item.evidence, on),
    )


def limit_in_words(limit: Limit, on: date) -> str:
    """Return a limit with its reason and its last day."""
    until = f"until {day(limit.until, on)}" if limit.until else "until you lift it"
    return f"No {limit.pattern.replace('_', ' ')}: {limit.why} ({until})"


def _kit_in_words(athlete: Athlete) -> str:
    kit = athlete.kit
    carriers = {
        "belt": "belt and plates",
        "backpack": f"backpack, up to {kit.backpack_litres:g} l of water",
        "dumbbell": "dumbbell between the feet",
        "none": "no added load",
    }
    return carriers[kit.carrier]


def pain_in_words(history: History, on: date) -> str:
    """Return the newest pain report in words, or "" when there is none in two months."""
    recent = [report for report in history.pain if (on - report.on).days <= 60]
    if not recent:
        return ""
    newest = max(recent, key=lambda report: report.on)
    morning = "" if newest.next_morning is None else f", {newest.next_morning:g} the next morning"
    where = f"{newest.site} ({newest.side})" if newest.side else newest.site
    return f"Last pain logged: {where} {newest.worst:g} of 10{morning}, {ago(newest.on, on)}."


def attendance_in_words(history: History, on: date) -> str:
    """Return sessions done of those planned or done, in the last week and the last four."""
    said = []
    for days, name in ((7, "last seven days"), (28, "last four weeks")):
        logged = [one for one in history.sessions if 0 <= (on - one.on).days < days]
        if logged:
            done = sum(one.done for one in logged)
            said.append(f"{done} of {len(logged)} sessions in the {name}")
    return f"Done: {', '.join(said)}." if said else ""
