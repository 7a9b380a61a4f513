"""The sessions of a week as iCalendar (RFC 5545)."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from overbar import __version__
from overbar.athlete.person import Athlete
from overbar.planning.verdict import PlannedSession, PlannedSlot, Week

LONG = timedelta(minutes=65)
"""How long a session is entered for (50-65 min, handbook trade.md 1.4)."""


def calendar_of(
    athlete: Athlete, week: Week, now: datetime, agreed: bool = True, starts_at: time | None = None
) -> bytes:
    """Write a week's sessions as iCalendar.

    Parameters
    ----------
    athlete : Athlete
    week : Week
    now : datetime.datetime
        The moment it is written, timezone-aware.
    agreed : bool
        False marks the entries as proposed (``STATUS:TENTATIVE``).
    starts_at : datetime.time, optional
        Time of day where the athlete is; without it the entries last the whole day.

    Returns
    -------
    bytes
        Lines end in CRLF and are folded at 75 octets. The same session keeps its UID,
        so that a newer file replaces the entry instead of doubling it.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//Overbar//Overbar {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for session in week.sessions:
        event = Event()
        event.add("uid", _uid(athlete.id, session))
        event.add("dtstamp", now.astimezone(UTC))
        if starts_at is None:
            event.add("dtstart", session.on)
            event.add("dtend", session.on + timedelta(days=1))
            event.add("transp", "TRANSPARENT")
        else:
            start = datetime.combine(session.on, starts_at, ZoneInfo(athlete.time_zone)).astimezone(UTC)
            event.add("dtstart", start)
            event.add("dtend", start + LONG)
        event.add("status", "CONFIRMED" if agreed else "TENTATIVE")
        event.add("summary", f"Session {session.label}: {session.title}")
        event.add("description", "\n".join(_lines(session, athlete.mass_unit)))
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _uid(athlete_id: str, session: PlannedSession) -> str:
    week = "{}-W{:02}".format(*session.on.isocalendar())
    digest = hashlib.sha256(f"{athlete_id}|{week}|{session.label}".encode()).hexdigest()
    return f"{digest[:32]}@overbar"


def _lines(session: PlannedSession, unit: str) -> list[str]:
    lines = [f"{slot.name}: {dose(slot)}, {slot.load.say(unit)}" for slot in session.slots]
    return [*lines, "", *session.cautions] if session.cautions else lines


def dose(slot: PlannedSlot) -> str:
    """Say sets and reps, or sets and seconds.

    Examples
    --------
    >>> from overbar.athlete.kit import Load
    >>> dose(PlannedSlot("dead_hang", "Dead hang", 3, 0, 0, Load(0.0), seconds=20))
    '3 x 20 s'
    """
    reps = f"{slot.reps_low}" if slot.reps_low == slot.reps_high else f"{slot.reps_low}-{slot.reps_high}"
    if slot.seconds and not slot.reps_high:
        return f"{slot.sets} x {slot.seconds:g} s"
    return f"{slot.sets} x {reps}" + (f", {slot.seconds:g} s each" if slot.seconds else "")
