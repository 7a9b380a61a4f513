"""One athlete's data out, in open formats that any program reads."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterable
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from overbar.planning.history import History
from overbar.records.own_athletes import told
from overbar.records.store import Records
from overbar.records.trials import trials_of
from overbar.records.written import to_plain
from overbar.strength.sets import LoggedSet

SETS_COLUMNS = (
    "date",
    "exercise",
    "body_mass_kg",
    "added_kg",
    "reps",
    "reps_left",
    "first_rep_speed_mps",
    "counted_by",
    "seconds",
    "failed",
    "session",
    "note",
)
"""The columns ``overbar strength`` and ``overbar take-in`` read, then the rest."""
READ_ME = """This is everything {coach} keeps about {name}, written {day}.

athlete.json          your answers, measures and kit
sets.csv              every set (masses in kg, speeds in m/s)
sessions.csv          sessions planned and done
pain.csv              pain, 0 to 10
body.csv              body mass (kg) and sleep (h)
tests.csv             test values with their one-sigma uncertainty; heights in hang lengths L
tries.csv             tries of the skill
weeks.json            every weekly decision, what the coach made of it, and why
coach_words.json      what the coach decided by hand, and why
ladder_moves.json     which version of the ladder you were planned under, from when on, and why
ladders/              those ladders, whole (TOML texts)
ladder_trials.json    what a version of the ladder would have decided for you, where one was tried
journal.json          when each fact arrived or was corrected, and how it stood before
heights.json          how far your heights read off in films, as told by holds
first_weeks.json      what your first weeks say beside the published norm, for those who begin after you
body_solves.json      what the body model was asked for you and answered
films/, films.json    your films (picture only), what you agreed to, how long they are kept
readings/             what was measured in each film, with uncertainty

Numbers measured in films come with their uncertainty (sd, one sigma).
None of this is a medical opinion.
"""


def hand_over(records: Records, athlete_id: str, out: Path) -> list[str]:
    """Write all an athlete's data into one ZIP file; return the names of its parts.

    Parameters
    ----------
    records : Records
    athlete_id : str
    out : pathlib.Path
        The file to write; it appears whole or not at all.
    """
    history = records.history(athlete_id)
    part = out.with_name(out.name + ".part")
    try:
        part.touch(mode=0o600)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as packed:
            for name, text in _texts(records, history).items():
                packed.writestr(name, text)
            for film in records.films(athlete_id):
                if film.deleted_on is None:
                    path = records.film_file(film.sha256)
                    packed.write(path, f"films/{film.sha256[:12]}{path.suffix}", zipfile.ZIP_STORED)
                reading = records.reading(film.sha256)
                if reading is not None:
                    packed.writestr(f"readings/{film.sha256[:12]}.json", json.dumps(reading.to_json()))
            names = packed.namelist()
        part.replace(out)
    finally:
        part.unlink(missing_ok=True)
    return names


def _texts(records: Records, history: History) -> dict[str, str]:
    athlete = history.athlete
    house = records.house()
    words = READ_ME.format(
        coach=house.coach or "your coach", name=athlete.name, day=records.today(athlete.id).isoformat()
    )
    return {
        "READ ME.txt": words,
        "athlete.json": _json(to_plain(athlete)),
        "sets.csv": _csv(SETS_COLUMNS, (_set(one) for one in history.sets)),
        "sessions.csv": _table(history.sessions),
        "pain.csv": _table(history.pain),
        "body.csv": _table(history.body),
        "tests.csv": _table(history.measurements),
        "tries.csv": _table(history.attempts),
        "weeks.json": _json([to_plain(one) for one in records.weeks(athlete.id)]),
        "ladder_moves.json": _json([to_plain(one) for one in records.ladder_moves(athlete.id)]),
        **_ladders(records, athlete.id),
        "ladder_trials.json": _json([asdict(one) for one in trials_of(records, athlete.id)]),
        "journal.json": _json([to_plain(one) for one in records.journal(athlete.id)]),
        "heights.json": _json(to_plain(records.calibration(athlete.id))),
        "coach_words.json": _json([to_plain(one) for one in history.coach]),
        "first_weeks.json": _json([to_plain(one) for one in told(records) if one.athlete == athlete.id]),
        "body_solves.json": _json([to_plain(one) for one in records.solves(athlete.id)]),
        "films.json": _json([to_plain(one) for one in records.films(athlete.id)]),
    }


def _ladders(records: Records, athlete_id: str) -> dict[str, str]:
    """The texts of every ladder the athlete was planned under."""
    moves = records.ladder_moves(athlete_id)
    return {
        f"ladders/{ladder.version}/{name}": text
        for ladder in (records.ladder(key) for key in dict.fromkeys(one.to_version for one in moves))
        for name, text in ladder.files
    }


def _set(one: LoggedSet) -> dict[str, Any]:
    return asdict(one) | {"date": one.on}


def _table(values: tuple[Any, ...]) -> str:
    if not values:
        return ""
    columns = tuple(field.name for field in fields(values[0]))
    return _csv(columns, (asdict(one) for one in values))


def _csv(columns: tuple[str, ...], rows: Iterable[dict[str, Any]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(columns)
    for row in rows:
        writer.writerow(["" if row[name] is None else _cell(row[name]) for name in columns])
    return text.getvalue()


def _cell(value: Any) -> Any:
    """A cell; text that a spreadsheet would run as a formula is made harmless."""
    if isinstance(value, tuple):
        return " ".join(value)
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "@", "+", "-") else value


def _json(plain: Any) -> str:
    return json.dumps(plain, indent=1, ensure_ascii=False)
