"""A ladder as a coach sees it: drawn with rungs, gates and strands, and every entry in one line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from overbar.ladder import Ladder, vocabulary
from overbar.ladder.difference import called, entries
from overbar.ladder.expression import Expression
from overbar.ladder.form import Gate, Requirement, Rung, SlotForm
from overbar.ladder.wording import KINDS_IN_ORDER, field_words

SIGNS = {">=": "at least", "<=": "at most", ">": "over", "<": "under", "outside": "outside"}
NUMBERS_AT_MOST = 4


@dataclass(frozen=True)
class DrawnGate:
    """A gate between two rungs: its items, each with whether it is required."""

    id: str
    name: str
    items: tuple[tuple[str, bool], ...]


@dataclass(frozen=True)
class DrawnRung:
    """One rung: what it is, and its work strand by strand (name of strand, lines)."""

    id: str
    name: str
    who: str
    aim: str
    weeks: str
    strands: tuple[tuple[str, tuple[str, ...]], ...]
    gate: DrawnGate | None


@dataclass(frozen=True)
class Line:
    """One entry of the ladder in the lists below the drawing."""

    key: str
    name: str
    say: str
    numbers: str
    basis: str
    why: str


@dataclass(frozen=True)
class Part:
    """All entries of a kind."""

    kind: str
    name: str
    lines: tuple[Line, ...]


def drawn(ladder: Ladder) -> tuple[DrawnRung, ...]:
    """Return the rungs from the top down, each with the gate that leads out of it above."""
    return tuple(_rung(ladder, rung) for rung in reversed(tuple(ladder.rungs.values())))


def _rung(ladder: Ladder, rung: Rung) -> DrawnRung:
    method = ladder.methods[ladder.skill.default_method]
    slots = [slot for slot in method.slot if not slot.rungs or rung.id in slot.rungs]
    by_strand: dict[str, list[str]] = {strand: [] for strand in ladder.skill.strands}
    for slot in (*slots, *rung.slot):
        exercise = ladder.exercises.get(slot.exercise)
        strand, name = (exercise.strand, exercise.name) if exercise else ("skill", "the fault's drill")
        by_strand.setdefault(strand, []).append(" ".join(filter(None, (name, _dose(slot), _days(slot)))))
    strands = tuple((strand, tuple(dict.fromkeys(lines))) for strand, lines in by_strand.items() if lines)
    gate = _gate(ladder, ladder.gates[rung.gate]) if rung.gate else None
    return DrawnRung(rung.id, rung.name, rung.who, rung.aim, rung.weeks, strands, gate)


def _gate(ladder: Ladder, gate: Gate) -> DrawnGate:
    return DrawnGate(
        gate.id, gate.name, tuple((item.say or _needed(ladder, item), item.hard) for item in gate.item)
    )


def item_in_words(ladder: Ladder, item: Requirement) -> str:
    """Return one item of a gate in words, with its days and the age of its evidence."""
    head = item.say or _needed(ladder, item)
    more = []
    for leaf in item.leaves:
        if leaf.days > 1 and "days" not in head:
            more.append(f"on {leaf.days} days{' running' if leaf.running else ''}")
        age = leaf.max_age_days or ladder.tests[leaf.test].max_age_days
        more.append(f"not older than {age} days")
    return f"{head} ({', '.join(dict.fromkeys(more))})"


def _needed(ladder: Ladder, item: Requirement) -> str:
    if item.any_of or item.all_of:
        word = " or " if item.any_of else " and "
        return word.join(_needed(ladder, part) for part in item.any_of or item.all_of)
    test = ladder.tests[item.test]
    if test.unit == "yes/no":
        return test.name
    return f"{test.name}: {SIGNS[item.op]} {item.value:g} {test.unit}"


def _dose(slot: SlotForm) -> str:
    """Return sets and reps where they are plain numbers."""
    sets, low, high = (_plain_number(one) for one in (slot.sets, slot.reps_low, slot.reps_high))
    if not sets:
        return ""
    seconds = _plain_number(slot.seconds)
    if seconds and not high:
        return f"{sets}×{seconds} s"
    if not high:
        return ""
    return f"{sets}×{high}" if low in ("", high) else f"{sets}×{low}-{high}"


def _plain_number(formula: Expression | None) -> str:
    text = formula.text if formula is not None else ""
    try:
        return f"{float(text):g}"
    except ValueError:
        return ""


def _days(slot: SlotForm) -> str:
    return f"({', '.join(slot.on)})" if slot.on else ""


# --- every entry in one line -------------------------------------------------


def parts(ladder: Ladder) -> tuple[Part, ...]:
    """Return every entry by kind, each in one line."""
    found: dict[str, list[Line]] = {kind: [] for kind in KINDS_IN_ORDER}
    for kind, key, entry in entries(ladder):
        found[kind].append(
            Line(
                key=key,
                name=_name(kind, key, entry),
                say=_say(ladder, kind, entry),
                numbers=_numbers(entry),
                basis=str(getattr(entry, "basis", "")),
                why=str(getattr(entry, "why", "")),
            )
        )
    return tuple(Part(kind, KINDS_IN_ORDER[kind][1], tuple(lines)) for kind, lines in found.items() if lines)


def _name(kind: str, key: str, entry: BaseModel) -> str:
    """Return what an entry is called in a list; ids only where the trade speaks of them."""
    if kind in ("caution", "flag"):
        return key.replace("_", " ").capitalize()
    if kind in ("exercise", "site", "test", "method"):
        return str(getattr(entry, "name", key))
    return (called(key, entry) or KINDS_IN_ORDER[kind][0]).replace("_", " ")


def _say(ladder: Ladder, kind: str, entry: Any) -> str:
    if kind == "gate":
        return "; ".join(item_in_words(ladder, item) for item in entry.item)
    if kind == "rule":
        return template_in_words(entry.say)
    if kind == "fault":
        return f"{entry.look}. {entry.cue}"
    if kind == "exercise":
        return f"{entry.purpose}. {entry.dose}"
    if kind == "rung":
        return f"{entry.who}: {entry.aim}"
    if kind == "method":
        return str(entry.for_whom)
    if kind == "test":
        return f"{entry.protocol or entry.unit}"
    if kind == "flag":
        return f"{entry.say}. See {entry.see}, {entry.within}"
    if kind in ("caution", "split"):
        return template_in_words(entry.say)
    if kind == "site":
        return ", ".join(entry.patterns)
    if kind == "layout":
        return ", ".join(f"{day.label} {day.title}" for day in entry.day)
    if kind == "battery":
        return ladder.exercises[entry.exercise].name
    if kind == "skill":
        return str(entry.goal)
    return ""


def template_in_words(text: str) -> str:
    """Write a sentence of the data with what is filled in named in words.

    Examples
    --------
    >>> template_in_words("{sessions_missed_7d:.0f} sessions missed.")
    '‹sessions missed 7d› sessions missed.'
    """
    said = ""
    for before, expression, _ in vocabulary.pieces(text):
        said += before
        if expression is not None:
            said += f"‹{expression.text.replace('_', ' ').replace('.', ' ')}›"
    return said


def _numbers(entry: BaseModel) -> str:
    """Return an entry's own numbers in words, the first few."""
    said = list(_own_numbers(entry, ""))
    return " · ".join(said[:NUMBERS_AT_MOST])


def _own_numbers(entry: BaseModel, label: str) -> Iterator[str]:
    for field in type(entry).model_fields:
        value = getattr(entry, field)
        if field not in entry.model_fields_set:
            continue
        if isinstance(value, bool) or field == "urgent":
            continue
        if isinstance(value, int | float):
            yield f"{field_words(field)} {value:g}"
        elif isinstance(value, dict):
            yield from (f"{field_words(key)} {one:g}" for key, one in value.items())
        elif field == "conditions":
            yield from (_condition(one) for one in value)
        elif isinstance(value, Expression) and field == "when":
            yield f"when {' '.join(value.text.split())}"


def _condition(condition: tuple[str, str, Any]) -> str:
    measure, op, limit = condition
    value = f"{limit:g}" if isinstance(limit, int | float) else " to ".join(f"{one:g}" for one in limit)
    return f"{field_words(measure)} {SIGNS[op]} {value}"


# --- the words an entry uses ---------------------------------------------------


def words_used(ladder: Ladder, entry: BaseModel) -> tuple[tuple[str, str], ...]:
    """Return the facts, tests and remembered numbers an entry's conditions speak of, with what they mean."""
    names: dict[str, str] = {}
    for name in _names(entry):
        meaning = _meaning(ladder, name)
        if meaning:
            names.setdefault(name, meaning)
    return tuple(sorted(names.items()))


def _names(value: Any) -> Iterator[str]:
    if isinstance(value, Expression):
        yield from value.names
        yield from (question for question, _ in value.asked)
    elif isinstance(value, BaseModel):
        for field in type(value).model_fields:
            yield from _names(getattr(value, field))
    elif isinstance(value, tuple | list):
        for one in value:
            yield from _names(one)
    elif isinstance(value, str) and "{" in value:
        for expression in vocabulary.places(value):
            yield from expression.names


def _meaning(ladder: Ladder, name: str) -> str:
    if name in vocabulary.FACTS:
        return vocabulary.FACTS[name]
    if name in vocabulary.QUESTIONS:
        return vocabulary.QUESTIONS[name][1]
    head, _, rest = name.partition(".")
    if head == "test":
        test, _, field = rest.partition(".")
        known = ladder.tests.get(test)
        meaning = vocabulary.TEST_FIELDS.get(field, "best value young enough")
        return f"{known.name}, {known.unit}: {meaning}" if known else ""
    if rest in vocabulary.WATCH_FIELDS:
        return f"{vocabulary.WATCH_FIELDS[rest]} (of what the method watches as {head})"
    if head == "was":
        return "the remembered number as last week left it"
    remembered: Sequence[Any] = [
        *ladder.remember.values(),
        *(one for method in ladder.methods.values() for one in method.remember),
    ]
    return next((one.say for one in remembered if one.name == name), "")
