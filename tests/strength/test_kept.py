"""A belief kept between weeks gives the same strength as reading the whole log again."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from overbar.simulation.coverage import logged_life
from overbar.strength import estimate
from overbar.strength.kept import as_bytes, from_bytes, go_on, key_of
from overbar.strength.posterior import beliefs


@pytest.fixture(scope="module")
def life():
    return logged_life(4, weeks=10)


def test_going_on_from_a_kept_belief_is_reading_the_whole_log(life):
    whole = estimate(life.sets, life.sex)
    half = beliefs(life.sets, life.sex, through=whole[len(whole) // 2].on)[-1]
    assert go_on(from_bytes(as_bytes(half)), life.sets) == whole[len(whole) // 2 + 1 :]


def test_bytes_hold_all_of_a_belief(life):
    belief = beliefs(life.sets, life.sex)[-1]
    again = from_bytes(as_bytes(belief))
    assert np.array_equal(again.cov, belief.cov)
    assert (again.on, again.trained_on, again.recent) == (belief.on, belief.trained_on, belief.recent)


def test_a_late_or_changed_row_changes_the_key_and_the_order_of_rows_does_not(life):
    day = life.sets[-1].on
    key = key_of(life.sets, day, life.sex)
    assert key_of(life.sets[::-1], day, life.sex) == key
    late = replace(life.sets[0], on=life.sets[0].on + timedelta(days=1))
    assert key_of((*life.sets, late), day, life.sex) != key
    changed = (replace(life.sets[0], reps=life.sets[0].reps + 1), *life.sets[1:])
    assert key_of(changed, day, life.sex) != key
    assert key_of(life.sets, day, "f" if life.sex == "m" else "m") != key
