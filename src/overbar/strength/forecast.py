"""When: the date range in which a value reaches a target, what it assumes, and what-ifs.

A value that rises at an uncertain steady rate and wanders about it reaches a target at a
time whose distribution is known exactly (first passage of a Brownian motion with drift:
the inverse Gaussian law); it is averaged over what is believed of today's value and of
the rate. Time is counted in *trained weeks*, so that gaps, light weeks and habits enter
as a slower clock.

Straight lines flatter the far end, so strength is forecast on a scale on which the usual
gain is straight: weeks of usual gain (gains shrink as R rises).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Literal

import numpy as np
from scipy.special import log_ndtr, ndtr

from overbar.strength.curve import Array
from overbar.strength.posterior import DRIFT_SD, GAIN, STRENGTH, Belief, advance, usual_gain

HORIZON_WEEKS = 104
"""No date is named further ahead than two years (own judgement)."""
RANGE = 0.80
"""Probability the named range holds."""
DAYS_FACTOR: Mapping[int, float] = {1: 0.4, 2: 2 / 3, 3: 1.0, 4: 1.1, 5: 1.1}
"""Gain rate by training days a week against three (own judgement: two days give about two thirds;
published: pooled effects 0.83, 0.93, 1.08 for 2, 3, 4 days, Grgic et al. 2018, smaller differences)."""
SLEEP_FACTOR = ((5.0, 0.6), (6.0, 0.8), (7.0, 1.0))
"""Gain rate by mean hours of sleep, straight between (own judgement)."""
LIGHT_WEEK_FACTOR = 0.5
"""A light week gives half of a full one (own judgement). Those of the log are in its rate already."""
USUAL_WEEKS = 20.0
"""A gate item not yet tested twice is taken to need about this long from its first value, within a
factor of two either way (own judgement)."""
FUTURE_GAIN_DRIFT_SD = 0.03
"""Drift of the gain multiple ahead, per square root of a week: sore weeks, illness, another mix of work
come on top of what the past gain wandered by (own judgement, set on simulated lives)."""
FUTURE_GAIN_SHARE = 0.8
"""Share of the past gain that lasts: gains fade and weeks are lost more often than they are won (own
judgement, set on simulated lives)."""
RATE_DRIFT_SHARE = 0.10
"""Drift of a tested value's rate per square root of a week, as a share of the usual rate (own judgement:
heights rise in steps, by practice, or with strength)."""
LEVEL_DRIFT_SHARE = 0.45
"""Wandering of a tested value per square root of a week, as a share of the usual weekly rise (own
judgement)."""
RATE_LEFT_AT_TARGET = 0.6
"""A tested value still rises at this share of its first rate when it reaches its target (own
judgement; usual strength gains fall to a half from R 1.17 to 1.37)."""

QUADRATURE_NODES, QUADRATURE_WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
QUADRATURE_WEIGHTS = QUADRATURE_WEIGHTS / QUADRATURE_WEIGHTS.sum()


@dataclass(frozen=True)
class Habits:
    """How the coming weeks are lived.

    Attributes
    ----------
    days_a_week : int
        Training days offered and kept.
    sleep_h : float or None
        Mean sleep; None leaves it out.
    body_mass_change : float
        Share of body mass gained (negative: lost) over ``over_weeks``, strength in kg kept.
    over_weeks : float
        Weeks that change takes.
    missed_days : float
        Days without training, soon (a fortnight is 14).
    light_weeks : int
        Light weeks soon, beside those the log is used to.
    used_to_days : int
        Days a week the past gain was made with.
    used_to_sleep_h : float or None
        Sleep the past gain was made with.
    """

    days_a_week: int = 3
    sleep_h: float | None = None
    body_mass_change: float = 0.0
    over_weeks: float = 8.0
    missed_days: float = 0.0
    light_weeks: int = 0
    used_to_days: int = 3
    used_to_sleep_h: float | None = None

    @property
    def pace(self) -> float:
        """Gain rate against the one behind the past log."""
        days = DAYS_FACTOR[min(max(self.days_a_week, 1), 5)] / DAYS_FACTOR[min(max(self.used_to_days, 1), 5)]
        sleep = _sleep(self.sleep_h) / _sleep(self.used_to_sleep_h)
        return days * sleep

    def trained_weeks(self, days: Array) -> Array:
        """Return the trained weeks that have passed after so many days."""
        lost = self.missed_days + 7 * (1 - LIGHT_WEEK_FACTOR) * self.light_weeks
        return np.maximum(days - lost, 0.0) / 7 * self.pace

    def assumes(self) -> tuple[str, ...]:
        """Return what is assumed, in words."""
        said = [f"training days a week: {self.days_a_week}, kept as well as so far"]
        if self.sleep_h is not None:
            said.append(f"{self.sleep_h:g} h of sleep")
        if self.light_weeks:
            said.append(f"{self.light_weeks} light week(s) soon beside the usual ones")
        if self.missed_days:
            said.append(f"the next {self.missed_days:g} days without training")
        if self.body_mass_change:
            change = 100 * self.body_mass_change
            said.append(f"body mass {change:+.1f} % over {self.over_weeks:g} weeks, strength in kg kept")
        else:
            said.append("body mass unchanged")
        return tuple(said)


def _sleep(hours: float | None) -> float:
    at, factor = zip(*SLEEP_FACTOR, strict=True)
    return 1.0 if hours is None else float(np.interp(hours, at, factor))


@dataclass(frozen=True)
class When:
    """The range of dates in which a target is reached.

    Attributes
    ----------
    item : str
        What is reached.
    reached : bool
        Whether it is believed reached already (chance above one half).
    early, likely, late : datetime.date or None
        Ends of the 80 % range and its middle (10, 50 and 90 % points; from today to the
        80 % point when it may be reached already). None is later than the horizon.
    chance : float
        Chance that it is reached within the horizon.
    until : datetime.date
        The horizon.
    assumes : tuple of str
    by_week : tuple of float
        Chance that it is reached by each coming week, this one first.
    """

    item: str
    reached: bool
    early: date | None
    likely: date | None
    late: date | None
    chance: float
    until: date
    assumes: tuple[str, ...] = ()
    by_week: tuple[float, ...] = field(default=(), repr=False)

    def say(self) -> str:
        """Return the range in words; a range, never a promise."""
        if self.reached:
            return f"{self.item}: reached."
        if self.early is None:
            return f"{self.item}: not within {HORIZON_WEEKS} weeks at this rate."
        if self.late is None:
            return f"{self.item}: not before {self.early}, perhaps later than {self.until} (8 in 10)."
        return f"{self.item}: {self.early} to {self.late} (8 in 10)."


def first_passage(distance: Array, rate: Array, spread: float, time: Array) -> Array:
    """Return the chance that a wandering value has covered a distance by a time.

    Brownian motion with drift; inverse Gaussian law.

    Parameters
    ----------
    distance, rate : arrays that broadcast together
        Distance to cover (below zero is there already) and drift per unit of time.
    spread : float
        Wandering per square root of the unit of time.
    time : array
        Times.

    Returns
    -------
    array
        Broadcast shape of the three.

    Examples
    --------
    Without drift half of the walks have passed their own 0.674 spread:

    >>> round(float(first_passage(np.array(0.6745), np.array(0.0), 1.0, np.array(1.0))), 3)
    0.5
    """
    far = np.maximum(distance, 1e-12)
    wide = spread * np.sqrt(np.maximum(time, 1e-12))
    straight = ndtr((rate * time - far) / wide)
    mirrored = np.exp(np.minimum(2 * rate * far / spread**2 + log_ndtr((-far - rate * time) / wide), 0.0))
    return np.where(distance <= 0, 1.0, np.where(time <= 0, 0.0, np.minimum(straight + mirrored, 1.0)))


def when(
    item: str,
    on: date,
    distance: tuple[float, float],
    rate: tuple[float, float],
    joint: float = 0.0,
    spread: float = 0.0,
    habits: Habits | None = None,
    helped: Array | None = None,
) -> When:
    """Return when a distance is covered.

    Parameters
    ----------
    item : str
        What is reached, for the sentence.
    on : datetime.date
        Today.
    distance, rate : (float, float)
        Mean and one-sigma of what is missing, and of the gain per trained week.
    joint : float
        Covariance of the two.
    spread : float
        Wandering per square root of a week.
    habits : Habits or None
        How the coming weeks are lived.
    helped : array or None
        What else closes the distance by each coming week (body mass), same unit.
    """
    lived = habits or Habits()
    weeks = np.arange(HORIZON_WEEKS + 1)
    trained = lived.trained_weeks(np.asarray(7.0 * weeks, dtype=np.float64))
    rate_sd = max(rate[1], 1e-12)
    rates = rate[0] + rate_sd * QUADRATURE_NODES
    slope = joint / rate_sd**2
    left_sd = float(np.sqrt(max(distance[1] ** 2 - slope * joint, 0.0)))
    starts = distance[0] + slope * (rates - rate[0])
    gap = starts[:, None, None] + left_sd * QUADRATURE_NODES[None, :, None]
    if helped is not None:
        gap = gap - helped[None, None, :]
    chances = first_passage(gap, rates[:, None, None], max(spread, 1e-9), trained[None, None, :])
    by_week = np.einsum("i,j,ijk->k", QUADRATURE_WEIGHTS, QUADRATURE_WEIGHTS, chances)
    return _range(item, on, np.maximum.accumulate(by_week), lived.assumes())


def _range(item: str, on: date, by_week: Array, assumes: tuple[str, ...]) -> When:
    tail = (1 - RANGE) / 2
    # What may be reached today already leaves nothing to cut off at the early end.
    top = RANGE if by_week[0] >= tail else 1 - tail
    dates = [_crossing(on, by_week, share) for share in (tail, 0.5, top)]
    return When(
        item=item,
        reached=bool(by_week[0] > 0.5),
        early=dates[0],
        likely=dates[1],
        late=dates[2],
        chance=float(by_week[-1]),
        until=on + timedelta(weeks=HORIZON_WEEKS),
        assumes=assumes,
        by_week=tuple(float(x) for x in by_week),
    )


def _crossing(on: date, by_week: Array, share: float) -> date | None:
    if by_week[-1] < share:
        return None
    k = int(np.argmax(by_week >= share))
    if k == 0:
        return on
    part = (share - by_week[k - 1]) / (by_week[k] - by_week[k - 1])
    return on + timedelta(days=round(7 * (k - 1 + float(part))))


def latest(items: Sequence[When], item: str = "all of it") -> When:
    """Return when the last of several items is reached, their errors taken as independent.

    All must be forecast from the same day. The slowest decides: it is named in what the range assumes.
    """
    open_items = [one for one in items if not one.reached]
    if not open_items:
        first = items[0]
        return replace(first, item=item)
    by_week = np.prod([one.by_week for one in open_items], axis=0)
    slowest = max(open_items, key=lambda one: one.likely or date.max)
    on = open_items[0].until - timedelta(weeks=HORIZON_WEEKS)
    return _range(item, on, by_week, (f"the slowest item is {slowest.item}", *slowest.assumes))


def soonest(items: Sequence[When], item: str) -> When:
    """Return when the first of several ways to the same thing is open; they rise and fall together.

    All must be forecast from the same day.
    """
    first = min(items, key=lambda one: one.likely or date.max)
    if len(items) == 1 or first.reached:
        return replace(first, item=item)
    by_week = np.max([one.by_week for one in items], axis=0)
    return _range(item, first.until - timedelta(weeks=HORIZON_WEEKS), by_week, first.assumes)


_R_SCALE = np.linspace(0.4, 2.6, 2201)
_WEEKS_SCALE = np.concatenate(
    ([0.0], np.cumsum(np.diff(np.log(_R_SCALE)) / usual_gain((_R_SCALE[1:] + _R_SCALE[:-1]) / 2)))
)


def weeks_of_usual_gain(from_R: float | Array, to_R: float | Array) -> Array:
    """Return the trained weeks the usual gain takes from one R to another.

    Examples
    --------
    >>> round(float(weeks_of_usual_gain(1.17, 1.37)))
    25
    """
    return np.asarray(np.interp(to_R, _R_SCALE, _WEEKS_SCALE) - np.interp(from_R, _R_SCALE, _WEEKS_SCALE))


def forecast_strength(
    belief: Belief, target_R: float, on: date | None = None, habits: Habits | None = None, item: str = ""
) -> When:
    """Return when strength reaches an R.

    Parameters
    ----------
    belief : Belief
        The latest belief (:func:`overbar.strength.posterior.beliefs`).
    target_R : float
        1RM system mass / body mass asked for.
    on : datetime.date or None
        Today; the day of the belief when None.
    """
    now = advance(belief, on) if on else belief
    lived = habits or Habits()
    (log_kg, gain), cov = now.moments(STRENGTH, GAIN)
    R = float(np.exp(log_kg)) / now.body_mass_kg
    weeks = float(weeks_of_usual_gain(R, target_R))
    per_log = 1.0 / float(usual_gain(R))
    halfway = 1.0 / float(usual_gain((R + target_R) / 2 if target_R > R else R))
    helped = None
    if lived.body_mass_change:
        share = np.minimum(np.arange(HORIZON_WEEKS + 1) / max(lived.over_weeks, 1e-9), 1.0)
        helped = -np.log1p(lived.body_mass_change * share) * halfway
    # The gain multiple itself wanders; over the way there its mean wanders by a third of that.
    gain_variance = cov[1, 1] + FUTURE_GAIN_DRIFT_SD**2 * max(weeks, 0.0) / 3
    return when(
        item or f"strength of {target_R:.2f} x body mass",
        now.on,
        (weeks, per_log * float(np.sqrt(cov[0, 0]))),
        (FUTURE_GAIN_SHARE * float(gain), float(np.sqrt(gain_variance))),
        joint=-per_log * float(cov[0, 1]),
        spread=DRIFT_SD * halfway,
        habits=lived,
        helped=helped,
    )


@dataclass(frozen=True)
class Trend:
    """Level and weekly rate of a tested value, as a Gaussian.

    Attributes
    ----------
    on : datetime.date
    level, rate : float
    cov : array, shape (2, 2)
    """

    on: date
    level: float
    rate: float
    cov: Array


def trend(
    values: Sequence[tuple[date, float, float | None]],
    usual_rate: tuple[float, float],
    drift: float,
    noise: float,
    on: date | None = None,
    rate_drift: float = 0.0,
) -> Trend:
    """Filter dated test values into a level and a weekly rate (local linear trend).

    Parameters
    ----------
    values : sequence of (date, value, sd or None)
        In any order; same-day values are averaged in by their own noise.
    usual_rate : (float, float)
        Rate per week expected before any value, and its spread.
    drift : float
        Wandering of the level per square root of a week.
    noise : float
        One-sigma of a value whose sd is None.
    on : datetime.date or None
        Bring it forward to this day.
    rate_drift : float
        Wandering of the rate per square root of a week.
    """
    ordered = sorted(values, key=lambda one: (one[0], one[1]))
    day, first, sd = ordered[0]
    level, rate = first, usual_rate[0]
    cov = np.diag([(sd if sd is not None else noise) ** 2, usual_rate[1] ** 2])
    for then, value, sd in ordered[1:]:
        level, cov = _forward(level, rate, cov, (then - day).days / 7, drift, rate_drift)
        day = then
        off = value - level
        gain = cov[:, 0] / (cov[0, 0] + (sd if sd is not None else noise) ** 2)
        level, rate = level + gain[0] * off, rate + gain[1] * off
        cov = cov - np.outer(gain, cov[0])
    if on is not None and on > day:
        level, cov = _forward(level, rate, cov, (on - day).days / 7, drift, rate_drift)
        day = on
    return Trend(day, float(level), float(rate), cov)


def _forward(
    level: float, rate: float, cov: Array, weeks: float, drift: float, rate_drift: float
) -> tuple[float, Array]:
    move = np.array([[1.0, weeks], [0.0, 1.0]])
    turned = rate_drift**2 * np.array([[weeks**3 / 3, weeks**2 / 2], [weeks**2 / 2, weeks]])
    return level + rate * weeks, move @ cov @ move.T + np.diag([drift**2 * weeks, 0.0]) + turned


def forecast_value(
    item: str,
    values: Sequence[tuple[date, float, float | None]],
    target: float,
    direction: Literal["up", "down"] = "up",
    on: date | None = None,
    habits: Habits | None = None,
    usual_rate: tuple[float, float] | None = None,
) -> When:
    """Return when a tested value (a height, a time, a count) reaches its target.

    Parameters
    ----------
    item : str
    values : sequence of (date, value, sd or None)
        At least one.
    target : float
    direction : {"up", "down"}
        Which way is better.
    on : datetime.date or None
        Today; the last value's day when None.
    usual_rate : (float, float) or None
        Expected rate per week towards the target and its spread; by default the first
        value's gap over 20 weeks, within a factor of two.
    """
    sign = 1.0 if direction == "up" else -1.0
    signed = sorted((day, sign * value, sd) for day, value, sd in values)
    goal, first = sign * target, signed[0][1]
    gap = max(goal - first, abs(goal) / 10, 1e-6)
    noise = _noise([value for _, value, _ in signed], gap)
    start = goal - gap
    done = [
        (day, *_straightened((value - start) / gap, (sd if sd is not None else noise) / gap))
        for day, value, sd in signed
    ]
    way = float(_straightened(1.0, 0.0)[0])
    usual = (
        (usual_rate[0] / gap, usual_rate[1] / gap) if usual_rate else (way / USUAL_WEEKS, way / USUAL_WEEKS)
    )
    drift, turning = LEVEL_DRIFT_SHARE * way / USUAL_WEEKS, RATE_DRIFT_SHARE * way / USUAL_WEEKS
    line = trend(done, usual, drift, noise / gap, on, turning)
    ahead = min(max(way - line.level, 0.0) / max(line.rate, usual[0] / 4, 1e-9), HORIZON_WEEKS)
    rate_variance = line.cov[1, 1] + turning**2 * ahead / 3
    return when(
        item,
        line.on,
        (way - line.level, float(np.sqrt(line.cov[0, 0]))),
        (line.rate, float(np.sqrt(rate_variance))),
        joint=-float(line.cov[0, 1]),
        spread=drift,
        habits=habits,
    )


def _straightened(share: float, sd: float) -> tuple[float, float]:
    """Put a share of the way on a scale on which gains that slow down are straight; its spread with it."""
    ends_at = 1 / (1 - RATE_LEFT_AT_TARGET)
    left = max(1 - share / ends_at, 0.05)
    return float(-ends_at * np.log(left)), sd / left


def _noise(values: Sequence[float], gap: float) -> float:
    """Noise of values without their own sd: half the median jump, at least a twentieth of the gap."""
    jumps = np.abs(np.diff(values))
    return float(max(np.median(jumps) / 2 if len(jumps) >= 3 else 0.0, gap / 20))


def what_ifs(habits: Habits) -> dict[str, Habits]:
    """Return the usual what-ifs around how the coming weeks are lived, by name."""
    fewer, more = max(habits.days_a_week - 1, 1), min(habits.days_a_week + 1, 4)
    changes = {
        f"days a week down to {fewer}": replace(habits, days_a_week=fewer),
        f"days a week up to {more}": replace(habits, days_a_week=more),
        "body mass 3 % lower, strength kept (a sum, not advice)": replace(habits, body_mass_change=-0.03),
        "body mass 3 % higher, strength kept": replace(habits, body_mass_change=0.03),
        "6 h of sleep": replace(habits, sleep_h=6.0, used_to_sleep_h=habits.used_to_sleep_h or 7.0),
        "one more light week now": replace(habits, light_weeks=habits.light_weeks + 1),
        "the next fortnight missed": replace(habits, missed_days=14.0),
    }
    return {name: changed for name, changed in changes.items() if changed != habits}
