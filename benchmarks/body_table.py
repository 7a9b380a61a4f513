"""The body table against full solves of random bodies: ``python -m benchmarks.body_table [N]``.

Prints a line for each body, then the error of what the table shows; twenty to thirty
seconds of one core for each body.
"""

from __future__ import annotations

import sys

from overbar.mechanics.surrogate import read_table
from overbar.mechanics.table_check import Compared, compared, random_bodies, summed_up
from overbar.mechanics.ways import read_ways

BODIES = 24


def line(row: Compared) -> str:
    """Return one body and its difference in words."""
    person = row.person
    start = f"{row.swing_deg:4.1f}°" if row.swing_deg else "still"
    each = " ".join(
        f"{row.solved[v] - told:+.3f}" if v in row.solved else "  --  " for v, told in row.told.items()
    )
    who = f"{person.sex} {person.stature_m:.2f} m {person.mass_kg:5.1f} kg {start}"
    own = f"arms {person.place.arm:.3f} speed {person.speed:.2f} push {row.push:.2f}"
    return f"{who} {own}  {row.difference_R:+.3f}  ({each})  {row.seconds:.0f} s"


def main(count: int = BODIES) -> None:
    """Compare and print."""
    table = read_table()
    rows = []
    print("full solve less table, R: mean of the variants (each variant), same mesh")
    for row in compared(table, read_ways(table.ways_mark), random_bodies(count)):
        rows.append(row)
        print(line(row), flush=True)
    found = summed_up(rows)
    solves = len(rows) * len(rows[0].told)
    print(f"{found.bodies} bodies, {found.not_converged} of {solves} solves did not converge")
    print(
        f"rms {found.rms:.3f}, median {found.median:.3f}, 95 % {found.p95:.3f}, worst {found.worst:.3f}, "
        f"bias {found.bias:+.3f} R; with the mesh's {table.mesh_rms:.3f}: {table.shown_rms:.3f} R"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else BODIES)
