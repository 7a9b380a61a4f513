"""Intake answers on health, and what they allow (never a diagnosis).

The decision follows the published preparticipation logic (ACSM 2015, from
Magal & Riebe 2016; handbook science.md section 8): regular activity now, known
cardiovascular, metabolic or kidney disease, signs or symptoms, wanted intensity.
The coach always may ask for a doctor's word where the logic does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Clearance = Literal["train", "train_with_limits", "clear_before_hard", "clear_first", "not_answered"]


@dataclass(frozen=True)
class Limit:
    """One thing this athlete does not do, until when and why.

    Attributes
    ----------
    pattern : str
        Loading pattern of the ladder ("pull", "swing", "push", "transition",
        "negative", "speed", "attempt", "all").
    why : str
        The reason in words.
    until : datetime.date or None
        Last day of the limit; None means until the coach lifts it.
    """

    pattern: str
    why: str
    until: date | None = None

    def holds_on(self, day: date) -> bool:
        """Say whether the limit holds on a day."""
        return self.until is None or day <= self.until


@dataclass(frozen=True)
class Screening:
    """Answers of the health part of intake.

    None means "not answered", which is never read as "no".

    Attributes
    ----------
    answered_on : datetime.date or None
        Day of the answers.
    active_now : bool or None
        Regular hard activity over the last three months.
    known_disease : bool or None
        Known heart, metabolic or kidney disease.
    symptoms_now : bool or None
        Chest pressure, fainting, breathlessness at small effort, racing heart,
        swollen ankles, or anything alike.
    earlier_elbow_or_shoulder_trouble : bool or None
        Earlier injury or long trouble at elbow or shoulder.
    latex_allergy : bool or None
        No latex bands if so.
    pregnant_or_recent_birth : bool or None
        Pregnancy or birth in the last year.
    limits : tuple of Limit
        What the coach has ruled out.
    note : str
        The coach's own words.
    """

    answered_on: date | None = None
    active_now: bool | None = None
    known_disease: bool | None = None
    symptoms_now: bool | None = None
    earlier_elbow_or_shoulder_trouble: bool | None = None
    latex_allergy: bool | None = None
    pregnant_or_recent_birth: bool | None = None
    limits: tuple[Limit, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Allowance:
    """What screening allows, with the reason and whom to see."""

    clearance: Clearance
    why: str
    refer_to: str = ""


def allowance(screening: Screening, on: date) -> Allowance:
    """Decide what the screening answers allow.

    Parameters
    ----------
    screening : Screening
        The answers.
    on : datetime.date
        The day asked about; limits that have run out no longer count.

    Returns
    -------
    Allowance
        The first that applies of: symptoms, disease without activity, disease
        with activity, missing answers, limits, none of these.
    """
    doctor = "a doctor"
    if screening.symptoms_now:
        return Allowance("clear_first", "signs or symptoms now: see a doctor before any training", doctor)
    if screening.pregnant_or_recent_birth:
        return Allowance(
            "clear_first",
            "pregnancy or birth in the last year: a doctor or midwife first",
            doctor,
        )
    if screening.known_disease and not screening.active_now:
        return Allowance("clear_first", "known disease and not active now: a doctor before starting", doctor)
    if screening.known_disease:
        return Allowance(
            "clear_before_hard", "known disease, active, no signs: a doctor before hard work", doctor
        )
    asked = (screening.active_now, screening.known_disease, screening.symptoms_now)
    if any(answer is None for answer in asked):
        return Allowance("not_answered", "the health questions are not all answered")
    if any(limit.holds_on(on) for limit in screening.limits):
        reasons = "; ".join(limit.why for limit in screening.limits if limit.holds_on(on))
        return Allowance("train_with_limits", reasons)
    return Allowance("train", "no answer asks for clearance: start easy and build up")
