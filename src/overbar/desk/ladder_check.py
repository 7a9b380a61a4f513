"""What the ladder's checks say to texts a coach is writing: fits, or what is wrong, where, and what to do."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache

from overbar.desk.ladder_fields import Files, entry_key
from overbar.errors import BadInput
from overbar.ladder import Ladder, ladder_from_files
from overbar.ladder.spans import find_spans


@dataclass(frozen=True)
class Slip:
    """What keeps texts from being a ladder.

    Attributes
    ----------
    what, do : str
    file : int or None
        Number of the file, and its line.
    line : int or None
    kind, key : str
        The entry it is in, when it is in one.
    where : str
        In words.
    """

    what: str
    do: str
    file: int | None = None
    line: int | None = None
    kind: str = ""
    key: str = ""
    where: str = ""


def check(files: Files) -> Ladder | Slip:
    """Read texts as a ladder, or say what is wrong."""
    return _checked(tuple(files))


@lru_cache(maxsize=8)
def _checked(files: tuple[tuple[str, str], ...]) -> Ladder | Slip:
    try:
        return ladder_from_files(files)
    except BadInput as error:
        return _slip(files, error)


def _slip(files: Files, error: BadInput) -> Slip:
    found = re.fullmatch(r"(?P<file>.+?):(?P<line>\d+)", error.where)
    name, line = (found["file"], int(found["line"])) if found else (error.where, None)
    number = next((n for n, (file, _) in enumerate(files) if file == name), None)
    kind = key = ""
    if number is not None and line is not None:
        kind, key = _entry(files[number][1], line)
    where = f"{name}, line {line}" if line else name
    return Slip(error.what, error.do, number, line, kind, key, where)


def _entry(text: str, line: int) -> tuple[str, str]:
    """Return kind and key of the entry a line is in."""
    try:
        path = find_spans(text).entry_at(line)
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return "", ""
    if path is None:
        return "", ""
    kind = str(path[0])
    if len(path) == 1:
        return kind, ""
    position = int(path[1])
    return kind, entry_key(kind, position, data[kind][position])
