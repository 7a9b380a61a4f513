"""One entry of a ladder as fields a coach can fill in, and what was filled in back into its text."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from overbar.errors import BadInput, NotFound
from overbar.ladder.loader import KINDS, SINGLE
from overbar.ladder.spans import Path, find_spans, with_more, with_values, without
from overbar.ladder.wording import field_words

Files = Sequence[tuple[str, str]]
LONG = 48
"""A text of more characters gets a field of several lines."""
NAMED_BY = ("say", "name", "label", "test", "exercise", "act", "title", "day", "id")
"""What a part of an entry is called by, the first it has."""
OF_EXERCISES = ("exercise", "exercises", "swaps", "kinder", "drills", "instead", "attempt_exercise", "add")
"""Fields that name exercises."""
LIST_KEYS = {"layout": "days", "margin": "name", "battery": "name", "remember": "name"}
"""What tells entries of a kind apart that have no id."""
NO_UNITS: Mapping[str, str] = {}
DECIMAL_COMMA = re.compile(r"^-?\d+,\d+$")
NUMBER = re.compile(r"^[-+]?\d+(\.\d+)?$")


@dataclass(frozen=True)
class Field:
    """One value of an entry.

    Attributes
    ----------
    key : str
        Its name in the form: the way to it from the entry, with slashes.
    label : str
        What it is called.
    kind : {"number", "text", "long", "yesno", "list"}
    value : str
        As shown in the form.
    names : {"exercises", "tests", ""}
        What it names.
    hint : str
        What counts when it is left empty.
    """

    key: str
    label: str
    kind: str
    value: str
    names: str = ""
    hint: str = ""


@dataclass(frozen=True)
class Group:
    """Fields that belong together: the entry itself, one item of a gate, one line of a week.

    ``more`` are those that are not written and could be.
    """

    title: str
    depth: int
    fields: tuple[Field, ...]
    more: tuple[Field, ...] = ()


@dataclass(frozen=True)
class Place:
    """Where an entry stands: file, its number, and the way to it."""

    file: int
    path: Path


def find_entry(files: Files, kind: str, key: str) -> Place:
    """Find the entry that counts: the last one with its id.

    Raises
    ------
    NotFound
        There is none.
    BadInput
        A file is not TOML.
    """
    found = None
    for number, (name, text) in enumerate(files):
        data = _read(name, text).get(kind)
        if isinstance(data, dict) and not key:
            found = Place(number, (kind,))
        elif isinstance(data, list):
            if kind == "split":
                wanted = key.partition(" ")[0]
                position = int(wanted) if wanted.isdigit() else -1
                if 0 <= position < len(data):
                    found = Place(number, (kind, position))
                continue
            by = LIST_KEYS.get(kind, "id")
            for position, entry in enumerate(data):
                if isinstance(entry, dict) and str(entry.get(by)) == key:
                    found = Place(number, (kind, position))
    if found is None:
        raise NotFound(f"there is no {kind} {key!r} in this ladder.")
    return found


def entry_key(kind: str, position: int | None, entry: Mapping[str, Any]) -> str:
    """Return the key an entry is found by."""
    if position is None:
        return ""
    if kind == "split":
        return f"{position} {entry.get('answer', '')}"
    return str(entry.get(LIST_KEYS.get(kind, "id"), ""))


@lru_cache(maxsize=64)
def _read(name: str, text: str) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"not TOML: {error}.", name, "Correct the file's text.") from error


def groups_of(files: Files, place: Place, units: Mapping[str, str] = NO_UNITS) -> tuple[Group, ...]:
    """Return an entry's fields, group by group, in the order they are written.

    Parameters
    ----------
    files : sequence of (name, text)
    place : Place
    units : mapping of str to str
        Unit of each test, shown beside the value needed.
    """
    entry = _value_at(_read(*files[place.file]), place.path)
    kind = str(place.path[0])
    groups = _groups(entry, (), "", KINDS.get(kind) or SINGLE.get(kind))
    return tuple(_with_units(group, units) for group in groups)


def _with_units(group: Group, units: Mapping[str, str]) -> Group:
    unit = next((units.get(one.value, "") for one in group.fields if one.names == "tests"), "")
    if not unit or unit == "yes/no":
        return group
    fields = (
        replace(one, label=f"{one.label}, {unit}") if one.key.rpartition("/")[2] == "value" else one
        for one in group.fields
    )
    return replace(group, fields=tuple(fields))


def _groups(
    entry: Mapping[str, Any], path: Path, title: str, form: type[BaseModel] | None
) -> Iterator[Group]:
    own: list[Field] = []
    below: list[tuple[Any, Path, str]] = []
    for key, value in entry.items():
        here = (*path, key)
        if isinstance(value, Mapping):
            below.append((value, here, field_words(key)))
        elif isinstance(value, list) and any(isinstance(one, Mapping) for one in value):
            for number, one in enumerate(value):
                below.append((one, (*here, number), f"{_one_of(key)}: {_named(key, one, number)}"))
        elif isinstance(value, list) and any(isinstance(one, list) for one in value):
            own += _rows(here, key, value)
        else:
            among = form.model_fields if form is not None else entry
            own.append(_field(here, field_words(key, among), value))
    yield Group(title, len(path), tuple(own), tuple(_more(entry, path, form)))
    for value, here, said in below:
        name = next(str(step) for step in reversed(here) if isinstance(step, str))
        yield from _groups(value, here, said, _part_form(form, name))


def _part_form(form: type[BaseModel] | None, field: str) -> type[BaseModel] | None:
    """Return the form of the parts a field holds, when they have one."""
    if form is None or field not in form.model_fields:
        return None
    return next((one for one in _types(form.model_fields[field].annotation) if _is_form(one)), None)


def _types(annotation: Any) -> Iterator[Any]:
    yield annotation
    for part in get_args(annotation):
        yield from _types(part)


def _is_form(one: Any) -> bool:
    return isinstance(one, type) and issubclass(one, BaseModel)


def _more(entry: Mapping[str, Any], path: Path, form: type[BaseModel] | None) -> Iterator[Field]:
    """Fields an entry could have and has not, empty, with what counts without them."""
    for name, field in form.model_fields.items() if form is not None else ():
        types = list(_types(field.annotation))
        if name in entry or dict in types or any(_is_form(one) for one in types):
            continue
        default = field.default
        hint = "" if default in (None, "", (), False) else f"else {_joined_default(default)}"
        if field.is_required():
            hint = "needed"
        key = "/".join(str(step) for step in (*path, name))
        kind = (
            "yesno" if bool in types else "list" if any(get_origin(one) is tuple for one in types) else "text"
        )
        yield Field(key, field_words(name), kind, "", "exercises" if name in OF_EXERCISES else "", hint)


def _joined_default(default: Any) -> str:
    return " to ".join(map(str, default)) if isinstance(default, tuple) else str(default)


def _named(key: str, part: Mapping[str, Any], number: int) -> str:
    """Return what a part of an entry is called."""
    if key == "do":
        return " ".join(str(part[by]) for by in ("act", "name") if part.get(by)).replace("_", " ")
    by_name = key in ("rule", "slot", "amount", "watch")
    order = sorted(NAMED_BY, key=lambda by: by != "name") if by_name else NAMED_BY
    said = next((str(part[by]) for by in order if part.get(by)), str(number + 1))
    return said.replace("_", " ") if by_name else said


def _one_of(key: str) -> str:
    return {"item": "item", "slot": "line", "rule": "rule", "do": "action", "any_of": "either"}.get(
        key, field_words(key)
    )


def _rows(path: Path, key: str, rows: list[Any]) -> Iterator[Field]:
    """Rows of values, such as a fault's conditions: every value is a field of its own."""
    for number, row in enumerate(rows):
        cells = row if isinstance(row, list) else [row]
        what = field_words(str(cells[0])) if cells and isinstance(cells[0], str) else ""
        for column, cell in enumerate(cells):
            label = f"{what} {'at' if column > 1 else ''}".strip() or field_words(key)
            if column == 0 and isinstance(cell, str):
                label = field_words(key)
            elif column == 1 and isinstance(cell, str):
                label = f"{what} compared"
            if isinstance(cell, list):
                yield from (
                    _field((*path, number, column, n), f"{what} {'from' if n == 0 else 'to'}", one)
                    for n, one in enumerate(cell)
                )
            else:
                yield _field((*path, number, column), label, cell)


def _field(path: Path, label: str, value: Any) -> Field:
    key = "/".join(str(step) for step in path)
    last = next((step for step in reversed(path) if isinstance(step, str)), "")
    names = "exercises" if last in OF_EXERCISES else "tests" if last == "test" else ""
    if isinstance(value, bool):
        return Field(key, label, "yesno", "yes" if value else "no")
    if isinstance(value, int | float):
        return Field(key, label, "number", repr(value))
    if isinstance(value, list):
        return Field(key, label, "list", _joined(value), names)
    text = str(value)
    kind = "long" if len(text) > LONG or "\n" in text else "text"
    return Field(key, label, kind, text, names)


def _joined(value: list[Any]) -> str:
    texts = [one if isinstance(one, str) else repr(one) for one in value]
    return "\n".join(texts) if _by_lines(value) else ", ".join(texts)


def _by_lines(value: list[Any]) -> bool:
    """Say whether a list is shown one a line: its texts are sentences."""
    return any(isinstance(one, str) and ("," in one or len(one) > LONG) for one in value)


# --- back into the text ------------------------------------------------------


def with_typed(files: Files, place: Place, typed: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return the files with what was typed for an entry; what was not changed stays as written.

    Parameters
    ----------
    files : sequence of (name, text)
    place : Place
    typed : mapping of field key to text
        As the form sends it; a number that is none is kept as text, for the ladder's
        checks to name; a field that was emptied is left out.
    """
    name, text = files[place.file]
    entry = _value_at(_read(name, text), place.path)
    new: dict[Path, Any] = {}
    gone: list[Path] = []
    more: dict[Path, dict[str, Any]] = {}
    could = {one.key: one for group in groups_of(files, place) for one in group.more}
    for key, said in typed.items():
        path, plain = _path(key), said.replace("\r\n", "\n").strip()
        if key in could:
            if plain:
                more.setdefault((*place.path, *path[:-1]), {})[str(path[-1])] = _fresh(plain, could[key])
            continue
        try:
            old = _value_at(entry, path)
        except (KeyError, IndexError, TypeError):
            continue
        if not plain and old not in ("", []) and isinstance(path[-1], str):
            gone.append((*place.path, *path))
            continue
        value = _value(plain, old)
        if isinstance(value, str) and not _holds_text(str(place.path[0]), path):
            value = _number(value, old)
        if value != old or type(value) is not type(old):
            new[(*place.path, *path)] = value
    text = with_values(text, new)
    for table, values in more.items():
        text = with_more(text, table, values)
    for path in gone:
        text = without(text, path)
    out = list(files)
    out[place.file] = (name, text)
    return tuple(out)


def _holds_text(kind: str, path: Path) -> bool:
    """Say whether a field holds text: a number typed where a slip stood is a number again."""
    form: type[BaseModel] | None = KINDS.get(kind) or SINGLE.get(kind)
    names = [step for step in path if isinstance(step, str)]
    for name in names[:-1]:
        form = _part_form(form, name)
    if form is None or not names or names[-1] not in form.model_fields or isinstance(path[-1], int):
        return True
    types = list(_types(form.model_fields[names[-1]].annotation))
    return str in types or not {int, float}.intersection(types)


def _fresh(said: str, field: Field) -> Any:
    """Return a value for a field that was not written before."""
    if field.kind == "yesno":
        return said == "yes"
    if field.kind == "list":
        parts = [part.strip() for part in said.split(",") if part.strip()]
        return [_number(part, 0) for part in parts] if all(NUMBER.match(p) for p in parts) else parts
    return _number(said, "")


def _path(key: str) -> Path:
    return tuple(int(step) if step.isdigit() else step for step in key.split("/"))


def _value(said: str, old: Any) -> Any:
    if isinstance(old, bool):
        return said == "yes"
    if isinstance(old, int | float):
        return _number(said, old)
    if isinstance(old, list):
        parts = said.splitlines() if _by_lines(old) else said.split(",")
        numbers = bool(old) and all(isinstance(one, int | float) for one in old)
        texts = [part.strip() for part in parts if part.strip()]
        return [_number(one, old[0]) for one in texts] if numbers else texts
    return old if said == str(old).strip() else said


def _number(said: str, old: Any) -> Any:
    """Return the number said; text that is none stays text."""
    plain = said.replace(",", ".") if DECIMAL_COMMA.match(said) else said.replace("\u2212", "-")
    if not NUMBER.match(plain):
        return said
    value = float(plain)
    if value == old:
        return old
    return int(value) if value.is_integer() and "." not in plain else value


def _value_at(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def block_of(files: Files, place: Place) -> str:
    """Return an entry's own lines."""
    return find_spans(files[place.file][1]).block(place.path)
