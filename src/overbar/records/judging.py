"""Readings judged anew where an athlete's ladder has other limits for faults: from stored joints, no nets.

What was said of a film before stays in the journal, so that a decision of then can
be made again as it was made.
"""

from __future__ import annotations

import logging
import threading

from sqlalchemy import func, select, update

from overbar.errors import OverbarError
from overbar.film.faults import judged_by, mark_of
from overbar.film.reading import Reading
from overbar.progress import Progress, silent
from overbar.records import ladders, schema
from overbar.records.database import reading, writing
from overbar.records.store import Records

log = logging.getLogger(__name__)
BY = "the limits of the ladder"
"""Who is said to have changed such a reading."""


def judged_otherwise(records: Records, athlete_id: str | None = None) -> list[str]:
    """Return the films (SHA-256) whose faults were judged by other limits than the athlete's ladder has."""
    films, readings, athletes = schema.films, schema.readings, schema.athletes
    query = (
        select(films.c.sha256, films.c.athlete_id, readings.c.findings["judged_by"], athletes.c.form["skill"])
        .join(readings, readings.c.film_sha256 == films.c.sha256)
        .join(athletes, athletes.c.id == films.c.athlete_id)
        .order_by(films.c.filmed_at.desc(), films.c.sha256)
    )
    if athlete_id is not None:
        query = query.where(films.c.athlete_id == athlete_id)
    marks: dict[str, str] = {}
    found = []
    with reading(records.engine) as c:
        for sha, whose, mark, skill in c.execute(query).all():
            if whose not in marks:
                marks[whose] = mark_of(ladders.ladder_of(c, whose, skill))
            if mark != marks[whose]:
                found.append(sha)
    return found


def judge_again(records: Records, sha: str) -> bool:
    """Judge one film's faults by the limits of its athlete's ladder; return whether anything else is said.

    Points put right, a marked length and holds stay in it. Where the same is said as
    before, only the mark of the limits is kept.
    """
    from overbar.film import rejudge

    film, now = records.film(sha), records.reading(sha)
    if now is None:
        return False
    with judged_by(records.ladder_for(film.athlete_id)):
        after = rejudge(now)
    if _says(after) != _says(now):
        records.correct_reading(film.sha256, records.corrections(film.sha256), BY, after)
        return True
    table = schema.readings
    own = table.c.film_sha256 == film.sha256
    with writing(records.engine) as c:
        found = c.execute(select(table.c.findings).where(own)).scalar_one()
        c.execute(update(table).where(own).values(findings={**found, "judged_by": after.judged_by}))
    return False


def _says(reading_: Reading) -> object:
    """Return what a reading says of faults, to a hundredth of the chance: joints are kept rounded."""
    faults = tuple((one.id, one.threshold, round(one.chance, 2)) for one in reading_.faults)
    said = (reading_.main_fault, reading_.cue, reading_.drill, reading_.next_week, reading_.limit)
    return faults, *said


def judge_anew(
    records: Records,
    athlete_id: str | None = None,
    progress: Progress = silent,
    stop: threading.Event | None = None,
) -> int:
    """Judge those films anew, newest first; return of how many something else is said.

    Parameters
    ----------
    records : Records
    athlete_id : str, optional
        Only this athlete's; everybody's by default.
    progress : Progress
        Told how far it is.
    stop : threading.Event, optional
        Set it to end after the film in hand; the rest is found again next time.
    """
    due = judged_otherwise(records, athlete_id)
    done = 0
    for n, sha in enumerate(due):
        if stop is not None and stop.is_set():
            break
        progress(n / len(due), "judging faults anew")
        try:
            done += judge_again(records, sha)
        except OverbarError as error:
            log.warning("%s was not judged anew: %s", sha[:12], error.say())
    return done


def ladders_changed(records: Records) -> tuple[object, ...]:
    """Return something that changes whenever an athlete's ladder, or that of new athletes, does."""
    moves, house = schema.ladder_moves, schema.house
    with reading(records.engine) as c:
        newest = c.execute(select(func.max(moves.c.id))).scalar()
        starts = c.execute(
            select(house.c.name, house.c.value)
            .where(house.c.name.startswith(ladders.STARTS_WITH))
            .order_by(house.c.name)
        ).all()
    return (newest, *map(tuple, starts))
