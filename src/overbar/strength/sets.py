"""One logged set: the unit everything about strength is computed from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal


@dataclass(frozen=True)
class LoggedSet:
    """One set as it was done.

    Attributes
    ----------
    on : datetime.date
        Day in the athlete's own time zone.
    exercise : str
        Exercise id of the ladder, for example ``strict_pull_up``.
    body_mass_kg : float
        Body mass that day, kg.
    added_kg : float
        Added load, kg; negative is measured band help.
    reps : int
        Full repetitions done; 0 is a failed first rep, never "not logged".
    reps_left : float or None
        Repetitions the athlete says were left; None when not said.
    first_rep_speed_mps : float or None
        Mean speed of the first rep's way up, m/s.
    counted_by : {"log", "film"}
        Who counted.
    failed : bool
        The set ended in a failed rep (so ``reps`` is a maximum).
    session : str
        Label of the session it belongs to ("A", "B", ...), or "".
    order : int
        Position in the day's log, from 0.
    seconds : float or None
        Time of a hold or a lowering, s.
    note : str
        The athlete's own words.
    """

    on: date
    exercise: str
    body_mass_kg: float
    added_kg: float
    reps: int
    reps_left: float | None = None
    first_rep_speed_mps: float | None = None
    counted_by: Literal["log", "film"] = "log"
    failed: bool = False
    session: str = ""
    order: int = 0
    seconds: float | None = None
    note: str = ""

    @property
    def system_mass_kg(self) -> float:
        """Body mass + added load - band help, kg."""
        return self.body_mass_kg + self.added_kg


@dataclass(frozen=True)
class StrengthPoint:
    """Strength on one date.

    Attributes
    ----------
    on : datetime.date
        The date.
    R, R_low, R_high : float
        Estimated 1RM system mass / body mass, with its 90 % interval.
    one_rm_kg : float
        Estimated 1RM as system mass, kg.
    body_mass_kg : float
        The body mass R refers to, kg.
    interval : float
        Probability the interval holds, 0.9.
    """

    on: date
    R: float
    R_low: float
    R_high: float
    one_rm_kg: float
    body_mass_kg: float
    interval: float = 0.9
