"""The texts of a ladder: which files it is made of, and where in them each entry stands."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from os.path import relpath
from pathlib import Path
from typing import Any

from overbar.errors import BadInput, NotFound

PACKAGE = "overbar.ladder"


@dataclass(frozen=True)
class Text:
    """One TOML file: its name as errors show it, its text, and what it says."""

    name: str
    text: str
    data: Mapping[str, Any]

    def line(self, path: Sequence[str | int]) -> int:
        """Return the line (from 1) of an entry or field, or of the nearest thing around it.

        Parameters
        ----------
        path : sequence of str or int
            Keys and list positions from the top of the file, for example
            ``("rule", 3, "do", 0, "act")``.
        """
        lines = self.text.splitlines()
        at, table = 0, ""
        end = len(lines)
        steps = list(path)
        while steps:
            key = steps.pop(0)
            if not isinstance(key, str):
                continue
            table = f"{table}.{key}" if table else key
            nth = steps[0] if steps and isinstance(steps[0], int) else 0
            header = _nth(lines, at, end, rf"\s*\[\[?\s*{re.escape(table)}\s*\]\]?", nth)
            if header is None:
                field = _nth(lines, at, end, rf"\s*{re.escape(key)}\s*=", 0)
                return (field if field is not None else max(at, 0)) + 1
            at = header
            after = _nth(lines, at + 1, end, rf"\s*\[\[?\s*{re.escape(table)}\s*\]\]?", 0)
            end = after if after is not None else end
        return at + 1

    def where(self, path: Sequence[str | int]) -> str:
        """Return ``file:line`` of an entry."""
        return f"{self.name}:{self.line(path)}"


def _nth(lines: Sequence[str], start: int, end: int, pattern: str, nth: int) -> int | None:
    found = [i for i in range(start, min(end, len(lines))) if re.match(pattern, lines[i])]
    return found[nth] if nth < len(found) else None


def read_text(name: str, text: str) -> Text:
    """Parse one file; a slip of TOML becomes an error with file and line."""
    try:
        return Text(name, text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        where = re.search(r"line (\d+)", str(error))
        line = where.group(1) if where else "1"
        raise BadInput(f"not TOML: {error}.", f"{name}:{line}", "Correct the line.") from error
    except (RecursionError, ValueError) as error:
        why = "too many brackets in each other" if isinstance(error, RecursionError) else "a number too long"
        raise BadInput(f"not a ladder: {why}.", f"{name}:1", "Take it out.") from error


def shipped() -> tuple[str, ...]:
    """Return the names of the ladders that come with the program."""
    root = resources.files(PACKAGE) / "data"
    return tuple(sorted(p.name for p in root.iterdir() if p.is_dir() and (p / "skill.toml").is_file()))


def gather(name: str, path: str | Path | None = None) -> tuple[Text, ...]:
    """Collect a ladder's files: what it takes from others first, its own last.

    Parameters
    ----------
    name : str
        A ladder that comes with the program; read when ``path`` is None.
    path : path-like, optional
        A TOML file or a folder of them. Its ``takes`` may name folders and files that
        come with the program ("shared", "bar_muscle_up/exercises.toml") or paths beside it.

    Raises
    ------
    NotFound
        No such ladder or file.
    BadInput
        A file that is not TOML.
    """
    if path is not None:
        top = Path(path).expanduser()
        if not top.exists():
            raise NotFound(f"there is no ladder at {top.name}", str(path), "Give a TOML file or a folder.")
        return _with_taken(_own_files(top), top if top.is_dir() else top.parent, ())
    if name not in shipped():
        known = ", ".join(shipped())
        raise NotFound(f"there is no ladder called {name!r}.", do=f"The program knows: {known}.")
    return _with_taken(_shipped_files(name), None, (name,))


def _own_files(top: Path, root: Path | None = None) -> tuple[Text, ...]:
    files = sorted(top.rglob("*.toml")) if top.is_dir() else [top]
    root = root or (top if top.is_dir() else top.parent)
    return tuple(read_text(Path(relpath(f, root)).as_posix(), _text_of(f)) for f in files)


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise BadInput("is no text (UTF-8).", str(file), "Give TOML files.") from error
    except OSError as error:
        raise BadInput(f"cannot be read: {error.strerror}.", str(file), "Check the file.") from error


def _shipped_files(name: str) -> tuple[Text, ...]:
    root = resources.files(PACKAGE) / "data"
    with resources.as_file(root) as folder:
        top = Path(folder) / name
        files = sorted(top.rglob("*.toml")) if top.is_dir() else [top]
        if not files or not files[0].is_file():
            raise NotFound(f"{name!r} is not part of the program's ladders")
        return tuple(
            read_text(f.relative_to(folder).as_posix(), f.read_text(encoding="utf-8")) for f in files
        )


def _with_taken(own: tuple[Text, ...], beside: Path | None, seen: tuple[str, ...]) -> tuple[Text, ...]:
    taken: dict[str, Text] = {}
    for text in own:
        for other in text.data.get("takes", ()):
            if other in seen:
                continue
            local = beside / other if beside is not None else None
            ours = local is not None and local.exists()
            found = _own_files(local, beside) if local is not None and ours else _shipped_files(other)
            for one in _with_taken(found, beside, (*seen, other)):
                taken.setdefault(one.name, one)
    # What a folder takes from within itself stands in it only once, and before the rest.
    rest = tuple(text for text in own if taken.get(text.name) != text)
    for text in rest:
        taken.pop(text.name, None)
    return (*taken.values(), *rest)


def fingerprint(files: Iterable[tuple[str, str]]) -> str:
    """Return the SHA-256 of a ladder's texts, in their order and with their names."""
    joined = "\x00".join(f"{name}\x01{text}" for name, text in files)
    return hashlib.sha256(joined.encode()).hexdigest()
