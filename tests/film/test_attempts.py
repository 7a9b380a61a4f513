"""The class of a try by its swing, and where a film cannot tell it from the next."""

from __future__ import annotations

import pytest

from overbar.film.attempts import KIP_FROM_L, _class
from overbar.film.reading import Measured
from overbar.film.reps import SWING_FROM_L


@pytest.mark.parametrize(
    ("swing", "travel", "found"),
    [
        (False, Measured(0.05, 0.03), ("no_swing", "")),
        (True, Measured(0.60, 0.07), ("swing", "")),
        (True, Measured(1.40, 0.16), ("kip", "")),
        (True, Measured(KIP_FROM_L - 0.05, 0.11), ("swing", "kip")),
        (True, Measured(KIP_FROM_L + 0.05, 0.11), ("kip", "swing")),
        (True, Measured(SWING_FROM_L + 0.02, 0.04), ("swing", "no_swing")),
        (False, Measured(SWING_FROM_L - 0.02, 0.04), ("no_swing", "swing")),
        (True, None, ("swing", "")),
    ],
)
def test_a_swing_within_its_uncertainty_of_a_limit_is_said_to_lie_between(swing, travel, found):
    # Handbook trade.md section 2.6: no swing under 0.25 L of hip travel, kip from 1.0 L.
    assert _class(swing, travel) == found
