"""What a fact is: a value, or nothing, and the dated evidence it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from overbar.ladder.expression import Value
from overbar.planning.verdict import Evidence


@dataclass(frozen=True)
class Found:
    """One fact; ``value`` None means there is no evidence, never zero."""

    value: Value = None
    evidence: tuple[Evidence, ...] = ()


MISSING = Found()


def yes(condition: bool | None, *evidence: Evidence) -> Found:
    """Return 1 or 0, or missing when the condition is unknown."""
    return MISSING if condition is None else Found(1.0 if condition else 0.0, evidence)


def number(value: float | None, *evidence: Evidence) -> Found:
    """Return a number with its evidence, or missing."""
    return MISSING if value is None else Found(float(value), evidence)
