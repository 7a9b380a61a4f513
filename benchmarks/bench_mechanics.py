"""Body model: solve times, the table's time and error, and a general solver on the same problem.

Ratios are taken within this run; the general solver is SciPy's trust-region
interior-point method, given the same unknowns, bounds, exact first derivatives and
first guess on a small mesh, and a bounded time.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median
from typing import Any

import casadi as ca
import numpy as np
from scipy.optimize import Bounds, NonlinearConstraint, minimize
from scipy.sparse import csr_matrix

from overbar.mechanics.dynamics import parameters
from overbar.mechanics.full_solve import solve_in_full
from overbar.mechanics.margins import Change, LoggedAttempt, Person, answer, learn, what_if
from overbar.mechanics.muscle_up import VARIANTS, Attempt, easiest_muscle_up, polished
from overbar.mechanics.segments import Body, body_of
from overbar.mechanics.strength_scale import HEAVIEST, greatest_pull_up, steady_pull_up
from overbar.mechanics.surrogate import Place, Table, read_table

SMALL_MESH = (8,)
SECONDS_FOR_THE_GENERAL_SOLVER = 60.0
WHAT_IFS = 200
ATHLETES, TRIES_EACH = 1000, 10


def timed(work: Callable[[], Any], times: int = 1) -> tuple[float, Any]:
    """Return the median seconds of some runs, and the last result."""
    taken, result = [], None
    for _ in range(times):
        began = time.perf_counter()
        result = work()
        taken.append(time.perf_counter() - began)
    return median(taken), result


def main() -> None:
    """Print the figures."""
    body = body_of(1.75, 75.0, "m")
    person = Person(1.75, 75.0, 1.25, sex="m")

    seconds, table = timed(read_table)
    print(f"table read                           {1e3 * seconds:8.1f} ms ({table.solves} solves behind it)")
    seconds, _ = timed(lambda: answer(table, person, 15.0), 20)
    print(f"answer with all levers from the table{1e3 * seconds:8.1f} ms")
    change = Change(belt_kg=2.5, body_mass_kg=-1.0, swing_deg=3.0, pause_s=0.1)
    seconds, _ = timed(lambda: what_if(table, person, 15.0, change), WHAT_IFS)
    print(f"one what-if                          {1e3 * seconds:8.2f} ms (wanted: 50 at most)")
    if (found := table.checked) is not None:
        print(
            f"table against full solves of {found.bodies} random bodies: rms {found.rms:.3f}, median "
            f"{found.median:.3f}, worst {found.worst:.3f} R of the mean that is shown (wanted: 0.01); rest "
            f"of the mesh {table.mesh_rms:.3f} R; measured anew by python -m benchmarks.body_table"
        )

    learning(table)

    swing = Attempt(20.0, leg_drive=True)
    first, up = timed(lambda: easiest_muscle_up(body, swing, starts=1))
    print(
        f"muscle-up, first solve with building {first:8.2f} s  R {up.least_R:.3f}, converged {up.converged}"
    )
    again, up = timed(lambda: easiest_muscle_up(body, swing, starts=1))
    print(f"muscle-up, problem already built     {again:8.2f} s  ({up.solution.iterations} iterations)")
    warm, near = timed(
        lambda: easiest_muscle_up(body, Attempt(22.0, leg_drive=True), like=(up.solution,), starts=0)
    )
    print(f"muscle-up from a neighbour           {warm:8.2f} s  ({near.solution.iterations} iterations)")
    fine, best = timed(lambda: polished(up, body, swing))
    print(f"fine mesh, with building             {fine:8.2f} s  R {best.least_R:.3f}")
    told = table.need("middle", "m", "swing", Place())
    print(f"table / this search / fine mesh       R {told:.3f} / {up.least_R:.3f} / {best.least_R:.3f}")
    whole, (full, beside) = timed(lambda: solve_in_full(table, person, 15.0))
    told, solved = (each.needs["swing"].value for each in (answer(table, person, 15.0), full))
    print(
        f"full answer, all variants and starts {whole:8.1f} s  R {solved:.3f} (table {told:.3f}), "
        f"converged {beside['converged']}"
    )
    against_general_solver(body)


def learning(table: Table) -> None:
    """Let the tries of very many athletes move the thresholds, and read the outcome as a page does."""
    rng = np.random.default_rng(1)
    tries = []
    for athlete in range(ATHLETES):
        stature, R = rng.uniform(1.55, 1.95), rng.uniform(1.2, 1.9)
        who = Person(float(stature), 75.0, float(R), sex=("f", "m")[athlete % 2])
        tries += [
            LoggedAttempt(
                f"athlete {athlete}", who, float(rng.integers(8, 25)), bool(rng.random() < 0.4), 3.0
            )
            for _ in range(TRIES_EACH)
        ]
    seconds, offset = timed(lambda: learn(table, tries))
    print(f"learning from {len(tries)} tries of {ATHLETES} {1e3 * seconds:8.0f} ms, in the background")
    who = Person(1.75, 75.0, 1.25, sex="m")
    seconds, _ = timed(lambda: answer(table, who, 15.0, offset), 20)
    print(f"answer with what was learnt          {1e3 * seconds:8.1f} ms (wanted: 30 at most)")


def against_general_solver(body: Body) -> None:
    """Solve the maximal pull-up on a small mesh by both and print the ratio."""
    muscles = VARIANTS[0].muscles
    greatest_pull_up(body, muscles, 0.9, mesh=SMALL_MESH)
    ours, pull = timed(lambda: greatest_pull_up(body, muscles, 0.9, mesh=SMALL_MESH), 3)
    task, limits, guess = steady_pull_up(body, 0.9, mesh=SMALL_MESH)
    low_x, high_x, low_g, high_g, vector = task.numbers(
        limits, parameters(body, muscles), HEAVIEST, 0.0, 10.0
    )
    x, f, g, given = (task.written[key] for key in "xfgp")
    cost, slope = ca.Function("f", [x, given], [f]), ca.Function("df", [x, given], [ca.gradient(f, x)])
    value, jacobian = ca.Function("g", [x, given], [g]), ca.Function("dg", [x, given], [ca.jacobian(g, x)])
    keep = (low_g > -np.inf) | (high_g < np.inf)
    low_x, high_x = low_x - 1e-9, high_x + 1e-9
    best: dict[str, Any] = {"x": np.clip(guess, low_x, high_x), "violation": np.inf, "iterations": 0}
    began = time.perf_counter()

    def watch(x: np.ndarray, state: Any) -> bool:
        best.update(x=x, violation=state.constr_violation, iterations=state.nit)
        return time.perf_counter() - began > SECONDS_FOR_THE_GENERAL_SOLVER

    minimize(
        lambda x: float(cost(x, vector)),
        best["x"],
        jac=lambda x: np.asarray(slope(x, vector)).ravel(),
        method="trust-constr",
        bounds=Bounds(low_x, high_x),
        constraints=NonlinearConstraint(
            lambda x: np.asarray(value(x, vector)).ravel()[keep],
            low_g[keep],
            high_g[keep],
            jac=lambda x: csr_matrix(jacobian(x, vector).sparse())[keep],
        ),
        callback=watch,
        options={"maxiter": 5000, "gtol": 1e-5, "xtol": 1e-9},
    )
    theirs = time.perf_counter() - began
    print(f"pull-up maximum, {task.variables} unknowns      {ours:8.3f} s  R {pull.R:.3f}")
    print(
        f"  general solver, {best['iterations']} iterations    {theirs:8.1f} s  R {1 + best['x'][-1]:.3f}, "
        f"largest broken constraint {best['violation']:.1e}; at least {theirs / ours:.0f} times as long"
    )


if __name__ == "__main__":
    main()
