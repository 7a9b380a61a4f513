"""What the phone sends back, checked and turned into facts for the records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from overbar.errors import BadInput
from overbar.planning.history import AttemptLog, BodyNote, PainReport, SessionLog
from overbar.strength.sets import LoggedSet

Score = Annotated[float, Field(ge=0, le=10)]
Day = date
OLDEST_DAYS = 60
"""A log that waited longer on a phone is asked for again (own judgement)."""


class _Sent(BaseModel):
    model_config = ConfigDict(extra="forbid")


class SentSet(_Sent):
    """One set as it was ticked."""

    exercise: str
    reps: int = Field(ge=0, le=60)
    added_kg: float = Field(ge=-80, le=150)
    reps_left: float | None = Field(default=None, ge=0, le=10)
    seconds: float | None = Field(default=None, ge=0, le=600)
    failed: bool = False


class SentTry(_Sent):
    """One try of the skill, by the athlete's own word."""

    n: int = Field(ge=1, le=30)
    outcome: Literal["valid", "over_not_clean", "failed"]


class SentPain(_Sent):
    """Pain 0 to 10, worst in the session."""

    site: str = Field(max_length=80)
    side: Literal["", "left", "right"] = ""
    worst: Score
    flags: list[str] = []


class SentMorning(_Sent):
    """The answer to the morning question about an earlier session."""

    on: Day
    site: str = Field(max_length=80)
    side: Literal["", "left", "right"] = ""
    worst: Score
    next_morning: Score
    at_night: bool = False


class SentSession(_Sent):
    """Everything of one session; sent again it changes nothing."""

    on: Day
    label: str = Field(max_length=20)
    sets: list[SentSet] = Field(default=[], max_length=200)
    tries: list[SentTry] = Field(default=[], max_length=30)
    pain: list[SentPain] = Field(default=[], max_length=10)
    morning: SentMorning | None = None
    effort: Score | None = None
    minutes: float | None = Field(default=None, ge=0, le=600)
    body_mass_kg: float | None = Field(default=None, ge=30, le=250)
    done: bool = True
    reason: str = Field(default="", max_length=300)


@dataclass(frozen=True)
class SessionFacts:
    """The facts a sent session holds."""

    sets: tuple[LoggedSet, ...]
    tries: tuple[AttemptLog, ...]
    session: SessionLog | None
    pain: tuple[PainReport, ...]
    body: BodyNote | None


def session_facts(
    raw: object,
    exercises: Mapping[str, object],
    flags: Mapping[str, object],
    today: date,
    body_mass_kg: float,
) -> SessionFacts:
    """Check what a phone sent and return its facts.

    Parameters
    ----------
    raw : object
        The decoded JSON.
    exercises, flags : mapping
        Known ids.
    today : datetime.date
        Day where the athlete is.
    body_mass_kg : float
        The last known body mass, for sets of a day it was not logged on.

    Raises
    ------
    BadInput
        A value that cannot be; named by its place.
    """
    try:
        sent = SentSession.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise BadInput(
            f"{first['msg']} ({first.get('input')!r})", where, "Correct it on the sheet."
        ) from error
    for day in (sent.on, *([sent.morning.on] if sent.morning else [])):
        if not today - timedelta(days=OLDEST_DAYS) <= day <= today + timedelta(days=1):
            raise BadInput(f"{day} is not a day of these weeks", "on", "Check the date of the phone.")
    for one in sent.sets:
        if one.exercise not in exercises:
            raise BadInput(f"there is no exercise {one.exercise!r}", "sets", "Load the sheet again.")
    for pain in sent.pain:
        for flag in pain.flags:
            if flag not in flags:
                raise BadInput(f"there is no sign {flag!r}", "pain", "Load the sheet again.")
    mass = sent.body_mass_kg or body_mass_kg
    sets = tuple(
        LoggedSet(
            sent.on,
            one.exercise,
            mass,
            one.added_kg,
            one.reps,
            one.reps_left,
            failed=one.failed,
            session=sent.label,
            order=place,
            seconds=one.seconds,
        )
        for place, one in enumerate(sent.sets)
    )
    reports = [
        PainReport(sent.on, pain.site, pain.worst, flags=tuple(pain.flags), side=pain.side)
        for pain in sent.pain
    ]
    if sent.morning:
        told = sent.morning
        reports.append(
            PainReport(told.on, told.site, told.worst, told.next_morning, told.at_night, side=told.side)
        )
    session = (
        SessionLog(sent.on, sent.label, sent.done, sent.effort, sent.minutes, sent.reason)
        if sent.label
        else None
    )
    body = BodyNote(sent.on, sent.body_mass_kg) if sent.body_mass_kg else None
    tries = tuple(AttemptLog(sent.on, one.n, one.outcome) for one in sent.tries)
    return SessionFacts(sets, tries, session, tuple(reports), body)
