"""What the athlete can load, hang from and be helped by; which loads that makes.

A belt takes single plates, not pairs, so the step is half of what barbell habits
say (handbook trade.md section 2.7, common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from overbar.errors import BadInput
from overbar.units import mass_in_words

Carrier = Literal["belt", "backpack", "dumbbell", "none"]

BACKPACK_STEP_KG = 0.5
"""Half a litre of water, kg (density of water 1 kg/l)."""
BACKPACK_LIMIT_KG = 15.0
"""Beyond this the hang tips backwards (own judgement, handbook trade.md 2.7)."""
RESOLUTION_KG = 0.01
"""Loads closer than this are the same load."""


@dataclass(frozen=True)
class Plate:
    """Single plates of one mass.

    Attributes
    ----------
    mass_kg : float
        Mass of one plate in kg.
    count : int
        How many of them the athlete has.
    unit : {"kg", "lb"}
        The unit stamped on it, used when it is shown.
    """

    mass_kg: float
    count: int = 1
    unit: Literal["kg", "lb"] = "kg"


@dataclass(frozen=True)
class Band:
    """One elastic band, measured by standing on a scale in it.

    Attributes
    ----------
    name : str
        What the athlete calls it.
    help_at_hang_kg, help_at_chin_kg : float
        Help in kg with straight arms and with the chin at the bar.
    measured_on, checked_on : datetime.date or None
        Day of the measurement, and of the last look for nicks.
    """

    name: str
    help_at_hang_kg: float
    help_at_chin_kg: float
    measured_on: date | None = None
    checked_on: date | None = None

    @property
    def help_at_mid_pull_kg(self) -> float:
        """Mean of the two measured heights, kg."""
        return (self.help_at_hang_kg + self.help_at_chin_kg) / 2


@dataclass(frozen=True)
class Bar:
    """One place to hang from.

    Attributes
    ----------
    name : str
        What the athlete calls it.
    swing_allowed : bool
        False for door-frame bars and anything that wobbles.
    low : bool
        Hip to chest height, for supports, dips and the turn-over.
    height_m : float or None
        Height above the floor.
    photo_checked_on : datetime.date or None
        Day the coach approved a photo of bar, floor and ceiling.
    """

    name: str
    swing_allowed: bool = False
    low: bool = False
    height_m: float | None = None
    photo_checked_on: date | None = None


@dataclass(frozen=True)
class Kit:
    """Everything the plan may ask for."""

    carrier: Carrier = "none"
    plates: tuple[Plate, ...] = ()
    backpack_litres: float = 0.0
    bands: tuple[Band, ...] = ()
    bars: tuple[Bar, ...] = ()
    box: bool = False
    others: tuple[str, ...] = ()

    @property
    def swing_allowed(self) -> bool:
        """Whether any full-height bar allows a swing."""
        return any(bar.swing_allowed and not bar.low for bar in self.bars)


@dataclass(frozen=True)
class Load:
    """An added load the kit can make.

    Attributes
    ----------
    added_kg : float
        Added mass in kg; negative is measured band help.
    pieces : tuple of str
        The plates, litres or band to use, in the athlete's unit.
    """

    added_kg: float
    pieces: tuple[str, ...] = ()

    def say(self, unit: str = "kg") -> str:
        """Write the load with its pieces, as on the athlete's page.

        Examples
        --------
        >>> Load(12.5, ("10 kg", "2.5 kg")).say()
        '+12.5 kg (10 kg + 2.5 kg)'
        """
        if abs(self.added_kg) < RESOLUTION_KG:
            return "body mass"
        if self.added_kg < 0:
            return f"band {self.pieces[0]} (about {mass_in_words(-self.added_kg, unit)} help)"
        pieces = " + ".join(self.pieces)
        total = mass_in_words(self.added_kg, unit, signed=True)
        return f"{total} ({pieces})" if pieces else total


BODY_MASS_ONLY = Load(0.0)


def loads(kit: Kit, limit_kg: float = 100.0) -> tuple[Load, ...]:
    """List every added load the kit can make, lightest first.

    Parameters
    ----------
    kit : Kit
        The athlete's kit.
    limit_kg : float
        Loads above this are left out.

    Returns
    -------
    tuple of Load
        Distinct totals from 0 kg up; each total with the fewest pieces.
        A carrier of "none" can make 0 kg only.

    Raises
    ------
    BadInput
        A plate or litre count below zero.
    """
    for plate in kit.plates:
        if plate.mass_kg <= 0 or plate.count < 0:
            raise BadInput(
                f"a plate of {plate.mass_kg:g} kg, {plate.count} times",
                "kit.plates",
                "Give each plate a mass above zero and a count of zero or more.",
            )
    if kit.backpack_litres < 0:
        raise BadInput(f"{kit.backpack_litres:g} litres", "kit.backpack_litres", "Give zero or more.")
    best = {0: BODY_MASS_ONLY}
    if kit.carrier in ("belt", "dumbbell"):
        for plate in sorted(kit.plates, key=lambda plate: -plate.mass_kg):
            most = 1 if kit.carrier == "dumbbell" else plate.count
            best = _with_plate(best, plate, most, limit_kg)
            if kit.carrier == "dumbbell":
                best = {key: load for key, load in best.items() if len(load.pieces) <= 1}
    elif kit.carrier == "backpack":
        water = min(kit.backpack_litres, BACKPACK_LIMIT_KG, limit_kg)
        steps = int(water / BACKPACK_STEP_KG + 1e-9)
        for step in range(1, steps + 1):
            litres = step * BACKPACK_STEP_KG
            best[_key(litres)] = Load(litres, (f"{litres:g} l water",))
    return tuple(best[key] for key in sorted(best))


def _key(mass_kg: float) -> int:
    return round(mass_kg / RESOLUTION_KG)


def _with_plate(best: dict[int, Load], plate: Plate, most: int, limit_kg: float) -> dict[int, Load]:
    grown = dict(best)
    for load in best.values():
        for count in range(1, most + 1):
            total = load.added_kg + plate.mass_kg * count
            if total > limit_kg + RESOLUTION_KG / 2:
                break
            pieces = load.pieces + (mass_in_words(plate.mass_kg, plate.unit),) * count
            known = grown.get(_key(total))
            if known is None or len(pieces) < len(known.pieces):
                grown[_key(total)] = Load(total, pieces)
    return grown


def largest_load(kit: Kit, at_most_kg: float) -> Load:
    """Return the heaviest load the kit can make that is not above a target.

    A negative target asks for band help: the band that gives at least that much
    help, or, when none does, the strongest there is. Without any band the answer
    is body mass only.
    """
    if at_most_kg < -RESOLUTION_KG:
        return band_load(kit, -at_most_kg)
    fitting = [load for load in loads(kit) if load.added_kg <= at_most_kg + RESOLUTION_KG / 2]
    return fitting[-1]


def next_load(kit: Kit, above_kg: float) -> Load | None:
    """Return the lightest load the kit can make above a given one, or None."""
    heavier = [load for load in loads(kit) if load.added_kg > above_kg + RESOLUTION_KG / 2]
    return heavier[0] if heavier else None


def band_load(kit: Kit, help_kg: float) -> Load:
    """Return the weakest band that gives at least the help asked for at mid-pull."""
    bands = sorted(kit.bands, key=lambda band: band.help_at_mid_pull_kg)
    if not bands:
        return BODY_MASS_ONLY
    strong = [band for band in bands if band.help_at_mid_pull_kg >= help_kg]
    band = strong[0] if strong else bands[-1]
    return Load(-band.help_at_mid_pull_kg, (band.name,))
