"""The full solves behind the table, on a handful of bodies."""

from __future__ import annotations

from pathlib import Path

import pytest
from distributed import LocalCluster

from overbar.cli.body import body_table
from overbar.mechanics.muscle_up import VARIANTS
from overbar.mechanics.surrogate import Place, Solved, read_table, tabulate
from overbar.mechanics.sweep import built, jobs, walk
from overbar.mechanics.ways import mark_of, unpacked


@pytest.fixture(scope="module")
def walked() -> list[Solved]:
    return walk("middle", "m", quick=True).points


def test_every_variant_is_walked_once() -> None:
    assert jobs() == [variant.id for variant in VARIANTS]


def test_every_body_converges_and_is_told_apart(walked: list[Solved]) -> None:
    assert all(point.converged for point in walked)
    assert len({point.place for point in walked}) == 3


def test_the_solvers_own_derivative_agrees_with_the_next_solve(walked: list[Solved]) -> None:
    # the envelope theorem, against a plain difference of two solves
    at = {point.place: point for point in walked}
    here, there = at[Place()], at[Place(swing_deg=25.0)]
    slope = (here.slopes["swing_deg"] + there.slopes["swing_deg"]) / 2
    assert pytest.approx(slope, abs=0.015) == (there.R - here.R) / 5
    longer = at[Place(arm=1.06)]
    assert longer.R < here.R
    assert here.slopes["arm"] < 0


def test_the_walk_can_be_tabulated(walked: list[Solved]) -> None:
    data = tabulate(walked, [], [])
    assert data["solves"] == 3
    assert list(data["formulas"]) == ["middle/m/swing"]


def test_a_place_becomes_the_body_it_names() -> None:
    body, own = built(VARIANTS[0], "f", Place(stature_m=1.6, arm=1.05, speed=1.1, push=1.2, fat=0.05))
    usual, reference = built(VARIANTS[0], "f", Place(stature_m=1.6))
    assert body.hang_length_m == pytest.approx(1.05 * usual.hang_length_m)
    assert sum(body.mass) == pytest.approx(1.05)
    assert own.muscles.push == pytest.approx(1.2 * reference.muscles.push)
    assert own.id == VARIANTS[0].id


def test_the_table_is_built_anew_on_a_dask_cluster_when_asked(tmp_path: Path) -> None:
    file = tmp_path / "table.json"
    with LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, protocol="tcp", dashboard_address=None
    ) as cluster:
        body_table(file, cluster=cluster.scheduler_address, quick=True)
    table = read_table(file)
    assert (table.solves, table.failed) == (6, 0)
    assert table.need("middle", "f", "swing", Place()) > 1.2
    assert {(path.sex, path.swing_deg) for path in table.paths} >= {("m", 20.0), ("f", 25.0)}
    ways = (tmp_path / "ways.npz").read_bytes()
    assert mark_of(ways) == table.ways_mark
    assert len(unpacked(ways)) == 6
    assert set(table.mesh) == {("middle", "swing")}
