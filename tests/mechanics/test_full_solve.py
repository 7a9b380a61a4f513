"""The full solve of one athlete."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from overbar.mechanics.full_solve import STEP, easiest_of_all, solve_in_full
from overbar.mechanics.margins import Person
from overbar.mechanics.muscle_up import VARIANTS
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import Table
from overbar.mechanics.sweep import built
from overbar.mechanics.ways import distance, near, read_ways


def test_a_full_solve_answers_like_the_table_and_brings_its_own_figure(table: Table) -> None:
    said: list[float] = []
    found, beside = solve_in_full(
        table,
        Person(1.66, 61.0, 1.33, sex="f"),
        20.0,
        variants=1,
        progress=lambda share, _: said.append(share),
    )
    data = found.to_json(beside)
    json.dumps(data)
    assert data["converged"] or data["said"]
    told = table.need("middle", "f", "swing", replace(Person(1.66, 61.0, 1.33).place, swing_deg=20.0))
    assert data["needs"]["swing"] == pytest.approx(told, abs=0.04)
    assert data["needs"]["still"] > data["needs"]["swing"]
    assert data["peak_hand_force_bw"] <= 2.0 + 1e-3
    assert data["timing_s"]["shoulder_over"] < data["timing_s"]["support"]
    assert said[-1] == 1.0


def test_a_body_that_the_built_in_starts_get_wrong_is_found_from_its_neighbours(table: Table) -> None:
    # 1.84 m at 15 degrees: built-in starts alone ended 0.06 R above the easiest way of the neighbours
    person = Person(1.84, 91.5, 1.32, sex="m")
    place = replace(person.place, swing_deg=15.0)
    body = body_of(person.stature_m, person.mass_kg, person.sex)
    found = easiest_of_all(body, VARIANTS[0], "m", "swing", place, read_ways(table.ways_mark))
    told = table.need("middle", "m", "swing", place) - table.mesh_adds("middle", "swing", 15.0)
    assert found.converged
    assert found.least_R == pytest.approx(told, abs=0.03)


def test_a_swing_far_from_every_solved_body_is_reached_over_bodies_between(table: Table) -> None:
    person = Person(1.60, 60.0, 1.3, sex="f")
    place = replace(person.place, swing_deg=45.0, arm=0.92)
    (way,) = near(read_ways(table.ways_mark), "middle", "f", "swing", place, 1)
    assert distance(way, place) > STEP
    body, own = built(VARIANTS[0], "f", place)
    found = easiest_of_all(body, own, "f", "swing", place, (way,))
    nearest = table.need("middle", "f", "swing", replace(place, swing_deg=35.0))
    assert found.converged
    assert 0.8 < found.least_R < nearest
