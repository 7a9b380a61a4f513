"""Hidden abilities of a simulated athlete that the ladder's tests read: heights, dips, holds.

The ladder says which tests its gates ask for and how much; nothing here knows a skill.
A height (unit L) follows strength for three quarters and practice for the rest; every
other number follows practice alone. All rates are own judgement.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from overbar.ladder.form import Ladder, Requirement
from overbar.simulation.hidden import Hidden

START_R = 1.17
"""Strength at which heights stand at their start."""
FALLBACK_TOP_R = 1.40
PRACTICE_WEEKS = 8.0
"""Weeks of practice that give 63 % of what practice gives to a height."""
START_SHARE, LATER_SHARE = (0.7, 1.4), (0.4, 1.0)
"""Counts and times start at this share of the least asked: in tests of the first gate, and in later ones
(common practice: who does a few pull-ups hangs for about half a minute)."""
HEIGHT_BELOW = 0.10
"""A height starts this far below the lowest gate that asks for it, L."""


def asked(ladder: Ladder) -> dict[str, tuple[float, float]]:
    """Return the lowest and highest value the gates ask of each test."""
    found: dict[str, tuple[float, float]] = {}
    for gate in ladder.gates.values():
        for leaf in leaves(gate.item):
            low, high = found.get(leaf.test, (leaf.value, leaf.value))
            found[leaf.test] = (min(low, leaf.value), max(high, leaf.value))
    return found


def leaves(items: tuple[Requirement, ...]) -> Iterator[Requirement]:
    """Yield every single test of some requirements."""
    for item in items:
        yield from item.leaves


def has_hidden(ladder: Ladder, test_id: str) -> bool:
    """Return whether a test has a hidden number here: strength, a height, a count, a time."""
    test = ladder.tests[test_id]
    if test.reads.fact:
        return test.reads.fact == "R"
    return test.unit not in ("yes/no", "of 10", "%") and test.better == "more"


@dataclass
class Abilities:
    """Hidden values of the tests over time.

    Attributes
    ----------
    hidden : Hidden
        The athlete whose repetitions decide tests of strict pulling.
    asked : dict
        Lowest and highest value of each test in the gates.
    weeks_needed : dict
        Practised weeks from the start to the highest value asked.
    offset : dict
        The athlete's own lasting offset of heights, L.
    practised : float
        Trained weeks so far.
    """

    ladder: Ladder
    hidden: Hidden
    asked: dict[str, tuple[float, float]]
    weeks_needed: dict[str, float]
    start_share: dict[str, float]
    offset: dict[str, float]
    practised: float = 0.0

    @classmethod
    def draw(cls, ladder: Ladder, hidden: Hidden, rng: np.random.Generator) -> Abilities:
        """Draw one athlete's abilities."""
        bounds = asked(ladder)
        lowest = next(iter(ladder.gates.values()), None)
        first = {leaf.test for leaf in leaves(lowest.item)} if lowest else set()
        return cls(
            ladder,
            hidden,
            bounds,
            {test: float(rng.lognormal(np.log(12.0), 0.4)) for test in bounds},
            {test: float(rng.uniform(*(START_SHARE if test in first else LATER_SHARE))) for test in bounds},
            {test: float(rng.normal(0, 0.025)) for test in bounds},
        )

    def true_value(self, test_id: str, R: float) -> float | None:
        """Return the hidden value of a test, or None where it is no number of this kind."""
        test = self.ladder.tests[test_id]
        if not has_hidden(self.ladder, test_id):
            return None
        if test.reads.fact == "R":
            return R
        if any(self.ladder.exercises[name].strength_test for name in test.reads.exercises):
            return self.hidden.reps_at(float(np.log(R))) if test.reads.take == "reps" else None
        low, high = self.asked[test_id]
        if test.unit == "L":
            top_R = self.asked.get("R", (0.0, FALLBACK_TOP_R))[1]
            strength = (R - START_R) / max(top_R - START_R, 0.05)
            practice = 1 - np.exp(-self.practised / PRACTICE_WEEKS)
            start = low - HEIGHT_BELOW
            return float(start + (high - start) * (0.75 * strength + 0.3 * practice) + self.offset[test_id])
        start = low * self.start_share[test_id]
        return start + (high * 1.1 - start) * self.practised / self.weeks_needed[test_id]

    def met(self, needed: Requirement, R: float, give: float = 0.0) -> bool:
        """Return whether the hidden values meet a requirement; what is no number counts as met.

        ``give`` lets a value be so many retest sigmas short.
        """
        if needed.any_of:
            return any(self.met(part, R, give) for part in needed.any_of)
        if needed.all_of:
            return all(self.met(part, R, give) for part in needed.all_of)
        value = self.true_value(needed.test, R)
        slack = give * (self.ladder.tests[needed.test].noise_sd or 0.0)
        return value is None or value >= needed.value - slack - 1e-9
