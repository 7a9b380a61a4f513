"""Repetition-maximum equations: what one set to failure says about a single.

All take the *system* mass (body mass + added load - band help). Applied to the
added load alone they are wrong: five body-mass pull-ups would give 0 kg.

A single is a measurement, so one repetition returns the mass itself, also for the
equations whose formula would not (Epley, O'Conner, Wathan, Mayhew, Lander).
"""

from __future__ import annotations

import math
from collections.abc import Callable

from overbar.errors import BadInput

RepMax = Callable[[float, float], float]
"""A function of system mass (kg) and repetitions to failure that returns the 1RM system mass (kg)."""


def epley(mass_kg: float, reps: float) -> float:
    """w (1 + r/30). Source: Epley 1985."""
    return mass_kg * (1 + reps / 30)


def brzycki(mass_kg: float, reps: float) -> float:
    """36 w / (37 - r). Source: Brzycki 1993; diverges at 37 repetitions."""
    return mass_kg * 36 / (37 - reps)


def lombardi(mass_kg: float, reps: float) -> float:
    """w r^0.10. Source: Lombardi 1989."""
    return mass_kg * reps**0.10


def o_conner(mass_kg: float, reps: float) -> float:
    """w (1 + 0.025 r). Source: O'Conner et al. 1989."""
    return mass_kg * (1 + 0.025 * reps)


def wathan(mass_kg: float, reps: float) -> float:
    """100 w / (48.8 + 53.8 exp(-0.075 r)). Source: Wathan 1994."""
    return 100 * mass_kg / (48.8 + 53.8 * math.exp(-0.075 * reps))


def mayhew(mass_kg: float, reps: float) -> float:
    """100 w / (52.2 + 41.9 exp(-0.055 r)). Source: Mayhew et al. 1992."""
    return 100 * mass_kg / (52.2 + 41.9 * math.exp(-0.055 * reps))


def lander(mass_kg: float, reps: float) -> float:
    """100 w / (101.3 - 2.67123 r). Source: Lander 1985; diverges at 37.92 repetitions."""
    return 100 * mass_kg / (101.3 - 2.67123 * reps)


EQUATIONS: dict[str, RepMax] = {
    "epley": epley,
    "brzycki": brzycki,
    "lombardi": lombardi,
    "o_conner": o_conner,
    "wathan": wathan,
    "mayhew": mayhew,
    "lander": lander,
}
"""The seven published equations, by name."""

MOST_REPS = 20
"""Sets longer than this say little about a single (own judgement: the equations part beyond ten)."""

PERCENT_OF_1RM = {1: 100, 2: 95, 3: 93, 4: 90, 5: 87, 6: 85, 7: 83, 8: 80, 9: 77, 10: 75}
"""Percent of 1RM by repetitions to failure, printed alike in every table seen up to ten.

Source: Haff & Triplett, Essentials of Strength Training and Conditioning (from memory).
"""

FOREARM_HAND_FRACTION = {"m": 0.0446, "f": 0.0388}
"""Mass of both forearms and hands over body mass. Source: de Leva 1996 segment masses."""


def one_rep_max(mass_kg: float, reps: int, equation: str = "epley") -> float:
    """Return the 1RM system mass one set to failure implies.

    Parameters
    ----------
    mass_kg : float
        System mass, kg.
    reps : int
        Full repetitions to failure, 1 to 20.
    equation : str
        A key of :data:`EQUATIONS`.

    Returns
    -------
    float
        1RM as system mass, kg; the mass itself for a single.

    Raises
    ------
    BadInput
        Repetitions outside 1 to 20, a mass not above zero, or an unknown equation.

    Examples
    --------
    Five strict pull-ups at 80 kg body mass:

    >>> round(one_rep_max(80, 5), 2)
    93.33
    """
    if equation not in EQUATIONS:
        raise BadInput(f"no equation called {equation!r}", do=f"Known: {', '.join(EQUATIONS)}.")
    if not 1 <= reps <= MOST_REPS:
        raise BadInput(f"{reps} repetitions", do=f"A rep-maximum needs 1 to {MOST_REPS} repetitions.")
    if mass_kg <= 0:
        raise BadInput(f"system mass {mass_kg:g} kg", do="Give body mass plus added load, above zero.")
    return mass_kg if reps == 1 else EQUATIONS[equation](mass_kg, reps)


def without_forearms(
    body_mass_kg: float, added_kg: float, reps: int, sex: str = "unstated", equation: str = "epley"
) -> float:
    """Return the *added* 1RM load in kg when forearms and hands are not counted as lifted.

    They hardly rise in a pull-up: moved mass = body mass x (1 - fraction) + added
    load. The estimate everywhere else counts the whole system mass, as a force plate
    or a load cell on the bar does; the two must not be mixed. The correction lowers
    the added 1RM by about 0.6 kg for an 80 kg man with five pull-ups.

    Parameters
    ----------
    body_mass_kg, added_kg : float
        In kg; negative added load is band help.
    reps : int
        Repetitions to failure.
    sex : {"f", "m", "unstated"}
        Chooses the published fraction; "unstated" takes the mean of both.

    Examples
    --------
    >>> round(without_forearms(80, 0, 5, "m"), 2)
    12.74
    """
    fractions = FOREARM_HAND_FRACTION
    share = fractions[sex] if sex in fractions else sum(fractions.values()) / len(fractions)
    moved = body_mass_kg * (1 - share)
    return one_rep_max(moved + added_kg, reps, equation) - moved


def reps_after_mass_change(reps: float, ratio: float, exponent: float = 7.91) -> float:
    """Return pull-ups left when the total mass is multiplied by ``ratio``.

    Reps go with total mass to the power -7.91 (SD 2.3) in 30 fit young men.
    Source: Vanderburgh & Edmonds 1997.

    Examples
    --------
    >>> round(reps_after_mass_change(10, 1.10), 2)
    4.71
    """
    return float(reps * ratio**-exponent)
