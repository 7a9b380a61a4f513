"""Build the demo's records from the data beside this file."""

from __future__ import annotations

import csv
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from overbar.athlete.kit import Load, largest_load
from overbar.athlete.person import Athlete
from overbar.errors import BadInput
from overbar.film.reading import Reading
from overbar.ladder import Ladder, load_ladder
from overbar.planning.history import (
    AttemptLog,
    BodyNote,
    Measurement,
    PainReport,
    SessionLog,
)
from overbar.planning.verdict import (
    Decision,
    Evidence,
    FiredRule,
    PlannedSession,
    PlannedSlot,
    Verdict,
    Week,
)
from overbar.progress import Progress, silent
from overbar.records import FilmConsent, House, Records, open_records
from overbar.records.take_in import take_in
from overbar.records.written import from_plain
from overbar.settings import Settings, read_settings
from overbar.strength.sets import LoggedSet
from overbar.units import kg_from_lb

DATA = Path(__file__).parent / "data"
FILMS = Path(__file__).parent / "films"
TIME_ZONE = "Europe/Stockholm"
"""A real time zone for the invented town."""
METHOD = "top_set_back_off"
"""The method these logs were made under."""
HEIGHT_SD_L = 0.02
"""Uncertainty of the demo's heights, L (the noise they were made with, handbook trade.md 8.1)."""
HEIGHT_TESTS = ("strict_high_L", "swing_high_L")
DAYS = {name: i for i, name in enumerate(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"))}
SESSIONS = ("A", "B", "C")
TITLES = {"A": "Heavy", "B": "Speed and skill", "C": "Mixed"}
MORNINGS = (0, 2, 5)
"""Weekdays body mass is taken on, 0 = Monday."""
Row = dict[str, str]


def build_demo(folder: Path, progress: Progress = silent) -> Settings:
    """Build the demo's records in a folder that holds no records yet.

    Parameters
    ----------
    folder : pathlib.Path
        Made when it is not there.
    progress : callable
        Called with the share done and what is being done.

    Returns
    -------
    Settings
        To open the records with.

    Raises
    ------
    BadInput
        The folder holds records already.
    """
    settings = replace(read_settings(folder), database=None)
    if settings.records.exists() and any(settings.records.iterdir()):
        raise BadInput("the folder is not empty", str(settings.records), "Give the demo a folder of its own.")
    people = tomllib.loads((DATA / "people.toml").read_text(encoding="utf-8"))
    first, today = people["days"]["first_monday"], people["days"]["today"]
    clock = Clock(_at(first, time(8, 0)))
    records = open_records(settings, clock=clock)
    try:
        records.set_house(House(**people["house"], fixed_today=today))
        calendars = {}
        for person in people["athlete"]:
            days = tuple(DAYS[name] for name in person.pop("session_days"))
            hour = time.fromisoformat(person.pop("hour"))
            athlete = _athlete(person, first)
            calendars[athlete.id] = Calendar(first, days, hour)
            records.save_athlete(athlete)
        for done, (athlete_id, calendar) in enumerate(calendars.items()):
            progress(0.1 + 0.2 * done, f"writing the log of {athlete_id}")
            _add_logs(records, athlete_id, calendar, clock)
            _add_decisions(records, records.athlete(athlete_id), calendar, clock)
        for word in people["word"]:
            _add_word(records, word, calendars[word["athlete"]], clock)
        for done, film in enumerate(people["film"]):
            progress(0.7 + 0.3 * done / len(people["film"]), f"keeping the film {film['file']}")
            _add_film(records, film, calendars[film["athlete"]], clock)
        clock.at = _at(today, time(7, 30))
        for message in people["message"]:
            take_in(records, message["athlete"], message["text"], name="message of this morning")
    finally:
        records.close()
    progress(1.0, "ready")
    return settings


class Clock:
    """The demo's own time, set to when a thing happened, so that every build is the same."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        """Return the moment it stands at."""
        return self.at


class Calendar:
    """Turns the demo's week numbers and session letters into days."""

    def __init__(self, first_monday: date, session_days: tuple[int, ...], hour: time) -> None:
        self.first_monday, self.session_days, self.hour = first_monday, session_days, hour

    def monday(self, week: int) -> date:
        """Return the Monday of a week counted from 1."""
        return self.first_monday + timedelta(weeks=week - 1)

    def day(self, week: int, session: str) -> date:
        """Return the day of a session."""
        return self.monday(week) + timedelta(days=self.session_days[SESSIONS.index(session)])


def _athlete(person: dict[str, Any], joined: date) -> Athlete:
    for plate in person["kit"].get("plates", []):
        if "mass_lb" in plate:
            plate["mass_kg"], plate["unit"] = kg_from_lb(plate.pop("mass_lb")), "lb"
    fixed = {"joined": joined, "time_zone": TIME_ZONE, "method": METHOD}
    return from_plain(Athlete, person | fixed, "people.toml")


def _rows(file: str, athlete_id: str) -> Iterator[Row]:
    with (DATA / file).open(encoding="utf-8", newline="") as lines:
        yield from (row for row in csv.DictReader(lines) if row["athlete"] == athlete_id)


def _number(text: str) -> float | None:
    return float(text) if text else None


def _add_logs(records: Records, athlete_id: str, calendar: Calendar, clock: Clock) -> None:
    """Keep the log week by week, each week's before the decision on its Sunday."""
    sets = _sets(athlete_id, calendar)
    pulled = {(one.on, one.session) for one in sets}
    for row in _rows("weeks.csv", athlete_id):
        week = int(row["week"])
        monday, sunday = calendar.monday(week), calendar.monday(week) + timedelta(days=6)
        clock.at = _at(sunday, time(18, 0))
        records.add_sets(athlete_id, [one for one in sets if monday <= one.on <= sunday], "demo log")
        _add_sessions(records, athlete_id, row, calendar, pulled)
        mornings = row["body_mass_kg_mornings"].split()
        for offset, mass in zip(MORNINGS, mornings, strict=True):
            on = calendar.monday(week) + timedelta(days=offset)
            records.add_body(athlete_id, BodyNote(on, float(mass), _number(row["sleep_h"])))
        for measurement in _measurements(row, calendar):
            records.add_measurement(athlete_id, measurement)
    for row in _rows("tries.csv", athlete_id):
        tried = _try(row, calendar)
        clock.at = _at(tried.on, time(21, 0))
        records.add_attempt(athlete_id, tried)


def _sets(athlete_id: str, calendar: Calendar) -> list[LoggedSet]:
    sets: list[LoggedSet] = []
    for row in _rows("sets.csv", athlete_id):
        reps = row["reps"].split()
        for nth, count in enumerate(reps):
            last = nth == len(reps) - 1
            sets.append(
                LoggedSet(
                    on=calendar.day(int(row["week"]), row["session"]),
                    exercise=row["exercise"],
                    body_mass_kg=float(row["body_mass_kg"]),
                    added_kg=float(row["added_kg"]),
                    reps=int(count),
                    reps_left=_number(row["reps_left_last"]) if last else None,
                    first_rep_speed_mps=_number(row["first_rep_speed_mps"]) if nth == 0 else None,
                    session=row["session"],
                    order=sum(one.on == calendar.day(int(row["week"]), row["session"]) for one in sets),
                    note=row["slot"],
                )
            )
    return sets


def _add_sessions(
    records: Records, athlete_id: str, row: Row, calendar: Calendar, pulled: set[tuple[date, str]]
) -> None:
    week, done = int(row["week"]), int(row["done"])
    order = sorted(SESSIONS, key=lambda label: (calendar.day(week, label), label) not in pulled)
    if done == 2 and (calendar.day(week, "C"), "C") not in pulled:
        order = ["A", "B", "C"]
    kept = set(order[:done])
    for label in SESSIONS:
        missed = "" if label in kept else row["event"]
        on = calendar.day(week, label)
        records.add_session(athlete_id, SessionLog(on, label, label in kept, reason=missed))
        if label in kept:
            worst, morning = float(row["pain"]), _number(row["pain_next_morning"])
            records.add_pain(athlete_id, PainReport(on, row["site"], worst, morning, side=row["side"]))


def _measurements(row: Row, calendar: Calendar) -> Iterator[Measurement]:
    week = int(row["week"])
    films = (calendar.day(week, "B"), calendar.day(week, "C"))
    for test in HEIGHT_TESTS:
        if row[test]:
            note = "lower of the week's two film days"
            yield from (Measurement(on, test, float(row[test]), HEIGHT_SD_L, "film", note) for on in films)
    tests = ("straight_bar_dips", "deep_dips", "support_s")
    if int(row["done"]):
        for test in tests:
            if row[test]:
                yield Measurement(calendar.day(week, "A"), test, float(row[test]), None, "log", "session A")
        if row["negative_s"]:
            yield Measurement(films[0], "negative_s", float(row["negative_s"]), 0.2, "film", "session B")


def _try(row: Row, calendar: Calendar) -> AttemptLog:
    return AttemptLog(
        on=calendar.day(int(row["week"]), row["session"]),
        n=int(row["n"]),
        outcome=row["outcome"],  # type: ignore[arg-type]
        peak_L=_number(row["peak_L"]),
        pull_after_front_s=_number(row["pull_after_front_s"]),
        stall_s=_number(row["stall_s"]),
        elbow_gap_s=_number(row["elbow_gap_s"]),
        fault=row["fault"] or None,
    )


def _add_decisions(records: Records, athlete: Athlete, calendar: Calendar, clock: Clock) -> None:
    """Keep what the demo's coach decided at the end of each week for the next one.

    The first week has no log behind it; the decision after the last one is left to
    the program, so that the coming week is really computed.
    """
    weeks = list(_rows("weeks.csv", athlete.id))
    sets = _sets(athlete.id, calendar)
    before: Row | None = None
    for row in weeks:
        week = _week(athlete, before, row, sets, calendar)
        clock.at = _at(week.verdict.week_starts - timedelta(days=1), time(19, 0))
        verdict_id = records.save_week(week, clock.at)
        records.settle(verdict_id, "accepted", before["coach"] if before else "first week: baseline")
        before = row


def _week(athlete: Athlete, before: Row | None, row: Row, sets: list[LoggedSet], calendar: Calendar) -> Week:
    ladder = load_ladder(athlete.skill)
    number = int(row["week"])
    rules = tuple(_rules(before, calendar, ladder)) if before else ()
    deload = row["deload"] == "yes"
    decision = _decision({rule.id for rule in rules}, deload)
    usual = "back from the deload, on as planned" if before else "first week: baseline"
    say = "; ".join(rule.say for rule in rules) or usual
    verdict = Verdict(
        athlete_id=athlete.id,
        on=calendar.monday(number) - timedelta(days=1),
        week_starts=calendar.monday(number),
        rung=row["rung"],
        rung_name=ladder.rungs[row["rung"]].name,
        decision=decision,
        headline=(say[0].upper() + say[1:] + "."),
        urgent=2 if decision == "change_exercise" else 0,
        rules=rules,
        gate=None,
        strength=None,
        ladder_version=ladder.version,
        by_coach=True,
    )
    sessions = []
    for label in SESSIONS:
        on = calendar.day(number, label)
        slots = tuple(_slots(athlete, [one for one in sets if one.on == on], ladder))
        if slots:
            sessions.append(PlannedSession(label, on, TITLES[label], slots))
    return Week(verdict, tuple(sessions), deload=deload)


def _rules(row: Row, calendar: Calendar, ladder: Ladder) -> Iterator[FiredRule]:
    sunday = calendar.monday(int(row["week"])) + timedelta(days=6)
    known_rules = {rule.id: rule for rule in ladder.all_rules(METHOD)}
    for entry in filter(None, row["rules"].split(" | ")):
        rule_id, say = entry.split(": ", 1)
        known = known_rules.get(rule_id) or ladder.gates[rule_id]
        evidence = Evidence("plan", sunday, row["coach"] or f"log of week {row['week']}")
        yield FiredRule(rule_id, say, (evidence,), known.basis, known.why)


def _decision(rules: set[str], deload: bool) -> Decision:
    """Name the demo coach's decision by the strongest rule that fired."""
    order: tuple[tuple[str, Decision], ...] = (
        (r"PAIN-\d", "change_exercise"),
        (r"PAIN-BACK|V-DOWN|GAP-.*", "ease"),
        (r"G\d", "climb"),
        (r"L-UP\d", "add_load"),
        (r"B-UP|L-REP", "add_rep"),
    )
    if deload:
        return "deload"
    for pattern, decision in order:
        if any(re.fullmatch(pattern, rule) for rule in rules):
            return decision
    return "hold"


def _slots(athlete: Athlete, sets: list[LoggedSet], ladder: Ladder) -> Iterator[PlannedSlot]:
    groups: dict[tuple[str, str, float], list[int]] = {}
    for one in sets:
        groups.setdefault((one.exercise, one.note, one.added_kg), []).append(one.reps)
    for (exercise, note, added), reps in groups.items():
        yield PlannedSlot(
            exercise=exercise,
            name=ladder.exercises[exercise].name,
            sets=len(reps),
            reps_low=min(reps),
            reps_high=max(reps),
            load=largest_load(athlete.kit, added + 0.05) if added else Load(0.0),
            note=note,
            strand=ladder.exercises[exercise].strand,
        )


def _add_word(records: Records, word: dict[str, Any], calendar: Calendar, clock: Clock) -> None:
    on = calendar.day(word["week"], "B")
    clock.at = _at(on, time(21, 0))
    seen = Measurement(on, word["about"], 1.0, None, "coach", word["reason"])
    records.add_measurement(word["athlete"], seen)


def _at(day: date, hour: time) -> datetime:
    return datetime.combine(day, hour, ZoneInfo(TIME_ZONE)).astimezone(UTC)


def _add_film(records: Records, film: dict[str, Any], calendar: Calendar, clock: Clock) -> None:
    filmed = _at(calendar.day(film["week"], film["session"]), calendar.hour)
    clock.at = filmed + timedelta(hours=2)
    row = records.add_film(
        film["athlete"],
        FILMS / film["file"],
        filmed,
        film["exercise"],
        film["view"],
        film.get("added_kg"),
        FilmConsent(coach=True, keep=film.get("keep", False), show=film.get("show", False)),
    )
    reading = kept_reading(film["file"])
    if reading is None:
        records.enqueue_reading(row.sha256)
    else:
        records.save_reading(row.sha256, reading)


def reading_path(file: str) -> Path:
    """Return where the reading of a demo film is kept."""
    return (FILMS / file).with_suffix(".reading.json")


def kept_reading(file: str) -> Reading | None:
    """Return the reading kept beside a demo film, so that the demo opens at once."""
    path = reading_path(file)
    if not path.exists():
        return None
    return Reading.from_json(json.loads(path.read_text(encoding="utf-8")))
