"""What two ladders do not share, in a coach's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from overbar.ladder.expression import Expression
from overbar.ladder.form import Ladder
from overbar.ladder.wording import KINDS_IN_ORDER, field_words

NAMED_BY = ("id", "name", "say", "test", "label", "answer", "act")
"""Fields by which parts of a list are told apart, the first that tells all apart."""
SAID_AT_MOST = 160


@dataclass(frozen=True)
class Difference:
    """One entry that is new, gone or changed.

    Attributes
    ----------
    kind : str
        "gate", "rule", ...
    key : str
        Its id, or its place in a list without ids.
    name : str
        What it is called.
    what : {"new", "gone", "changed"}
    say : tuple of str
        What changed in it, each as one line; empty for new and gone.
    """

    kind: str
    key: str
    name: str
    what: str
    say: tuple[str, ...] = ()

    @property
    def head(self) -> str:
        """Return the kind and name, for example "Rule Deload due (D-S)" or "Gate to tries (G4)"."""
        kind = KINDS_IN_ORDER[self.kind][0]
        return self.name if self.name.startswith(kind) else f"{kind} {self.name}".strip()


def entries(ladder: Ladder) -> Iterator[tuple[str, str, BaseModel]]:
    """Yield every entry of a ladder: kind, key, entry."""
    tables: dict[str, Mapping[Any, BaseModel]] = {
        "rung": ladder.rungs,
        "gate": ladder.gates,
        "rule": ladder.rules,
        "method": ladder.methods,
        "exercise": ladder.exercises,
        "fault": ladder.faults,
        "test": ladder.tests,
        "layout": ladder.layouts,
        "caution": ladder.cautions,
        "flag": ladder.flags,
        "site": ladder.sites,
        "remember": ladder.remember,
        "margin": {one.name: one for one in ladder.margins},
        "split": {f"{number} {one.answer}": one for number, one in enumerate(ladder.splits)},
        "battery": {one.name: one for one in ladder.battery},
        "pain": {"": ladder.pain},
        "skill": {"": ladder.skill},
    }
    for kind in KINDS_IN_ORDER:
        for key, entry in tables[kind].items():
            yield kind, str(key), entry


def differences(old: Ladder, new: Ladder) -> tuple[Difference, ...]:
    """Return what is new, gone or changed from one ladder to another, in reading order.

    Examples
    --------
    >>> from overbar.ladder import load_ladder
    >>> differences(load_ladder(), load_ladder())
    ()
    """
    before = {(kind, key): entry for kind, key, entry in entries(old)}
    after = {(kind, key): entry for kind, key, entry in entries(new)}
    out = []
    for kind, key in dict.fromkeys([*after, *before]):
        was, now = before.get((kind, key)), after.get((kind, key))
        if was is None and now is not None:
            out.append(Difference(kind, key, called(key, now), "new"))
        elif now is None and was is not None:
            out.append(Difference(kind, key, called(key, was), "gone"))
        elif was is not None and now is not None and (say := tuple(_changes(was, now, ""))):
            out.append(Difference(kind, key, called(key, now), "changed", say))
    order = list(KINDS_IN_ORDER)
    return tuple(sorted(out, key=lambda one: order.index(one.kind)))


def called(key: str, entry: BaseModel) -> str:
    """Return an entry's name, with its id where it has one."""
    name = str(getattr(entry, "name", "") or getattr(entry, "answer", "") or getattr(entry, "say", ""))
    if not name:
        days = getattr(entry, "days", None)
        return f"of {days} days" if days else ""
    return f"{name} ({key})" if getattr(entry, "id", None) == key and key else name


def _changes(old: Any, new: Any, label: str) -> Iterator[str]:
    """Yield each change below a value as one line."""
    if isinstance(old, BaseModel) and isinstance(new, BaseModel):
        for field in type(new).model_fields:
            yield from _changes(
                getattr(old, field),
                getattr(new, field),
                _joined(label, field_words(field, type(new).model_fields)),
            )
    elif isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in dict.fromkeys([*old, *new]):
            yield from _changes(old.get(key), new.get(key), _joined(label, field_words(key)))
    elif _parts(old) or _parts(new):
        yield from _changed_parts(tuple(old or ()), tuple(new or ()), label)
    elif _plain(old) != _plain(new):
        yield f"{label}: {_said(old)}, now {_said(new)}"


def _changed_parts(old: tuple[Any, ...], new: tuple[Any, ...], label: str) -> Iterator[str]:
    by = next((field for field in NAMED_BY if _tells_apart(old, field) and _tells_apart(new, field)), "")
    if not by:
        for number in range(max(len(old), len(new))):
            was, now = (side[number] if number < len(side) else None for side in (old, new))
            yield from _one_part(was, now, f"{label} {number + 1}")
        return
    before = {getattr(one, by): one for one in old}
    after = {getattr(one, by): one for one in new}
    for key in dict.fromkeys([*before, *after]):
        yield from _one_part(before.get(key), after.get(key), _joined(label, str(key)))


def _one_part(old: Any, new: Any, label: str) -> Iterator[str]:
    if old is None:
        yield f"{label}: new"
    elif new is None:
        yield f"{label}: gone"
    else:
        yield from _changes(old, new, label)


def _tells_apart(parts: tuple[Any, ...], field: str) -> bool:
    values = [getattr(one, field, None) for one in parts]
    return all(values) and len(set(values)) == len(values)


def _parts(value: Any) -> bool:
    return isinstance(value, tuple) and any(isinstance(one, BaseModel) for one in value)


def _plain(value: Any) -> Any:
    return " ".join(value.text.split()) if isinstance(value, Expression) else value


def _said(value: Any) -> str:
    plain = _plain(value)
    if plain is None or plain in ("", ()):
        return "nothing"
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, float):
        return f"{plain:g}"
    if isinstance(plain, tuple):
        return ", ".join(_said(one) for one in plain)
    text = str(plain)
    return text if len(text) <= SAID_AT_MOST else f"{text[: SAID_AT_MOST - 1]}…"


def _joined(label: str, field: str) -> str:
    return f"{label}, {field}" if label else field
