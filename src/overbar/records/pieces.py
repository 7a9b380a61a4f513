"""What reading a log leaves: pieces understood, with their facts, and pieces not, with the reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from overbar.ladder import Ladder
from overbar.planning.history import AttemptLog, BodyNote, PainReport, SessionLog
from overbar.strength.sets import LoggedSet

Fact = LoggedSet | SessionLog | PainReport | BodyNote | AttemptLog

MOST_REPS, MOST_SETS = 60, 30
MOST_ADDED_KG, MOST_HELP_KG = 150.0, 80.0
BODY_MASS_KG = (30.0, 250.0)
MOST_SECONDS = 600.0
SPEED_MPS = (0.05, 3.0)
"""Numbers beyond these are read as slips of the pen (own judgement: no athlete here reaches them)."""
PLACE_NOT_SAID = "place not said"


@dataclass(frozen=True)
class Understood:
    """A piece of text and the facts that follow from it, said back in words."""

    line: int
    piece: str
    say: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class NotUnderstood:
    """A piece of text nothing is stored for, and why. ``where`` is its line, row or cell."""

    line: int
    piece: str
    why: str
    where: str = ""


@dataclass(frozen=True)
class Parsed:
    """Both lists, in the order of the text."""

    understood: tuple[Understood, ...] = ()
    not_understood: tuple[NotUnderstood, ...] = ()


@dataclass(frozen=True)
class Ground:
    """What a message is read against.

    Attributes
    ----------
    today : datetime.date
        Day it was written, where the athlete is.
    ladder : Ladder
        For names of exercises and places that hurt.
    unit : {"kg", "lb"}
        The unit of a load written without one.
    body_mass_kg : tuple of (date, float)
        Known body masses, oldest first; the first entry is the one of intake.
    bands : mapping of str to float
        The athlete's own bands by name, help at mid-pull in kg.
    """

    today: date
    ladder: Ladder = field(repr=False)
    unit: str = "kg"
    body_mass_kg: tuple[tuple[date, float], ...] = ()
    bands: Mapping[str, float] = field(default_factory=dict)

    def body_mass_on(self, on: date) -> float | None:
        """Return the last known body mass up to a day, else the first known."""
        before = [mass for day, mass in self.body_mass_kg if day <= on]
        if before:
            return before[-1]
        return self.body_mass_kg[0][1] if self.body_mass_kg else None
