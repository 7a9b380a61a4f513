"""Strength: what the intervals are worth, and the posterior's speed against general-purpose filters.

``OVERBAR_BENCH_ATHLETES`` sets how many simulated athletes a line has (300).
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from benchmarks.bench_planning import ON, two_years
from overbar.ladder import load_ladder
from overbar.planning import decide, pulls_of
from overbar.records import open_records
from overbar.records.kept_strength import strength_on
from overbar.settings import Settings
from overbar.simulation.coverage import (
    FOREIGN,
    NORM,
    MakeLife,
    forecast_coverage,
    height_coverage,
    logged_life,
    new_athlete_coverage,
    planned_by,
    strength_coverage,
)
from overbar.strength import posterior as model
from overbar.strength.forecast import forecast_strength
from overbar.strength.kept import as_parts, estimate_on, from_parts
from overbar.strength.posterior import advance, beliefs, by_day, estimate, observe

WEEK = timedelta(days=7)
ATHLETES = int(os.environ.get("OVERBAR_BENCH_ATHLETES", "300"))


def best_of(times: int, work: Callable[..., object], *args: object) -> float:
    """Return the shortest processor time of several runs, s."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work(*args)
        taken.append(time.process_time() - start)
    return min(taken)


def general_smoother(days: int) -> float:
    """Time statsmodels' local linear trend at fixed variances on one value a day, s."""
    from statsmodels.tsa.statespace.structural import UnobservedComponents

    values = np.cumsum(np.random.default_rng(1).normal(0.005, 0.01, days))
    fitted = UnobservedComponents(values, "local linear trend")
    return best_of(5, fitted.smooth, [2e-4, 4e-5, 1e-6])


def particle_filter(days: int, particles: int = 20_000) -> float:
    """Time a bootstrap particle filter of the same state on one window a day, s."""
    rng = np.random.default_rng(1)

    def run() -> None:
        log_kg, gain = rng.normal(4.5, 0.15, particles), rng.normal(1.0, 0.45, particles)
        steep, bias = rng.normal(-3.2, 0.25, particles), rng.normal(0.95, 0.5, particles)
        for _ in range(days):
            log_kg = log_kg + gain * 0.003 + rng.normal(0, model.DRIFT_SD * 0.6, particles)
            today = log_kg + rng.normal(0, model.DAY_SD, particles) - 4.38
            reps = 1 + today * np.exp(-steep) - bias
            weight = np.exp(-0.5 * ((reps - 6) / 0.7) ** 2) + 1e-9
            even = (rng.random() + np.arange(particles)) / particles
            at = np.searchsorted(np.cumsum(weight / weight.sum()), even).clip(0, particles - 1)
            log_kg, gain, steep, bias = log_kg[at], gain[at], steep[at], bias[at]

    return best_of(3, run)


MANY, CORES = 500, 2


def weekly(athletes: int = MANY) -> tuple[float, float]:
    """Decide one week of many athletes with two years of logs each, strength read on from what is kept.

    Returns
    -------
    fresh_ms, week_ms : float
        Processor time an athlete: strength from the whole log; and a week: what is kept turned
        into beliefs, the week's sets read, verdict and sessions, and all of it packed again.
        As many logs are different as the athletes of the bench are (ninety).
    """
    ladder = load_ladder()
    kept: dict[tuple[float, int], tuple[list[str], bytes, bytes]] = {}
    fresh_s = week_s = 0.0
    for number in range(athletes):
        rows = two_years(number)
        log = (rows.athlete.body_mass_kg, number % 2)
        if log not in kept:
            begun = time.process_time()
            before = estimate_on(pulls_of(rows, ladder, ON - WEEK), rows.athlete.sex)
            fresh_s += time.process_time() - begun
            kept[log] = as_parts(before)
        begun = time.process_time()
        now = estimate_on(pulls_of(rows, ladder, ON), rows.athlete.sex, None, from_parts(*kept[log]))
        decide(rows, ladder, ON, now.points)
        as_parts(now)
        week_s += time.process_time() - begun
    return 1e3 * fresh_s / len(kept), 1e3 * week_s / athletes


def weekly_from_records(athletes: int = 25) -> tuple[float, float]:
    """Do the same from a database file; also the share of it that reads the history, ms an athlete."""
    with TemporaryDirectory() as folder:
        records = open_records(Settings(Path(folder) / "records", Path(folder) / "cache"))
        for number in range(athletes):
            rows = two_years(number)
            records.save_athlete(rows.athlete)
            records.add_sets(rows.athlete.id, rows.sets, "bench")
            before = records.history(rows.athlete.id, ON - WEEK)
            strength_on(records, before, records.ladder_for(rows.athlete.id), ON - WEEK)
        whole_s = history_s = 0.0
        for athlete in records.athletes():
            begun = time.process_time()
            history, ladder = records.history(athlete.id, ON), records.ladder_for(athlete.id)
            history_s += time.process_time() - begun
            decide(history, ladder, ON, strength_on(records, history, ladder, ON).points)
            whole_s += time.process_time() - begun
        records.close()
    return 1e3 * whole_s / athletes, 1e3 * history_s / athletes


def print_weekly() -> None:
    """Print what a week costs."""
    fresh_ms, week_ms = weekly()
    print(
        f"two years of logs, strength from all of it: {fresh_ms:.0f} ms; a week on kept strength with "
        f"verdict and sessions: {week_ms:.1f} ms ({week_ms / fresh_ms:.3f} of it), {MANY} athletes: 10,000 "
        f"in {week_ms * 10 / CORES:.0f} s on {CORES} cores (extrapolated; aim 60 s)"
    )
    whole_ms, history_ms = weekly_from_records()
    print(
        f"the same from a database file: {whole_ms:.0f} ms an athlete, of which {history_ms:.0f} ms read the "
        f"history: 10,000 in {whole_ms * 10 / CORES:.0f} s on {CORES} cores (extrapolated from 25)"
    )


def print_new_athletes() -> None:
    """Print what the coach's own athletes are worth to the next one."""
    for whom, people in (("unlike the published norm", FOREIGN), ("as the published norm has them", NORM)):
        before, after = new_athlete_coverage(people=people)
        print(
            f"first four weeks of a new athlete, people {whom}, {before.athletes} of 8 coaches: 90 % "
            f"interval holds {before.share:.1%} +- {before.share_se:.1%}, bias {before.bias:+.1%}, rms "
            f"{before.rms:.1%}; with the prior from 20 earlier athletes {after.share:.1%} +- "
            f"{after.share_se:.1%}, bias {after.bias:+.1%}, rms {after.rms:.1%}"
        )


def main() -> None:
    """Print the figures."""
    print_weekly()
    print_new_athletes()
    life = logged_life(1)
    days = by_day(life.sets)
    whole = best_of(7, estimate, life.sets, life.sex)
    belief = beliefs(life.sets, life.sex)[-1]
    next_day = belief.on + timedelta(days=2)
    one = best_of(20, lambda: observe(advance(belief, next_day), days[-1][1]).point())
    print(f"16 weeks, {len(life.sets)} sets on {len(days)} days: {1e3 * whole:.1f} ms (target 20)")
    print(f"one more day: {1e3 * one:.2f} ms (target 2)")
    print(f"one forecast: {1e3 * best_of(20, forecast_strength, belief, 1.50):.2f} ms")
    print(f"against a particle filter of 20,000 in this run: {whole / particle_filter(len(days)):.2f} x")
    print(
        "against statsmodels' linear smoother (one value a day, no reps, no curve): "
        f"{whole / general_smoother(len(days)):.1f} x"
    )
    ladder = load_ladder()
    sorts: dict[str, tuple[MakeLife, int]] = {"mixed logs, 16 weeks": (logged_life, 16)}
    sorts |= {f"logs planned by {name}, 40 weeks": (planned_by(ladder, name), 40) for name in ladder.methods}
    for name, (make, weeks) in sorts.items():
        strength = strength_coverage(ATHLETES, seed=1, weeks=weeks, make=make)
        print(
            f"90 % interval, {name}, {strength.athletes} simulated athletes, {strength.points} days: "
            f"{strength.share:.1%} +- {strength.share_se:.1%} hold the truth (target 87-93 %), "
            f"bias {strength.bias:+.2%} (target 0.5 %), half width {strength.half_width:.1%}"
        )
    for name, (make, _) in sorts.items():
        dates = forecast_coverage(ATHLETES // 2, seed=2, make=make)
        print(
            f"80 % range of dates, strength 1.37, {name.split(',')[0]}, {dates.forecasts} forecasts: "
            f"{dates.share:.1%} +- {dates.share_se:.1%} (target 75-85 %), {dates.weeks_wide:.0f} weeks wide"
        )
    heights = height_coverage(ATHLETES, seed=3)
    print(
        f"80 % range of dates, swing height, {heights.forecasts} forecasts: {heights.share:.1%} +- "
        f"{heights.share_se:.1%} (target 75-85 %), {heights.weeks_wide:.0f} weeks wide"
    )


if __name__ == "__main__":
    main()
