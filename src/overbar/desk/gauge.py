"""A value against its threshold, as places on a short line: where it is, how sure, where it must be."""

from __future__ import annotations

from dataclasses import dataclass

from overbar.planning.verdict import GateItem, Margin

SPAN = 100.0
"""Width of the line in its own units; pages scale it."""
EDGE = 4.0
"""Kept free at both ends so that a mark is never cut."""


@dataclass(frozen=True)
class Gauge:
    """Places along a line of :data:`SPAN` units.

    Attributes
    ----------
    value, low, high : float
        The value and its band (one sigma unless the page says otherwise).
    needs : float
        The threshold.
    say : str
        The same in words, for those who do not see the line.
    """

    value: float
    low: float
    high: float
    needs: float
    say: str


def gauge(value: float, low: float, high: float, needs: float, say: str, floor: float | None = None) -> Gauge:
    """Place a value, its band and its threshold on a line.

    The line spans both with half their distance to spare, so that a shortfall is
    seen as a length; a floor (for example 0 reps) is never passed.
    """
    left, right = min(low, needs), max(high, needs)
    room = max(right - left, abs(needs) * 0.1, 1e-6) / 2
    if floor is not None and left >= floor:
        left = max(left - room, floor)
    else:
        left = left - room
    right = right + room
    scale = (SPAN - 2 * EDGE) / (right - left)

    def place(at: float) -> float:
        return round(EDGE + (at - left) * scale, 2)

    return Gauge(place(value), place(low), place(high), place(needs), say)


def gauge_of_item(item: GateItem) -> Gauge | None:
    """Return the gauge of a gate item, or None for yes/no items and missing evidence."""
    if item.value is None or item.needs is None or item.unit in ("yes/no", ""):
        return None
    spread = item.sd or 0.0
    floor = None if item.unit == "L" else 0.0
    return gauge(item.value, item.value - spread, item.value + spread, item.needs, item.say, floor)


def gauge_of_margin(margin: Margin) -> Gauge:
    """Return the gauge of a margin: its threshold is zero."""
    spread = margin.sd or 0.0
    return gauge(margin.value, margin.value - spread, margin.value + spread, 0.0, margin.say)
