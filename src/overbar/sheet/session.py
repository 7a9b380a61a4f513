"""What the phone is given: the week's sessions with loads in the athlete's plates, and the stop rules."""

from __future__ import annotations

from datetime import date
from typing import Any

from overbar.athlete.kit import Load, loads
from overbar.athlete.person import Athlete
from overbar.ladder import Ladder
from overbar.planning.history import History
from overbar.planning.tries_left import tries_left
from overbar.planning.verdict import PlannedSession, PlannedSlot, Week

MORNING_ASKED_DAYS = 3
"""The next-morning question is asked for this many days (own judgement: later it is guessed)."""


def week_on(weeks: list[Week], today: date) -> Week | None:
    """Return the settled week that holds a day, else the newest that began before it."""
    begun = [week for week in weeks if week.verdict.week_starts <= today]
    return max(begun, key=lambda week: week.verdict.week_starts, default=None)


def phone_data(
    athlete: Athlete, week: Week | None, history: History, ladder: Ladder, today: date
) -> dict[str, Any]:
    """Return everything the page needs offline, in plain values.

    Parameters
    ----------
    athlete : Athlete
    week : Week or None
        The settled week; None when there is none yet.
    history : History
        For what was done of the week, and the morning question.
    ladder : Ladder
        Names, swaps, stop rules, places that can hurt and the pain bands.
    today : datetime.date
        Day where the athlete is.
    """
    done = {(session.on, session.label) for session in history.sessions if session.done}
    sessions = [] if week is None else [_session(one, athlete, ladder, done) for one in week.sessions]
    waiting = [session for session in sessions if not session["done"]]
    now = next((session for session in waiting if session["on"] == today.isoformat()), None)
    return {
        "name": athlete.name.split()[0],
        "unit": athlete.mass_unit,
        "today": today.isoformat(),
        "week": week.verdict.week_starts.isoformat() if week else "",
        "sessions": sessions,
        "now": (now or waiting[0])["label"] if waiting else "",
        "cue": (week.verdict.cue or "") if week else "",
        "loads": [_load(load, athlete) for load in _all_loads(athlete)],
        "stop_rules": [caution.say for caution in ladder.cautions.values() if caution.always],
        "sites": [{"id": site.name, "name": site.name} for site in ladder.sites.values()],
        "pain": {"ease_at": ladder.pain.ease_at, "stop_at": ladder.pain.stop_at},
        "flags": [
            {"id": flag.id, "say": flag.say, "see": flag.see, "within": flag.within}
            for flag in ladder.flags.values()
        ],
        "morning": _morning(history, today),
        "tries": _tries(history, ladder, week, today),
    }


def _tries(history: History, ladder: Ladder, week: Week | None, today: date) -> dict[str, Any] | None:
    """Return what the desk knows of tries done and planned; the phone takes off what it ticks."""
    left = tries_left(history, ladder, week, today) if week is not None else None
    if left is None:
        return None
    return {
        "done_today": left.done_today,
        "week": left.week,
        "done_week": left.done_week,
        "stop": left.stop,
        "lines": list(left.stop_lines),
    }


def _session(
    session: PlannedSession, athlete: Athlete, ladder: Ladder, done: set[tuple[date, str]]
) -> dict[str, Any]:
    return {
        "label": session.label,
        "title": session.title,
        "on": session.on.isoformat(),
        "done": (session.on, session.label) in done,
        "slots": [_slot(slot, athlete, ladder) for slot in session.slots],
        "cautions": list(session.cautions),
    }


def _slot(slot: PlannedSlot, athlete: Athlete, ladder: Ladder) -> dict[str, Any]:
    exercise = ladder.exercises.get(slot.exercise)
    return {
        "exercise": slot.exercise,
        "name": slot.name,
        "sets": slot.sets,
        "low": slot.reps_low,
        "high": slot.reps_high,
        "seconds": slot.seconds,
        "rest_s": slot.rest_s,
        "reps_left": slot.reps_left,
        "note": slot.note,
        "how": exercise.do if exercise else "",
        "film": slot.film,
        "tries": bool(slot.exercise) and slot.exercise == ladder.skill.attempt_exercise,
        "load": _load(slot.load, athlete),
        "swaps": [
            {"exercise": swap, "name": ladder.exercises[swap].name}
            for swap in slot.swaps
            if swap in ladder.exercises
        ],
    }


def _load(load: Load, athlete: Athlete) -> dict[str, Any]:
    return {"kg": round(load.added_kg, 3), "say": load.say(athlete.mass_unit), "pieces": list(load.pieces)}


def _all_loads(athlete: Athlete) -> list[Load]:
    bands = sorted(athlete.kit.bands, key=lambda band: -band.help_at_mid_pull_kg)
    return [*(Load(-band.help_at_mid_pull_kg, (band.name,)) for band in bands), *loads(athlete.kit)]


def _morning(history: History, today: date) -> dict[str, Any] | None:
    """Return the pain report whose next morning has not been answered, if it is recent."""
    open_ = [
        report
        for report in history.pain
        if report.next_morning is None and 0 < (today - report.on).days <= MORNING_ASKED_DAYS
    ]
    if not open_:
        return None
    newest = max(open_, key=lambda report: report.on)
    return {"on": newest.on.isoformat(), "site": newest.site, "side": newest.side, "worst": newest.worst}
