"""Everything known of one athlete up to a day: what the weekly decision reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from overbar.athlete.person import Athlete
from overbar.strength.prior import Prior
from overbar.strength.sets import LoggedSet

Source = Literal["log", "film", "coach"]


@dataclass(frozen=True)
class SessionLog:
    """One planned or done session.

    Attributes
    ----------
    on : datetime.date
        The day it was planned for, or done on.
    label : str
        "A", "B", "C", ...
    done : bool
        Whether it was done.
    effort : float or None
        Session effort 0 to 10.
    minutes : float or None
        Duration, min.
    reason : str
        Why it was missed or changed ("travel", "ill", "work", ...), or "".
    """

    on: date
    label: str
    done: bool
    effort: float | None = None
    minutes: float | None = None
    reason: str = ""


@dataclass(frozen=True)
class PainReport:
    """Pain as the athlete scored it, 0 to 10.

    Attributes
    ----------
    on : datetime.date
        Day of the session.
    site : str
        Where ("inner elbow", "shoulder", ...).
    worst : float
        Worst in the session.
    next_morning : float or None
        The next morning; None when not answered.
    at_night : bool
        It woke the athlete or did not ease with position.
    flags : tuple of str
        Stop-now flags of the ladder ("pop", "numb_hand", ...).
    side : str
        "left", "right" or "".
    """

    on: date
    site: str
    worst: float
    next_morning: float | None = None
    at_night: bool = False
    flags: tuple[str, ...] = ()
    side: str = ""


@dataclass(frozen=True)
class Measurement:
    """One dated test value with its source.

    Attributes
    ----------
    on : datetime.date
        Day it was seen.
    test : str
        Test id of the ladder, for example ``swing_high_L`` or ``deep_dips``.
    value : float
        In the unit of the test; yes is 1 and no is 0.
    sd : float or None
        One-sigma uncertainty; None when the value is exact or unknown.
    source : {"log", "film", "coach"}
        Where it comes from.
    ref : str
        Film, log row or note it can be found by.
    """

    on: date
    test: str
    value: float
    sd: float | None = None
    source: Source = "log"
    ref: str = ""


@dataclass(frozen=True)
class AttemptLog:
    """One try of the skill.

    Attributes
    ----------
    on : datetime.date
        The day.
    n : int
        Number of the try on that day, from 1.
    outcome : {"valid", "over_not_clean", "failed"}
        As judged on film, or as logged.
    peak_L, pull_after_front_s, stall_s, elbow_gap_s : float or None
        Measures, when a film gives them.
    fault : str or None
        Fault id named for it.
    source : {"log", "film", "coach"}
        Who judged.
    ref : str
        Film it was seen in.
    swing_deg : float or None
        The swing before it, to each side of plumb, when a film shows it.
    """

    on: date
    n: int
    outcome: Literal["valid", "over_not_clean", "failed"]
    peak_L: float | None = None
    pull_after_front_s: float | None = None
    stall_s: float | None = None
    elbow_gap_s: float | None = None
    fault: str | None = None
    source: Source = "log"
    ref: str = ""
    swing_deg: float | None = None


@dataclass(frozen=True)
class FilmFinding:
    """What one film showed, as far as planning needs it.

    Attributes
    ----------
    on : datetime.date
        Day it was filmed.
    ref : str
        SHA-256 of the film.
    exercise : str
        Exercise id the athlete filmed, or "".
    usable : bool
        Whether anything could be measured.
    main_fault : str or None
        The one fault named.
    faults : tuple of (str, float)
        Every fault seen with its chance, 0 to 1.
    view : str
        "side", "oblique", "front" or "rear".
    """

    on: date
    ref: str
    exercise: str
    usable: bool
    main_fault: str | None = None
    faults: tuple[tuple[str, float], ...] = ()
    view: str = "side"


@dataclass(frozen=True)
class BodyNote:
    """Body mass and sleep of one day; None is "not logged"."""

    on: date
    body_mass_kg: float | None = None
    sleep_h: float | None = None


@dataclass(frozen=True)
class PastWeek:
    """One earlier decision and what the coach made of it.

    Attributes
    ----------
    starts : datetime.date
        Monday of the week planned.
    rung : str
        Rung id it was planned under.
    decision : str
        Kind of the verdict.
    rules : tuple of str
        Ids of the rules that fired.
    deload : bool
        Whether it was planned as a deload.
    top_added_kg : float or None
        Added load of the main pulling slot, kg.
    fault : str or None
        Fault the week's drill was for.
    slots : tuple of (str, str, int, int, int, float)
        (session label, exercise id, sets, reps low, reps high, added kg) as planned.
    state : tuple of (str, float)
        What the method remembers from week to week (named numbers).
    overruled : str
        The coach's reason when the coach changed or refused it, or "".
    stops : tuple of (str, float)
        Exercises that stop at a total of the week, and those reps.
    """

    starts: date
    rung: str
    decision: str
    rules: tuple[str, ...] = ()
    deload: bool = False
    top_added_kg: float | None = None
    fault: str | None = None
    slots: tuple[tuple[str, str, int, int, int, float], ...] = ()
    state: tuple[tuple[str, float], ...] = ()
    overruled: str = ""
    stops: tuple[tuple[str, float], ...] = ()


TAKEN_BACK = "taken_back"
"""The choice of a word that takes the one before it back."""


@dataclass(frozen=True)
class CoachWord:
    """A word of the coach that overrides the program, with its reason.

    Attributes
    ----------
    said_at : datetime.datetime
        When, timezone-aware.
    about : str
        What it settles: ``gate:G4``, ``item:G4:deep_dips`` (one item of a gate, by its
        tests), ``rung:S2``, ``rule:V-CAP``, ``fault:F13``, ``exercise:dead_hang``,
        ``answer:limit`` (strength or technique), ``place:checked``, ``flag:settled``, ...
    choice : str
        "met", "not_met", "ignore", "apply" (a rule fires though its condition is not
        known to hold), "leave_out" or another exercise's id, the answer chosen, or
        "taken_back".
    reason : str
        Why, in the coach's words.
    until : datetime.date or None
        Last day it holds.
    """

    said_at: datetime
    about: str
    choice: str
    reason: str
    until: date | None = None


@dataclass(frozen=True)
class History:
    """All of it, oldest first; the order of rows of one day never matters.

    ``prior`` is what was believed of the athlete's strength before the first set; None is the
    published norm.
    """

    athlete: Athlete
    sets: tuple[LoggedSet, ...] = ()
    sessions: tuple[SessionLog, ...] = ()
    body: tuple[BodyNote, ...] = ()
    pain: tuple[PainReport, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    attempts: tuple[AttemptLog, ...] = ()
    films: tuple[FilmFinding, ...] = ()
    weeks: tuple[PastWeek, ...] = ()
    coach: tuple[CoachWord, ...] = ()
    prior: Prior | None = None
