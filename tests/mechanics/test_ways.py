"""The solved movements a full solve starts from."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest

from overbar.errors import NotSetUp
from overbar.mechanics.muscle_up import VARIANTS, easiest_muscle_up
from overbar.mechanics.surrogate import SEXES, Place, Table
from overbar.mechanics.sweep import attempt_of, built
from overbar.mechanics.ways import FILE, KEPT_KINDS, distance, mark_of, near, packed, read_ways, unpacked


def test_they_belong_to_the_table_and_stay_small(table: Table) -> None:
    data = resources.files("overbar.mechanics").joinpath(FILE).read_bytes()
    assert mark_of(data) == table.ways_mark
    assert len(data) <= 2_000_000


def test_those_of_another_table_are_refused() -> None:
    with pytest.raises(NotSetUp, match="another body table"):
        read_ways("not this one")


def test_there_is_one_for_every_variant_sex_and_start(table: Table) -> None:
    ways = read_ways(table.ways_mark)
    found = {(way.variant, way.sex, way.kind) for way in ways}
    assert found == {(v.id, sex, kind) for v in VARIANTS for sex in SEXES for kind in KEPT_KINDS}


def test_the_nearest_come_first_and_an_unstated_sex_takes_both(table: Table) -> None:
    ways = read_ways(table.ways_mark)
    here = Place(swing_deg=24.0)
    found = near(ways, "middle", "m", "swing", here, 3)
    assert found[0].place == Place(swing_deg=25.0)
    far = [distance(way, here) for way in found]
    assert far == sorted(far)
    assert {way.sex for way in near(ways, "middle", "unstated", "swing", here, 2)} == set(SEXES)
    # From a still hang the swing of the place says nothing.
    assert near(ways, "middle", "f", "still", Place(swing_deg=5.0), 1)[0].place == Place()


def test_packing_loses_nothing_a_start_needs(table: Table) -> None:
    ways = read_ways(table.ways_mark)[:3]
    again = unpacked(packed(ways))
    for one, other in zip(ways, again, strict=True):
        assert (one.variant, one.sex, one.kind, one.place) == (
            other.variant,
            other.sex,
            other.kind,
            other.place,
        )
        assert np.array_equal(one.movement.q, other.movement.q)
        assert one.movement.a == pytest.approx(other.movement.a, rel=1e-3, abs=1e-3)


def test_a_solve_from_the_stored_movement_of_its_own_body_ends_where_the_sweep_did(table: Table) -> None:
    (way,) = near(read_ways(table.ways_mark), "middle", "m", "swing", Place(swing_deg=30.0), 1)
    body, own = built(VARIANTS[0], "m", way.place)
    up = easiest_muscle_up(body, attempt_of("swing", way.place), own, like=(way.movement,), starts=0)
    assert up.converged
    assert up.strength == pytest.approx(way.movement.strength, abs=5e-3)
