"""The athlete's own reps-at-load curve: log(1RM / mass) against repetitions to failure.

``log(1RM / mass) = steepness x bend(reps)`` with ``bend(n) = (n^k - 1) / k``. A single
gives zero, so it is a measurement. Three values of ``k`` span the seven published
equations; the steepness is the athlete's own, placed beforehand by the repetitions
published at 80 % of 1RM. Nothing forces women's, light or heavy athletes' curves into
one equation: the log weighs the curves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BENDS = (0.0, 0.7, 1.15)
BEND_WEIGHTS = (0.25, 0.45, 0.30)
"""The shapes carried side by side and their weights before any log (own judgement). Fitted over
1 to 12 repetitions with a single at 1RM, Lombardi is 0.00, Wathan, Mayhew, the percentage
table, Epley and O'Conner are 0.80 to 0.90, Lander and Brzycki 1.16; the pull-up data of
Vanderburgh & Edmonds 1997, a power of the mass, are 0."""
STEPS: Array = np.linspace(-2.4, 2.4, 9)
"""Steepnesses carried for each shape, in standard deviations of what is known beforehand."""
CURVES = len(BENDS) * len(STEPS)
_OWN_BEND: Array = np.repeat(BENDS, len(STEPS))
_OWN_SLOPE: Array = _OWN_BEND - 1
_EACH: Array = np.zeros(CURVES)
"""Added, it makes one number one for every curve; broadcasting took a fifth of the whole estimate."""
_POWERS = slice(BENDS.count(0.0) * len(STEPS), CURVES)
"""The curves that are powers; those before them are logarithms."""
LOG_AT_80 = float(np.log(1 / 0.80))
FEWEST_AT_80 = 4.5
"""Nobody is taken to fail before this many repetitions at 80 % of 1RM (own judgement: the published
equations give 7.3 to 10)."""
FEWEST_REPS = 0.2
"""Below this the curve is not followed: a fifth of a rep is not a rep."""


def bend(reps: float | Array) -> Array:
    """Return bend(n) for every curve carried.

    Parameters
    ----------
    reps : float or array, shape (CURVES,)
        Repetitions to failure.

    Returns
    -------
    array, shape (CURVES,)
        The first third for the first of :data:`BENDS`, and so on.

    Examples
    --------
    >>> bend(1.0).max()
    np.float64(0.0)
    """
    n = np.maximum(reps, FEWEST_REPS) + _EACH
    bent = np.log(n)
    bent[_POWERS] = (n[_POWERS] ** _OWN_BEND[_POWERS] - 1) / _OWN_BEND[_POWERS]
    return bent


def slope(reps: float | Array) -> Array:
    """Return the derivative of :func:`bend` for every curve, shape (CURVES,)."""
    return np.asarray(np.maximum(reps, FEWEST_REPS) ** _OWN_SLOPE)


def reps_at(log_ratio: Array, steepness: Array) -> Array:
    """Return the repetitions to failure at log(1RM / mass) for every curve, shape (CURVES,).

    A mass above the 1RM gives less than one repetition.
    """
    share = log_ratio / steepness
    reps = np.exp(np.minimum(share, 4.0))
    own = _OWN_BEND[_POWERS]
    reps[_POWERS] = np.maximum(1 + own * share[_POWERS], 0.0) ** (1 / own)
    return np.asarray(reps)


def curves(reps_at_80: tuple[float, float]) -> tuple[Array, Array]:
    """Return the steepness of every curve carried, and the log of its weight beforehand.

    Parameters
    ----------
    reps_at_80 : (float, float)
        Mean and SD of the repetitions to failure at 80 % of 1RM.

    Returns
    -------
    steepness, log_weight : arrays, shape (CURVES,)
    """
    mean, sd = reps_at_80
    reps = np.maximum(mean - STEPS * sd, FEWEST_AT_80)
    at_80 = bend(np.tile(reps, len(BENDS)))
    weight = np.repeat(BEND_WEIGHTS, len(STEPS)) * np.tile(np.exp(-(STEPS**2) / 2), len(BENDS))
    return LOG_AT_80 / at_80, np.log(weight / weight.sum())
