"""Is this rise real? Retest error of the pull-up 1RM, and the rise between two days of one log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import ndtr, ndtri

from overbar.errors import BadInput
from overbar.strength.posterior import STRENGTH, Z90, filtered, look_back
from overbar.strength.prior import Prior
from overbar.strength.sets import LoggedSet

PULL_UP_SD = 0.15
"""Spread of the pull-up 1RM / body mass between men. Source: Coyne et al. 2015, 15 men."""
PULL_UP_MEAN = 1.43
PULL_UP_ICC = (0.96, 0.99)
"""Retest reliability, lowest and highest. Source: Coyne et al. 2015, two tests a week apart."""
DIP_OVER_PULL = 1.59 / 1.43
"""Dip 1RM over pull-up 1RM, each / body mass. Source: Coyne et al. 2015."""


def standard_error(sd: float, icc: float) -> float:
    """Return the standard error of measurement, SD x sqrt(1 - ICC).

    Examples
    --------
    >>> round(standard_error(0.15, 0.96), 3)
    0.03
    """
    return float(sd * np.sqrt(1 - icc))


def smallest_real_change(sem: float, tests: int = 1) -> float:
    """Return MDC95 = 1.96 x sqrt(2) x SEM between two means of so many tests.

    Examples
    --------
    >>> round(smallest_real_change(standard_error(0.15, 0.96)), 3)
    0.083
    """
    return float(1.96 * np.sqrt(2.0 / tests) * sem)


def is_rise_real(before_R: float, after_R: float, tests: int = 1, icc: float = PULL_UP_ICC[0]) -> bool:
    """Return whether a rise between two bare maximum tests is above the retest error.

    Parameters
    ----------
    before_R, after_R : float
        1RM system mass / body mass; each the mean of ``tests`` tests.
    """
    return after_R - before_R > smallest_real_change(standard_error(PULL_UP_SD, icc), tests)


@dataclass(frozen=True)
class Rise:
    """The change of strength between two logged days.

    Attributes
    ----------
    since, until : datetime.date
    share, low, high : float
        Change of the 1RM system mass as a share, with its 90 % interval.
    chance : float
        Chance that strength rose at all.
    test_share : float
        What two bare maximum tests would have to differ by (MDC95, ICC 0.96), as a share.
    """

    since: date
    until: date
    share: float
    low: float
    high: float
    chance: float
    test_share: float

    @property
    def real(self) -> bool:
        """Whether the whole 90 % interval lies above zero."""
        return self.low > 0

    def at_most(self, chance: float) -> float:
        """Return the share the rise does not exceed with this chance (0 to 1)."""
        low, high = np.log1p(self.low), np.log1p(self.high)
        middle, sd = (low + high) / 2, (high - low) / (2 * Z90)
        return float(np.expm1(middle + ndtri(chance) * sd))

    def say(self) -> str:
        """Return the answer in words."""
        span = f"{100 * self.share:+.1f} % (90 %: {100 * self.low:+.1f} to {100 * self.high:+.1f} %)"
        if self.real:
            return f"{span} since {self.since}: a real rise."
        if self.high < 0:
            return f"{span} since {self.since}: a real fall."
        return f"{span} since {self.since}: within the noise; wait before calling it a change."


def rise_between(
    sets: Iterable[LoggedSet],
    since: date,
    until: date | None = None,
    sex: str = "unstated",
    prior: Prior | None = None,
) -> Rise:
    """Return how much strength changed between two days, from everything logged up to the later one.

    The two days' errors go together (same curve, same habit of reporting), so the change
    is known better than either strength.

    Parameters
    ----------
    sets : iterable of LoggedSet
    since, until : datetime.date
        The latest logged days not after these are compared; ``until`` None is the last one.

    Raises
    ------
    BadInput
        Fewer than two logged days in the span.
    """
    steps = filtered(sets, sex, until, prior)
    days = [belief.on for belief, _, _ in steps]
    starts = [k for k, day in enumerate(days) if day <= since]
    start = starts[-1] if starts else 0
    if len(days) - start < 2:
        raise BadInput(f"only {len(days) - start} logged day from {since} on", do="Log two days or more.")
    last = steps[-1][0]
    smoothed, reach = look_back(steps, start)
    weight = last.weight
    moved = last.mean[:, STRENGTH] - smoothed.mean[:, STRENGTH]
    joint = reach[:, STRENGTH, STRENGTH]
    variance = last.cov[:, STRENGTH, STRENGTH] + smoothed.cov[:, STRENGTH, STRENGTH] - 2 * joint
    mean = float(weight @ moved)
    sd = float(np.sqrt(weight @ (np.maximum(variance, 0) + (moved - mean) ** 2)))
    low, high = np.expm1(mean - Z90 * sd), np.expm1(mean + Z90 * sd)
    bare = smallest_real_change(standard_error(PULL_UP_SD, PULL_UP_ICC[0])) / PULL_UP_MEAN
    return Rise(
        days[start], days[-1], float(np.expm1(mean)), float(low), float(high), float(ndtr(mean / sd)), bare
    )
