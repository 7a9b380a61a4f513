"""The coach's records: one object through which every shell reads and writes.

Days and "now"
--------------
``Records.now()`` and ``Records.today()`` are the only clock of the records and of
the pages on top of them. Records of the demo carry a fixed day, so that the same
demo shows the same thing on every machine and in every year.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection, delete, insert, select, update

from overbar.athlete.person import Athlete
from overbar.errors import BadInput, NotFound
from overbar.film.reading import Reading
from overbar.planning.history import (
    AttemptLog,
    BodyNote,
    CoachWord,
    History,
    Measurement,
    PainReport,
    SessionLog,
)
from overbar.planning.verdict import Week
from overbar.records import decisions, films, logs, queue, schema
from overbar.records.database import open_engine, reading, writing
from overbar.records.decisions import StoredWeek
from overbar.records.films import NO_CONSENT, FilmConsent, FilmRow, FilmStore
from overbar.records.findings import Findings, findings, with_filmed_set, with_filmed_tries
from overbar.records.written import from_plain, to_plain
from overbar.settings import Settings
from overbar.strength.sets import LoggedSet

Clock = Callable[[], datetime]


@dataclass(frozen=True)
class House:
    """Facts about the whole.

    Attributes
    ----------
    coach, place : str
        Who coaches, and where; shown at the head of pages and reports.
    notice : str
        A sentence to show on every page, for example that all people are invented.
    fixed_today : datetime.date or None
        The day these records take for today; None is the real one.
    """

    coach: str = ""
    place: str = ""
    notice: str = ""
    fixed_today: date | None = None


def open_records(settings: Settings, films_at: str = "", clock: Clock | None = None) -> Records:
    """Open the records, making or migrating the database where needed.

    Parameters
    ----------
    settings : Settings
        Where the records are.
    films_at : str
        Folder or fsspec address of the film store, such as ``s3://bucket/films``; by
        default that of ``OVERBAR_FILMS``, else the folder ``films`` of the records.
    clock : callable, optional
        Gives the time, timezone-aware; for tests.

    Raises
    ------
    BadInput
        The database cannot be opened, or a newer version made it.
    """
    engine = open_engine(settings)
    address = films_at or os.environ.get("OVERBAR_FILMS") or str(settings.records / "films")
    store = FilmStore(address, settings.records / "film-copies")
    return Records(settings, engine, store, clock)


class Records:
    """Everything one coach keeps. Every method is one transaction; safe from several threads."""

    def __init__(self, settings: Settings, engine: Any, store: FilmStore, clock: Clock | None = None) -> None:
        self.settings = settings
        self.engine = engine
        self.film_store = store
        self._clock = clock
        self._fixed_today = self.house().fixed_today

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    # --- the whole -------------------------------------------------------------------

    def house(self) -> House:
        """Return coach, place and notice."""
        with reading(self.engine) as c:
            row = c.execute(select(schema.house.c.value).where(schema.house.c.name == "house")).scalar()
        return from_plain(House, json.loads(row), "house") if row else House()

    def set_house(self, house: House) -> None:
        """Keep coach, place and notice."""
        with writing(self.engine) as c:
            c.execute(delete(schema.house).where(schema.house.c.name == "house"))
            c.execute(insert(schema.house).values(name="house", value=json.dumps(to_plain(house))))
        self._fixed_today = house.fixed_today

    def now(self) -> datetime:
        """Return the time, timezone-aware; on the fixed day when there is one."""
        if self._clock is not None:
            return self._clock()
        if self._fixed_today is not None:
            return datetime.combine(self._fixed_today, datetime.now(UTC).timetz())
        return datetime.now(UTC)

    def today(self, athlete_id: str | None = None) -> date:
        """Return today where the athlete is; without an athlete, where this computer is."""
        if self._fixed_today is not None and self._clock is None:
            return self._fixed_today
        zone = None if athlete_id is None else _zone(self.athlete(athlete_id).time_zone)
        return self.now().astimezone(zone).date()

    # --- athletes --------------------------------------------------------------------

    def athletes(self) -> list[Athlete]:
        """Return all athletes by name."""
        with reading(self.engine) as c:
            rows = c.execute(
                select(schema.athletes.c.form).order_by(schema.athletes.c.name, schema.athletes.c.id)
            )
            return [from_plain(Athlete, form, "athlete") for (form,) in rows]

    def athlete(self, athlete_id: str) -> Athlete:
        """Return one athlete by id.

        Raises
        ------
        NotFound
            Nobody has that id; the message names those there are.
        """
        with reading(self.engine) as c:
            return _athlete(c, athlete_id)

    def save_athlete(self, athlete: Athlete) -> None:
        """Keep a new athlete, or the new answers of one that is there."""
        if not athlete.id or athlete.id != athlete.id.strip().lower() or " " in athlete.id:
            raise BadInput(
                f"athlete id {athlete.id!r}",
                do="Use a short lower-case word without spaces, such as 'davit'.",
            )
        _zone(athlete.time_zone)
        row = {"name": athlete.name, "time_zone": athlete.time_zone, "form": to_plain(athlete)}
        table = schema.athletes
        with writing(self.engine) as c:
            done = c.execute(update(table).where(table.c.id == athlete.id).values(row))
            if done.rowcount == 0:
                c.execute(insert(table).values(row | {"id": athlete.id, "added_at": self.now()}))

    # --- what was done ---------------------------------------------------------------

    def add_sets(self, athlete_id: str, sets: Iterable[LoggedSet], source: str) -> int:
        """Keep the sets that are not there yet; return how many were new."""
        with writing(self.engine) as c:
            _athlete(c, athlete_id)
            return logs.add_sets(c, athlete_id, sets, source, self.now())

    def add_session(self, athlete_id: str, session: SessionLog) -> bool:
        """Keep a session; the same day and label again corrects it. Return whether anything changed."""
        return self._put(athlete_id, session)

    def add_pain(self, athlete_id: str, report: PainReport) -> bool:
        """Keep a pain report; a later word on the same day and place fills it in."""
        return self._put(athlete_id, report)

    def add_body(self, athlete_id: str, note: BodyNote) -> bool:
        """Keep body mass and sleep of a day."""
        return self._put(athlete_id, note)

    def body(self, athlete_id: str) -> tuple[BodyNote, ...]:
        """Return body mass and sleep of every day they were logged."""
        with reading(self.engine) as c:
            return logs.facts_of(c, BodyNote, athlete_id, None)

    def body_mass_on(self, athlete_id: str, on: date) -> float:
        """Return the last body mass logged up to a day, else the one of intake, kg."""
        return _mass_on(self.body(athlete_id), on, self.athlete(athlete_id).body_mass_kg)

    def sessions(self, athlete_id: str) -> tuple[SessionLog, ...]:
        """Return every session logged."""
        with reading(self.engine) as c:
            return logs.facts_of(c, SessionLog, athlete_id, None)

    def add_measurement(self, athlete_id: str, measurement: Measurement) -> bool:
        """Keep a test value."""
        return self._put(athlete_id, measurement)

    def add_attempt(self, athlete_id: str, attempt: AttemptLog) -> bool:
        """Keep one try; the same number of the same day again corrects it."""
        return self._put(athlete_id, attempt)

    def _put(self, athlete_id: str, fact: logs.Fact) -> bool:
        with writing(self.engine) as c:
            _athlete(c, athlete_id)
            return logs.put(c, athlete_id, fact)

    # --- films -----------------------------------------------------------------------

    def add_film(
        self,
        athlete_id: str,
        path: Path | str,
        filmed_at: datetime,
        exercise: str = "",
        view: str = "",
        added_kg: float | None = None,
        consent: FilmConsent = NO_CONSENT,
    ) -> FilmRow:
        """Keep a film once, by the SHA-256 it arrived with; sound, place and device are left out.

        Raises
        ------
        UnusableFilm
            The file is no film.
        BadInput
            The film is kept for another athlete.
        """
        path = Path(path)
        self.athlete(athlete_id)
        sha = films.sha256_of(path)
        with reading(self.engine) as c:
            known = films.known_film(c, sha, athlete_id)
        if known is not None:
            return known
        stored_as, size = films.keep_picture(self.film_store, path, sha)
        row = {"filmed_at": filmed_at, "exercise": exercise, "view": view, "added_kg": added_kg}
        row |= {"name": path.name[-200:], "stored_as": stored_as, "size_bytes": size}
        with writing(self.engine) as c:
            return films.add_film(c, athlete_id, sha, row | {"first_seen_at": self.now()}, consent)

    def films(self, athlete_id: str | None = None) -> list[FilmRow]:
        """Return the films of an athlete, or of everybody, oldest first."""
        with reading(self.engine) as c:
            return films.films_of(c, athlete_id)

    def film(self, sha: str) -> FilmRow:
        """Return a film by its hash or an unambiguous beginning of it (8 characters or more)."""
        with reading(self.engine) as c:
            return films.film_with(c, sha)

    def film_file(self, sha: str) -> Path:
        """Return a local file of the film."""
        row = self.film(sha)
        if row.deleted_on is not None:
            raise NotFound(f"the film {row.name} was deleted on {row.deleted_on}")
        return self.film_store.get(row.stored_as)

    def describe_film(
        self, sha: str, exercise: str, view: str = "", added_kg: float | None = None
    ) -> FilmRow:
        """Say what a film shows; what the history takes from its reading follows."""
        row = self.film(sha)
        with writing(self.engine) as c:
            c.execute(
                update(schema.films)
                .where(schema.films.c.sha256 == row.sha256)
                .values(exercise=exercise, view=view or row.view, added_kg=added_kg)
            )
            films_row = films.film_with(c, row.sha256)
            current = _reading(c, row.sha256, corrected=True)
            if current is not None:
                c.execute(
                    update(schema.readings)
                    .where(schema.readings.c.film_sha256 == row.sha256)
                    .values(findings=self._findings(c, films_row, current))
                )
        return films_row

    def set_consent(self, sha: str, consent: FilmConsent) -> FilmRow:
        """Keep the athlete's four ticks for a film."""
        with writing(self.engine) as c:
            return films.set_consent(c, self.film(sha).sha256, consent)

    def mark_reviewed(self, sha: str) -> FilmRow:
        """Note that the coach has settled what the film shows; its 90 days start."""
        with writing(self.engine) as c:
            return films.mark_reviewed(c, self.film(sha).sha256, self.now())

    # --- readings --------------------------------------------------------------------

    def save_reading(self, sha: str, reading_: Reading) -> None:
        """Keep what a film says; a new reading of the same film replaces an uncorrected one."""
        with writing(self.engine) as c:
            row = films.film_with(c, sha)
            named = replace(reading_, film=replace(reading_.film, sha256=row.sha256, name=row.name))
            values = {
                "read_at": self.now(),
                "original": _packed(named),
                "corrected": None,
                "corrections": None,
                "corrected_by": None,
                "corrected_at": None,
                "findings": self._findings(c, row, named),
            }
            table = schema.readings
            done = c.execute(update(table).where(table.c.film_sha256 == row.sha256).values(values))
            if done.rowcount == 0:
                c.execute(insert(table).values(values | {"film_sha256": row.sha256}))
            status = "read" if named.usable else "unusable"
            why = "" if named.usable else " ".join(problem.say for problem in named.problems)
            c.execute(
                update(schema.films).where(schema.films.c.sha256 == row.sha256).values(status=status, why=why)
            )

    def reading(self, sha: str, original: bool = False) -> Reading | None:
        """Return what a film says, as corrected by the coach where it was; None before it is read."""
        with reading(self.engine) as c:
            return _reading(c, sha, corrected=not original)

    def correct_reading(
        self, sha: str, corrections: Any, by: str, corrected: Reading | None = None
    ) -> Reading:
        """Keep a corrected reading beside the original.

        Parameters
        ----------
        sha : str
            The film.
        corrections : object
            What :func:`overbar.film.reread` takes.
        by : str
            Who corrected it.
        corrected : Reading, optional
            The reading that follows, when the caller already has it.
        """
        with reading(self.engine) as c:
            row = films.film_with(c, sha)
            original = _reading(c, row.sha256, corrected=False)
        if original is None:
            raise NotFound(f"the film {row.name} has not been read yet")
        if corrected is None:
            from overbar.film import reread

            corrected = reread(original, corrections)
        with writing(self.engine) as c:
            c.execute(
                update(schema.readings)
                .where(schema.readings.c.film_sha256 == row.sha256)
                .values(
                    corrected=_packed(corrected),
                    corrections=_plain(corrections),
                    corrected_by=by,
                    corrected_at=self.now(),
                    findings=self._findings(c, row, corrected),
                )
            )
        return corrected

    def _findings(self, c: Connection, row: FilmRow, reading_: Reading) -> Any:
        zone = _zone(_athlete(c, row.athlete_id).time_zone)
        on = row.filmed_at.astimezone(zone).date()
        return to_plain(findings(reading_, on, row.sha256, row.exercise))

    # --- reading films in the background ----------------------------------------------

    def enqueue_reading(self, sha: str) -> None:
        """Ask for a film to be read.

        Raises
        ------
        BadInput
            The athlete has not agreed to its use for coaching.
        """
        row = self.film(sha)
        if not row.consent.coach:
            raise BadInput(
                f"there is no consent to use {row.name} for coaching",
                do="Ask the athlete for the first tick, then have it read.",
            )
        with writing(self.engine) as c:
            queue.enqueue(c, row.sha256, self.now())

    def claim_reading(self, worker: str) -> queue.Task | None:
        """Take the next film to read under a lease; None when there is nothing to do."""
        with writing(self.engine) as c:
            return queue.claim(c, worker, datetime.now(UTC))

    def renew_reading(self, task: queue.Task, share: float, doing: str) -> bool:
        """Report progress and keep the lease; False when another worker has taken over."""
        with writing(self.engine) as c:
            return queue.renew(c, task, share, doing, datetime.now(UTC))

    def finish_reading(self, task: queue.Task, outcome: Reading | str, status: str = "read") -> bool:
        """Keep the outcome of a claimed film: a reading, or the reason there is none.

        Returns False, and keeps nothing, when another worker has taken over.
        """
        with reading(self.engine) as c:
            if not queue.holds(c, task):
                return False
        if isinstance(outcome, Reading):
            self.save_reading(task.film_sha256, outcome)
        row = self.film(task.film_sha256)
        with writing(self.engine) as c:
            if isinstance(outcome, Reading):
                status, why = row.status, row.why
            else:
                why = outcome
            queue.finish(c, task.id, task.film_sha256, status, why)
        return True

    def underway(self) -> list[queue.Doing]:
        """Return films waiting or being read, with how far they are."""
        with reading(self.engine) as c:
            return queue.underway(c)

    # --- decisions -------------------------------------------------------------------

    def save_week(self, week: Week, decided_at: datetime) -> int:
        """Keep a verdict with its sessions; return its key."""
        with writing(self.engine) as c:
            _athlete(c, week.verdict.athlete_id)
            return decisions.save_week(c, week, decided_at)

    def weeks(self, athlete_id: str) -> list[StoredWeek]:
        """Return every verdict of an athlete, oldest first."""
        with reading(self.engine) as c:
            return decisions.weeks_of(c, athlete_id)

    def latest_week(self, athlete_id: str) -> StoredWeek | None:
        """Return the newest verdict of an athlete."""
        with reading(self.engine) as c:
            found = decisions.weeks_of(c, athlete_id, newest_only=True)
        return found[0] if found else None

    def week(self, verdict_id: int) -> StoredWeek:
        """Return one verdict by its key."""
        with reading(self.engine) as c:
            return decisions.week_with(c, verdict_id)

    def settle(self, verdict_id: int, standing: str, reason: str = "", changed: Week | None = None) -> None:
        """Keep what the coach made of a verdict; changing or refusing wants a reason."""
        with writing(self.engine) as c:
            decisions.settle(c, verdict_id, standing, reason, changed, self.now())

    def say(self, athlete_id: str, word: CoachWord) -> None:
        """Keep a word of the coach that overrides the program."""
        with writing(self.engine) as c:
            _athlete(c, athlete_id)
            decisions.say(c, athlete_id, word)

    # --- the whole of one athlete ------------------------------------------------------

    def history(self, athlete_id: str, until: date | None = None) -> History:
        """Return everything known of an athlete up to and including a day.

        What the films show stands in it: counted sets in place of the logged ones
        they show, tries as the film judged them, heights and times with their
        uncertainty. A reading the coach corrected counts as corrected.
        """
        with reading(self.engine) as c:
            athlete = _athlete(c, athlete_id)
            end = None if until is None else _end_of(until, athlete.time_zone)
            sets = logs.sets_of(c, athlete_id, until)
            body = logs.facts_of(c, BodyNote, athlete_id, until)
            measurements = logs.facts_of(c, Measurement, athlete_id, until)
            attempts = logs.facts_of(c, AttemptLog, athlete_id, until)
            filmed = _film_findings(c, athlete_id, end)
            for row, found in filmed:
                if found.filmed_set is not None:
                    on = found.film.on
                    mass = _mass_on(body, on, athlete.body_mass_kg)
                    sets = with_filmed_set(sets, found.filmed_set, on, row.exercise, mass, row.added_kg)
            tries = tuple(one for _, found in filmed for one in found.attempts)
            seen = tuple(one for _, found in filmed for one in found.measurements)
            return History(
                athlete=athlete,
                sets=tuple(sorted(sets, key=lambda one: (one.on, one.order))),
                sessions=logs.facts_of(c, SessionLog, athlete_id, until),
                body=body,
                pain=logs.facts_of(c, PainReport, athlete_id, until),
                measurements=tuple(sorted((*measurements, *seen), key=lambda one: (one.on, one.test))),
                attempts=with_filmed_tries(attempts, tries),
                films=tuple(found.film for _, found in filmed),
                weeks=decisions.past_weeks(decisions.weeks_of(c, athlete_id), _monday_after(until)),
                coach=decisions.words_of(c, athlete_id, end),
            )


def _athlete(c: Connection, athlete_id: str) -> Athlete:
    table = schema.athletes
    form = c.execute(select(table.c.form).where(table.c.id == athlete_id)).scalar()
    if form is None:
        there = ", ".join(c.execute(select(table.c.id).order_by(table.c.id).limit(12)).scalars())
        raise NotFound(
            f"there is no athlete {athlete_id!r}",
            do=f"There are: {there}." if there else "There is no athlete at all yet.",
        )
    return from_plain(Athlete, form, f"athlete {athlete_id}")


def _film_findings(c: Connection, athlete_id: str, end: datetime | None) -> list[tuple[FilmRow, Findings]]:
    rows = films.films_of(c, athlete_id, end)
    table = schema.readings
    shas = [row.sha256 for row in rows]
    kept = c.execute(select(table.c.film_sha256, table.c.findings).where(table.c.film_sha256.in_(shas))).all()
    found = {row.film_sha256: row.findings for row in kept}
    return [(row, from_plain(Findings, found[row.sha256], row.name)) for row in rows if row.sha256 in found]


def _reading(c: Connection, sha: str, corrected: bool) -> Reading | None:
    table = schema.readings
    row = c.execute(
        select(table.c.original, table.c.corrected).where(
            table.c.film_sha256 == films.film_with(c, sha).sha256
        )
    ).one_or_none()
    if row is None:
        return None
    packed = row.corrected if corrected and row.corrected is not None else row.original
    return Reading.from_json(json.loads(zlib.decompress(packed)))


def _packed(reading_: Reading) -> bytes:
    return zlib.compress(json.dumps(reading_.to_json(), allow_nan=False).encode(), 6)


def _plain(corrections: Any) -> Any:
    if hasattr(corrections, "__dataclass_fields__"):
        return json.loads(json.dumps(asdict(corrections)))
    return corrections


def _mass_on(body: tuple[BodyNote, ...], on: date, at_intake: float) -> float:
    known = [note.body_mass_kg for note in body if note.on <= on and note.body_mass_kg is not None]
    return known[-1] if known else at_intake


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise BadInput(
            f"{name!r} is no time zone", do="Give an IANA name such as 'Europe/Lisbon' or 'UTC'."
        ) from error


def _end_of(day: date, time_zone: str) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), _zone(time_zone)) - timedelta(microseconds=1)


def _monday_after(until: date | None) -> date | None:
    """First Monday on or after the day: weeks that start from then on are not yet past."""
    return None if until is None else until + timedelta(days=-until.weekday() % 7)
