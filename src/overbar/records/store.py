"""The coach's records: one object through which every shell reads and writes.

Days and "now"
--------------
``Records.now()`` and ``Records.today()`` are the only clock of the records and of
the pages on top of them. Records of the demo carry a fixed day, so that the same
demo shows the same thing on every machine and in every year.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection, delete, insert, null, select, update

from overbar.athlete.person import Athlete
from overbar.errors import BadInput, NotFound
from overbar.film.reading import KnownLength, Reading
from overbar.film.scale import check_known_length
from overbar.ladder import Ladder
from overbar.planning.coach_words import check_word
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
from overbar.records import decisions, films, journal, ladders, logs, queue, schema, solves
from overbar.records.database import open_engine, reading, writing
from overbar.records.decisions import StoredWeek
from overbar.records.film_marks import KeptCalibration, calibration_of, keep_calibration, reckoned
from overbar.records.films import NO_CONSENT, FilmConsent, FilmRow, FilmStore
from overbar.records.findings import Findings, findings, with_filmed_set, with_filmed_tries
from overbar.records.journal import Entry, Known
from overbar.records.ladders import LadderDraft, LadderMove, LadderVersion
from overbar.records.written import from_plain, to_plain
from overbar.settings import Settings
from overbar.strength.prior import Prior
from overbar.strength.sets import LoggedSet

Clock = Callable[[], datetime]
ATHLETE, FINDINGS = "athlete", "findings"
"""Kinds of the journal's entries beside the logs' tables."""
BODY_OFFSET, OWN_ATHLETES = "body_offset", "own_athletes"
"""How the ``house`` table names what everybody's tries taught the body model."""


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


def open_records(settings: Settings, clock: Clock | None = None, make: bool = True) -> Records:
    """Open the records, making or migrating the database where needed.

    Parameters
    ----------
    settings : Settings
        Where the records are.
    clock : callable, optional
        Gives the time, timezone-aware; for tests.
    make : bool
        Make records where there are none; else that is an error.

    Raises
    ------
    BadInput
        The database cannot be opened, or a newer version made it.
    NotFound
        There are no records, and none are to be made.
    """
    engine = open_engine(settings, make)
    store = FilmStore(settings.films or str(settings.records / "films"), settings.records / "film-copies")
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

    def athlete_names(self, skill: str) -> dict[str, str]:
        """Return the names of those who train for a skill, by id, in the order of the names."""
        table = schema.athletes
        query = select(table.c.id, table.c.name).where(table.c.form["skill"].as_string() == skill)
        with reading(self.engine) as c:
            return {row.id: row.name for row in c.execute(query.order_by(table.c.name, table.c.id))}

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
        table, now = schema.athletes, self.now()
        with writing(self.engine) as c:
            there = c.execute(select(table).where(table.c.id == athlete.id)).one_or_none()
            if there is None:
                c.execute(insert(table).values(row | {"id": athlete.id, "added_at": now}))
            elif there.form != row["form"]:
                if not journal.speaks_of(c, athlete.id, ATHLETE, ""):
                    journal.write(c, athlete.id, ATHLETE, "", there.form, there.added_at)
                journal.write(c, athlete.id, ATHLETE, "", row["form"], now)
                c.execute(update(table).where(table.c.id == athlete.id).values(row))

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
            return logs.put(c, athlete_id, fact, self.now())

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
                self._remember_findings(c, row)
                c.execute(
                    update(schema.readings)
                    .where(schema.readings.c.film_sha256 == row.sha256)
                    .values(findings=self._findings(c, films_row, current))
                )
                self._note_findings(c, films_row)
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
            self._remember_findings(c, row)
            done = c.execute(update(table).where(table.c.film_sha256 == row.sha256).values(values))
            if done.rowcount == 0:
                c.execute(insert(table).values(values | {"film_sha256": row.sha256}))
            self._note_findings(c, row)
            status = "read" if named.usable else "unusable"
            why = "" if named.usable else " ".join(problem.say for problem in named.problems)
            problem = named.problems[0].id if named.problems and not named.usable else ""
            c.execute(
                update(schema.films)
                .where(schema.films.c.sha256 == row.sha256)
                .values(status=status, why=why, problem=problem)
            )

    def reading(self, sha: str, original: bool = False) -> Reading | None:
        """Return what a film says, as corrected by the coach where it was; None before it is read."""
        with reading(self.engine) as c:
            return _reading(c, sha, corrected=not original)

    def corrections(self, sha: str) -> list[dict[str, Any]]:
        """Return the points put right in a film so far, in their order."""
        with reading(self.engine) as c:
            row = films.film_with(c, sha)
            kept = c.execute(
                select(schema.readings.c.corrections).where(schema.readings.c.film_sha256 == row.sha256)
            ).scalar()
        return _listed(kept)

    def mark_length(self, sha: str, known: KnownLength | None, by: str) -> Reading | None:
        """Keep a length marked in a film, or take it back; return the reading that follows, if it was read.

        Raises
        ------
        BadInput
            A length that cannot be meant; nothing is kept then.
        """
        row, original = self.film(sha), self.reading(sha, original=True)
        if known is not None and original is not None:
            check_known_length(known, original.film.width, original.film.height)
        with writing(self.engine) as c:
            c.execute(
                update(schema.films)
                .where(schema.films.c.sha256 == row.sha256)
                .values(known_length=to_plain(known) if known is not None else null())
            )
        return self.reckon_again(row.sha256, by)

    def calibration(self, athlete_id: str) -> KeptCalibration | None:
        """Return how far an athlete's heights read off, as told by holds; None before that."""
        with reading(self.engine) as c:
            return calibration_of(c, athlete_id)

    def calibrate_heights(self, athlete_id: str, kept: KeptCalibration | None, by: str) -> int:
        """Keep an athlete's height calibration, or take it back; return how many readings it changed."""
        with writing(self.engine) as c:
            _athlete(c, athlete_id)
            keep_calibration(c, athlete_id, kept)
        return sum(self.reckon_again(film.sha256, by) is not None for film in self.films(athlete_id))

    def reckon_again(self, sha: str, by: str) -> Reading | None:
        """Reckon a film's numbers with all the coach added to it; None when it has no reading to reckon."""
        original = self.reading(sha, original=True)
        if original is None or not original.usable:
            return None
        return self.correct_reading(sha, self.corrections(sha), by)

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
            kept = calibration_of(c, row.athlete_id)
            calibration = kept.value if kept is not None else None
        if original is None:
            raise NotFound(f"the film {row.name} has not been read yet")
        if corrected is None:
            from overbar.film.faults import judged_by

            with judged_by(self.ladder_for(row.athlete_id)):
                corrected = reckoned(original, _listed(corrections), row.known_length, calibration)
        with writing(self.engine) as c:
            self._remember_findings(c, row)
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
            self._note_findings(c, row)
        return corrected

    def _remember_findings(self, c: Connection, row: FilmRow) -> None:
        """Write what was known of a film before the journal began, before it is replaced."""
        found, read_at = _kept_findings(c, row.sha256)
        if found is not None and not journal.speaks_of(c, row.athlete_id, FINDINGS, row.sha256):
            journal.write(c, row.athlete_id, FINDINGS, row.sha256, _told(row, found), read_at)

    def _note_findings(self, c: Connection, row: FilmRow) -> None:
        found, _ = _kept_findings(c, row.sha256)
        journal.write(c, row.athlete_id, FINDINGS, row.sha256, _told(row, found), self.now())

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

    def finish_reading(
        self, task: queue.Task, outcome: Reading | str, status: str = "read", problem: str = ""
    ) -> bool:
        """Keep the outcome of a claimed film: a reading, or the reason there is none and its problem's id.

        Returns False, and keeps nothing, when another worker has taken over.
        """
        with reading(self.engine) as c:
            if not queue.holds(c, task):
                return False
        if isinstance(outcome, Reading):
            self.save_reading(task.film_sha256, outcome)
        row = self.film(task.film_sha256)
        if isinstance(outcome, Reading) and (row.known_length or self.calibration(row.athlete_id)):
            self.reckon_again(row.sha256, "the film worker")
        with writing(self.engine) as c:
            if isinstance(outcome, Reading):
                status, why, problem = row.status, row.why, row.problem
            else:
                why = outcome
            queue.finish(c, task.id, task.film_sha256, status, why, problem)
        return True

    def let_go_of(self, dead: Callable[[str], bool]) -> None:
        """Take their work from the workers that are dead, without waiting for their leases to run out."""
        with writing(self.engine) as c:
            for table in (schema.work, schema.body_solves):
                for worker in queue.holders(c, table):
                    if dead(worker):
                        queue.let_go(c, table, worker, datetime.now(UTC) - timedelta(seconds=1))

    def underway(self) -> list[queue.Doing]:
        """Return films waiting or being read, with how far they are."""
        with reading(self.engine) as c:
            return queue.underway(c)

    # --- full solves of the body model ---------------------------------------------------

    def ask_solve(self, athlete_id: str, asked: dict[str, Any]) -> int:
        """Ask for a full solve; what is still waiting or running for the athlete goes on instead."""
        with writing(self.engine) as c:
            _athlete(c, athlete_id)
            return solves.ask(c, athlete_id, asked, datetime.now(UTC))

    def claim_solve(self, worker: str) -> solves.SolveTask | None:
        """Take the next body to solve for under a lease; None when there is nothing to do."""
        with writing(self.engine) as c:
            return solves.claim(c, worker, datetime.now(UTC))

    def renew_solve(self, task: solves.SolveTask, share: float, doing: str) -> bool:
        """Report progress and keep the lease; False when another worker has taken over."""
        with writing(self.engine) as c:
            return queue.keep(c, schema.body_solves, task.id, task.worker, share, doing, datetime.now(UTC))

    def finish_solve(self, task: solves.SolveTask, outcome: dict[str, Any] | str) -> bool:
        """Keep the answer, or the reason there is none; False when another worker has taken over."""
        with writing(self.engine) as c:
            return solves.finish(c, task, outcome, self.now())

    def solve(self, athlete_id: str, solved: bool = False) -> solves.Solve | None:
        """Return the newest solve asked for an athlete, or the newest that has an answer."""
        with reading(self.engine) as c:
            return solves.newest(c, athlete_id, solved)

    def journal(self, athlete_id: str) -> list[Entry]:
        """Return what arrived or was corrected of an athlete, in that order."""
        with reading(self.engine) as c:
            return journal.entries_of(c, athlete_id)

    def solves(self, athlete_id: str) -> list[solves.Solve]:
        """Return all full solves of an athlete, oldest first."""
        with reading(self.engine) as c:
            return solves.every(c, athlete_id)

    def body_offset(self) -> dict[str, Any] | None:
        """Return how far logged attempts have moved the body model's thresholds, as last reckoned."""
        with reading(self.engine) as c:
            row = c.execute(select(schema.house.c.value).where(schema.house.c.name == BODY_OFFSET)).scalar()
        return json.loads(row) if row else None

    def set_body_offset(self, offset: dict[str, Any]) -> None:
        """Keep how far logged attempts have moved the body model's thresholds."""
        with writing(self.engine) as c:
            c.execute(delete(schema.house).where(schema.house.c.name == BODY_OFFSET))
            c.execute(insert(schema.house).values(name=BODY_OFFSET, value=json.dumps(offset)))

    # --- decisions -------------------------------------------------------------------

    def save_week(self, week: Week, decided_at: datetime) -> int:
        """Keep a verdict with its sessions and the ladder that decided; return its key.

        An athlete planned for the first time stays on that ladder from now on.
        """
        with writing(self.engine) as c:
            athlete = _athlete(c, week.verdict.athlete_id)
            label = week.verdict.ladder_version
            ladder = ladders.version_of_week(c, athlete.id, athlete.skill, label) if label else None
            if ladder is not None:
                ladders.stay(c, athlete.id, ladder, decided_at, self.house_coach(c), ladders.FIRST_PLAN)
            return decisions.save_week(c, week, decided_at, ladder.fingerprint if ladder else None)

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
        """Keep a word of the coach that overrides the program, when it is about something there is."""
        with writing(self.engine) as c:
            check_word(word, ladders.ladder_of(c, athlete_id, _athlete(c, athlete_id).skill))
            decisions.say(c, athlete_id, word)

    # --- ladders ---------------------------------------------------------------------

    def ladder_for(self, athlete_id: str) -> Ladder:
        """Return the ladder an athlete is planned under, or would start with."""
        with reading(self.engine) as c:
            return ladders.ladder_of(c, athlete_id, _athlete(c, athlete_id).skill)

    def ladder_of_skill(self, skill: str) -> Ladder:
        """Return the ladder new athletes of a skill start with."""
        with reading(self.engine) as c:
            return ladders.ladder_of(c, "", skill)

    def ladder(self, version: str) -> Ladder:
        """Return a kept ladder by fingerprint, the beginning of one, or the version verdicts show."""
        with reading(self.engine) as c:
            whole = len(version) == ladders.WHOLE
            return ladders.ladder_with(c, version if whole else ladders.version_named(c, version).fingerprint)

    def ladder_versions(self, skill: str | None = None) -> list[LadderVersion]:
        """Return every version there is, newest first, with how many athletes are planned under it."""
        with reading(self.engine) as c:
            return ladders.versions(c, skill)

    def ladder_version(self, version: str) -> LadderVersion:
        """Return what is known of one version."""
        with reading(self.engine) as c:
            return ladders.version_named(c, version)

    def keep_ladder(self, ladder: Ladder, note: str = "", made_from: str | None = None) -> LadderVersion:
        """Keep a ladder as a version; nobody is moved. The same texts twice are one version."""
        with writing(self.engine) as c:
            if made_from is not None:
                base = ladders.version_named(c, made_from)
                ladders.keep(c, ladders.ladder_with(c, base.fingerprint), self.now(), origin=base.origin)
                made_from = base.fingerprint
            ladders.keep(
                c, ladder, self.now(), self.house_coach(c), note.strip(), made_from, ladders.origin_of(ladder)
            )
            return ladders.version_named(c, ladder.fingerprint)

    def ladder_beside(self, version: str) -> str | None:
        """Return what a version is best compared with: the one it was made from, else the one most used."""
        found = self.ladder_version(version)
        if found.made_from:
            return found.made_from
        others = [one for one in self.ladder_versions(found.skill) if one.fingerprint != found.fingerprint]
        used = max(others, key=lambda one: one.athletes, default=None)
        return used.fingerprint if used is not None and used.athletes else None

    def move_to_ladder(self, athlete_ids: Iterable[str], version: str, reason: str) -> tuple[str, ...]:
        """Move athletes to a version, with a reason that is kept; return who was on another one."""
        with writing(self.engine) as c:
            ladder = ladders.ladder_with(c, ladders.version_named(c, version).fingerprint)
            return ladders.move(c, athlete_ids, ladder, self.now(), self.house_coach(c), reason)

    def ladder_moves(self, athlete_id: str) -> tuple[LadderMove, ...]:
        """Return which versions an athlete was set on, when and why, oldest first."""
        with reading(self.engine) as c:
            return ladders.moves_of(c, athlete_id)

    def on_ladder(self, athlete_id: str) -> str | None:
        """Return the fingerprint of the version an athlete is planned under; None before the first plan."""
        with reading(self.engine) as c:
            return ladders.standing_on(c, athlete_id, _athlete(c, athlete_id).skill)

    def standing_on_ladders(self, skill: str) -> dict[str, str]:
        """Return the fingerprint of the version each athlete of a skill is planned under."""
        with reading(self.engine) as c:
            return ladders.standing(c, skill)

    def start_new_athletes_with(self, version: str) -> LadderVersion:
        """Let new athletes of the skill start with a version; return it."""
        with writing(self.engine) as c:
            found = ladders.version_named(c, version)
            ladders.keep(c, ladders.ladder_with(c, found.fingerprint), self.now(), origin=found.origin)
            ladders.start_with(c, found.skill, found.fingerprint)
            return found

    def new_athletes_start_with(self, skill: str) -> str:
        """Return the fingerprint of the version new athletes of a skill start with."""
        return self.ladder_of_skill(skill).fingerprint

    def ladder_draft(self, skill: str) -> LadderDraft | None:
        """Return what the coach is writing on a skill's ladder, or None."""
        with reading(self.engine) as c:
            return ladders.draft_of(c, skill)

    def keep_ladder_draft(self, skill: str, made_from: str, files: Iterable[tuple[str, str]]) -> None:
        """Keep what the coach is writing, slips and all, and with it the version it is made from."""
        with writing(self.engine) as c:
            base = ladders.ladder_with(c, made_from)
            ladders.keep(c, base, self.now(), origin=ladders.origin_of(base))
            ladders.keep_draft(c, skill, made_from, tuple(files), self.now())

    def drop_ladder_draft(self, skill: str) -> None:
        """Throw away what the coach was writing."""
        with writing(self.engine) as c:
            ladders.drop_draft(c, skill)

    @staticmethod
    def house_coach(c: Connection) -> str:
        """Return the coach's name inside a transaction."""
        row = c.execute(select(schema.house.c.value).where(schema.house.c.name == "house")).scalar()
        return from_plain(House, json.loads(row), "house").coach if row else ""

    # --- the whole of one athlete ------------------------------------------------------

    def history(
        self,
        athlete_id: str,
        until: date | None = None,
        known_at: datetime | None = None,
        stored: list[StoredWeek] | None = None,
    ) -> History:
        """Return everything known of an athlete up to and including a day.

        What the films show stands in it: counted sets in place of the logged ones
        they show, tries as the film judged them, heights and times with their
        uncertainty. A reading the coach corrected counts as corrected.

        Parameters
        ----------
        athlete_id : str
        until : datetime.date, optional
            Last day; everything when None.
        known_at : datetime.datetime, optional
            Leave out what arrived later, and undo later corrections: the history as a
            decision made at that moment saw it.
        stored : list of StoredWeek, optional
            The athlete's verdicts when the caller has read them already.
        """
        with reading(self.engine) as c:
            athlete = _athlete(c, athlete_id)
            known = None if known_at is None else journal.known_at(c, athlete_id, known_at)
            if known is not None:
                form = known.form(ATHLETE, "", None)
                athlete = from_plain(Athlete, form, f"athlete {athlete_id}") if form else athlete
            end = None if until is None else _end_of(until, athlete.time_zone)
            if known_at is not None:
                end = known_at if end is None else min(end, known_at)
            sets = logs.sets_of(c, athlete_id, until, known)
            body = logs.facts_of(c, BodyNote, athlete_id, until, known)
            measurements = logs.facts_of(c, Measurement, athlete_id, until, known)
            attempts = logs.facts_of(c, AttemptLog, athlete_id, until, known)
            filmed = _film_findings(c, athlete_id, end, known)
            for told, found in filmed:
                if found.filmed_set is not None:
                    on = found.film.on
                    mass = _mass_on(body, on, athlete.body_mass_kg)
                    sets = with_filmed_set(
                        sets, found.filmed_set, on, told["exercise"], mass, told["added_kg"]
                    )
            tries = tuple(one for _, found in filmed for one in found.attempts)
            seen = tuple(one for _, found in filmed for one in found.measurements)
            weeks = decisions.weeks_of(c, athlete_id) if stored is None else stored
            prior = _prior(c, athlete_id) if known_at is None else decisions.prior_at(weeks, known_at)
            if known_at is not None:
                weeks = decisions.as_they_stood(weeks, known_at)
            return History(
                athlete=athlete,
                sets=tuple(sorted(sets, key=lambda one: (one.on, one.order))),
                sessions=logs.facts_of(c, SessionLog, athlete_id, until, known),
                body=body,
                pain=logs.facts_of(c, PainReport, athlete_id, until, known),
                measurements=tuple(sorted((*measurements, *seen), key=lambda one: (one.on, one.test))),
                attempts=with_filmed_tries(attempts, tries),
                films=tuple(found.film for _, found in filmed),
                weeks=decisions.past_weeks(weeks, _monday_after(until)),
                coach=decisions.words_of(c, athlete_id, end),
                prior=prior,
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


def _prior(c: Connection, athlete_id: str) -> Prior | None:
    """What others say of the athlete's strength beforehand; None is the published norm."""
    table = schema.own_athletes
    form = c.execute(select(table.c.prior).where(table.c.athlete_id == athlete_id)).scalar()
    return None if form is None else from_plain(Prior, form, f"athlete {athlete_id}")


def _film_findings(
    c: Connection, athlete_id: str, end: datetime | None, known: Known | None
) -> list[tuple[dict[str, Any], Findings]]:
    """What the films add: what was said about each, and its findings, as they were known."""
    rows = films.films_of(c, athlete_id, end)
    table = schema.readings
    shas = [row.sha256 for row in rows]
    kept = c.execute(select(table.c.film_sha256, table.c.findings).where(table.c.film_sha256.in_(shas))).all()
    now = {row.film_sha256: row.findings for row in kept}
    out = []
    for row in rows:
        told = _told(row, now[row.sha256]) if row.sha256 in now else None
        if known is not None:
            told = known.form(FINDINGS, row.sha256, told)
        if told is not None:
            out.append((told, from_plain(Findings, told["findings"], row.name)))
    return out


def _told(row: FilmRow, found: Any) -> dict[str, Any]:
    """What the history takes from a film: what was said about it, and its findings."""
    return {"exercise": row.exercise, "added_kg": row.added_kg, "findings": found}


def _kept_findings(c: Connection, sha: str) -> tuple[Any, Any]:
    table = schema.readings
    row = c.execute(select(table.c.findings, table.c.read_at).where(table.c.film_sha256 == sha)).one_or_none()
    return (None, None) if row is None else (row.findings, row.read_at)


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


def _listed(corrections: Any) -> list[dict[str, Any]]:
    """Return kept points as a list; older records keep a single one."""
    return [corrections] if isinstance(corrections, dict) else list(corrections or [])


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
