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
LOG_AT_80 = float(np.log(1 / 0.80))
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
    shapes = zip(_by_bend(reps), BENDS, strict=True)
    return np.concatenate([(n**k - 1) / k if k else np.log(n) for n, k in shapes])


def slope(reps: float | Array) -> Array:
    """Return the derivative of :func:`bend` for every curve, shape (CURVES,)."""
    return np.concatenate([n ** (k - 1) for n, k in zip(_by_bend(reps), BENDS, strict=True)])


def reps_at(log_ratio: Array, steepness: Array) -> Array:
    """Return the repetitions to failure at log(1RM / mass) for every curve, shape (CURVES,).

    A mass above the 1RM gives less than one repetition.
    """
    shares = (log_ratio / steepness).reshape(len(BENDS), -1)
    grown = [
        np.maximum(1 + k * x, 0.0) ** (1 / k) if k else np.exp(np.minimum(x, 4.0))
        for k, x in zip(BENDS, shares, strict=True)
    ]
    return np.concatenate(grown)


def _by_bend(reps: float | Array) -> Array:
    every = np.broadcast_to(np.asarray(reps, float), (CURVES,))
    return np.maximum(every, FEWEST_REPS).reshape(len(BENDS), -1)


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
    reps = np.maximum(mean - STEPS * sd, 2.5)
    at_80 = bend(np.tile(reps, len(BENDS)))
    weight = np.repeat(BEND_WEIGHTS, len(STEPS)) * np.tile(np.exp(-(STEPS**2) / 2), len(BENDS))
    return LOG_AT_80 / at_80, np.log(weight / weight.sum())
