"""Reading logged sets from a CSV file: good rows are kept, a wrong one is named by row and column.

Columns: ``date`` (ISO 8601), ``exercise``, ``body_mass_kg``, ``added_kg`` (negative =
measured band help), ``reps``, ``reps_left`` (may be empty), ``first_rep_speed_mps`` (may
be empty), ``counted_by`` (``log`` or ``film``). ``body_mass_lb`` and ``added_lb`` may stand
in place of the kilograms; ``failed``, ``seconds``, ``session``, ``order`` and ``note`` are read when
there. Without ``order`` the place of a row within its day says nothing.
"""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any, Literal

from overbar.errors import BadInput, NotFound
from overbar.strength.sets import LoggedSet
from overbar.units import kg_from_lb

NEEDED = ("date", "exercise", "body_mass_kg", "added_kg", "reps")
IN_POUNDS = {"body_mass_kg": "body_mass_lb", "added_kg": "added_lb"}
RANGES: dict[str, tuple[float, float, str]] = {
    "body_mass_kg": (25.0, 300.0, "kg"),
    "added_kg": (-150.0, 200.0, "kg"),
    "reps": (0, 100, "repetitions"),
    "reps_left": (0, 50, "repetitions left"),
    "first_rep_speed_mps": (0.03, 3.0, "m/s"),
    "seconds": (0, 600, "s"),
    "order": (0, 999, ""),
}
"""What can be meant; outside it a value is read as a slip of the pen (own judgement)."""
YES = {"yes", "y", "true", "1", "x"}
NO = {"no", "n", "false", "0", ""}


@dataclass(frozen=True)
class WrongRow:
    """A row that was not read.

    Attributes
    ----------
    row : int
        Line of the file, the header being 1.
    column : str
    say : str
        What was wrong, with the value.
    """

    row: int
    column: str
    say: str


@dataclass(frozen=True)
class SetsRead:
    """Good rows and wrong ones."""

    sets: tuple[LoggedSet, ...]
    wrong: tuple[WrongRow, ...]


class _Wrong(Exception):
    def __init__(self, column: str, say: str) -> None:
        self.column, self.say = column, say


def read_sets_csv(path: str | os.PathLike[str]) -> SetsRead:
    """Read logged sets from a CSV file.

    Raises
    ------
    NotFound
        There is no such file.
    BadInput
        The file is not text, or lacks a needed column.
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise NotFound("there is no such file", str(path), "Check the path.") from error
    except (UnicodeDecodeError, IsADirectoryError) as error:
        raise BadInput("this is not a text file", str(path), "Save the table as CSV (UTF-8).") from error
    return parse_sets(text, str(path))


def parse_sets(text: str, where: str = "sets") -> SetsRead:
    """Read logged sets from the text of a CSV file; ``where`` names it in errors."""
    first = text.lstrip("\r\n").split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    rows = csv.reader(StringIO(text, newline=""), delimiter=separator)
    header: list[str] | None = None
    sets: list[LoggedSet] = []
    wrong: list[WrongRow] = []
    for number, cells in _numbered(rows, where):
        if header is None:
            header = [cell.strip().lower() for cell in cells]
            _check_header(header, where)
            continue
        if len(cells) > len(header):
            wrong.append(WrongRow(number, "", f"{len(cells)} cells under {len(header)} columns"))
            continue
        named = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        try:
            sets.append(_set_of(named, decimal_comma=separator != ","))
        except _Wrong as error:
            wrong.append(WrongRow(number, error.column, error.say))
    if header is None:
        raise BadInput("the file is empty", where, f"It needs the columns {', '.join(NEEDED)}.")
    return SetsRead(tuple(sets), tuple(wrong))


def _numbered(rows: Any, where: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line, cells) of every row that is not empty."""
    while True:
        try:
            cells = next(rows)
        except StopIteration:
            return
        except csv.Error as error:
            raise BadInput(
                f"row {rows.line_num} is not CSV ({error})", where, "Save the table anew."
            ) from error
        if any(cell.strip() for cell in cells):
            yield rows.line_num, cells


def _check_header(header: list[str], where: str) -> None:
    missing = [name for name in NEEDED if name not in header and IN_POUNDS.get(name) not in header]
    if missing:
        raise BadInput(
            f"no column {', '.join(missing)} (there are: {', '.join(header)})",
            f"{where}, row 1",
            f"Name the columns {', '.join(NEEDED)}.",
        )


def _set_of(row: Mapping[str, str], decimal_comma: bool) -> LoggedSet:
    def number(column: str) -> float | None:
        text, name, factor = row.get(column, ""), column, 1.0
        if not text and column in IN_POUNDS:
            name, factor = IN_POUNDS[column], kg_from_lb(1.0)
            text = row.get(name, "")
        if not text:
            return None
        try:
            value = float(text.replace(",", ".") if decimal_comma else text) * factor
        except ValueError:
            raise _Wrong(name, f"{text!r} is not a number") from None
        low, high, unit = RANGES[column]
        if not math.isfinite(value) or not low <= value <= high:
            raise _Wrong(name, f"{text} is outside {low:g} to {high:g} {unit}".strip())
        return value

    def needed(column: str) -> float:
        value = number(column)
        if value is None:
            raise _Wrong(column, "is empty")
        return value

    body, added, reps = needed("body_mass_kg"), needed("added_kg"), needed("reps")
    if reps != int(reps):
        raise _Wrong("reps", f"{row['reps']} is not a whole number")
    if body + added < 0.2 * body:
        raise _Wrong("added_kg", f"band help of {-added:g} kg leaves {body + added:g} kg of {body:g} kg")
    exercise = row["exercise"]
    if not exercise:
        raise _Wrong("exercise", "is empty")
    return LoggedSet(
        on=_day(row["date"]),
        exercise=exercise,
        body_mass_kg=body,
        added_kg=added,
        reps=int(reps),
        reps_left=number("reps_left"),
        first_rep_speed_mps=number("first_rep_speed_mps"),
        counted_by=_counted_by(row.get("counted_by", "")),
        failed=_yes(row.get("failed", "")),
        session=row.get("session", ""),
        order=int(number("order") or 0),
        seconds=number("seconds"),
        note=row.get("note", ""),
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise _Wrong("date", f"{text!r} is not a date such as 2026-03-30") from None


def _counted_by(text: str) -> Literal["log", "film"]:
    if text in ("", "log"):
        return "log"
    if text == "film":
        return "film"
    raise _Wrong("counted_by", f"{text!r} is neither log nor film")


def _yes(text: str) -> bool:
    if text.lower() in YES:
        return True
    if text.lower() in NO:
        return False
    raise _Wrong("failed", f"{text!r} is neither yes nor no")
