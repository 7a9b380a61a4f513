"""Strength from everything logged: one filter and smoother per athlete, no sampler.

The athlete's own reps-at-load curve is carried as a grid (:mod:`overbar.strength.curve`);
for each curve of the grid the state is Gaussian:

========= ==========================================================================
STRENGTH  log of the 1RM system mass in kg
GAIN      gain rate as a multiple of the usual one
RESERVE   repetitions by which the athlete under-reports what was left
SPEED     repetitions by which the athlete stands off the published speed line
TIRED     what a hard set takes off the sets after it, log
STEEP     how far the athlete's curve lies off this curve of the grid, share of steepness
DAY       how far this day is above or below the athlete's level
BAND      how far the help of the band in use is off what was measured, share of it
========= ==========================================================================

A set says that the repetitions to failure lay in a window. On a given curve that is a
window on log strength, and the belief moves to the exact mean and variance of itself
times that (blurred) window; how likely the window was weighs the curve. (Putting the
curve into the Gaussian state was tried: after 20 sets to failure it was 7 % off.)
Between days the state drifts. Strength of one day is what the
log up to that day says (*filtered*: the weekly decision must not know the future); the
*smoothed* one looks back from the last day.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import Any

import numpy as np
from scipy.special import ndtr

from overbar.strength.curve import BENDS, CURVES, FEWEST_REPS, Array, bend, curves, reps_at, slope
from overbar.strength.prior import GAIN_BY_R, Prior, prior_for
from overbar.strength.sets import LoggedSet, StrengthPoint
from overbar.strength.velocity import (
    SPEED_MOST_REPS,
    SPEED_OFFSET_SD,
    SPEED_READING_SD,
    reps_from_speed,
)

STRENGTH, GAIN, RESERVE, SPEED, TIRED, STEEP, DAY, BAND = range(8)
STATES = 8

DAY_SD = 0.015
"""Day-to-day spread of performance, log (published: SEM 1.05-2.1 % of the pull-up 1RM, Coyne et al. 2015)."""
SET_SD = 0.010
"""Spread of one set about its day, log: a third of a repetition (own judgement)."""
DRIFT_SD = 0.006
"""Drift of strength that no gain rate explains, log per square root of a week (own judgement)."""
GAIN_DRIFT_SD = 0.02
"""Drift of the gain multiple per square root of a week (own judgement)."""
RESERVE_READING_SD = (0.6, 0.2)
"""Spread of one report of reps left: at none left, and per rep left (own judgement; published: error
about 1 rep with 0-5 left, over 2 with 7-10, Hackett et al. 2017)."""
TIRED_PER_SET = (0.015, 0.008)
"""What a hard set takes off the sets after it that day, log, mean and spread over athletes (own
judgement, 2-3 min rests). How hard a set was goes with the repetitions left: all of it with
one left or none, half with three."""
TIRED_MOST_SETS = 8.0
"""Beyond so many hard sets the day does not tire further (own judgement)."""
TIRED_SET_SD = 0.3
"""Spread of what the earlier sets of one day took, as a share of it (own judgement)."""
MOST_SURE_DONE = 3
"""With more than so many left, that the repetitions done went says nothing the report does not."""
MOST_LEFT = 6
"""A report of more repetitions left than this says only that there were at least so many (published:
errors grow to more than two repetitions with 7-10 left, Hackett et al. 2017)."""
STEEP_SD = 0.07
"""How far the athlete's curve may lie off the nearest of the grid: half of the grid's step, 14 % of the
steepness in men (own judgement)."""
CURVE_FORGETS = 0.15
"""Share of what was learnt of the curve that is let go in a week: curves change with training, and none
of the grid is quite the athlete's (own judgement)."""
TIRED_PER_RECENT_SET = 0.0015
"""What each set of the last days still takes off, log, before it fades (own judgement)."""
RECENT_FADES_DAYS = 1.5
BAND_SD_SHARE = 0.10
"""A band's help is known to a tenth over the pull (own judgement; labels were off in 5 of 8 bands tested).
What it is off by lasts: it does not average out over the sets done with that band."""
SAME_BAND_KG = 0.5
"""Help that differs by more is another band (own judgement)."""
STILL_GAINING_DAYS = 10
"""A gap longer than this adds no further gain (own judgement)."""
KEEPS_DAYS = 21
"""A lay-off up to this costs little (published: detraining review 2022, second-hand)."""
LOSS_PER_WEEK = (0.007, 0.005)
"""Loss of log strength per week beyond that, mean and spread (own judgement)."""
SLIP = 0.01
"""Chance that a row says nothing at all (a slip of the pen; own judgement)."""
SLIP_SPREAD = (1 / 30, 1 / 2)
"""Chance that such a slip names just this count of repetitions, or just this side of a bound."""
SAME_MASS_KG = 2.0
"""Masses this close are taken for the same one tried again (own judgement: the smallest plates)."""
SINGLE_TOLD = (0.75, 0.8)
"""A single with none left, as told: at most this much of a repetition more would have gone, and the blur
of that, repetitions (own judgement)."""
NEAR_MAXIMUM = (1.5, 0.7)
"""A set that ended short of its fellows had at most this many repetitions left, and the blur of
that, repetitions (own judgement)."""
Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Belief:
    """What is believed of an athlete at the end of one day.

    Attributes
    ----------
    on : datetime.date
    body_mass_kg : float
        Latest body mass, kg.
    steepness, log_weight : array, shape (CURVES,)
        Steepness and log weight of each curve.
    first_weight : array, shape (CURVES,)
        Log weights before any set.
    mean : array, shape (CURVES, STATES)
    cov : array, shape (CURVES, STATES, STATES)
    recent : float
        Hard sets of the last days, fading.
    trained_on : datetime.date or None
        Last day with sets.
    band_kg : float
        Measured help of the band last used; 0 before any.
    """

    on: date
    body_mass_kg: float
    steepness: Array
    log_weight: Array
    first_weight: Array
    mean: Array
    cov: Array
    recent: float = 0.0
    trained_on: date | None = None
    band_kg: float = 0.0

    @property
    def weight(self) -> Array:
        """Weight of each curve, summing to one."""
        w = np.exp(self.log_weight - self.log_weight.max())
        return np.asarray(w / w.sum())

    def moments(self, *states: int) -> tuple[Array, Array]:
        """Return mean and covariance of the named states over all curves."""
        index = list(states)
        w, m = self.weight, self.mean[:, index]
        centre = w @ m
        off = m - centre
        cov = self.cov[:, index][:, :, index]
        return centre, np.einsum("k,kij->ij", w, cov + off[:, :, None] * off[:, None, :])

    def point(self) -> StrengthPoint:
        """Return strength with its 90 % interval."""
        mean, cov = self.moments(STRENGTH)
        half = Z90 * float(np.sqrt(cov[0, 0]))
        one_rm = float(np.exp(mean[0]))
        R = one_rm / self.body_mass_kg
        return StrengthPoint(
            self.on, R, R * float(np.exp(-half)), R * float(np.exp(half)), one_rm, self.body_mass_kg
        )


def begin(on: date, body_mass_kg: float, prior: Prior) -> Belief:
    """Return the belief before any set."""
    R, R_sd = prior.R
    log_sd = float(np.sqrt(np.log1p((R_sd / R) ** 2)))
    steepness, log_weight = curves(prior.reps_at_80)
    mean = [
        np.log(R * body_mass_kg) - log_sd**2 / 2,
        prior.gain[0],
        prior.reserve_bias[0],
        0.0,
        TIRED_PER_SET[0],
        0.0,
        0.0,
        0.0,
    ]
    sd = np.array(
        [
            log_sd,
            prior.gain[1],
            prior.reserve_bias[1],
            SPEED_OFFSET_SD,
            TIRED_PER_SET[1],
            STEEP_SD,
            0.0,
            BAND_SD_SHARE,
        ]
    )
    return Belief(
        on,
        body_mass_kg,
        steepness,
        log_weight,
        log_weight,
        np.tile(mean, (CURVES, 1)),
        np.tile(np.diag(sd**2), (CURVES, 1, 1)),
    )


def usual_gain(R: float | Array) -> Array:
    """Return the usual gain of log strength in a trained week at R (own judgement, see GAIN_BY_R)."""
    at, gain = zip(*GAIN_BY_R, strict=True)
    return np.asarray(np.interp(R, at, gain))


def weeks_of(days_off: float, days: float) -> tuple[float, float]:
    """Split ``days`` that follow ``days_off`` without training into gaining and losing weeks."""
    gaining = max(0.0, min(days_off + days, STILL_GAINING_DAYS) - min(days_off, STILL_GAINING_DAYS))
    losing = max(0.0, days_off + days - KEEPS_DAYS) - max(0.0, days_off - KEEPS_DAYS)
    return gaining / 7, losing / 7


def advance(belief: Belief, to: date) -> Belief:
    """Let time pass up to a later day."""
    return _advanced(belief, to)[0]


def _advanced(belief: Belief, to: date) -> tuple[Belief, Array]:
    days = (to - belief.on).days
    if days <= 0:
        return belief, np.broadcast_to(np.eye(STATES), (CURVES, STATES, STATES))
    off = (belief.on - belief.trained_on).days if belief.trained_on else 0
    gaining, losing = weeks_of(off, days)
    usual = usual_gain(np.exp(belief.mean[:, STRENGTH]) / belief.body_mass_kg)
    move = np.broadcast_to(np.eye(STATES), (CURVES, STATES, STATES)).copy()
    move[:, STRENGTH, GAIN] = gaining * usual
    move[:, DAY, DAY] = 0.0
    mean = (move @ belief.mean[:, :, None])[:, :, 0]
    mean[:, STRENGTH] -= losing * LOSS_PER_WEEK[0]
    noise = np.zeros(STATES)
    noise[STRENGTH] = DRIFT_SD**2 * days / 7 + (losing * LOSS_PER_WEEK[1]) ** 2
    noise[GAIN] = GAIN_DRIFT_SD**2 * gaining
    cov = move @ belief.cov @ move.transpose(0, 2, 1) + np.diag(noise)
    faded = belief.recent * float(np.exp(-days / RECENT_FADES_DAYS))
    kept = (1 - CURVE_FORGETS) ** (days / 7)
    learnt = belief.log_weight - belief.log_weight.max() - belief.first_weight
    weight = belief.first_weight + kept * learnt
    return replace(belief, on=to, log_weight=weight, mean=mean, cov=cov, recent=faded), move


def observe(belief: Belief, sets: Sequence[LoggedSet]) -> Belief:
    """Learn from the sets of one day.

    Parameters
    ----------
    belief : Belief
        Already advanced to that day.
    sets : sequence of LoggedSet
        All of one day; their order is read from ``order``.
    """
    tired = belief.recent * TIRED_PER_RECENT_SET
    mean, cov = belief.mean.copy(), belief.cov.copy()
    mean[:, DAY] = -tired
    cov[:, DAY, :] = cov[:, :, DAY] = 0.0
    cov[:, DAY, DAY] = DAY_SD**2 + (tired / 2) ** 2
    step = _Step(belief.steepness, mean, cov, belief.log_weight.copy(), belief.band_kg)
    bounds: list[tuple[LoggedSet, Array]] = []
    earlier = np.zeros(CURVES)
    too_heavy = np.inf  # once it did not move that day, trying it again says nothing new
    for done in in_order(sets):
        step.take_band(-done.added_kg)
        step.learn_speed(done, earlier)
        if done.reps == 0:
            if done.system_mass_kg < too_heavy - SAME_MASS_KG:
                step.learn_maximum(done, earlier)
                too_heavy = done.system_mass_kg
        elif done.failed:
            step.learn_maximum(done, earlier)
        elif done.reps == 1 and done.reps_left == 0:
            step.learn_single(done, earlier)
        elif done.reps_left is not None:
            step.learn_reserve(done, earlier)
        else:
            bounds.append((done, earlier))
        earlier = np.minimum(earlier + step.hardness(done, earlier), TIRED_MOST_SETS)
    fallen = fell_short([done for done, _ in bounds])
    if fallen is not None:
        step.learn_near_maximum(*next(pair for pair in bounds if pair[0] is fallen))
    if bounds:
        hardest = max(
            bounds, key=lambda pair: np.log(pair[0].system_mass_kg) + 0.06 * (pair[0].reps ** 0.5 - 1) * 2
        )
        step.learn_at_least(hardest[0])
    return Belief(
        belief.on,
        float(np.median([done.body_mass_kg for done in sets])),
        belief.steepness,
        step.log_weight,
        belief.first_weight,
        step.mean,
        step.cov,
        belief.recent + len(sets),
        belief.on,
        step.band_kg,
    )


FRESH = np.zeros(CURVES)


class _Step:
    """The belief within one day, moved set by set."""

    def __init__(
        self, steepness: Array, mean: Array, cov: Array, log_weight: Array, band_kg: float = 0.0
    ) -> None:
        self.steepness, self.mean, self.cov, self.log_weight = steepness, mean, cov, log_weight
        self.band_kg = band_kg

    def take_band(self, help_kg: float) -> None:
        """Take a band; nothing is known yet of what another one is off by."""
        if help_kg > 0 and abs(help_kg - self.band_kg) > SAME_BAND_KG:
            self.band_kg = help_kg
            self.mean[:, BAND] = 0.0
            self.cov[:, BAND, :] = self.cov[:, :, BAND] = 0.0
            self.cov[:, BAND, BAND] = BAND_SD_SHARE**2

    def learn_maximum(self, done: LoggedSet, earlier: Array) -> None:
        """Not one more repetition would have gone."""
        if done.reps == 0:
            self._window(done, 1.0, -np.inf, 0.0, earlier, 0.0, None)
        elif done.reps == 1:
            self._window(done, 1.0, 0.0, 0.5, earlier, 0.0, None)
        else:
            self._window(done, float(done.reps), -0.5, 0.5, earlier, 0.0, None)

    def learn_single(self, done: LoggedSet, earlier: Array) -> None:
        """A single with none left is taken for a measurement, less sharply than one before a failed rep."""
        self._window(done, 1.0, 0.0, SINGLE_TOLD[0], earlier, SINGLE_TOLD[1], None)

    def learn_near_maximum(self, done: LoggedSet, earlier: Array) -> None:
        """The set ended short of its fellows: few repetitions can have been left."""
        self._window(done, float(done.reps), -0.5, NEAR_MAXIMUM[0], earlier, NEAR_MAXIMUM[1], None)

    def learn_at_least(self, done: LoggedSet) -> None:
        """These repetitions went; how many more would have is not known."""
        low = 0.0 if done.reps == 1 else -0.5
        self._window(done, float(done.reps), low, np.inf, FRESH, 0.0, None)

    def learn_reserve(self, done: LoggedSet, earlier: Array) -> None:
        """Repetitions were left: the athlete says how many, and is known to say too few.

        That the repetitions done went is certain; what is said of the rest moves with the
        athlete's habit. None left is the least one can say: it bounds from above only.
        """
        told = float(done.reps_left or 0.0)
        if told <= MOST_SURE_DONE:
            self._window(done, float(done.reps), -0.5, np.inf, earlier, 0.0, None)
        count = np.maximum(done.reps + min(told, MOST_LEFT) + self.mean[:, RESERVE], done.reps - 0.25)
        low = -np.inf if told < 0.25 else -0.5 if told <= MOST_LEFT else 0.5
        high = 0.5 if told <= MOST_LEFT else np.inf
        base, per_rep = RESERVE_READING_SD
        spread = base + per_rep * np.minimum(self._left(done, earlier), MOST_LEFT + 3)
        self._window(done, count, low, high, earlier, spread, RESERVE)

    def learn_speed(self, done: LoggedSet, earlier: Array) -> None:
        """The first rep's speed places the repetitions to failure at this load, as far as the line goes."""
        if done.first_rep_speed_mps is None:
            return
        told = reps_from_speed(done.first_rep_speed_mps)
        reps = np.maximum(min(told, SPEED_MOST_REPS) + self.mean[:, SPEED], 0.5)
        high = 0.05 if told <= SPEED_MOST_REPS else np.inf
        self._window(done, reps, -0.05, high, earlier, SPEED_READING_SD, SPEED)

    def hardness(self, done: LoggedSet, earlier: Array) -> Array:
        """How much of a hard set this one was on each curve, 0 to 1."""
        return np.asarray(np.minimum(1.0, 2.0 / (1.0 + self._left(done, earlier))))

    def _left(self, done: LoggedSet, earlier: Array) -> Array:
        """Repetitions that should have been left on each curve."""
        return np.maximum(reps_at(self._ratio(done, earlier), self.steepness) - done.reps, 0.0)

    def _ratio(self, done: LoggedSet, earlier: Array) -> Array:
        """Log of what could be lifted once right now over the mass of this set."""
        now = self.mean[:, STRENGTH] + self.mean[:, DAY] - self.mean[:, TIRED] * earlier
        return np.asarray(
            now - np.log(max(done.system_mass_kg, 1.0)) + self.mean[:, BAND] * _help_share(done)
        )

    def _window(
        self,
        done: LoggedSet,
        reps: float | Array,
        low: float,
        high: float,
        earlier: Array,
        reps_sd: float | Array,
        offset: int | None,
    ) -> None:
        """Learn that the repetitions to failure lay in a window about ``reps``.

        A count of repetitions is a window on the curve itself. What is said of repetitions
        (``offset``) has its spread in repetitions: the curve is made straight where belief
        and report meet. (Taken where the report alone lies, high reports count for more
        than low ones on a bent curve, which was worth a repetition.)
        """
        ratio = self._ratio(done, earlier)
        tired_sd = TIRED_SET_SD * np.abs(self.mean[:, TIRED] * earlier)
        own = np.asarray(SET_SD**2 + tired_sd**2)
        look = np.zeros((CURVES, STATES))
        look[:, STRENGTH] = look[:, DAY] = 1.0
        look[:, TIRED] = -earlier
        look[:, STEEP] = -ratio
        look[:, BAND] = _help_share(done)
        count = FRESH + reps
        if offset is None:
            from_ratio, to_ratio = self._edge(count, low), self._edge(count, high)
            blur = np.sqrt(own + (reps_sd * self.steepness * slope(count)) ** 2)
        else:
            said_var = np.asarray(reps_sd) ** 2 + self.cov[:, offset, offset]
            meet = self._meet(ratio, (self._reach(look) * look).sum(axis=1) + own, count, said_var)
            per_rep = self.steepness * slope(meet)
            look[:, offset] = -per_rep
            place = self.steepness * bend(meet) + per_rep * (count - meet)
            from_ratio, to_ratio = place + per_rep * low, place + per_rep * high
            blur = np.sqrt(own + (reps_sd * per_rep) ** 2)
        at = ratio * (1 - self.mean[:, STEEP])
        self.mean, self.cov, chance = _moved(self.mean, self.cov, look, at, from_ratio, to_ratio, blur)
        self.log_weight = self.log_weight + np.log(chance)

    def _edge(self, count: Array, beyond: float) -> Array:
        """Log of the 1RM over a mass that goes ``count + beyond`` times."""
        return self.steepness * bend(count + beyond) if np.isfinite(beyond) else np.full(CURVES, beyond)

    def _meet(self, ratio: Array, variance: Array, count: Array, said_var: Array) -> Array:
        """Repetitions to failure where what is believed and what is said meet, each by its variance."""
        believed = np.maximum(reps_at(ratio, self.steepness), FEWEST_REPS)
        believed_var = variance / (self.steepness * slope(believed)) ** 2
        said = np.maximum(count, FEWEST_REPS)
        return np.asarray((believed * said_var + said * believed_var) / (said_var + believed_var))

    def _reach(self, look: Array) -> Array:
        """Covariance of the whole state with what is looked at, shape (CURVES, STATES)."""
        return np.asarray((self.cov @ look[:, :, None])[:, :, 0])


def _help_share(done: LoggedSet) -> float:
    """Band help as a share of what is left to lift: what more help takes off its logarithm."""
    return max(-done.added_kg, 0.0) / max(done.system_mass_kg, 1.0)


def _moved(
    mean: Array, cov: Array, look: Array, at: Array, low: Array, high: Array, blur: Array
) -> tuple[Array, Array, Array]:
    """Multiply by a window on ``look . state`` blurred by a Gaussian; keep exact mean and variance.

    ``at`` is the belief's own place in the window's units. Also returns the chance of the
    window, shape (CURVES,).
    """
    reach = (cov @ look[:, :, None])[:, :, 0]
    spread = np.sqrt((look * reach).sum(axis=1) + blur**2)
    a, b = (low - at) / spread, (high - at) / spread
    at_a, at_b = _bell(a), _bell(b)
    inside = np.where(a > 0, ndtr(-a) - ndtr(-b), ndtr(b) - ndtr(a))
    closed = np.isfinite(a) & np.isfinite(b)
    chance = SLIP * np.where(closed, *SLIP_SPREAD) + (1 - SLIP) * inside
    first = (1 - SLIP) * (at_a - at_b) / spread / chance
    edges = np.where(np.isfinite(a), a, 0.0) * at_a - np.where(np.isfinite(b), b, 0.0) * at_b
    second = (1 - SLIP) * edges / spread**2 / chance - first**2
    return (
        mean + reach * first[:, None],
        cov + reach[:, :, None] * reach[:, None, :] * second[:, None, None],
        chance,
    )


def _bell(x: Array) -> Array:
    return np.asarray(np.exp(-0.5 * x * x) / np.sqrt(2 * np.pi))


def fell_short(sets: Sequence[LoggedSet]) -> LoggedSet | None:
    """Return the first set of a day that fell short of what went twice before, or None.

    One or two repetitions fewer than two earlier sets of the same exercise at the same mass.
    A shorter set after one longer, or one much shorter, is as likely a plan as an end.
    """
    most: dict[tuple[str, float], list[int]] = {}
    for done in sets:
        before = most.setdefault((done.exercise, round(done.system_mass_kg, 1)), [])
        if any(before.count(reps) >= 2 for reps in (done.reps + 1, done.reps + 2)):
            return done
        before.append(done.reps)
    return None


def in_order(sets: Iterable[LoggedSet]) -> list[LoggedSet]:
    """Return one day's sets in the order done; sets of the same place heaviest and longest first."""
    return sorted(
        sets,
        key=lambda done: (
            done.order,
            done.session,
            -done.system_mass_kg,
            -done.reps,
            done.reps_left is None,
            done.reps_left or 0.0,
            not done.failed,
            done.first_rep_speed_mps or 0.0,
            done.exercise,
        ),
    )


def by_day(sets: Iterable[LoggedSet], through: date | None = None) -> list[tuple[date, list[LoggedSet]]]:
    """Group sets by day, oldest first; holds and lowerings (with ``seconds``) are left out."""
    kept = [done for done in sets if done.seconds is None and (through is None or done.on <= through)]
    kept.sort(key=lambda done: done.on)
    return [(day, list(group)) for day, group in groupby(kept, key=lambda done: done.on)]


def beliefs(
    sets: Iterable[LoggedSet],
    sex: str = "unstated",
    through: date | None = None,
    prior: Prior | None = None,
    after: Belief | None = None,
) -> list[Belief]:
    """Return the belief at the end of every day with sets, oldest first (filtered).

    With ``after``, the belief kept from an earlier run over the same log, only later days
    are read and returned; they come out the same.
    """
    if after is None:
        return [belief for belief, _, _ in filtered(sets, sex, through, prior)]
    found = []
    for day, of_day in by_day((done for done in sets if done.on > after.on), through):
        after = observe(advance(after, day), of_day)
        found.append(after)
    return found


def filtered(
    sets: Iterable[LoggedSet], sex: str = "unstated", through: date | None = None, prior: Prior | None = None
) -> list[tuple[Belief, Belief, Array]]:
    """Return (belief, belief before that day's sets, transition into the day) of every day."""
    days = by_day(sets, through)
    if not days:
        return []
    first_day, first_sets = days[0]
    body = float(np.median([done.body_mass_kg for done in first_sets]))
    belief = begin(first_day, body, prior or prior_for(sex))
    steps = []
    for day, of_day in days:
        ahead, move = _advanced(belief, day)
        belief = observe(ahead, of_day)
        steps.append((belief, ahead, move))
    return steps


def estimate(
    sets: Iterable[LoggedSet],
    sex: str = "unstated",
    through: date | None = None,
    prior: Prior | None = None,
) -> tuple[StrengthPoint, ...]:
    """Return strength per logged date as known on that date (filtered).

    Parameters
    ----------
    sets : iterable of LoggedSet
        Sets of exercises that test pulling strength (the ladder says which), in any order.
    sex : {"f", "m", "unstated"}
        Chooses the published prior.
    through : datetime.date or None
        Last day to read.
    prior : Prior or None
        In place of the published one.

    Returns
    -------
    tuple of StrengthPoint
        Oldest first; empty when there is no set.
    """
    return tuple(belief.point() for belief in beliefs(sets, sex, through, prior))


def estimate_smoothed(
    sets: Iterable[LoggedSet],
    sex: str = "unstated",
    through: date | None = None,
    prior: Prior | None = None,
) -> tuple[StrengthPoint, ...]:
    """Return strength per logged date looking back from the last one (for curves and reports).

    Rauch-Tung-Striebel smoother within each curve, with the weights of the last day.
    """
    steps = filtered(sets, sex, through, prior)
    if not steps:
        return ()
    out = [steps[-1][0]]
    for k in range(len(steps) - 2, -1, -1):
        out.append(_smoothed(steps, k, out[-1])[0])
    return tuple(belief.point() for belief in reversed(out))


def look_back(steps: Sequence[tuple[Belief, Belief, Array]], to: int) -> tuple[Belief, Array]:
    """Return the smoothed belief of day number ``to`` and its covariance with the last day's state.

    Returns
    -------
    belief : Belief
    joint : array, shape (CURVES, STATES, STATES)
        Covariance of that day's state (rows) with the last day's (columns), for each curve.
    """
    later = steps[-1][0]
    joint = later.cov
    for k in range(len(steps) - 2, to - 1, -1):
        later, gain = _smoothed(steps, k, later)
        joint = gain @ joint
    return later, joint


def _smoothed(steps: Sequence[tuple[Belief, Belief, Array]], k: int, later: Belief) -> tuple[Belief, Array]:
    """One step back of the Rauch-Tung-Striebel smoother, on each curve; also its gain."""
    belief, (_, ahead, move) = steps[k][0], steps[k + 1]
    reach = belief.cov @ move.transpose(0, 2, 1)
    # The day state is zero before its sets are read, and another band may be taken then: their rows are
    # left out of the inverse.
    known = [STRENGTH, GAIN, RESERVE, SPEED, TIRED, STEEP]
    gain = np.zeros_like(reach)
    inner = ahead.cov[:, known][:, :, known]
    gain[:, :, known] = np.linalg.solve(inner, reach[:, :, known].transpose(0, 2, 1)).transpose(0, 2, 1)
    mean = belief.mean + (gain @ (later.mean - ahead.mean)[:, :, None])[:, :, 0]
    cov = belief.cov + gain @ (later.cov - ahead.cov) @ gain.transpose(0, 2, 1)
    return replace(belief, mean=mean, cov=cov, log_weight=later.log_weight), gain


def parameters_used(sex: str = "unstated", prior: Prior | None = None) -> dict[str, Any]:
    """Return every number the estimate rests on, with unit and basis, for the record."""
    used = prior or prior_for(sex)
    return {
        "prior": {
            "R": list(used.R),
            "reps_at_80_percent": list(used.reps_at_80),
            "reserve_under_reported_reps": list(used.reserve_bias),
            "gain_multiple": list(used.gain),
            "basis": used.basis,
            "why": used.why,
            "own_athletes": used.athletes,
        },
        "day_sd": DAY_SD,
        "set_sd": SET_SD,
        "drift_sd_per_sqrt_week": DRIFT_SD,
        "gain_drift_sd_per_sqrt_week": GAIN_DRIFT_SD,
        "usual_gain_per_week_by_R": [list(pair) for pair in GAIN_BY_R],
        "reserve_reading_sd_reps": list(RESERVE_READING_SD),
        "speed_offset_sd_reps": SPEED_OFFSET_SD,
        "speed_reading_sd_reps": SPEED_READING_SD,
        "tired_per_hard_set": list(TIRED_PER_SET),
        "tired_per_recent_set": TIRED_PER_RECENT_SET,
        "band_sd_share": BAND_SD_SHARE,
        "loss_per_week_beyond_21_days": list(LOSS_PER_WEEK),
        "curve": f"log(1RM/mass) = steepness x (reps^k - 1)/k, k in {list(BENDS)} weighed by the log",
        "curve_off_grid_sd": STEEP_SD,
        "curve_forgets_per_week": CURVE_FORGETS,
        "mass": "system mass: body mass + added load - band help; forearms counted as lifted",
        "estimate": "filtered: only what was logged up to that date",
    }


__all__ = [
    "Belief",
    "advance",
    "begin",
    "beliefs",
    "estimate",
    "estimate_smoothed",
    "observe",
    "parameters_used",
]
