"""What the body model says of this athlete, in the coach's units, with its band."""

from __future__ import annotations

from dataclasses import dataclass

from overbar.athlete.person import Athlete
from overbar.desk.figures import measured, number, sentence
from overbar.desk.gauge import Gauge, gauge
from overbar.mechanics.margins import (
    BAND,
    CAUTION,
    Answer,
    Band,
    Change,
    Lever,
    Offset,
    Person,
    answer,
    what_if,
)
from overbar.mechanics.surrogate import Table
from overbar.units import M_PER_INCH, kg_from_lb

LEVERS_SHOWN = 6
STARTS = {"still": "From a still hang, quiet legs", "swing": "From a front swing"}


@dataclass(frozen=True)
class Start:
    """What one way to begin asks for, against what the athlete has."""

    name: str
    say: str
    gauge: Gauge


@dataclass(frozen=True)
class LeverRow:
    """One lever: what changes by how much, and what it buys."""

    name: str
    step: str
    gain: str


@dataclass(frozen=True)
class BodyView:
    """The answer as the page shows it."""

    say: str
    rows: tuple[Start, ...]
    levers: tuple[LeverRow, ...]
    learnt: str
    caution: str
    swing: str
    belt: str
    mass: str
    pause: str
    arm: str
    later: str
    unit: str
    length_unit: str
    changed: str


def body_view(
    athlete: Athlete,
    person: Person,
    table: Table,
    swing_deg: float,
    *,
    belt: float = 0.0,
    mass: float = 0.0,
    pause_s: float = 0.0,
    arm: float = 0.0,
    later_s: float = 0.0,
    offset: Offset | None = None,
) -> BodyView:
    """Return what the model says, and what a change would do.

    Parameters
    ----------
    athlete : Athlete
        For the units to speak in.
    person : Person
        The athlete as the body model needs them, with today's strength.
    table : Table
        Precomputed answers of the body model.
    swing_deg : float
        Front swing, degrees from plumb.
    belt, mass : float
        A change of the pull-up maximum and of body mass, in the athlete's unit.
    pause_s, later_s : float
        A change of the pause in the turn-over and of the pull's start, s.
    arm : float
        Longer arms at the same maximum, in the athlete's unit of length.
    offset : Offset, optional
        How far logged attempts have moved the thresholds.
    """
    unit = athlete.mass_unit
    found = answer(table, person, swing_deg, offset, unit, athlete.length_unit)
    change = Change(
        belt_kg=kg_from_lb(belt) if unit == "lb" else belt,
        body_mass_kg=kg_from_lb(mass) if unit == "lb" else mass,
        pause_s=pause_s,
        arm_cm=arm * M_PER_INCH * 100 if athlete.length_unit == "in" else arm,
        pull_later_s=later_s,
    )
    changed = ""
    if change != Change():
        changed = (
            f"margin {band_in_words(what_if(table, person, swing_deg, change), signed=True)} × body mass"
        )
    return BodyView(
        say=sentence(found.say.replace("+-", "±").replace(" x ", " × ").replace("80%", "80 %")),
        rows=tuple(_start(found, key, name) for key, name in STARTS.items()),
        levers=tuple(_lever(lever) for lever in found.levers if lever.kind != "compare")[:LEVERS_SHOWN],
        learnt=found.offset.say().replace("+-", "±"),
        caution=CAUTION,
        swing=f"{swing_deg:g}",
        belt=f"{belt:g}",
        mass=f"{mass:g}",
        pause=f"{pause_s:g}",
        arm=f"{arm:g}",
        later=f"{later_s:g}",
        unit=unit,
        length_unit=athlete.length_unit,
        changed=changed,
    )


def _start(found: Answer, key: str, name: str) -> Start:
    needs, margin = found.needs[key], found.margin[key]
    own = measured(found.person.R, found.person.R_sd)
    say = f"needs {band_in_words(needs)} × body mass, has {own}: margin {band_in_words(margin, signed=True)}"
    title = name if key == "still" else f"{name} of {found.swing_deg:g}°"
    return Start(title, say, gauge(margin.value, margin.low, margin.high, 0.0, say))


def band_in_words(band: Band, signed: bool = False) -> str:
    """Write a number of the body model with its band."""
    ends = f"{number(band.low, 2, signed)} to {number(band.high, 2, signed)}"
    return f"{number(band.value, 2, signed)} ({ends}, {round(BAND * 100)} %)"


def _lever(lever: Lever) -> LeverRow:
    step = (
        f"{number(lever.step, 2, signed=True).rstrip('0').rstrip('.')} {lever.unit}" if lever.unit else "yes"
    )
    gain = f"{number(lever.gain_R, 2, True)} ({number(lever.low, 2, True)} to {number(lever.high, 2, True)})"
    return LeverRow(lever.name, step, gain)
