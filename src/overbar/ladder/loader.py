"""From TOML texts to one checked ladder; every slip is an error with file and line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError

from overbar.errors import BadInput
from overbar.ladder import vocabulary
from overbar.ladder.expression import Expression, questions_put
from overbar.ladder.form import (
    Action,
    Caution,
    Entry,
    Exercise,
    Fault,
    Gate,
    Ladder,
    Layout,
    MarginForm,
    Method,
    PainBands,
    Remembered,
    Rule,
    Rung,
    Site,
    SkillForm,
    SlotForm,
    Split,
    StopFlag,
    Test,
    spoken_keys,
)
from overbar.ladder.source import Text, fingerprint, gather, read_text

KINDS: dict[str, type[Entry]] = {
    "exercise": Exercise,
    "fault": Fault,
    "test": Test,
    "rung": Rung,
    "gate": Gate,
    "rule": Rule,
    "remember": Remembered,
    "method": Method,
    "layout": Layout,
    "caution": Caution,
    "flag": StopFlag,
    "site": Site,
    "margin": MarginForm,
    "split": Split,
    "battery": SlotForm,
}
"""Kinds of entry written as ``[[kind]]``."""
SINGLE: dict[str, type[Entry]] = {"skill": SkillForm, "pain": PainBands}
"""Kinds written once, as ``[kind]``; a later file replaces an earlier one."""
WHOLE = ("margin", "split", "battery")
"""Kinds whose order matters: the last file that has them gives all of them."""
OTHER = ("takes", "leaves_out")

T = TypeVar("T", bound=Entry)


@dataclass(frozen=True)
class Placed:
    """A checked entry and where it stands."""

    entry: Entry
    text: Text
    path: tuple[str | int, ...]

    @property
    def where(self) -> str:
        """``file:line``."""
        return self.text.where(self.path)


def load_ladder(name: str = "bar_muscle_up", path: str | Path | None = None) -> Ladder:
    """Read and check a ladder.

    Parameters
    ----------
    name : str
        A ladder that comes with the program.
    path : path-like, optional
        A TOML file or folder instead; see :func:`overbar.ladder.source.gather`.

    Returns
    -------
    Ladder
        Everything by id, frozen.

    Raises
    ------
    NotFound
        No such ladder.
    BadInput
        An unknown field, a wrong value or a reference to something that is not there,
        with file and line.

    Examples
    --------
    >>> load_ladder().exercise_named("Pull-ups").id
    'strict_pull_up'
    """
    return _shipped_ladder(name) if path is None else ladder_of(gather(name, path))


@lru_cache(maxsize=8)
def _shipped_ladder(name: str) -> Ladder:
    return ladder_of(gather(name))


def ladder_from_files(files: Iterable[tuple[str, str]]) -> Ladder:
    """Build a ladder again from the texts kept with it (:attr:`Ladder.files`)."""
    return ladder_of(tuple(read_text(name, text) for name, text in files))


def ladder_of(texts: tuple[Text, ...]) -> Ladder:
    """Check texts and join them; a later entry with the same id replaces an earlier one."""
    placed: dict[str, dict[Any, Placed]] = {kind: {} for kind in (*KINDS, *SINGLE)}
    for text in texts:
        _take_in(text, placed)
    for kind in SINGLE:
        if not placed[kind]:
            raise BadInput(f"no [{kind}] in it.", texts[-1].name if texts else "", f"Add a [{kind}] table.")
    if not placed["rung"]:
        raise BadInput(
            "no [[rung]] in it.", texts[-1].name, "Give the ladder's whole folder, or add its stages."
        )

    def table(kind: str, form: type[T]) -> Mapping[Any, T]:
        return MappingProxyType(
            {key: item.entry for key, item in placed[kind].items() if isinstance(item.entry, form)}
        )

    skill = placed["skill"][""].entry
    pain = placed["pain"][""].entry
    assert isinstance(skill, SkillForm)
    assert isinstance(pain, PainBands)
    exercises = table("exercise", Exercise)
    files = tuple((text.name, text.text) for text in texts)
    ladder = Ladder(
        skill=skill,
        version=f"{skill.version}-{fingerprint(files)[:8]}",
        rungs=table("rung", Rung),
        gates=table("gate", Gate),
        rules=table("rule", Rule),
        remember=table("remember", Remembered),
        methods=table("method", Method),
        exercises=exercises,
        faults=table("fault", Fault),
        tests=table("test", Test),
        cautions=table("caution", Caution),
        flags=table("flag", StopFlag),
        sites=table("site", Site),
        layouts=table("layout", Layout),
        pain=pain,
        margins=tuple(table("margin", MarginForm).values()),
        splits=tuple(table("split", Split).values()),
        battery=tuple(table("battery", SlotForm).values()),
        files=files,
        spoken=_spoken(placed["exercise"]),
        left_out=frozenset(about for text in texts for about in text.data.get("leaves_out", ())),
    )
    check_references(ladder, placed)
    return ladder


def _take_in(text: Text, placed: dict[str, dict[Any, Placed]]) -> None:
    for key, content in text.data.items():
        if key in OTHER:
            continue
        if key in SINGLE:
            placed[key][""] = Placed(_checked(SINGLE[key], content, text, (key,)), text, (key,))
        elif key in KINDS:
            if not isinstance(content, list):
                raise BadInput(f"{key} is not a list.", text.where((key,)), f"Write [[{key}]].")
            _take_in_all(key, content, text, placed[key])
        else:
            raise BadInput(
                f"unknown entry {key!r}.",
                text.where((key,)),
                f"Known: {', '.join((*KINDS, *SINGLE, *OTHER))}.",
            )
    for about in text.data.get("leaves_out", ()):
        kind, _, name = about.partition(":")
        if name not in placed.get(kind, {}):
            raise BadInput(
                f"leaves out {about!r}, which is not there.", text.where(("leaves_out",)), "Write kind:id."
            )
        del placed[kind][name]


def _take_in_all(kind: str, content: list[Any], text: Text, into: dict[Any, Placed]) -> None:
    own: set[Any] = set()
    if kind in WHOLE:
        into.clear()
    for number, raw in enumerate(content):
        path = (kind, number)
        entry = _checked(KINDS[kind], raw, text, path)
        key = _key(kind, entry, number)
        if key in own:
            raise BadInput(f"{kind} {key!r} is written twice.", text.where(path), "Keep one of them.")
        own.add(key)
        into[key] = Placed(entry, text, path)


def _key(kind: str, entry: Entry, number: int) -> Any:
    if isinstance(entry, Layout):
        return entry.days
    if isinstance(entry, Remembered):
        return entry.name
    return number if kind in WHOLE else getattr(entry, "id", number)


def _checked(form: type[T], raw: Any, text: Text, path: tuple[str | int, ...]) -> T:
    try:
        return form.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        place = (*path, *first["loc"])
        field = ".".join(str(step) for step in first["loc"] if isinstance(step, str)) or path[0]
        said = (
            "unknown field"
            if first["type"] == "extra_forbidden"
            else first["msg"].removeprefix("Value error, ")
        )
        name = raw.get("id", raw.get("name", "")) if isinstance(raw, dict) else ""
        raise BadInput(
            f"{path[0]} {name}: {field}: {said}.", text.where(place), "Correct or remove it."
        ) from error


def _spoken(placed: Mapping[Any, Placed]) -> Mapping[str, str]:
    """Index what exercises are called; full names win over aliases, aliases over looser forms."""
    index: dict[str, str] = {}
    claims: dict[str, tuple[int, str, str]] = {}
    for item in placed.values():
        exercise = item.entry
        assert isinstance(exercise, Exercise)
        called = (exercise.id, exercise.code, exercise.name, *exercise.aliases)
        for spoken in called:
            for rank, key in enumerate(spoken_keys(spoken)):
                held = claims.get(key)
                if held and held[1] != exercise.id and held[0] == rank == 0:
                    raise BadInput(
                        f"{spoken!r} already means {held[1]}.", item.where, "Two exercises share a name."
                    )
                if held is None or rank < held[0]:
                    claims[key] = (rank, exercise.id, spoken)
    index.update({key: claim[1] for key, claim in claims.items()})
    return MappingProxyType(index)


def check_references(ladder: Ladder, placed: Mapping[str, Mapping[Any, Placed]]) -> None:
    """Raise on the first reference to something that is not there."""
    for kind, items in placed.items():
        for item in items.values():
            for what, name, known in _references(ladder, item.entry):
                if name not in known:
                    raise BadInput(
                        f"{kind} {_label(item.entry)}: {what} {name!r} is not there.",
                        item.text.where((*item.path, *_field_of(item, name))),
                        "Correct the name, or add what it speaks of.",
                    )


def _label(entry: Entry) -> str:
    return str(getattr(entry, "id", getattr(entry, "name", getattr(entry, "days", ""))))


def _field_of(item: Placed, name: str) -> tuple[str | int, ...]:
    """Find the path of a value inside an entry's raw data, for the line of its error."""
    raw: Any = item.text.data
    for step in item.path:
        raw = raw[step]
    return next(_paths_to(raw, name), ())


def _paths_to(raw: Any, name: str) -> Iterator[tuple[str | int, ...]]:
    if isinstance(raw, dict):
        for key, value in raw.items():
            if key == name:
                yield (key,)
            yield from ((key, *rest) for rest in _paths_to(value, name))
    elif isinstance(raw, list):
        for number, value in enumerate(raw):
            yield from ((number, *rest) for rest in _paths_to(value, name))
    elif isinstance(raw, str) and (raw == name or name in raw):
        yield ()


Reference = tuple[str, str, Any]


def _references(ladder: Ladder, entry: Entry) -> Iterator[Reference]:
    if isinstance(entry, Exercise):
        yield from (("exercise", name, ladder.exercises) for name in (*entry.swaps, *entry.kinder))
        yield from (("caution", name, ladder.cautions) for name in entry.cautions)
    elif isinstance(entry, Fault):
        yield from (("exercise", name, ladder.exercises) for name in entry.drills)
    elif isinstance(entry, Test):
        yield from (("exercise", name, ladder.exercises) for name in entry.reads.exercises)
        if entry.reads.fact:
            yield from _names(ladder, None, (entry.reads.fact,), ())
    elif isinstance(entry, Gate):
        yield from (("rung", name, ladder.rungs) for name in (entry.from_rung, entry.to_rung))
        for item in entry.item:
            yield from (("test", leaf.test, ladder.tests) for leaf in item.leaves)
    elif isinstance(entry, Rung):
        if entry.gate:
            yield "gate", entry.gate, ladder.gates
        for slot in entry.slot:
            yield from _slot(ladder, None, slot)
    elif isinstance(entry, Rule):
        yield from _rule(ladder, None, entry)
    elif isinstance(entry, Method):
        for remembered in entry.remember:
            yield from _expression(ladder, entry, remembered.start)
        for amount in entry.amount:
            yield from _expression(ladder, entry, amount.value)
        for watch in entry.watch:
            yield from (("exercise", name, ladder.exercises) for name in watch.exercises)
        for rule in entry.rule:
            yield from _rule(ladder, entry, rule)
        for slot in entry.slot:
            yield from _slot(ladder, entry, slot)
    elif isinstance(entry, SlotForm):
        yield from _slot(ladder, None, entry)
    elif isinstance(entry, Site):
        if entry.add:
            yield "exercise", entry.add, ladder.exercises
    elif isinstance(entry, Remembered):
        yield from _expression(ladder, None, entry.start)
    elif isinstance(entry, Caution):
        yield from _expression(ladder, None, entry.when)
    elif isinstance(entry, MarginForm):
        for formula in (entry.value, entry.sd, entry.per):
            yield from _expression(ladder, None, formula)
    elif isinstance(entry, Split):
        yield from _expression(ladder, None, entry.when)
    elif isinstance(entry, SkillForm):
        yield "method", entry.default_method, ladder.methods
        if entry.attempt_exercise:
            yield "exercise", entry.attempt_exercise, ladder.exercises


def _slot(ladder: Ladder, method: Method | None, slot: SlotForm) -> Iterator[Reference]:
    if not slot.fault_drill:
        yield "exercise", slot.exercise, ladder.exercises
    if slot.instead:
        yield "exercise", slot.instead, ladder.exercises
    yield from (("rung", name, ladder.rungs) for name in slot.rungs)
    for formula in (
        slot.when, slot.needs, slot.sets, slot.week_sets, slot.week_reps, slot.reps_low, slot.reps_high,
        slot.seconds, slot.load_kg,
    ):  # fmt: skip
        yield from _expression(ladder, method, formula)


def _rule(ladder: Ladder, method: Method | None, rule: Rule) -> Iterator[Reference]:
    yield from (("rung", name, ladder.rungs) for name in rule.rungs)
    yield from (("rule", name, _rule_ids(ladder)) for name in rule.not_with)
    yield from _expression(ladder, method, rule.when)
    yield from _names(ladder, method, rule.evidence, ())
    for text in (rule.say, rule.would_change):
        for part in vocabulary.places(text):
            yield from _expression(ladder, method, part)
    for action in rule.do:
        yield from _action(ladder, method, action)


def _rule_ids(ladder: Ladder) -> set[str]:
    """Every rule that may be spoken of, those left out on purpose included."""
    own = {rule.id for method in ladder.methods.values() for rule in method.rule}
    left_out = {about.removeprefix("rule:") for about in ladder.left_out}
    return own | set(ladder.rules) | left_out


def _action(ladder: Ladder, method: Method | None, action: Action) -> Iterator[Reference]:
    yield from _expression(ladder, method, action.to)
    yield from (("exercise", name, ladder.exercises) for name in action.exercises)
    if action.exercise:
        yield "exercise", action.exercise, ladder.exercises
    if action.act == "ask" and action.name:
        yield "gate", action.name, ladder.gates
    if action.act == "set":
        yield "remembered number", action.name, _remembered(ladder, method)
    for part in vocabulary.places(action.say):
        yield from _expression(ladder, method, part)


def _expression(ladder: Ladder, method: Method | None, formula: Expression | None) -> Iterator[Reference]:
    if formula is not None:
        yield from _names(ladder, method, formula.names, formula.asked)
        for question, given in questions_put(formula.text):
            wants = vocabulary.VALUES.get(question, 1)
            yield f"{question} with so many values (it wants {wants}):", str(given), {str(wants)}


def _names(
    ladder: Ladder, method: Method | None, names: Iterable[str], asked: Iterable[tuple[str, str]]
) -> Iterator[Reference]:
    """Every name an expression may read: facts, tests, watches, remembered numbers, rung numbers."""
    for name in names:
        head, _, rest = name.partition(".")
        if head == "test":
            test, _, field = rest.partition(".")
            yield "test", test, ladder.tests
            if field:
                yield "test field", field, vocabulary.TEST_FIELDS
        elif head == "was":
            yield "remembered number", rest, _remembered(ladder, method)
        elif head == "rung":
            yield "rung number", rest, {key for rung in ladder.rungs.values() for key in rung.number}
        elif head == "method":
            methods = [method] if method else ladder.methods.values()
            yield "method number", rest, {key for one in methods for key in one.number}
        elif rest:
            watches = {watch.name for one in _methods(ladder, method) for watch in one.watch}
            yield "watch", head, watches
            yield "watch field", rest, vocabulary.WATCH_FIELDS
        elif name not in vocabulary.FACTS:
            amounts = {amount.name for one in _methods(ladder, method) for amount in one.amount}
            yield "fact", name, _remembered(ladder, method) | amounts
    for question, about in asked:
        yield "question", question, vocabulary.QUESTIONS
        names_a = vocabulary.QUESTIONS.get(question, ("", ""))[0]
        if names_a == "gate":
            yield "gate", about, ladder.gates
        elif names_a == "rule":
            yield "rule", about, _rule_ids(ladder)


def _methods(ladder: Ladder, method: Method | None) -> Iterable[Method]:
    return [method] if method is not None else ladder.methods.values()


def _remembered(ladder: Ladder, method: Method | None) -> set[str]:
    return {r.name for one in _methods(ladder, method) for r in one.remember} | set(ladder.remember)
