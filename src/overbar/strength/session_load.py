"""Session load: effort times minutes, and how even a week of it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from overbar.errors import BadInput


@dataclass(frozen=True)
class WeekLoad:
    """A week of session loads.

    Attributes
    ----------
    total : float
        Sum of effort (0-10) x minutes.
    monotony : float or None
        Mean over standard deviation of the seven daily loads, rest days zero, with the
        *sample* deviation (n - 1); texts do not agree on it. None when all days are equal.
    strain : float or None
        Total x monotony.
    """

    total: float
    monotony: float | None
    strain: float | None


def week_load(daily: Sequence[float]) -> WeekLoad:
    """Sum up a week of daily session loads.

    Source: Foster et al. 2001 (load); the retest CV of session effort is 28 % (Wallace et
    al. 2014), so no single week should be read closely.

    Parameters
    ----------
    daily : sequence of float
        Seven numbers, rest days as 0.

    Examples
    --------
    >>> week = week_load([360, 0, 315, 0, 300, 0, 0])
    >>> week.total, round(week.monotony, 3)
    (975.0, 0.798)
    """
    if len(daily) != 7 or min(daily) < 0:
        raise BadInput(f"{len(daily)} daily loads", do="Give seven, rest days as 0.")
    total, spread = float(sum(daily)), stdev(daily)
    if spread == 0:
        return WeekLoad(total, None, None)
    monotony = fmean(daily) / spread
    return WeekLoad(total, monotony, total * monotony)
