"""How much strength has risen over some weeks, seen from today, with its uncertainty."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from overbar.planning.case import Case
from overbar.strength.posterior import Z90
from overbar.strength.prior import prior_for
from overbar.strength.retest import Rise, rise_between

LATE_DAYS = 14
"""The day compared with may lie so much further back than asked; else the weeks between were not
logged and say nothing of a rise (own judgement)."""


def rise_over(case: Case, weeks: float) -> Rise | None:
    """Return how much strength rose over so many weeks, or None when the log does not span them.

    The sets since then are read again together, so that later sets also tell what was true at the
    start: the change is known far better than from two estimates each made on its own day. What
    came before counts through the estimate of the last day before the span.

    Parameters
    ----------
    case : Case
    weeks : float
    """
    start = case.on - timedelta(days=round(7 * weeks))
    earlier = [point for point in case.strength if point.on <= start]
    if not earlier or (start - earlier[-1].on).days > LATE_DAYS:
        return None
    since = earlier[-1].on
    exercises = case.ladder.exercises
    sets = [
        one
        for name, of_it in case.sets_of.items()
        if name in exercises and exercises[name].strength_test
        for one in of_it
        if one.on >= since
    ]
    if len({one.on for one in sets}) < 2:
        return None
    prior = case.history.prior or prior_for(case.athlete.sex)
    if len(earlier) > 1:
        before = earlier[-2]
        prior = replace(prior, R=(before.R, (before.R_high - before.R_low) / (2 * Z90)))
    return rise_between(sets, since, sex=case.athlete.sex, prior=prior)
