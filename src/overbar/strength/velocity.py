"""Rep speed: what the first rep's speed says, the load-speed line, speed loss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from overbar.errors import BadInput

BECKHAM_INTERCEPT = -6.661
BECKHAM_SLOPE = 25.556
"""Most pull-ups = -6.661 + 25.556 x mean speed (m/s) of the best fast single; R^2 = 0.841, 49 people.

Source: Beckham et al. 2018, J Strength Cond Res 32(7):1831-1837 (abstract).
"""

SPEED_OFFSET_SD = 1.5
"""How far one athlete stands off that line for good, repetitions, one sigma.

Own judgement: R^2 = 0.841 leaves 40 % of the spread of repetitions, 1.75 of about 4.4
in a mixed group; most of it belongs to the person and does not average out.
"""

SPEED_READING_SD = 0.9
"""Scatter of one speed reading about the athlete's own line, repetitions (0.035 m/s; own judgement)."""

SPEED_MOST_REPS = 15.0
"""A speed that stands for more repetitions says only that there are at least so many (own judgement:
the line was fitted on people, not far beyond them)."""

SPEED_AT_1RM_MPS = (0.20, 0.05)
"""Mean propulsive speed at 1RM and its spread, m/s. Source: Sanchez-Moreno et al. 2017 (from memory)."""

STOP_AT_SPEED_LOSS = 0.25
"""End a set when a rep is this much slower than its first. Source: Sanchez-Moreno et al. 2020."""


def reps_from_speed(speed_mps: float) -> float:
    """Return the most repetitions a first-rep mean speed in m/s implies at that load.

    Examples
    --------
    >>> round(reps_from_speed(0.456), 1)
    5.0
    """
    return BECKHAM_INTERCEPT + BECKHAM_SLOPE * speed_mps


def speed_from_reps(reps: float) -> float:
    """Return the first-rep mean speed in m/s that goes with a most-reps count.

    Examples
    --------
    >>> round(speed_from_reps(1), 3)
    0.3
    """
    return (reps - BECKHAM_INTERCEPT) / BECKHAM_SLOPE


@dataclass(frozen=True)
class LoadSpeedLine:
    """Mean speed against system mass, a straight line.

    Attributes
    ----------
    at_zero_mps : float
        Speed the line gives at no mass, m/s.
    per_kg : float
        Change of speed per kg of system mass (negative), m/s/kg.
    r2 : float
        Share of the speed's variance the line holds.
    """

    at_zero_mps: float
    per_kg: float
    r2: float

    def speed_at(self, mass_kg: float) -> float:
        """Return the speed at a system mass, m/s."""
        return self.at_zero_mps + self.per_kg * mass_kg

    def mass_at(self, speed_mps: float) -> float:
        """Return the system mass at a speed, kg."""
        return (speed_mps - self.at_zero_mps) / self.per_kg

    @property
    def best_power_mass_kg(self) -> float:
        """System mass of the highest mass x speed, kg: half of what the line carries at rest."""
        return -self.at_zero_mps / (2 * self.per_kg)


def load_speed_line(mass_kg: Sequence[float], speed_mps: Sequence[float]) -> LoadSpeedLine:
    """Fit the straight load-speed line by least squares.

    Raises
    ------
    BadInput
        Fewer than three points, one load only, or speeds that rise with load.
    """
    mass, speed = np.asarray(mass_kg, float), np.asarray(speed_mps, float)
    if len(mass) < 3 or np.ptp(mass) == 0:
        raise BadInput(f"{len(mass)} speeds at {len(set(mass_kg))} loads", do="Film three or more loads.")
    slope, zero = np.polyfit(mass, speed, 1)
    if slope >= 0:
        raise BadInput(
            f"speed rises by {slope:.3f} m/s with every kg", do="Check loads and films against the log."
        )
    left = float(np.sum((speed - zero - slope * mass) ** 2))
    return LoadSpeedLine(float(zero), float(slope), 1 - left / float(np.sum((speed - speed.mean()) ** 2)))


def speed_loss(speeds_mps: Sequence[float]) -> float:
    """Return how much slower the last rep is than the first, as a share of the first."""
    return 1 - speeds_mps[-1] / speeds_mps[0]
