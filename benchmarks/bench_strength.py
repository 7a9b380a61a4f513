"""Strength: what the intervals are worth, and the posterior's speed against general-purpose filters."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import timedelta

import numpy as np

from overbar.ladder import load_ladder
from overbar.simulation.coverage import (
    MakeLife,
    forecast_coverage,
    height_coverage,
    logged_life,
    planned_by,
    strength_coverage,
)
from overbar.strength import posterior as model
from overbar.strength.forecast import forecast_strength
from overbar.strength.posterior import advance, beliefs, by_day, estimate, observe

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


def main() -> None:
    """Print the figures."""
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
