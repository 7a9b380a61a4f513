"""The prior from the coach's own athletes: the published norm, moved by what their first logs say.

Each athlete's first weeks are read with the published norm; what the norm put in is taken
out again, so that an athlete counts by what the own log says and no more (four numbers with
their joint uncertainty: :data:`WHAT`). Over the athletes stands a normal model in two steps:
all of a coach's athletes may stand off the norm, those of one sex and training a little
more, and each of them by a spread of their own. Means and spreads are estimated together
(expectation-maximisation: restricted maximum likelihood, held by the norm).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from overbar.strength.curve import LOG_AT_80, Array, reps_at
from overbar.strength.posterior import GAIN, RESERVE, STEEP, STRENGTH, Belief, by_day, filtered, look_back
from overbar.strength.prior import Prior, prior_for
from overbar.strength.sets import LoggedSet

WHAT = ("R", "reps_at_80", "reserve_bias", "gain")
"""What is learnt, in this order; strength as its logarithm."""
SIZE = len(WHAT)
FIRST_DAYS = 112
"""An athlete speaks by the first sixteen weeks of the log (own judgement: long enough for the gain to
show, and the day the athlete began is what a prior is about)."""
LEAST_DAYS, LEAST_SPAN_DAYS = 8, 28
"""Fewer logged days, or fewer days from the first to the last, say too little (own judgement)."""
LEAST_ATHLETES = 3
"""Fewer others leave the published norm as it is: they are chance, and it would give them away (own
judgement)."""
NORM_COUNTS = (5.0, 5.0, 1.6, 5.0)
"""The published mean counts like so many of the coach's athletes (own judgement: samples of 23 to 82
people part by more than their standard errors; of under-reporting the published interval of the mean,
0.17-1.73, is a spread of 0.4, so 0.5^2 / 0.4^2)."""
SHARED = 2 / 3
"""Share of the variance of a coach's departure from the norm that all groups share (own judgement)."""
SPREAD_COUNTS = 10.0
"""The published spread counts like so many athletes (own judgement)."""
LEAST_SPREAD = 0.6
"""The spread over athletes is never taken for less than this share of the published one (own judgement:
a narrow circle of athletes says little of who comes next)."""
MOST_OFF = 4.0
"""What one log alone says is believed up to so many published spreads off the norm."""
ROUNDS = 500
CLOSE_ENOUGH = 1e-9


@dataclass(frozen=True)
class Says:
    """What one athlete's first log says, without the norm it was read with.

    Attributes
    ----------
    athlete : str
        Who, so that nobody feeds the own prior.
    sex, training : str
        The published norm it is told against.
    days : int
        Logged days it rests on.
    pull : tuple of float, length 4
        ``information @ mean`` of what the log says, in published spreads from the norm.
    information : tuple of tuple of float, shape (4, 4)
        Inverse covariance of the same; zero where the log says nothing.
    """

    athlete: str
    sex: str
    training: str
    days: int
    pull: tuple[float, ...]
    information: tuple[tuple[float, ...], ...]


def first_sets(sets: Iterable[LoggedSet]) -> list[LoggedSet]:
    """Return the sets an athlete speaks by: those of the first sixteen weeks."""
    days = by_day(sets)
    return [done for day, of_day in days if (day - days[0][0]).days < FIRST_DAYS for done in of_day]


def says_of(
    athlete: str, sets: Iterable[LoggedSet], sex: str = "unstated", training: str = "ordinary"
) -> Says | None:
    """Return what an athlete's first log says, or None when it is too short to say anything.

    Parameters
    ----------
    athlete : str
    sets : iterable of LoggedSet
        Sets that test pulling strength; later ones than :data:`FIRST_DAYS` are not read.
    sex, training : str
        Choose the published norm. It is always read with that norm and never with what
        other athletes say, so that nobody hears an echo of themselves.
    """
    first = first_sets(sets)
    steps = filtered(first, sex, prior=prior_for(sex, training))
    if len(steps) < LEAST_DAYS or steps[-1][0].on - steps[0][0].on < timedelta(days=LEAST_SPAN_DAYS):
        return None
    centre, spread = _moments(steps[0][1])
    unit = np.sqrt(np.diag(spread))
    mean, cov = _moments(look_back(steps, 0)[0])
    known = np.linalg.inv(cov / np.outer(unit, unit))
    pull, information = _without(known, known @ ((mean - centre) / unit), spread / np.outer(unit, unit))
    return Says(
        athlete,
        sex,
        training,
        len(steps),
        tuple(float(x) for x in pull),
        tuple(tuple(float(x) for x in row) for row in information),
    )


def _moments(belief: Belief) -> tuple[Array, Array]:
    """Mean and covariance of :data:`WHAT` over all curves; strength as log R."""
    w = belief.weight
    straight = belief.mean[:, STEEP]
    reps = reps_at(LOG_AT_80 * (1 - straight), belief.steepness)
    step = 1e-4
    per_steep = (reps_at(LOG_AT_80 * (1 - straight - step), belief.steepness) - reps) / step
    log_R = belief.mean[:, STRENGTH] - np.log(belief.body_mass_kg)
    mean = np.stack([log_R, reps, belief.mean[:, RESERVE], belief.mean[:, GAIN]], axis=1)
    look = np.zeros((len(w), SIZE, belief.mean.shape[1]))
    look[:, 0, STRENGTH] = look[:, 2, RESERVE] = look[:, 3, GAIN] = 1.0
    look[:, 1, STEEP] = per_steep
    centre = w @ mean
    off = mean - centre
    within = look @ belief.cov @ look.transpose(0, 2, 1)
    return centre, np.einsum("k,kij->ij", w, within + off[:, :, None] * off[:, None, :])


def _without(known: Array, told: Array, norm: Array) -> tuple[Array, Array]:
    """Take the norm out of a posterior (information and its pull); what is then below nothing is nothing."""
    values, vectors = np.linalg.eigh(known - np.linalg.inv(norm))
    along = vectors.T @ told
    held = np.maximum(values, 0.0)
    along = np.clip(along, -MOST_OFF * held, MOST_OFF * held)
    return vectors @ along, (vectors * held) @ vectors.T


@dataclass(frozen=True)
class Circle:
    """What all of a coach's athletes have in common, in published spreads from the norm.

    Attributes
    ----------
    groups : tuple of (str, str)
        Sex and training of each group, in the order of ``off`` and ``off_cov``.
    off : array, shape (groups, 4)
        How far each group's mean stands off its norm.
    off_cov : array, shape (groups, 4, 4)
    spread : array, shape (4,)
        Spread over athletes of one group.
    """

    groups: tuple[tuple[str, str], ...]
    off: Array
    off_cov: Array
    spread: Array


def circle_of(
    said: Sequence[Says],
    asked: tuple[str, str],
    norm_counts: Sequence[float] = NORM_COUNTS,
    spread_counts: float = SPREAD_COUNTS,
    least_spread: float = LEAST_SPREAD,
) -> Circle:
    """Estimate means and spread over athletes (normal-normal model in two steps).

    Parameters
    ----------
    said : sequence of Says
    asked : (str, str)
        A group that is wanted beside those of ``said``.
    norm_counts, spread_counts : float
        How many athletes the published mean and spread count for; near zero and zero
        give restricted maximum likelihood without a norm.
    least_spread : float
        Floor of the spread.
    """
    groups = tuple(sorted({(one.sex, one.training) for one in said} | {asked}))
    place = np.array([groups.index((one.sex, one.training)) for one in said], dtype=int)
    information = np.array([one.information for one in said]).reshape(-1, SIZE, SIZE)
    pull = np.array([one.pull for one in said]).reshape(-1, SIZE)
    mean_var = 1 / np.asarray(norm_counts, dtype=float)
    # One common departure stands first, then one for each group.
    held = np.concatenate([1 / (SHARED * mean_var), *(1 / ((1 - SHARED) * mean_var) for _ in groups)])
    own = np.zeros((len(groups), SIZE, len(held)))
    for k in range(len(groups)):
        own[k, :, :SIZE] = np.eye(SIZE)
        own[k, :, SIZE * (k + 1) : SIZE * (k + 2)] = np.eye(SIZE)
    spread = np.ones(SIZE)
    for _ in range(ROUNDS):
        off, off_cov = _means(information, pull, place, spread, held, own)
        left = np.linalg.inv(information + np.diag(1 / spread**2))
        mean = (left @ (pull[:, :, None] - information @ off[place][:, :, None]))[:, :, 0]
        reach = left @ information
        second = np.diagonal(left + reach @ off_cov[place] @ reach.transpose(0, 2, 1), axis1=1, axis2=2)
        total = spread_counts + (mean**2 + second).sum(axis=0)
        fresh = np.maximum(np.sqrt(total / max(spread_counts + len(said), 1.0)), least_spread)
        moved, spread = float(np.abs(fresh - spread).max()), fresh
        if moved < CLOSE_ENOUGH:
            break
    off, off_cov = _means(information, pull, place, spread, held, own)
    return Circle(groups, off, off_cov, spread)


def _means(
    information: Array, pull: Array, place: Array, spread: Array, held: Array, own: Array
) -> tuple[Array, Array]:
    """Posterior of each group's mean at a given spread over athletes."""
    damp = np.linalg.inv(np.eye(SIZE) + information * spread[None, None, :] ** 2)
    weight, told = damp @ information, (damp @ pull[:, :, None])[:, :, 0]
    precision, right = np.diag(held), np.zeros(len(held))
    for k in range(len(own)):
        mine = place == k
        precision = precision + own[k].T @ weight[mine].sum(axis=0) @ own[k]
        right = right + own[k].T @ told[mine].sum(axis=0)
    cov = np.linalg.inv(precision)
    return own @ (cov @ right), own @ cov @ own.transpose(0, 2, 1)


def own_prior(
    said: Iterable[Says], sex: str = "unstated", training: str = "ordinary", but: str | None = None
) -> Prior:
    """Return the prior of the next athlete: the published norm moved by those before.

    Parameters
    ----------
    said : iterable of Says
        Each athlete once; of two with the same name the last one counts.
    sex, training : str
    but : str or None
        The athlete it is for, who does not speak for him- or herself.

    Returns
    -------
    Prior
        The published one itself while fewer than :data:`LEAST_ATHLETES` others speak.
        ``basis`` and ``why`` say from how many it comes.
    """
    each = {one.athlete: one for one in said if one.athlete != but}
    others = [each[name] for name in sorted(each)]
    norm = prior_for(sex, training)
    if len(others) < LEAST_ATHLETES:
        return norm
    group = (sex if sex in ("f", "m") else "unstated", training)
    circle = circle_of(others, group)
    k = circle.groups.index(group)
    log_sd = float(np.sqrt(np.log1p((norm.R[1] / norm.R[0]) ** 2)))
    unit = np.array([log_sd, norm.reps_at_80[1], norm.reserve_bias[1], norm.gain[1]])
    centre = np.array(
        [np.log(norm.R[0]) - log_sd**2 / 2, norm.reps_at_80[0], norm.reserve_bias[0], norm.gain[0]]
    )
    mean = centre + unit * circle.off[k]
    sd = unit * np.sqrt(circle.spread**2 + np.diag(circle.off_cov[k]))
    R = float(np.exp(mean[0] + sd[0] ** 2 / 2))
    alike = sum((one.sex, one.training) == group for one in others)
    return replace(
        norm,
        R=_rounded(R, R * float(np.sqrt(np.expm1(sd[0] ** 2)))),
        reps_at_80=_rounded(mean[1], sd[1]),
        reserve_bias=_rounded(mean[2], sd[2]),
        gain=_rounded(mean[3], sd[3]),
        basis=f"from {len(others)} of your athletes and the published norm; {norm.basis}",
        why=f"{alike} of them of the same sex and training; few of them move the norm little",
        athletes=len(others),
    )


def _rounded(mean: float, sd: float) -> tuple[float, float]:
    """Round, so that the figures do not hang on the order in which athletes were added up."""
    return round(float(mean), 4), round(float(sd), 4)
