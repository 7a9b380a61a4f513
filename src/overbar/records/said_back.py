"""The facts of a log said back in words, so that a wrong reading is seen at once."""

from __future__ import annotations

from collections.abc import Sequence

from overbar.planning.history import BodyNote, PainReport, SessionLog
from overbar.records.days import in_words
from overbar.strength.sets import LoggedSet
from overbar.units import mass_in_words


def say_sets(sets: Sequence[LoggedSet], name: str, unit: str, assumed: str = "") -> str:
    """Say sets of one exercise and load.

    Parameters
    ----------
    sets : sequence of LoggedSet
        Of one day, in order, at least one.
    name : str
        Name of the exercise.
    unit : {"kg", "lb"}
        The athlete's unit.
    assumed : str
        What was taken for granted.

    Examples
    --------
    >>> from datetime import date
    >>> day = date(2026, 1, 5)
    >>> say_sets([LoggedSet(day, "strict_pull_up", 78, 0, reps) for reps in (5, 4)], "Strict pull-up", "kg")
    'strict pull-up 2 sets of 5, 4, body mass, 5 January 2026'
    """
    first, last = sets[0], sets[-1]
    reps = [one.reps for one in sets]
    holds = first.seconds is not None and set(reps) == {1}
    if holds:
        count = f"{len(reps)} x {first.seconds:g} s"
    elif len(set(reps)) == 1:
        count = f"{len(reps)} x {reps[0]}"
    else:
        count = f"{len(reps)} sets of {', '.join(map(str, reps))}"
    parts = [f"{name.lower()} {count}", say_load(first.added_kg, unit)]
    if first.seconds is not None and not holds:
        parts.append(f"{first.seconds:g} s each")
    left = [f"{one.reps_left:g}" for one in sets if one.reps_left is not None]
    if left:
        only_last = " in the last set" if len(sets) > 1 and len(left) == 1 else ""
        parts.append(f"{', '.join(left)} left{only_last}")
    if first.first_rep_speed_mps is not None:
        parts.append(f"first rep {first.first_rep_speed_mps:g} m/s")
    if last.failed:
        parts.append("ended in a failed rep")
    if last.note:
        parts.append(f"remark kept: {last.note!r}")
    return ", ".join(parts) + f", {in_words(first.on)}" + (f" ({assumed})" if assumed else "")


def say_load(added_kg: float, unit: str) -> str:
    """Say an added load or band help."""
    if added_kg < 0:
        return f"{mass_in_words(-added_kg, unit)} band help"
    return mass_in_words(added_kg, unit, signed=True) if added_kg else "body mass"


def say_session(session: SessionLog) -> str:
    """Say a session."""
    label = f"session {session.label}" if session.label else "a session"
    parts = [f"{label} {'done' if session.done else 'missed'}"]
    if session.effort is not None:
        parts.append(f"effort {session.effort:g} of 10")
    if session.minutes is not None:
        parts.append(f"{session.minutes:g} min")
    if session.reason:
        parts.append(session.reason)
    return ", ".join(parts) + f", {in_words(session.on)}"


def say_pain(report: PainReport, scored: bool = True) -> str:
    """Say a pain report; ``scored`` is False when no score was given with a stop-now sign."""
    score = f"{report.worst:g} of 10" if scored else "no score given"
    parts = [" ".join(filter(None, (report.site, report.side))) + f": pain {score}"]
    if report.next_morning is not None:
        parts.append(f"next morning {report.next_morning:g}")
    if report.at_night:
        parts.append("at night")
    parts += [f"STOP-NOW SIGN: {flag.replace('_', ' ')}" for flag in report.flags]
    return ", ".join(parts) + f", {in_words(report.on)}"


def say_body(note: BodyNote, unit: str) -> str:
    """Say body mass and sleep."""
    parts = []
    if note.body_mass_kg is not None:
        parts.append(f"body mass {mass_in_words(note.body_mass_kg, unit)}")
    if note.sleep_h is not None:
        parts.append(f"{note.sleep_h:g} h of sleep")
    return f"{', '.join(parts)}, {in_words(note.on)}"
