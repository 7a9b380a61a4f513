"""How often the stated intervals hold the hidden truth of simulated athletes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from overbar.ladder.form import Ladder
from overbar.simulation.hidden import GAIN, Training, draw
from overbar.simulation.life import FIRST_MONDAY, pulls_and_truth
from overbar.strength.curve import Array
from overbar.strength.forecast import HORIZON_WEEKS, When, forecast_strength, forecast_value
from overbar.strength.own_athletes import own_prior, says_of
from overbar.strength.posterior import BAND_SD_SHARE, beliefs, usual_gain
from overbar.strength.prior import PRIORS, Prior
from overbar.strength.sets import LoggedSet

FIRST_DAY = FIRST_MONDAY
NORM: Mapping[str, Prior] = {sex: replace(PRIORS[sex, "ordinary"], gain=GAIN) for sex in ("f", "m")}
"""People as the published norm has them, with the simulation's gain a trained week."""
BANDS_KG = (8.0, 14.0, 20.0, 30.0)
"""Help of the bands at hand, kg."""


@dataclass(frozen=True)
class LoggedLife:
    """Sets of one simulated athlete, and the truth on every logged day."""

    sex: str
    sets: tuple[LoggedSet, ...]
    truth: tuple[tuple[date, float], ...]


MakeLife = Callable[[int, int], LoggedLife]
"""Makes one athlete's log from a seed and a number of weeks."""


def planned_by(ladder: Ladder, method: str = "") -> MakeLife:
    """Return what makes logs of athletes who do as this program plans (:mod:`overbar.simulation.life`).

    Most of their sets end well short of failure and reserve is told many times a week:
    the hardest case for the estimate.
    """

    def make(seed: int, weeks: int) -> LoggedLife:
        return LoggedLife(*pulls_and_truth(ladder, seed, weeks, method, NORM))

    return make


def logged_life(
    seed: int, weeks: int = 16, sex: str | None = None, people: Mapping[str, Prior] | None = None
) -> LoggedLife:
    """Let one athlete train by sets at 55-60 % of the best set, then by a top set and back-offs.

    Three sessions a week of which the first has the week's test set (one left as felt,
    every third week to failure), a film with its speed in about every other week, a
    session missed in 18 % of weeks, a week off in 3 %, every sixth week light. How often
    reps left are told beside the test set is the athlete's own habit. Who cannot do three
    pull-ups takes a band that lets three go, and a lighter one from eight repetitions on;
    its help is off by what a band's measured help is off by. ``people`` is the population
    the athlete is drawn from.
    """
    rng = np.random.default_rng(seed)
    life = Training(draw(rng, sex, people=people or NORM), rng)
    tells = rng.uniform(0, 1)
    sets: list[LoggedSet] = []
    truth: list[tuple[date, float]] = []
    band_off = {help_kg: float(rng.normal(0, BAND_SD_SHARE)) for help_kg in BANDS_KG}
    added = _first_load(life)

    def do_set(on: date, kg: float, reps: int, **how: Any) -> LoggedSet:
        """One set; a band helps by something else than what was measured."""
        done = life.do_set(on, kg * (1 + band_off.get(-kg, 0.0)), reps, **how)
        return replace(done, added_kg=kg)

    for week in range(weeks):
        if rng.random() < 0.03:
            life.live(7, 0.0)
            continue
        missed = int(rng.integers(3)) if rng.random() < 0.18 else None
        light = week % 6 == 5
        for session, gap in ((0, 2), (1, 2), (2, 3)):
            if session != missed and session != 1:
                on = FIRST_DAY + timedelta(days=7 * week + 2 * session)
                life.start_day()
                if session == 0:
                    first = do_set(
                        on,
                        added,
                        5 if added > 0 else 20,
                        keep=3 if light else 1,
                        speed=bool(rng.random() < 0.5),
                        to_failure=week % 3 == 2 and not light,
                    )
                    sets.append(first)
                    if not light:
                        added = _next_load(added, first, life.body_mass_kg)
                small = 5 if added > 0 else max(2, round(0.58 * max(first_reps(sets), 3)))
                back_off = max(added - 0.07 * (life.body_mass_kg + added), 0.0) if added > 0 else added
                sets.extend(
                    do_set(on, round(back_off, 1), small, report=bool(rng.random() < tells))
                    for _ in range(3 if added > 0 else 5)
                )
                truth.append((on, life.R))
            life.live(gap, 0.0 if session == missed else 1.0)
    return LoggedLife(life.hidden.sex, tuple(sets), tuple(truth))


def first_reps(sets: list[LoggedSet]) -> int:
    """Return the repetitions of the latest test set."""
    tests = [done for done in sets if done.order == 0 and (done.failed or done.reps_left is not None)]
    return tests[-1].reps if tests else 5


def _first_load(life: Training) -> float:
    """Body mass alone, or the lightest band with which three repetitions go."""
    for help_kg in (0.0, *BANDS_KG):
        ratio = life.log_one_rm - float(np.log(life.body_mass_kg - help_kg))
        if life.hidden.reps_at(ratio) >= 3:
            break
    return -help_kg


def _next_load(added: float, done: LoggedSet, body: float) -> float:
    if added < 0:
        lighter = [0.0, *(help_kg for help_kg in BANDS_KG if help_kg < -added)]
        return -lighter[-1] if done.reps >= 8 else added
    if added == 0:
        return 2.5 if done.reps >= 8 else 0.0
    if done.reps >= 5 and (done.reps_left or 0) >= 1:
        return added + 1.25
    return max(added - 0.05 * (body + added), 0.0) if done.reps < 3 else added


@dataclass(frozen=True)
class Coverage:
    """What the intervals were worth.

    Attributes
    ----------
    athletes, points : int
    share : float
        Share of truths inside the 90 % interval.
    share_se : float
        Its standard error, athletes as the unit.
    bias, rms : float
        Mean and root-mean-square error of R, relative.
    half_width : float
        Mean half width of the interval, relative.
    """

    athletes: int
    points: int
    share: float
    share_se: float
    bias: float
    rms: float
    half_width: float


def strength_coverage(
    athletes: int, seed: int = 1, weeks: int = 16, after_week: int = 2, make: MakeLife = logged_life
) -> Coverage:
    """Measure the filtered 90 % interval on simulated athletes.

    Parameters
    ----------
    athletes : int
    seed : int
    weeks : int
        Length of each log.
    after_week : int
        Points before this week are left out.
    make : callable
        Where the logs come from.
    """
    lives = (make(seed * 1_000_003 + k, weeks) for k in range(athletes))
    return _held(((life, None) for life in lives), after_week)


def _held(lives: Iterable[tuple[LoggedLife, Prior | None]], after_week: int) -> Coverage:
    """Compare interval and truth of lives, each estimated with a prior (None: the published one)."""
    held: list[float] = []
    errors: list[list[float]] = []
    widths: list[float] = []
    for life, prior in lives:
        truth = dict(life.truth)
        points = [belief.point() for belief in beliefs(life.sets, life.sex, prior=prior)]
        late = [p for p in points if (p.on - FIRST_DAY).days >= 7 * after_week]
        if not late:
            continue
        held.append(float(np.mean([p.R_low <= truth[p.on] <= p.R_high for p in late])))
        errors.append([np.log(p.R / truth[p.on]) for p in late])
        widths.extend(np.log(p.R_high / p.R_low) / 2 for p in late)
    flat = np.concatenate(errors)
    return Coverage(
        athletes=len(held),
        points=len(flat),
        share=float(np.mean(held)),
        share_se=float(np.std(held) / np.sqrt(len(held))),
        bias=float(flat.mean()),
        rms=float(np.sqrt(np.mean(flat**2))),
        half_width=float(np.mean(widths)),
    )


FOREIGN: Mapping[str, Prior] = {
    sex: Prior(
        (PRIORS[sex, "ordinary"].R[0] + 1.2 * PRIORS[sex, "ordinary"].R[1], 0.08),
        (PRIORS[sex, "ordinary"].reps_at_80[0] - PRIORS[sex, "ordinary"].reps_at_80[1], 1.2),
        (1.8, 0.4),
        (1.3, 0.35),
    )
    for sex in ("f", "m")
}
"""People unlike the published norm: stronger by 1.2 of its spread, fewer repetitions at 80 % by one, under-
reporting by 1.8; and more alike than the norm's. Made up, to see what a prior is worth that is wrong."""
NEW_WEEKS = 4


def new_athlete_coverage(
    coaches: int = 8,
    earlier: int = 20,
    new: int = 40,
    seed: int = 4,
    people: Mapping[str, Prior] | None = FOREIGN,
) -> tuple[Coverage, Coverage]:
    """Measure the first four weeks of new athletes, with the published prior and with the coach's own.

    Parameters
    ----------
    coaches : int
        Each with athletes of their own.
    earlier, new : int
        Athletes a coach had before, of 16 weeks each, and new ones.
    seed : int
    people : mapping of sex to Prior, or None
        The population; None is the simulation's usual one.

    Returns
    -------
    before, after : Coverage
        With the published prior, and with the one moved by the earlier athletes.
    """
    lives: list[tuple[LoggedLife, Prior | None]] = []
    for coach in range(coaches):
        first = 1000 * (1000 * seed + coach)
        had = (logged_life(first + k, 16, people=people) for k in range(earlier))
        said = [one for k, life in enumerate(had) if (one := says_of(f"a{k}", life.sets, life.sex))]
        priors = {sex: own_prior(said, sex) for sex in ("f", "m")}
        begun = [logged_life(first + 500 + k, NEW_WEEKS, people=people) for k in range(new)]
        lives += [(life, priors[life.sex]) for life in begun]
    return _held(((life, None) for life, _ in lives), 0), _held(lives, 0)


@dataclass(frozen=True)
class ForecastCoverage:
    """What the date ranges were worth.

    Attributes
    ----------
    forecasts : int
    share : float
        Share of true dates inside the 80 % range.
    share_se : float
        Its standard error, athletes as the unit.
    early, late : float
        Share of true dates before and after the range.
    weeks_wide : float
        Median width of the range, weeks.
    """

    forecasts: int
    share: float
    share_se: float
    early: float
    late: float
    weeks_wide: float


def forecast_coverage(
    athletes: int,
    seed: int = 2,
    target_R: float = 1.37,
    at_weeks: tuple[int, ...] = (4, 8, 12),
    make: MakeLife = logged_life,
) -> ForecastCoverage:
    """Forecast the day the hidden strength first reaches a target, and see.

    Each athlete trains for 104 weeks; forecasts are made from the log up to each of
    ``at_weeks`` and skipped where the forecast itself calls the target reached.
    """
    seen: list[list[tuple[date, When]]] = []
    for k in range(athletes):
        life = make(seed * 1_000_003 + k, 104)
        reached = next((day for day, true in life.truth if true >= target_R), date.max)
        mine = []
        for week in at_weeks:
            on = FIRST_DAY + timedelta(weeks=week)
            so_far = beliefs(life.sets, life.sex, through=on)
            if so_far:
                mine.append((reached, forecast_strength(so_far[-1], target_R, on)))
        seen.append(mine)
    return _worth(seen)


def height_coverage(
    athletes: int, seed: int = 3, target_L: float = 0.18, at_weeks: tuple[int, ...] = (4, 10, 16)
) -> ForecastCoverage:
    """Forecast the day the hidden swing height first reaches its target from weekly films, and see.

    The hidden height starts at -0.12 L and rises by one of three laws none of which is
    the forecast's own: after strength, whose gains shrink, with a share won by practice
    in the first weeks; by a power of the weeks; or in steps between standstills. The
    first rise is 0.0125 L a week within a factor of two. It is read once a week with a
    one-sigma of 0.02 L.
    """
    seen: list[list[tuple[date, When]]] = []
    days = [FIRST_DAY + timedelta(weeks=week) for week in range(HEIGHT_WEEKS)]
    for k in range(athletes):
        rng = np.random.default_rng(seed * 1_000_003 + k)
        law = HEIGHT_LAWS[int(rng.integers(len(HEIGHT_LAWS)))]
        rise = law(rng, float(rng.lognormal(np.log(0.0125), 0.5)), target_L + 0.12)
        true = -0.12 + rise + np.cumsum(rng.normal(0, 0.003, HEIGHT_WEEKS))
        reached = next((day for day, height in zip(days, true, strict=True) if height >= target_L), date.max)
        read = [(day, float(h + rng.normal(0, 0.02)), 0.02) for day, h in zip(days, true, strict=True)]
        seen.append([(reached, forecast_value("height", read[: week + 1], target_L)) for week in at_weeks])
    return _worth(seen)


HEIGHT_WEEKS = 160


def _after_strength(rng: np.random.Generator, per_week: float, way: float) -> Array:
    """Three quarters follow strength on its own curve of gains, the rest is practice of the first weeks."""
    R, lifted = 1.17, []
    pace = per_week / way / (0.75 * float(usual_gain(R)) / np.log(1.37 / 1.17))
    for _ in range(HEIGHT_WEEKS):
        lifted.append(np.log(R / 1.17) / np.log(1.37 / 1.17))
        R *= float(np.exp(pace * 0.75 * usual_gain(R)))
    practice = 1 - np.exp(-np.arange(HEIGHT_WEEKS) / rng.uniform(4, 16))
    return way * (0.75 * np.array(lifted) + 0.3 * practice)


def _by_a_power(rng: np.random.Generator, per_week: float, way: float) -> Array:
    """Practice pays by a power of the weeks: fast at first, slower ever after, without an end."""
    power = float(rng.uniform(0.6, 1.0))
    return np.asarray(way * (np.arange(HEIGHT_WEEKS) * per_week / way) ** power)


def _in_steps(rng: np.random.Generator, per_week: float, way: float) -> Array:
    """Standstills of some weeks between steps of 0.02 to 0.05 L."""
    rise, week = np.zeros(HEIGHT_WEEKS), 0
    while week < HEIGHT_WEEKS:
        step = float(rng.uniform(0.02, 0.05))
        week += max(1, round(float(rng.exponential(step / per_week))))
        rise[week:] += step
    return rise


HEIGHT_LAWS = (_after_strength, _by_a_power, _in_steps)
"""How a hidden height may rise (own judgement; no data were found)."""


def _worth(seen: list[list[tuple[date, When]]]) -> ForecastCoverage:
    per_athlete, early, late, width = [], 0, 0, []
    for mine in seen:
        inside = []
        for reached, said in mine:
            if said.reached:
                continue
            on = said.until - timedelta(weeks=HORIZON_WEEKS)
            true = max(reached, on)
            too_soon = said.early is None or true < said.early
            too_late = said.late is not None and true > said.late
            if said.early is None:
                too_soon = true <= said.until
            early, late = early + too_soon, late + too_late
            inside.append(not too_soon and not too_late)
            if said.early and said.late:
                width.append((said.late - said.early).days / 7)
        if inside:
            per_athlete.append((len(inside), sum(inside)))
    counts, hits = np.array(per_athlete).T
    share = hits.sum() / counts.sum()
    se = float(np.sqrt(np.sum((hits - share * counts) ** 2)) / counts.sum())
    return ForecastCoverage(
        forecasts=int(counts.sum()),
        share=float(share),
        share_se=se,
        early=early / int(counts.sum()),
        late=late / int(counts.sum()),
        weeks_wide=float(np.median(width)),
    )
