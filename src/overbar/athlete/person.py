"""Who the athlete is: the values every other room reads."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from overbar.athlete.kit import Kit
from overbar.athlete.screening import Screening

Sex = Literal["f", "m", "unstated"]
MassUnit = Literal["kg", "lb"]
LengthUnit = Literal["cm", "in"]
GoalClass = Literal["no_swing", "swing", "kip"]


@dataclass(frozen=True)
class Athlete:
    """One athlete as intake leaves them.

    Attributes
    ----------
    id : str
        Short stable key, lower case, for commands and addresses.
    name : str
        Name as shown.
    sex : {"f", "m", "unstated"}
        Chooses the published table only; "unstated" uses the mean of both.
    born : datetime.date or None
        Date of birth.
    stature_m, body_mass_kg : float
        Stature in m and body mass at intake in kg.
    joined : datetime.date
        First day of coaching.
    time_zone : str
        IANA time zone name of the athlete.
    days_per_week : int
        Training days the athlete offers, 2 to 4.
    skill, method : str
        Ladder name, and the method of its pulling strand; the ladder's own when "".
    goal_class : {"no_swing", "swing", "kip"}
        The class of muscle-up the athlete wants to be judged by.
    mass_unit, length_unit : str
        Units of everything shown to this athlete.
    arm_span_m, leg_length_m, hang_length_m : float or None
        Own measurements in m; they override the regressions.
    kit : Kit
        What the athlete can load, hang from and stand on.
    screening : Screening
        Intake answers and what they allow.
    goal : str
        The goal in the athlete's own words.
    """

    id: str
    name: str
    sex: Sex
    born: date | None
    stature_m: float
    body_mass_kg: float
    joined: date
    time_zone: str = "UTC"
    days_per_week: int = 3
    skill: str = "bar_muscle_up"
    method: str = ""
    goal_class: GoalClass = "swing"
    mass_unit: MassUnit = "kg"
    length_unit: LengthUnit = "cm"
    arm_span_m: float | None = None
    leg_length_m: float | None = None
    hang_length_m: float | None = None
    kit: Kit = field(default_factory=Kit)
    screening: Screening = field(default_factory=Screening)
    goal: str = ""

    def age_on(self, day: date) -> int | None:
        """Return full years of age on a day, or None when the birth date is unknown."""
        if self.born is None:
            return None
        return day.year - self.born.year - ((day.month, day.day) < (self.born.month, self.born.day))
