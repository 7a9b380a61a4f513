"""Judging the rules of stalled strength by the truth: standstills found, and rising weeks called one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

REAL_RISE = 0.01
"""A rise in eight weeks from which on a call is wrong (own judgement: a fifth of a usual gain)."""
RISING = 0.02
"""A rise in eight weeks of an athlete who is plainly getting stronger (own judgement)."""
SPAN_WEEKS = 8
STILL_WEEKS, STILL_RISE, STILL_REACH = 6, 0.005, 0.01
"""Strength stands still when over so many weeks it rose by less than the first and was never higher
than the second (own judgement)."""
FOUND_AFTER, FOUND_BEFORE = 4, 3
"""A standstill is found by a call at most so many weeks after it has lasted :data:`STILL_WEEKS`, or
before that."""


@dataclass(frozen=True)
class Stalls:
    """Calls of stalled strength against the truth, of one life or of several together.

    Attributes
    ----------
    weeks, wrong : int
        Weeks with a call, and those of them in which true strength had risen by 1 % or more in
        eight weeks.
    spells, found : int
        True standstills of six weeks, and those called within four weeks.
    rising, called : int
        Weeks in which true strength had risen by 2 % or more in eight weeks, and those called.
    """

    weeks: int = 0
    wrong: int = 0
    spells: int = 0
    found: int = 0
    rising: int = 0
    called: int = 0


def judge(log_strength: Sequence[float], calls: Sequence[bool]) -> Stalls:
    """Judge a life's calls week by week.

    Parameters
    ----------
    log_strength : sequence of float
        True log strength at the start of each week.
    calls : sequence of bool
        Whether a rule called it a stall that week.
    """
    weeks = range(len(calls))
    rise = [log_strength[k] - log_strength[max(0, k - SPAN_WEEKS)] for k in weeks]
    still = [_stands_still(log_strength[k - STILL_WEEKS : k + 1]) for k in weeks]
    whole = range(SPAN_WEEKS, len(calls))
    spells = [k for k in whole if k + FOUND_AFTER < len(calls) and still[k] and not still[k - 1]]
    found = [k for k in spells if any(calls[k - FOUND_BEFORE : k + FOUND_AFTER + 1])]
    rising = [k for k in whole if rise[k] >= RISING]
    return Stalls(
        weeks=sum(calls),
        wrong=sum(calls[k] and rise[k] >= REAL_RISE for k in weeks),
        spells=len(spells),
        found=len(found),
        rising=len(rising),
        called=sum(calls[k] for k in rising),
    )


def _stands_still(span: Sequence[float]) -> bool:
    if len(span) <= STILL_WEEKS:
        return False
    return span[-1] - span[0] < STILL_RISE and max(span) - span[0] < STILL_REACH


def together(all_of_them: Iterable[Stalls]) -> Stalls:
    """Add the calls of several lives up."""
    each = list(all_of_them)
    return Stalls(*(sum(getattr(one, name) for one in each) for name in Stalls.__dataclass_fields__))
