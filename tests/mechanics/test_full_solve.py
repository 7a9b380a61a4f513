"""The full solve of one athlete."""

from __future__ import annotations

import json

from overbar.mechanics.full_solve import solve_in_full
from overbar.mechanics.margins import Person
from overbar.mechanics.surrogate import Table


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
    assert (
        abs(data["needs"]["swing"] - table.need("middle", "f", "swing", Person(1.66, 61.0, 1.33).place))
        < 0.25
    )
    assert data["needs"]["still"] > data["needs"]["swing"]
    assert data["peak_hand_force_bw"] <= 2.0 + 1e-3
    assert data["timing_s"]["shoulder_over"] < data["timing_s"]["support"]
    assert said[-1] == 1.0
