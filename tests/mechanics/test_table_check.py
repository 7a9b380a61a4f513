"""The table against full solves of random bodies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overbar.mechanics.margins import Person
from overbar.mechanics.surrogate import RANGE, Table
from overbar.mechanics.table_check import (
    MASSES_KG,
    STATURES_M,
    SWINGS_DEG,
    Compared,
    compared,
    random_bodies,
    summed_up,
)
from overbar.mechanics.ways import read_ways


def test_the_random_bodies_are_women_and_men_of_all_sizes_swinging_and_still() -> None:
    bodies = random_bodies(40)
    people = [person for person, _, _ in bodies]
    assert sum(person.sex == "f" for person in people) == 20
    assert all(STATURES_M[0] <= person.stature_m <= STATURES_M[1] for person in people)
    assert all(MASSES_KG[0] <= person.mass_kg <= MASSES_KG[1] for person in people)
    assert np.ptp([person.stature_m for person in people]) > 0.4
    swings = [swing for _, swing, _ in bodies if swing]
    assert len(swings) == 30
    assert all(SWINGS_DEG[0] <= swing <= SWINGS_DEG[1] for swing in swings)
    for person, _, push in bodies:
        place = replace(person.place, push=push)
        for name, (low, high) in RANGE.items():
            assert low <= getattr(place, name) <= high


def test_the_same_seed_draws_the_same_bodies() -> None:
    assert random_bodies(4) == random_bodies(4)
    assert random_bodies(4) != random_bodies(4, seed=8)


def test_the_error_is_that_of_the_mean_of_the_variants() -> None:
    who = Person(1.70, 70.0, 1.3, sex="m")
    told = {"middle": 1.7, "loose_hands": 1.8}
    even = Compared(who, 20.0, 1.0, told, {"middle": 1.73, "loose_hands": 1.77}, 1.0)
    above = Compared(who, 20.0, 1.0, told, {"middle": 1.72}, 1.0)
    found = summed_up([even, above])
    assert even.difference_R == pytest.approx(0.0, abs=1e-12)
    assert (found.bodies, found.not_converged) == (2, 1)
    assert found.worst == pytest.approx(0.02)
    assert found.bias == pytest.approx(0.01)
    assert found.rms == pytest.approx(0.02 / 2**0.5, abs=1e-4)


def test_a_random_body_is_solved_close_to_what_the_table_tells(table: Table) -> None:
    (row,) = compared(table, read_ways(table.ways_mark), random_bodies(1), variants=1)
    assert set(row.solved) == {"middle"}
    assert abs(row.difference_R) < 0.05
