"""Invented athletes and the weeks they log, for the planning tests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from overbar.athlete.kit import Band, Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Screening
from overbar.planning.history import BodyNote, History, Measurement, PainReport, SessionLog
from overbar.planning.verdict import PlannedSlot, Week
from overbar.strength.sets import LoggedSet, StrengthPoint

MONDAY = date(2026, 3, 2)
RIG = Bar("rig", swing_allowed=True, height_m=2.5, photo_checked_on=date(2026, 2, 20))
LOW = Bar("low bar", low=True, height_m=1.1)
FULL_KIT = Kit(
    carrier="belt",
    plates=(Plate(1.25, 2), Plate(2.5, 2), Plate(5, 2), Plate(10, 2), Plate(20, 1)),
    bands=(Band("green", 28, 12), Band("red", 14, 6)),
    bars=(RIG, LOW),
    box=True,
    others=("parallel bars", "neutral handles"),
)
CLEAR = Screening(
    answered_on=date(2026, 2, 20),
    active_now=True,
    known_disease=False,
    symptoms_now=False,
    earlier_elbow_or_shoulder_trouble=False,
    latex_allergy=False,
    pregnant_or_recent_birth=False,
)


def athlete(**changes: object) -> Athlete:
    """An ordinary gym-goer of 31 years and 78 kg with a full kit."""
    plain = Athlete(
        id="nils",
        name="Nils Tarnbrook",
        sex="m",
        born=date(1994, 6, 1),
        stature_m=1.79,
        body_mass_kg=78.0,
        joined=date(2026, 2, 20),
        kit=FULL_KIT,
        screening=CLEAR,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def week_of_sets(
    monday: date,
    reps: Sequence[Sequence[int]],
    added: float = 0.0,
    body: float = 78.0,
    left: float | None = None,
    exercise: str = "strict_pull_up",
    start: int = 0,
) -> tuple[LoggedSet, ...]:
    """Sets on Monday, Wednesday, Friday: one inner list a day."""
    days = (0, 2, 4) if len(reps) <= 3 else (0, 1, 3, 5)
    return tuple(
        LoggedSet(
            monday + timedelta(days[day]),
            exercise,
            body,
            added,
            count,
            reps_left=left if number == len(sets) - 1 else None,
            session="ABCD"[day],
            order=start + number,
        )
        for day, sets in enumerate(reps)
        for number, count in enumerate(sets)
    )


def sessions(
    monday: date, done: str = "ABC", effort: float | None = 7, reason: str = ""
) -> tuple[SessionLog, ...]:
    """Three planned sessions, those named in ``done`` done."""
    return tuple(
        SessionLog(
            monday + timedelta(offset), label, label in done, effort, 60, "" if label in done else reason
        )
        for label, offset in zip("ABC", (0, 2, 4), strict=True)
    )


def no_pain(monday: date, days: Iterable[int] = (0, 2, 4)) -> tuple[PainReport, ...]:
    """Answered, and nothing hurts."""
    return tuple(PainReport(monday + timedelta(day), "", 0, 0) for day in days)


def sleep(monday: date, hours: float, days: int = 7) -> tuple[BodyNote, ...]:
    """One note a night."""
    return tuple(BodyNote(monday + timedelta(day), None, hours) for day in range(days))


def seen(on: date, source: str = "film", **tests: float) -> tuple[Measurement, ...]:
    """One measurement of each test named."""
    return tuple(
        Measurement(on, test, value, 0.02 if test.endswith("_L") else None, source)  # type: ignore[arg-type]
        for test, value in tests.items()
    )


def strong(on: date, R: float, body: float = 78.0, spread: float = 0.05) -> tuple[StrengthPoint, ...]:
    """One estimate of strength."""
    return (StrengthPoint(on, R, R - spread, R + spread, R * body, body),)


def ready_for_tries(on: date, **changes: float) -> tuple[Measurement, ...]:
    """Everything the gate to tries asks for, on two film days."""
    shown = {
        "swing_high_L": 0.20,
        "negative_s": 4.0,
        "deep_dips": 6.0,
        "safe_descent": 1.0,
        "skin_whole": 1.0,
        "strict_high_L": 0.05,
    } | changes
    return (*seen(on - timedelta(days=4), **shown), *seen(on - timedelta(days=2), **shown))


def slots(week: Week) -> tuple[PlannedSlot, ...]:
    """Every line of the week."""
    return tuple(slot for session in week.sessions for slot in session.slots)


def lines(week: Week, *exercises: str) -> tuple[PlannedSlot, ...]:
    """Lines of some exercises."""
    return tuple(slot for slot in slots(week) if slot.exercise in exercises)


def fired(week: Week) -> set[str]:
    """Ids of the rules that fired and were not overruled."""
    return {rule.id for rule in week.verdict.rules if not rule.ignored}


def history(who: Athlete | None = None, **rows: object) -> History:
    """A history of the plain athlete unless another is given."""
    return History(who or athlete(), **rows)  # type: ignore[arg-type]


SUNDAY = MONDAY + timedelta(days=6)
"""The day the first week is judged on."""
