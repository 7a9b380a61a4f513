"""What the body model says of this athlete, in the coach's units, with its band."""

from __future__ import annotations

from dataclasses import dataclass

from overbar.athlete.person import Athlete
from overbar.desk.figures import measured, number, sentence
from overbar.desk.gauge import Gauge, gauge
from overbar.mechanics.margins import BAND, CAUTION, Answer, Band, Change, Lever, Person, answer, what_if
from overbar.mechanics.surrogate import Table
from overbar.strength.sets import StrengthPoint
from overbar.units import kg_from_lb

LEVERS_SHOWN = 6
Z90 = 1.645
"""Normal quantile that turns a 90 % interval's half width into one sigma."""
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
    unit: str
    changed: str


def body_view(
    athlete: Athlete,
    strength: StrengthPoint,
    table: Table,
    swing_deg: float,
    belt: float = 0.0,
    mass: float = 0.0,
    pause_s: float = 0.0,
) -> BodyView:
    """Return what the model says, and what a change would do.

    Parameters
    ----------
    athlete : Athlete
    strength : StrengthPoint
        Newest strength.
    table : Table
        Precomputed answers of the body model.
    swing_deg : float
        Front swing, degrees from plumb.
    belt, mass : float
        A change of the pull-up maximum and of body mass, in the athlete's unit.
    pause_s : float
        A change of the pause in the turn-over, s.
    """
    person = Person(
        athlete.stature_m,
        strength.body_mass_kg,
        strength.R,
        (strength.R_high - strength.R_low) / 2 / Z90,
        athlete.sex,
        athlete.hang_length_m,
        athlete.arm_span_m,
    )
    found = answer(table, person, swing_deg)
    unit = athlete.mass_unit
    change = Change(
        belt_kg=kg_from_lb(belt) if unit == "lb" else belt,
        body_mass_kg=kg_from_lb(mass) if unit == "lb" else mass,
        pause_s=pause_s,
    )
    changed = ""
    if change != Change():
        changed = f"margin {_band(what_if(table, person, swing_deg, change), signed=True)} × body mass"
    return BodyView(
        say=sentence(found.say.replace("+-", "±").replace(" x ", " × ").replace("80%", "80 %")),
        rows=tuple(_start(found, key, name) for key, name in STARTS.items()),
        levers=tuple(_lever(lever) for lever in found.levers if lever.kind != "compare")[:LEVERS_SHOWN],
        learnt=found.offset.say(),
        caution=CAUTION,
        swing=f"{swing_deg:g}",
        belt=f"{belt:g}",
        mass=f"{mass:g}",
        pause=f"{pause_s:g}",
        unit=unit,
        changed=changed,
    )


def _start(found: Answer, key: str, name: str) -> Start:
    needs, margin = found.needs[key], found.margin[key]
    own = measured(found.person.R, found.person.R_sd)
    say = f"needs {_band(needs)} × body mass, has {own}: margin {_band(margin, signed=True)}"
    title = name if key == "still" else f"{name} of {found.swing_deg:g}°"
    return Start(title, say, gauge(margin.value, margin.low, margin.high, 0.0, say))


def _band(band: Band, signed: bool = False) -> str:
    ends = f"{number(band.low, 2, signed)} to {number(band.high, 2, signed)}"
    return f"{number(band.value, 2, signed)} ({ends}, {round(BAND * 100)} %)"


def _lever(lever: Lever) -> LeverRow:
    step = (
        f"{number(lever.step, 2, signed=True).rstrip('0').rstrip('.')} {lever.unit}" if lever.unit else "yes"
    )
    gain = f"{number(lever.gain_R, 2, True)} ({number(lever.low, 2, True)} to {number(lever.high, 2, True)})"
    return LeverRow(lever.name, step, gain)
