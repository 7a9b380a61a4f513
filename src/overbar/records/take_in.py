"""Logs in: a CSV, an XLSX or a pasted message to stored facts, with an account of every piece.

Nothing that was not understood is stored; what was understood is kept even when
something else in the same file was not; the same file twice adds nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from overbar.athlete.person import Athlete
from overbar.errors import BadInput
from overbar.planning.history import AttemptLog, BodyNote, PainReport, SessionLog
from overbar.records import tables
from overbar.records.pieces import Fact, Ground, NotUnderstood, Parsed, Understood
from overbar.records.shorthand import parse
from overbar.records.store import Records
from overbar.strength.sets import LoggedSet

TABLES = (".csv", ".tsv", ".xlsx", ".xlsm")
LARGEST_BYTES = 20_000_000


@dataclass(frozen=True)
class TakenIn:
    """What became of a log.

    Attributes
    ----------
    athlete_id, name : str
        Whose log, and its name.
    understood : tuple of Understood
    not_understood : tuple of NotUnderstood
    new : int
        Facts that were not there before; 0 when it was tried without storing.
    known : int
        Facts that were there already.
    stored : bool
        False when it was only tried.
    """

    athlete_id: str
    name: str
    understood: tuple[Understood, ...]
    not_understood: tuple[NotUnderstood, ...]
    new: int
    known: int
    stored: bool


def take_in_file(
    records: Records, path: Path, athlete_id: str = "", dry: bool = False
) -> tuple[TakenIn, ...]:
    """Take in a file for one athlete, or for everybody a table names.

    Raises
    ------
    BadInput
        The file cannot be opened, is of no kind that can be read, or does not say
        whose log it is.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise BadInput(f"{size / 1e6:.0f} MB is more than a log has", str(path), "Give the log alone.")
        raw = path.read_bytes()
    except OSError as error:
        raise BadInput(f"cannot be opened: {error.strerror}", str(path), "Check the name.") from error
    if path.suffix.lower() in TABLES or raw[:4] == b"PK\x03\x04":
        return _take_in_table(records, raw, path.name, athlete_id, dry)
    text = tables.decoded(raw, path.name)
    if not athlete_id:
        raise BadInput("a message does not say whose it is", path.name, "Name the athlete.")
    return (take_in(records, athlete_id, text, path.name, dry),)


def take_in(
    records: Records, athlete_id: str, text: str, name: str = "message", dry: bool = False
) -> TakenIn:
    """Take in a pasted message."""
    ground = ground_of(records, athlete_id)
    return store_parsed(records, athlete_id, parse(text, ground), name, dry)


def ground_of(records: Records, athlete_id: str) -> Ground:
    """Return what an athlete's messages are read against."""
    athlete = records.athlete(athlete_id)
    known = [(athlete.joined, athlete.body_mass_kg)]
    notes = records.body(athlete_id)
    known += [(note.on, note.body_mass_kg) for note in notes if note.body_mass_kg is not None]
    return Ground(
        today=records.today(athlete_id),
        ladder=records.ladder_for(athlete_id),
        unit=athlete.mass_unit,
        body_mass_kg=tuple(known),
        bands={band.name: band.help_at_mid_pull_kg for band in athlete.kit.bands},
    )


def store_parsed(records: Records, athlete_id: str, parsed: Parsed, name: str, dry: bool = False) -> TakenIn:
    """Store what was understood and count what was new."""
    facts = [fact for one in parsed.understood for fact in one.facts]
    new = 0
    if not dry:
        facts = [_labelled(records, athlete_id, fact) for fact in facts]
        sets = [fact for fact in facts if isinstance(fact, LoggedSet)]
        new += records.add_sets(athlete_id, sets, name)
        for fact in facts:
            if isinstance(fact, SessionLog):
                new += records.add_session(athlete_id, fact)
            elif isinstance(fact, PainReport):
                new += records.add_pain(athlete_id, fact)
            elif isinstance(fact, BodyNote):
                new += records.add_body(athlete_id, fact)
            elif isinstance(fact, AttemptLog):
                new += records.add_attempt(athlete_id, fact)
    return TakenIn(
        athlete_id=athlete_id,
        name=name,
        understood=parsed.understood,
        not_understood=parsed.not_understood,
        new=new,
        known=0 if dry else len(facts) - new,
        stored=not dry,
    )


def _take_in_table(
    records: Records, raw: bytes, name: str, athlete_id: str, dry: bool
) -> tuple[TakenIn, ...]:
    packed = raw[:4] == b"PK\x03\x04"
    if raw[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise BadInput("is a workbook of the old kind", name, "Save it as XLSX or CSV.")
    sheets = tables.xlsx_sheets(raw, name) if packed else (tables.csv_sheet(tables.decoded(raw, name), name),)
    people = {one.id: one for one in records.athletes()}
    ids: dict[str, str] = {}

    def ground_for(who: str) -> Ground | str:
        found = _named(people.values(), who)
        if found is None:
            return f"{who!r} is no athlete here"
        if athlete_id and found.id != athlete_id:
            return f"this row is {found.name}'s, not {people[athlete_id].name}'s"
        ids[who] = found.id
        return ground_of(records, found.id)

    if athlete_id:
        records.athlete(athlete_id)
    parsed = tables.parse_table(sheets, ground_for, athlete_id)
    together: dict[str, Parsed] = {}
    for who, part in parsed.items():
        before = together.get(ids.get(who, athlete_id), Parsed())
        together[ids.get(who, athlete_id)] = Parsed(
            before.understood + part.understood, before.not_understood + part.not_understood
        )
    return tuple(
        store_parsed(records, who, part, name, dry)
        if who
        else TakenIn("", name, (), part.not_understood, 0, 0, not dry)
        for who, part in sorted(together.items())
    )


def _named(people: Iterable[Athlete], who: str) -> Athlete | None:
    plain = who.casefold().strip()
    found = [one for one in people if plain in (one.id, one.name.casefold())]
    if not found:
        found = [one for one in people if plain == one.name.casefold().split()[0]]
    return found[0] if len(found) == 1 else None


def _labelled(records: Records, athlete_id: str, fact: Fact) -> Fact:
    """Give a session without a label the one that is logged or planned for its day."""
    if not isinstance(fact, SessionLog) or fact.label:
        return fact
    known = [one.label for one in records.sessions(athlete_id) if one.on == fact.on and one.label]
    planned = [
        session.label
        for stored in records.weeks(athlete_id)
        if (week := stored.holds) is not None
        for session in week.sessions
        if session.on == fact.on
    ]
    return replace(fact, label=(known + planned[::-1] + [""])[0])
