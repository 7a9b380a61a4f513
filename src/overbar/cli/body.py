"""``overbar body``: what this body needs for the muscle-up, and what each lever buys."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer

if TYPE_CHECKING:
    from overbar.mechanics.margins import Offset


def body(
    stature: Annotated[float, typer.Option(help="Stature in metres, for example 1.78.")],
    mass: Annotated[float, typer.Option(help="Body mass in kg.")],
    pull: Annotated[
        float,
        typer.Option(help="R: pull-up maximum over body mass, e.g. 1.25 for one at +25 %."),
    ],
    sex: Annotated[str, typer.Option(help="Published table: f, m or unstated.")] = "unstated",
    swing: Annotated[float | None, typer.Option(help="Front swing in degrees; default 15.")] = None,
    hang: Annotated[float | None, typer.Option(help="Own hang length in metres, shoulder to bar.")] = None,
    span: Annotated[float | None, typer.Option(help="Own arm span in metres, if no hang length.")] = None,
    legs: Annotated[float | None, typer.Option(help="Own hip height standing, metres; only --full.")] = None,
    dip: Annotated[float | None, typer.Option(help="Straight-bar dip maximum, like --pull.")] = None,
    first_rep: Annotated[
        float | None, typer.Option(help="Mean speed of the fastest fresh pull-up, m/s, from film.")
    ] = None,
    segments: Annotated[str, typer.Option(help="With --full: de_leva or winter.")] = "de_leva",
    full: Annotated[bool, typer.Option(help="Solve for this very body: minutes.")] = False,
    records: Annotated[
        str, typer.Option(help="Folder of records whose logged tries move the thresholds.")
    ] = "",
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it all to this JSON file.")] = None,
) -> None:
    """Strength or technique: the threshold with its band, the margin, and the levers ranked."""
    from rich.console import Console
    from rich.table import Table as Rows

    from overbar.cli.film import check_can_be_written, write_whole
    from overbar.errors import BadInput
    from overbar.mechanics.margins import (
        CAUTION,
        DEFAULT_SWING_DEG,
        TRADE_RULE_R,
        Person,
        answer,
        speed_from_first_rep,
    )
    from overbar.mechanics.surrogate import read_table, reference_of

    if sex not in ("f", "m", "unstated"):
        raise BadInput(f"sex {sex!r} is not known", do="Give f, m or unstated.")
    for name, value in (("swing", swing), ("dip", dip), ("first-rep", first_rep)):
        least = 0.0 if name == "swing" else 0.05
        if value is not None and not least <= value < float("inf"):
            raise BadInput(
                f"--{name} {value:g} cannot be meant", do=f"Give {least:g} or more, or leave it out."
            )
    if json_out is not None:
        check_can_be_written(json_out)
    angle = DEFAULT_SWING_DEG if swing is None else swing
    table = read_table()
    person = Person(
        stature_m=stature,
        mass_kg=mass,
        R=pull,
        sex=sex,
        hang_length_m=hang,
        arm_span_m=span,
        speed=1.0 if first_rep is None else speed_from_first_rep(first_rep, pull),
        dip_over_pull=None if dip is None else dip / pull,
    )
    offset = _learnt(records) if records else None
    if full:
        from overbar.cli.progress_bar import shown_progress
        from overbar.mechanics.full_solve import solve_in_full

        named = cast(Literal["de_leva", "winter"], segments)
        with shown_progress() as tell:
            found, beside = solve_in_full(
                table, person, angle, segments=named, leg_length_m=legs, offset=offset, progress=tell
            )
    else:
        if legs is not None or segments != "de_leva":
            raise BadInput("--legs and --segments change nothing in the table", do="Add --full.")
        found, beside = (
            answer(table, person, angle, offset),
            reference_of(table, angle, stature, sex, person.hang_m),
        )
    if json_out is not None:
        write_whole(json_out, json.dumps(found.to_json(beside), indent=1, allow_nan=False) + "\n")

    still, own = found.needs["still"], found.margin["still"]
    typer.echo(found.say)
    typer.echo(
        f"From a still hang without leg drive: {still.value:.2f} ({still.low:.2f} to {still.high:.2f}), "
        f"margin {own.value:+.2f} ({own.low:+.2f} to {own.high:+.2f})."
    )
    typer.echo(
        f"The trade's rule of thumb (common practice, no source): {TRADE_RULE_R[0]:.2f} to "
        f"{TRADE_RULE_R[1]:.2f} to begin with a swing. Trust the order of the levers more than the threshold."
    )
    rows = Rows("lever", "step", "margin (R)", "among variants")
    for lever in found.levers:
        rows.add_row(
            lever.name + (" (for comparison)" if lever.kind == "compare" else ""),
            f"{lever.step:+g} {lever.unit}" if lever.unit else "yes",
            f"{lever.gain_R:+.3f}",
            f"{lever.low:+.3f} to {lever.high:+.3f}",
        )
    if found.levers:
        Console().print(rows)
    else:
        typer.echo(
            "No lever can be ranked: they come from the table, and this body or swing lies outside it."
        )
    typer.echo(found.offset.say())
    if beside["said"]:
        typer.echo(beside["said"])
    typer.echo(CAUTION)


def _learnt(folder: str) -> Offset:
    """Return how far the tries in some records move the thresholds."""
    from overbar.cli.progress_bar import shown_progress
    from overbar.records import open_records
    from overbar.records.tries import learn_from_tries
    from overbar.settings import read_settings

    kept = open_records(read_settings(folder), make=False)
    try:
        with shown_progress() as tell:
            return learn_from_tries(kept, tell)
    finally:
        kept.close()


def body_table(
    out: Annotated[Path, typer.Argument(help="File to write the table to.")],
    cluster: Annotated[
        str, typer.Option(help="Address of a dask scheduler; without it, this machine's own processes.")
    ] = "",
    workers: Annotated[int, typer.Option(help="Processes on this machine.")] = 2,
    quick: Annotated[bool, typer.Option(help="A handful of bodies, to try the way.")] = False,
) -> None:
    """Build the body table anew: some hundred full solves and their fit (half an hour on two cores)."""
    from distributed import Client, LocalCluster, as_completed

    from overbar.cli.film import write_whole
    from overbar.cli.progress_bar import shown_progress
    from overbar.mechanics.surrogate import tabulate
    from overbar.mechanics.sweep import jobs, walk

    todo = jobs(quick)
    solved: list[Any] = []
    paths: list[Any] = []
    own = None
    if not cluster:
        own = LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None)
    with shown_progress() as tell, Client(cluster or own) as client:
        waiting = [client.submit(walk, variant, sex, quick, pure=False) for variant, sex in todo]
        for count, future in enumerate(as_completed(waiting), start=1):
            points, figures = future.result()
            solved += points
            paths += figures
            tell(count / len(todo), f"{len(solved)} bodies solved")
    if own is not None:
        own.close()
    data = tabulate(solved, paths)
    write_whole(out, json.dumps(data, separators=(",", ":")) + "\n")
    typer.echo(f"{out}: {data['solves']} solves, {data['failed']} did not converge.")
    if data["kept_back"]:
        typer.echo(
            f"Against {data['kept_back']} full solves the fit has not seen: rms {data['unseen_rms']:.3f}, "
            f"worst {data['unseen_worst']:.3f} R of one variant; rms {data['shown_rms']:.3f} R of their mean."
        )


if __name__ == "__main__":
    typer.run(body_table)
