"""What an athlete's tries tell the body model: body, strength and swing of each, and how it ended."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date, timedelta

from overbar.mechanics.margins import (
    DEFAULT_SWING_DEG,
    DIP_TEST,
    R_RANGE,
    SKILL,
    SPEED_TEST,
    UNSEEN_SWING_SD_DEG,
    LoggedAttempt,
    Person,
    push_from_dip,
    speed_from_first_rep,
)
from overbar.mechanics.surrogate import RANGE
from overbar.planning.history import History
from overbar.strength.rep_max import one_rep_max
from overbar.strength.sets import StrengthPoint

STRENGTH_HOLDS = timedelta(days=28)
"""How long an estimate of strength stands for a try (own judgement: what four weeks change is inside its
interval)."""

SEEN_SWING_SD_DEG = 3.0
"""Uncertainty of a swing's angle from film (own judgement: the body is not straight in the swing)."""

ABILITY_HOLDS = timedelta(days=90)
"""How long the fastest rep and the longest set of dips stand (own judgement: one block and its test days)."""

MOST_DIPS = 10
"""More dips count as this many: past ten the rep equations part (handbook science.md 1.4)."""

Z90 = 1.645
"""Normal quantile that turns a 90 % interval's half width into one sigma."""


def body_tries(history: History, points: Sequence[StrengthPoint]) -> tuple[LoggedAttempt, ...]:
    """Return the tries that say something of what this body needs.

    Parameters
    ----------
    history : History
    points : sequence of StrengthPoint
        Strength over time, oldest first.

    Returns
    -------
    tuple of LoggedAttempt
        Valid and failed tries with a strength not older than :data:`STRENGTH_HOLDS`. A try
        that came over with help or one arm first is left out: it is not the movement the
        model solves. Where no film shows the swing, the last one seen before stands for it,
        with the uncertainty of a guess.
    """
    if history.athlete.skill != SKILL:
        return ()
    days = [point.on for point in points]
    found: list[LoggedAttempt] = []
    last_swing = DEFAULT_SWING_DEG
    for one in sorted(history.attempts, key=lambda one: (one.on, one.n)):
        seen = one.swing_deg
        last_swing = last_swing if seen is None else min(seen, RANGE["swing_deg"][1])
        at = bisect_right(days, one.on) - 1
        if one.outcome == "over_not_clean" or at < 0 or one.on - days[at] > STRENGTH_HOLDS:
            continue
        if not R_RANGE[0] <= points[at].R <= R_RANGE[1]:
            continue
        found.append(
            LoggedAttempt(
                who=history.athlete.id,
                person=person_at(history, points[at]),
                swing_deg=last_swing,
                over=one.outcome == "valid",
                swing_sd_deg=UNSEEN_SWING_SD_DEG if seen is None else SEEN_SWING_SD_DEG,
            )
        )
    return tuple(found)


def own_swing(history: History) -> float | None:
    """Return the swing of the newest filmed try, in degrees; None when no film shows one."""
    seen = [(one.on, one.n, one.swing_deg) for one in history.attempts if one.swing_deg is not None]
    return min(max(seen)[2], RANGE["swing_deg"][1]) if seen else None


def person_at(history: History, strength: StrengthPoint) -> Person:
    """Return the athlete as the body model needs them, with the strength of one day."""
    athlete = history.athlete
    fastest = _best(history, SPEED_TEST, strength.on, filmed=True)
    return Person(
        athlete.stature_m,
        strength.body_mass_kg,
        strength.R,
        (strength.R_high - strength.R_low) / 2 / Z90,
        athlete.sex,
        athlete.hang_length_m,
        athlete.arm_span_m,
        speed=1.0 if fastest is None else speed_from_first_rep(fastest, strength.R),
        dip_over_pull=_dip_over_pull(history, strength),
    )


def _dip_over_pull(history: History, strength: StrengthPoint) -> float | None:
    """Return dip maximum over pull-up maximum where a set of dips shows more than the usual press.

    A set need not have gone to failure, so it can only show a press stronger than usual.
    """
    reps = _best(history, DIP_TEST, strength.on, filmed=False)
    if reps is None or reps < 1:
        return None
    least = one_rep_max(1.0, min(int(reps), MOST_DIPS)) / strength.R
    return least if push_from_dip(least, strength.R) > 1.0 else None


def _best(history: History, test: str, on: date, *, filmed: bool) -> float | None:
    """Return the greatest value of a test in the time before a day, or None."""
    values = [
        seen.value
        for seen in history.measurements
        if seen.test == test and on - ABILITY_HOLDS <= seen.on <= on and (seen.source == "film" or not filmed)
    ]
    return max(values, default=None)
