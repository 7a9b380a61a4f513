"""What several tests of the room share: one man, one woman, the table, one solved muscle-up."""

from __future__ import annotations

import pytest

from overbar.mechanics.muscle_up import Attempt, MuscleUp, easiest_muscle_up, polished
from overbar.mechanics.segments import Body, body_of
from overbar.mechanics.surrogate import Table, read_table

SWING = Attempt(swing_deg=20.0, leg_drive=True)


@pytest.fixture(scope="session")
def man() -> Body:
    return body_of(1.75, 75.0, "m")


@pytest.fixture(scope="session")
def table() -> Table:
    return read_table()


@pytest.fixture(scope="session")
def swung(man: Body) -> MuscleUp:
    """A muscle-up from a 20 degree swing on the search mesh, from one start."""
    return easiest_muscle_up(man, SWING, starts=1)


@pytest.fixture(scope="session")
def fine(man: Body, swung: MuscleUp) -> MuscleUp:
    """The same on the fine mesh."""
    return polished(swung, man, SWING)
