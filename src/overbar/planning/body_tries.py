"""What an athlete's tries tell the body model: body, strength and swing of each, and how it ended."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import timedelta

from overbar.mechanics.margins import (
    DEFAULT_SWING_DEG,
    R_RANGE,
    SKILL,
    UNSEEN_SWING_SD_DEG,
    LoggedAttempt,
    Person,
)
from overbar.mechanics.surrogate import RANGE
from overbar.planning.history import History
from overbar.strength.sets import StrengthPoint

STRENGTH_HOLDS = timedelta(days=28)
"""How long an estimate of strength stands for a try (own judgement: what four weeks change is inside its
interval)."""

SEEN_SWING_SD_DEG = 3.0
"""Uncertainty of a swing's angle from film (own judgement: the body is not straight in the swing)."""

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
    return Person(
        athlete.stature_m,
        strength.body_mass_kg,
        strength.R,
        (strength.R_high - strength.R_low) / 2 / Z90,
        athlete.sex,
        athlete.hang_length_m,
        athlete.arm_span_m,
    )
