"""Log tables, CSV or XLSX, to dated facts; a wrong row is named by its row and column.

Pure but for the bytes given. Columns are found by their heading in any order; a
row with one wrong cell is left out whole, the good rows are kept.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from overbar.errors import BadInput
from overbar.planning.history import BodyNote, PainReport, SessionLog
from overbar.records.days import day_order, in_words, read_day
from overbar.records.pieces import (
    BODY_MASS_KG,
    MOST_ADDED_KG,
    MOST_HELP_KG,
    MOST_REPS,
    MOST_SECONDS,
    MOST_SETS,
    PLACE_NOT_SAID,
    SPEED_MPS,
    Fact,
    Ground,
    NotUnderstood,
    Parsed,
    Understood,
)
from overbar.strength.sets import LoggedSet
from overbar.units import kg_from_lb, mass_in_words

COLUMNS: dict[str, tuple[str, ...]] = {
    "date": ("date", "when", "session date", "training date"),
    "athlete": ("athlete", "client", "name", "who"),
    "exercise": ("exercise", "movement", "lift", "drill"),
    "sets": ("sets", "set count", "number of sets"),
    "reps": ("reps", "repetitions", "rep"),
    "added": ("added", "load", "added load", "added weight", "extra", "plates", "added mass"),
    "body_mass": ("body mass", "bodyweight", "body weight", "bodymass", "bw", "bm"),
    "reps_left": ("reps left", "rir", "reps in reserve", "reserve", "left", "reps left last"),
    "rpe": ("rpe",),
    "speed": ("first rep speed", "first rep speed mps", "speed", "speed mps", "m s", "speed m s"),
    "counted_by": ("counted by",),
    "session": ("session", "day", "session label"),
    "seconds": ("seconds", "time s", "hold s", "hold", "s"),
    "failed": ("failed", "to failure"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    "pain": ("pain", "worst pain", "pain 0 10"),
    "site": ("site", "pain site", "where", "place", "pain place"),
    "side": ("side", "pain side"),
    "next_morning": ("next morning", "pain next morning", "morning"),
    "sleep": ("sleep", "sleep h", "hours of sleep"),
    "effort": ("effort", "session effort"),
    "minutes": ("minutes", "min", "duration min"),
}
"""What a column may be headed with, without units and case."""
AMBIGUOUS = {"weight": "body mass or added load", "mass": "body mass or added load"}
SEPARATORS = (",", ";", "\t", "|")
MOST_ROWS = 200_000
MOST_UNPACKED_BYTES = 300_000_000
HEADING_WITHIN = 20
YES = ("yes", "y", "true", "1", "x")
NO = ("no", "n", "false", "0", "")


@dataclass(frozen=True)
class Cell:
    """A cell's value as text, a number or a day, or why it has none."""

    value: str | float | date | None
    problem: str = ""

    @property
    def text(self) -> str:
        """The value as it would be written."""
        if self.value is None:
            return ""
        return f"{self.value:g}" if isinstance(self.value, float) else str(self.value).strip()


@dataclass(frozen=True)
class Sheet:
    """Rows of cells with the place they stand in."""

    name: str
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]
    letters: bool = False

    def place(self, row: int, column: int, heading: str) -> str:
        """Name a cell."""
        letter = f" ({_letter(column)}{row})" if self.letters else ""
        return f"{self.name}row {row}, column {heading!r}{letter}"


class _WrongCellError(Exception):
    def __init__(self, column: str, why: str) -> None:
        self.column, self.why = column, why


def parse_table(
    sheets: Iterable[Sheet], ground_for: Callable[[str], Ground | str], default_athlete: str = ""
) -> dict[str, Parsed]:
    """Read log tables.

    Parameters
    ----------
    sheets : iterable of Sheet
    ground_for : callable
        Gives what one athlete's rows are read against, or the reason why a name in
        the athlete column is nobody's.
    default_athlete : str
        Whose rows they are when the table has no athlete column.

    Returns
    -------
    dict of str to Parsed
        By the name in the athlete column, or ``default_athlete``.

    Raises
    ------
    BadInput
        No sheet has a heading that can be read, or nothing says whose log it is.
    """
    found: dict[str, Parsed] = {}
    any_heading = False
    for sheet in sheets:
        heading = _heading(sheet)
        if heading is None:
            continue
        any_heading = True
        for who, parsed in _parse_sheet(sheet, *heading, ground_for, default_athlete).items():
            before = found.get(who, Parsed())
            found[who] = Parsed(
                before.understood + parsed.understood, before.not_understood + parsed.not_understood
            )
    if not any_heading:
        raise BadInput(
            "no heading row with a date column and at least one more was found",
            do="Head the columns date, exercise, sets, reps, added_kg, reps_left or the like.",
        )
    return found


# --- files to sheets -----------------------------------------------------------------------


def decoded(raw: bytes, name: str) -> str:
    """Decode text in the encodings people's programs write.

    Raises
    ------
    BadInput
        It is no text.
    """
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings: tuple[str, ...] = ("utf-16",)
    elif raw[:3] == b"\xef\xbb\xbf":
        encodings = ("utf-8-sig",)
    elif b"\x00" in raw:
        encodings = ()
    else:
        encodings = ("utf-8", "cp1252", "latin-1")
    for encoding in encodings:
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise BadInput("is no text that can be read", name, "Save it as CSV (UTF-8), XLSX or plain text.")


def csv_sheet(text: str, name: str) -> Sheet:
    """Cut CSV text into cells; the separator is the one the heading uses most."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(SEPARATORS, key=first.count)
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, tuple(Cell(cell) for cell in row)))
            if len(rows) > MOST_ROWS:
                raise BadInput(f"more than {MOST_ROWS} rows", name, "Split it.")
    except csv.Error as error:
        raise BadInput(f"the table breaks off: {error}", f"{name}, line {reader.line_num}") from error
    return Sheet("", tuple(rows))


def xlsx_sheets(raw: bytes, name: str) -> tuple[Sheet, ...]:
    """Cut an XLSX workbook into cells; merged cells all carry the value shown in them.

    Raises
    ------
    BadInput
        It is no readable workbook.
    """
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED_BYTES:
                raise BadInput("unpacks to more than a log has", name, "Give the log alone.")
        values = openpyxl.load_workbook(io.BytesIO(raw), data_only=True)
        formulas = openpyxl.load_workbook(io.BytesIO(raw), data_only=False)
    except BadInput:
        raise
    except Exception as error:  # a damaged workbook fails in many ways inside the reader
        raise BadInput("is no workbook that can be read", name, "Save it anew as XLSX or CSV.") from error
    sheets = []
    for shown in values.worksheets:
        written = formulas[shown.title]
        merged = {
            (row, column): (area.min_row, area.min_col)
            for area in shown.merged_cells.ranges
            for row in range(area.min_row, area.max_row + 1)
            for column in range(area.min_col, area.max_col + 1)
        }
        rows = []
        for row in range(1, min(shown.max_row, MOST_ROWS) + 1):
            cells = tuple(
                _xlsx_cell(shown, written, *merged.get((row, column), (row, column)))
                for column in range(1, shown.max_column + 1)
            )
            if any(cell.value not in (None, "") or cell.problem for cell in cells):
                rows.append((row, cells))
        title = f"sheet {shown.title!r}, " if len(values.worksheets) > 1 else ""
        sheets.append(Sheet(title, tuple(rows), letters=True))
    return tuple(sheets)


def _xlsx_cell(shown: Any, written: Any, row: int, column: int) -> Cell:
    value = shown.cell(row, column).value
    formula = written.cell(row, column)
    if formula.data_type == "f" and value is None:
        return Cell(None, "holds a formula without a value; open and save it in your spreadsheet first")
    if shown.cell(row, column).data_type == "e":
        return Cell(None, f"holds the error {value}")
    if isinstance(value, datetime):
        return Cell(value.date())
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, int | float):
        return Cell(float(value))
    return Cell(None if value is None else str(value))


# --- headings --------------------------------------------------------------------------------


def _heading(sheet: Sheet) -> tuple[int, dict[str, int]] | None:
    """Find the heading row: the first with a date column and one more that is known."""
    for index, (_, cells) in enumerate(sheet.rows[:HEADING_WITHIN]):
        columns: dict[str, int] = {}
        for place, cell in enumerate(cells):
            kind = _kind(cell.text)
            if kind and kind not in columns:
                columns[kind] = place
        if "date" not in columns and "session" in columns and _bare(cells[columns["session"]].text) == "day":
            columns["date"] = columns.pop("session")
        if "date" in columns and len(columns) > 1:
            return index, columns
    return None


def _bare(heading: str) -> str:
    plain = re.sub(r"\(.*?\)|\[.*?\]", " ", heading.casefold())
    plain = re.sub(r"[^a-z0-9]+", " ", plain)
    return re.sub(r"\b(kg|kgs|lb|lbs|pounds)\b", " ", plain).strip()


def _kind(heading: str) -> str | None:
    bare = " ".join(_bare(heading).split())
    return next((kind for kind, names in COLUMNS.items() if bare in names), None)


def _unit(heading: str) -> str | None:
    found = re.search(r"(?<![a-z])(kg|lb|pound)", heading.casefold())
    return None if found is None else ("kg" if found[1] == "kg" else "lb")


# --- rows ------------------------------------------------------------------------------------


def _parse_sheet(
    sheet: Sheet,
    index: int,
    columns: dict[str, int],
    ground_for: Callable[[str], Ground | str],
    default_athlete: str,
) -> dict[str, Parsed]:
    number, heads = sheet.rows[index]
    if "athlete" not in columns and not default_athlete:
        raise BadInput("the table has no athlete column", do="Name the athlete, or add the column.")
    rows = sheet.rows[index + 1 :]
    order = day_order(cells[columns["date"]].text for _, cells in rows if columns["date"] < len(cells))
    understood: dict[str, list[Understood]] = {}
    wrong: dict[str, list[NotUnderstood]] = {}
    grounds: dict[str, Ground | str] = {}
    order_of: dict[tuple[str, date], int] = {}
    for place, cell in enumerate(heads):
        if cell.text and place not in columns.values():
            if _bare(cell.text) in AMBIGUOUS:
                continue
            why = "is not a column of a log"
            where = sheet.place(number, place + 1, cell.text)
            wrong.setdefault(default_athlete, []).append(NotUnderstood(number, cell.text, why, where))
    for number, cells in rows:
        row = _Row(sheet, number, cells, heads, columns)
        who = row.text("athlete") or default_athlete
        if who not in grounds:
            grounds[who] = ground_for(who) if who else "the row names no athlete"
        ground = grounds[who]
        try:
            if isinstance(ground, str):
                raise _WrongCellError("athlete", ground)
            row.refuse_ambiguous()
            facts, say = row.facts(ground, order, order_of, who)
        except _WrongCellError as error:
            where = row.where(error.column)
            wrong.setdefault(who, []).append(NotUnderstood(number, row.text(error.column), error.why, where))
            continue
        if facts:
            understood.setdefault(who, []).append(Understood(number, row.piece(), say, tuple(facts)))
    names = {*understood, *wrong}
    return {who: Parsed(tuple(understood.get(who, ())), tuple(wrong.get(who, ()))) for who in sorted(names)}


@dataclass
class _Row:
    sheet: Sheet
    number: int
    cells: Sequence[Cell]
    heads: Sequence[Cell]
    columns: dict[str, int]

    def cell(self, kind: str) -> Cell:
        place = self.columns.get(kind)
        cell = self.cells[place] if place is not None and place < len(self.cells) else Cell(None)
        if cell.problem:
            raise _WrongCellError(kind, cell.problem)
        return cell

    def text(self, kind: str) -> str:
        place = self.columns.get(kind)
        return self.cells[place].text if place is not None and place < len(self.cells) else ""

    def head(self, kind: str) -> str:
        place = self.columns.get(kind)
        return self.heads[place].text if place is not None else kind

    def where(self, kind: str) -> str:
        place = self.columns.get(kind)
        if place is None:
            return f"{self.sheet.name}row {self.number}"
        return self.sheet.place(self.number, place + 1, self.heads[place].text)

    def refuse_ambiguous(self) -> None:
        """Leave out a row that gives a number in a column that can mean two things."""
        for place, head in enumerate(self.heads):
            meaning = AMBIGUOUS.get(_bare(head.text))
            if meaning and place < len(self.cells) and self.cells[place].text:
                self.columns = self.columns | {"ambiguous": place}
                why = f"can be {meaning}; head the column body_mass_kg or added_kg"
                raise _WrongCellError("ambiguous", why)

    def piece(self) -> str:
        return " | ".join(cell.text for cell in self.cells if cell.text)

    def number_in(self, kind: str, low: float, high: float) -> float | None:
        """A number within sensible limits, with decimal point or comma; None when the cell is empty."""
        cell = self.cell(kind)
        if isinstance(cell.value, date):
            raise _WrongCellError(kind, "holds a date where a number belongs")
        text = cell.text
        if not text:
            return None
        found = re.fullmatch(r"([+-]?\d{1,6}(?:[.,]\d{1,6})?)", text.replace("−", "-"))
        if found is None:
            raise _WrongCellError(kind, f"{text!r} is no number")
        value = float(found[1].replace(",", "."))
        if not low <= value <= high:
            raise _WrongCellError(kind, f"{text} is outside {low:g} to {high:g}")
        return value

    def mass_in(self, kind: str, low: float, high: float, ground: Ground) -> float | None:
        """A mass in kg, from the cell's own unit, the heading's, or the athlete's."""
        cell = self.cell(kind)
        text = cell.text.replace("−", "-")
        if not text or isinstance(cell.value, date):
            return self.number_in(kind, low, high)
        if text.casefold() in ("bw", "bodyweight", "body mass") and kind == "added":
            return 0.0
        found = re.fullmatch(
            r"(?:bw)?\s*([+-]?\s*\d{1,5}(?:[.,]\d{1,4})?)\s*(kgs?|lbs?|pounds?)?", text, re.I
        )
        if found is None:
            raise _WrongCellError(kind, f"{text!r} is no mass")
        unit = (found[2] or _unit(self.head(kind)) or ground.unit).lower()
        value = float(found[1].replace(" ", "").replace(",", "."))
        kg = kg_from_lb(value) if unit.startswith(("lb", "pound")) else value
        if not low <= kg <= high:
            raise _WrongCellError(kind, f"{text} is outside {low:g} to {high:g} kg")
        return round(kg, 4)

    def day(self, ground: Ground, order: bool | None) -> date:
        cell = self.cell("date")
        if isinstance(cell.value, date):
            if cell.value > ground.today:
                raise _WrongCellError("date", f"{cell.value} lies ahead of {in_words(ground.today)}")
            return cell.value
        text = cell.text
        if not text:
            raise _WrongCellError("date", "there is no date")
        day = read_day(text, ground.today, order)
        if day is None or (day.on is not None and text[day.length :].strip()):
            raise _WrongCellError("date", f"{text!r} is no date; write 2026-01-05")
        if day.on is None:
            raise _WrongCellError("date", f"{text!r} {day.why}")
        if day.on > ground.today:
            raise _WrongCellError("date", f"{text!r} lies ahead of {in_words(ground.today)}")
        return day.on

    def facts(
        self, ground: Ground, order: bool | None, order_of: dict[tuple[str, date], int], who: str
    ) -> tuple[list[Fact], str]:
        for kind in self.columns:
            self.cell(kind)
        on = self.day(ground, order)
        mass = self.mass_in("body_mass", *BODY_MASS_KG, ground)
        facts: list[Fact] = []
        say: list[str] = []
        session = self.text("session")[:20]
        if self.text("exercise") or self.text("reps") or self.text("seconds"):
            sets = self.sets(ground, on, mass, session, order_of.get((who, on), 0))
            order_of[who, on] = order_of.get((who, on), 0) + len(sets)
            facts += sets
            name = ground.ladder.exercises[sets[0].exercise].name.lower()
            load = (
                mass_in_words(sets[0].added_kg, ground.unit, signed=True) if sets[0].added_kg else "body mass"
            )
            say.append(f"{name} {', '.join(str(one.reps) for one in sets)}, {load}")
        pain = self.number_in("pain", 0, 10)
        morning = self.number_in("next_morning", 0, 10)
        if pain is not None:
            site = self.text("site") or PLACE_NOT_SAID
            side = self.text("side").casefold()
            side = {"r": "right", "l": "left"}.get(side, side)
            if side not in ("", "left", "right"):
                raise _WrongCellError("side", f"{side!r} is neither left nor right")
            facts.append(PainReport(on, site, pain, morning, side=side))
            say.append(f"{site} pain {pain:g} of 10")
        elif morning is not None:
            raise _WrongCellError("next_morning", "a morning's pain without the session's")
        sleep = self.number_in("sleep", 0, 16)
        if mass is not None or sleep is not None:
            facts.append(BodyNote(on, mass, sleep))
            if mass is not None:
                say.append(f"body mass {mass_in_words(mass, ground.unit)}")
            if sleep is not None:
                say.append(f"{sleep:g} h of sleep")
        effort = self.number_in("effort", 0, 10)
        minutes = self.number_in("minutes", 1, 600)
        if (
            session
            or effort is not None
            or minutes is not None
            or any(isinstance(f, LoggedSet) for f in facts)
        ):
            facts.append(SessionLog(on, session, True, effort, minutes))
        return facts, "; ".join(say) + f", {in_words(on)}" if facts else ""

    def sets(self, ground: Ground, on: date, mass: float | None, session: str, first: int) -> list[LoggedSet]:
        named = self.text("exercise")
        exercise = ground.ladder.exercise_named(named) if named else None
        if exercise is None:
            why = f"{named!r} is no exercise of this ladder" if named else "no exercise is named"
            raise _WrongCellError("exercise", why)
        mass = mass if mass is not None else ground.body_mass_on(on)
        if mass is None:
            raise _WrongCellError("body_mass", "no body mass is known")
        given = self.mass_in("added", -MOST_HELP_KG, MOST_ADDED_KG, ground)
        loaded = ground.ladder.exercise_named("weighted pull-up")
        if given is None and loaded is not None and exercise.id == loaded.id:
            raise _WrongCellError("added", "no load is given for a loaded exercise; 0 is body mass only")
        added = given or 0.0
        seconds = self.number_in("seconds", 0, MOST_SECONDS)
        reps = self.reps(seconds is not None)
        left = self.number_in("reps_left", 0, 15)
        effort = self.number_in("rpe", 1, 10)
        if left is None and effort is not None:
            left = 10 - effort
        counted = self.text("counted_by").casefold() or "log"
        if counted not in ("log", "film"):
            raise _WrongCellError("counted_by", f"{counted!r} is neither log nor film")
        failed = self.text("failed").casefold()
        if failed not in YES + NO:
            raise _WrongCellError("failed", f"{failed!r} is neither yes nor no")
        speed = self.number_in("speed", *SPEED_MPS)
        exercise_id = _loaded(ground, exercise.id, added)
        return [
            LoggedSet(
                on=on,
                exercise=exercise_id,
                body_mass_kg=mass,
                added_kg=added,
                reps=count,
                reps_left=left if nth == len(reps) - 1 else None,
                first_rep_speed_mps=speed if nth == 0 else None,
                counted_by=counted,  # type: ignore[arg-type]
                failed=failed in YES and nth == len(reps) - 1,
                session=session,
                order=first + nth,
                seconds=seconds,
                note=self.text("note"),
            )
            for nth, count in enumerate(reps)
        ]

    def reps(self, hold: bool) -> list[int]:
        """The reps of each set, from ``5``, ``5 5 5 4 4``, ``5x5`` and the sets column."""
        cell = self.cell("reps")
        if isinstance(cell.value, date):
            raise _WrongCellError("reps", "holds a date; a spreadsheet has turned the reps into one")
        text = cell.text
        sets = self.number_in("sets", 1, MOST_SETS)
        if sets is not None and sets != int(sets):
            raise _WrongCellError("sets", f"{self.text('sets')} is no whole number of sets")
        if not text:
            if hold:
                return [1] * int(sets or 1)
            raise _WrongCellError("reps", "no reps are given")
        scheme = re.fullmatch(r"(\d{1,2})\s*[x×*]\s*(\d{1,3})", text)
        if scheme and sets is None:
            reps = [int(scheme[2])] * int(scheme[1])
        elif re.fullmatch(r"\d{1,3}(?:(?:\s*[,;/+]\s*|\s+|-)\d{1,3})*", text):
            reps = [int(one) for one in re.findall(r"\d+", text)]
            if sets is not None and len(reps) == 1:
                reps *= int(sets)
            elif sets is not None and len(reps) != int(sets):
                raise _WrongCellError("reps", f"{text!r} does not fit {int(sets)} sets")
        else:
            raise _WrongCellError("reps", f"{text!r} is no whole number of reps")
        if not reps or max(reps) > MOST_REPS or len(reps) > MOST_SETS:
            raise _WrongCellError("reps", f"{text!r} cannot be meant")
        return reps


def _loaded(ground: Ground, exercise: str, added_kg: float) -> str:
    """A pull-up with plates is a weighted one, with a band a band-assisted one."""
    pull = ground.ladder.exercise_named("strict pull-up")
    if pull is None or exercise != pull.id or not added_kg:
        return exercise
    other = ground.ladder.exercise_named("weighted pull-up" if added_kg > 0 else "band-assisted pull-up")
    return other.id if other else exercise


def _letter(column: int) -> str:
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
