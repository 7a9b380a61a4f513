"""``overbar dry-run``: a ladder tried on simulated athletes before a real one uses it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.ladder.form import Ladder
    from overbar.simulation.dry_run import DryRun, GateTimes, Spread


def dry_run(
    ladder: Annotated[
        str, typer.Argument(help="TOML file or folder of the ladder, or the name of a shipped one.")
    ],
    athletes: Annotated[int, typer.Option(min=1, help="How many simulated athletes.")] = 100,
    seed: Annotated[int, typer.Option(help="The same seed gives the same athletes.")] = 1,
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it to this JSON file.")] = None,
    beside: Annotated[str, typer.Option(help="Another ladder for the same athletes, side by side.")] = "",
    method: Annotated[str, typer.Option(help="Method of the pulling strand; else the ladder's own.")] = "",
    beside_method: Annotated[
        str, typer.Option(help="The same ladder again under this method, side by side.")
    ] = "",
    weeks: Annotated[int, typer.Option(min=1, max=300, help="How long they live under it.")] = 60,
    workers: Annotated[int, typer.Option(min=0, help="Processes; 0 is one for each core.")] = 0,
    scheduler: Annotated[str, typer.Option(help="Address of a dask scheduler to do it on.")] = "",
) -> None:
    """Try a ladder on simulated athletes: weeks to each gate, early and late openings, steps, volume, pain.

    Simulated athletes are assumptions made to run: use it to find a ladder's slips, not to promise dates.
    """
    import json

    from overbar.cli.film import write_whole
    from overbar.cli.progress_bar import shown_progress
    from overbar.simulation import dry_run as tried

    runs = [(_load(ladder), method)]
    if beside or beside_method:
        runs.append((_load(beside or ladder), beside_method or method))
    found: list[DryRun] = []
    with _spread(workers, scheduler, athletes) as spread:
        for one, way in runs:
            with shown_progress() as progress:
                found.append(tried.dry_run(one, athletes, seed, weeks, way, spread, progress))
    if json_out:
        data = {"schema": "overbar.dry-run/1", "ladders": [tried.plain(run) for run in found]}
        write_whole(json_out, json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    _show(found)


def _load(name: str) -> Ladder:
    from overbar.ladder import load_ladder

    path = Path(name)
    return load_ladder(path.stem, path) if path.exists() or path.suffix == ".toml" else load_ladder(name)


@contextmanager
def _spread(workers: int, scheduler: str, athletes: int) -> Iterator[Spread]:
    """Yield where the jobs run: this process, this machine's cores, or a cluster by address."""
    from overbar.errors import BadInput
    from overbar.simulation.dry_run import here

    if not scheduler and (workers == 1 or athletes <= 20):
        yield here
        return
    import dask

    dask.config.set({"logging.distributed": "error"})
    from distributed import Client, LocalCluster, as_completed

    try:
        cluster = (
            None
            if scheduler
            else LocalCluster(
                n_workers=workers or None,
                threads_per_worker=1,
                processes=True,
                host="127.0.0.1",
                dashboard_address="127.0.0.1:0",
            )
        )
        client = Client(cluster or scheduler, timeout="10s")
    except (OSError, TimeoutError, ValueError) as error:
        raise BadInput(
            f"no dask scheduler answers at {scheduler} ({error})", do="Check the address, tcp://host:port."
        ) from error

    def spread(work: Callable[[Any], Any], jobs: Sequence[Any]) -> Iterator[Any]:
        for future in as_completed(client.map(work, jobs, pure=False)):
            yield future.result()
            future.release()

    try:
        yield spread
    finally:
        client.close()
        if cluster is not None:
            cluster.close()


def _show(found: Sequence[DryRun]) -> None:
    """Print the runs side by side."""
    from rich.console import Console
    from rich.table import Table

    table = Table(box=None, padding=(0, 2))
    table.add_column("")
    for run in found:
        table.add_column(f"{run.ladder} {run.version}, {run.method}", justify="right")
    for label, cells in _rows(found):
        table.add_row(label, *cells)
    Console(highlight=False, width=max(80, 46 + 44 * len(found))).print(table)
    first = found[0]
    typer.echo(
        f"{first.athletes} simulated athletes, {first.weeks} weeks, seed {first.seed}. "
        "Assumptions made to run, not data: they find a ladder's slips, they promise no dates."
    )


def _rows(found: Sequence[DryRun]) -> Iterator[tuple[str, list[str]]]:
    names = dict.fromkeys((gate.gate, gate.name) for run in found for gate in run.gates)
    for gate_id, name in names:
        cells = []
        for run in found:
            gate = next((one for one in run.gates if (one.gate, one.name) == (gate_id, name)), None)
            cells.append("-" if gate is None else _gate_cell(gate))
        yield f"{name}: opened, week", cells
    yield "first valid rep", [f"{run.success:.0%}" for run in found]
    for pace in ("all", "slow", "usual", "fast"):
        yield f"  week, {pace}", [_span(run.success_weeks[pace]) for run in found]
    yield "largest load step, % of system mass", [f"{run.largest_step:.1%}" for run in found]
    yield "largest rise of weekly pulling reps", [f"{run.largest_rise:.0%}" for run in found]
    yield "pulling reps in a trained week", [_span(run.weekly_reps) for run in found]
    yield (
        "  first and last eight weeks",
        ["{:.0f}, {:.0f}".format(*run.first_and_last_reps) for run in found],
    )
    yield (
        "weeks with a pain rule / truly sore",
        [f"{run.pain_weeks:.1f} / {run.sore_weeks:.1f}" for run in found],
    )
    yield "never stalled", [f"{run.never_stalled:.0%}" for run in found]
    yield (
        "weeks with a stall rule, of them rising",
        [
            f"{run.stall_weeks:.1f}" + ("" if run.stall_wrong is None else f", {run.stall_wrong:.0%}")
            for run in found
        ],
    )
    yield (
        "standstills called in time, rising weeks called one",
        [f"{_percent(run.stall_found)}, {_percent(run.stall_false)}" for run in found],
    )
    yield "rise of true strength", [f"{run.gain:.1%}" for run in found]


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{share:.0%}"


def _gate_cell(gate: GateTimes) -> str:
    opened = f"{gate.opened:.0%} {_span(gate.weeks)}"
    if gate.early is None or gate.late_weeks is None:
        return opened
    return f"{opened}, early {gate.early:.0%}, late {gate.late_weeks:.1f}"


def _span(points: tuple[float, float, float] | None) -> str:
    return "-" if points is None else "{1:.0f} ({0:.0f} to {2:.0f})".format(*points)
