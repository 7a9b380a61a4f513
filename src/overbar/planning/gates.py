"""Gates: which items are shown by dated evidence, what is missing, and where an athlete stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from overbar.ladder.form import Gate, Ladder, Requirement, Rung, Test
from overbar.planning.attendance import body_mass
from overbar.planning.case import Case, make_case, rung_after, said_on
from overbar.planning.facts import Facts
from overbar.planning.history import TAKEN_BACK, History
from overbar.planning.shown import Seen, in_unit
from overbar.planning.verdict import Evidence, GateItem, GateState
from overbar.units import mass_in_words

SIGNS = {">=": "at least", "<=": "at most", ">": "over", "<": "under"}


@dataclass(frozen=True)
class Shown:
    """What is known of one requirement: met, not met, or (None) no evidence young enough."""

    met: bool | None
    leaf: Requirement
    value: float | None = None
    sd: float | None = None
    shortfall: float | None = None
    days_missing: int = 0
    evidence: tuple[Evidence, ...] = ()


def gate_state(facts: Facts, gate_id: str) -> GateState:
    """Judge a gate on evidence young enough; the coach's written word outranks it."""
    held = facts.gates.get(gate_id)
    if held is not None:
        return held
    gate = facts.case.ladder.gates[gate_id]
    items = tuple(_item(facts, gate_id, item) for item in gate.item)
    opened = all(item.met is True for item in items if item.hard)
    word = facts.case.word(f"gate:{gate_id}")
    overruled = ""
    if word is not None and word.choice in ("met", "not_met"):
        opened, overruled = word.choice == "met", word.reason or word.choice
    state = GateState(gate.id, gate.name, gate.from_rung, gate.to_rung, opened, items, overruled)
    facts.gates[gate_id] = state
    return state


def judge(facts: Facts, needed: Requirement) -> Shown:
    """Judge one requirement; groups are judged part by part."""
    if needed.any_of:
        return _best_of([judge(facts, part) for part in needed.any_of])
    if needed.all_of:
        return _worst_of([judge(facts, part) for part in needed.all_of])
    test = facts.case.ladder.tests[needed.test]
    days = [
        one
        for one in facts.recent(test, needed.max_age_days)
        if not needed.sources or one.source in needed.sources
    ]
    if not days:
        return Shown(None, needed)
    if needed.running:
        return _running(needed, days[-needed.days :])
    return _separate(needed, test, days)


def _running(needed: Requirement, latest: list[Seen]) -> Shown:
    failing = [one for one in latest if not _passes(one.value, needed)]
    evidence = tuple(one.evidence for one in latest)
    if failing:
        worst = max(failing, key=lambda one: _short(one.value, needed))
        return Shown(False, needed, worst.value, worst.sd, _short(worst.value, needed), 0, evidence)
    missing = needed.days - len(latest)
    met = None if missing > 0 else True
    return Shown(met, needed, latest[-1].value, latest[-1].sd, None, max(0, missing), evidence)


def _separate(needed: Requirement, test: Test, days: list[Seen]) -> Shown:
    passing = [one for one in days if _passes(one.value, needed)]
    better = 1 if test.better == "more" else -1
    best = max(days, key=lambda one: (better * one.value, one.on))
    if len(passing) >= needed.days:
        shown = tuple(one.evidence for one in passing[-max(2, needed.days) :])
        return Shown(True, needed, best.value, best.sd, None, 0, shown)
    if passing:
        shown = tuple(one.evidence for one in passing)
        return Shown(None, needed, best.value, best.sd, None, needed.days - len(passing), shown)
    return Shown(False, needed, best.value, best.sd, _short(best.value, needed), 0, (best.evidence,))


def _passes(value: float, needed: Requirement) -> bool:
    return _short(value, needed) <= 1e-9 and not (needed.op in "><" and abs(value - needed.value) < 1e-9)


def _short(value: float, needed: Requirement) -> float:
    return needed.value - value if needed.op in (">=", ">") else value - needed.value


def _best_of(parts: list[Shown]) -> Shown:
    for part in parts:
        if part.met is True:
            return part
    known = [part for part in parts if part.met is False]
    if not known:
        return next((part for part in parts if part.evidence), parts[0])
    return min(known, key=_share_short)


def _worst_of(parts: list[Shown]) -> Shown:
    known = [part for part in parts if part.met is False]
    if known:
        return max(known, key=_share_short)
    unknown = next((part for part in parts if part.met is None), None)
    if unknown is not None:
        return unknown
    evidence = tuple(e for part in parts for e in part.evidence)
    first = parts[0]
    return Shown(True, first.leaf, first.value, first.sd, None, 0, evidence)


def _share_short(part: Shown) -> float:
    return (part.shortfall or 0.0) / max(0.05, abs(part.leaf.value))


def item_key(needed: Requirement) -> str:
    """Return what names an item within its gate: its tests, in their order."""
    return "+".join(dict.fromkeys(leaf.test for leaf in needed.leaves))


def _item(facts: Facts, gate_id: str, needed: Requirement) -> GateItem:
    """Judge an item; the coach's word on it outranks the evidence."""
    key = item_key(needed)
    shown = judge(facts, needed)
    word = facts.case.word(f"item:{gate_id}:{key}")
    overruled = ""
    if word is not None and word.choice in ("met", "not_met"):
        overruled = word.reason or word.choice
        said = Evidence("coach", word.said_at.date(), overruled)
        short = shown.shortfall if word.choice == "not_met" else None
        shown = replace(shown, met=word.choice == "met", shortfall=short, evidence=(said, *shown.evidence))
    test = facts.case.ladder.tests[shown.leaf.test]
    return GateItem(
        say=needed.say or f"{test.name}: {SIGNS[shown.leaf.op]} {in_unit(shown.leaf.value, test.unit)}",
        test=test.id,
        hard=needed.hard,
        met=shown.met,
        value=shown.value,
        sd=shown.sd,
        needs=shown.leaf.value,
        unit=test.unit,
        shortfall=shown.shortfall if shown.met is False else None,
        shortfall_say=_say_short(facts, shown, test) if not overruled or shown.shortfall else "",
        evidence=shown.evidence,
        key=key,
        overruled=overruled,
    )


def _say_short(facts: Facts, shown: Shown, test: Test) -> str:
    if shown.met is True:
        return ""
    if shown.met is None:
        if shown.days_missing:
            return f"shown once; {shown.days_missing} more day{'s' if shown.days_missing > 1 else ''} needed"
        return f"not shown in the last {shown.leaf.max_age_days or test.max_age_days} days"
    short = shown.shortfall or 0.0
    athlete = facts.case.athlete
    if test.unit == "R":
        mass = body_mass(facts.case).value
        kilograms = short * (mass if isinstance(mass, float) else athlete.body_mass_kg)
        return f"{mass_in_words(round(kilograms, 1), athlete.mass_unit)} of system mass short"
    if test.unit == "L":
        hang = facts.look("hang_length_m")
        metres = short * (hang if isinstance(hang, float) else 0.0)
        length = f"{metres / 0.0254:.1f} in" if athlete.length_unit == "in" else f"{metres * 100:.0f} cm"
        if metres < 0.005:
            length = "under half a centimetre"
        return f"{length} short"
    if test.unit == "yes/no":
        return "not yet"
    over = shown.leaf.op in ("<=", "<")
    return f"{in_unit(short, test.unit)} {'too many' if over else 'short'}".replace(
        "of 10 too many", "of 10 too high"
    )


# --- where an athlete stands ----------------------------------------------


@dataclass(frozen=True)
class Placement:
    """Where an athlete stands and why.

    Attributes
    ----------
    rung : Rung
    assumed : tuple of GateItem
        Items of gates passed over for lack of evidence; they are asked for.
    by : str
        "plan", "coach" or "gates".
    """

    rung: Rung
    assumed: tuple[GateItem, ...] = ()
    by: str = "gates"


def placement(case: Case, facts: Facts) -> Placement:
    """Find the rung: the coach's word, else the last plan's, else the gates from the bottom.

    A new athlete is placed below the first gate that is not shown; items the ladder
    marks as assumable do not hold back when nothing is known of them.
    """
    spoken = [w for w in case.history.coach if w.about.startswith("rung:")]
    if spoken and spoken[-1].choice not in ("ignore", TAKEN_BACK):
        rung = case.ladder.rungs.get(spoken[-1].about.removeprefix("rung:"))
        planned = case.last_week.starts if case.last_week else date.min
        if rung is not None and said_on(spoken[-1]) >= planned:
            return Placement(rung, by="coach")
    planned_rung = rung_after(case)
    if planned_rung is not None:
        return Placement(planned_rung, by="plan")
    return by_gates(case.ladder, facts)


def by_gates(ladder: Ladder, facts: Facts) -> Placement:
    """Climb from the first rung as far as the evidence goes."""
    rung = next(iter(ladder.rungs.values()))
    assumed: list[GateItem] = []
    while rung.gate:
        gate = ladder.gates[rung.gate]
        taken = _passed_at_placement(facts, gate)
        if taken is None:
            break
        assumed.extend(taken)
        rung = ladder.rungs[gate.to_rung]
    return Placement(rung, tuple(assumed))


def _passed_at_placement(facts: Facts, gate: Gate) -> list[GateItem] | None:
    state = gate_state(facts, gate.id)
    if state.open:
        return []
    if state.overruled:
        return None
    assumed: list[GateItem] = []
    for needed, item in zip(gate.item, state.items, strict=True):
        if not item.hard or item.met is True:
            continue
        if item.met is None and needed.assume_when_placing:
            assumed.append(item)
        else:
            return None
    return assumed


def place(history: History, ladder: Ladder, on: date) -> Placement:
    """Place an athlete by history alone.

    Parameters
    ----------
    history : History
    ladder : Ladder
    on : datetime.date

    Returns
    -------
    Placement
        The rung, what was assumed, and by whom it was set.
    """
    from overbar.planning.week import strength_of

    case = make_case(history, ladder, on, strength_of(history, ladder, on))
    facts = Facts(case, next(iter(ladder.rungs.values())))
    return placement(case, facts)
