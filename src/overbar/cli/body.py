"""``overbar body``: what this body needs for the muscle-up, and what each lever buys."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer

if TYPE_CHECKING:
    from overbar.mechanics.margins import Offset


def body(
    stature: Annotated[str, typer.Option(help="Stature: 1.78 (metres), 178cm, 70in or 5ft10.")],
    mass: Annotated[str, typer.Option(help="Body mass: 80 (kg) or 176lb.")],
    pull: Annotated[
        float,
        typer.Option(help="R: pull-up maximum over body mass, e.g. 1.25 for one at +25 %."),
    ],
    sex: Annotated[str, typer.Option(help="Published table: f, m or unstated.")] = "unstated",
    swing: Annotated[float | None, typer.Option(help="Front swing in degrees; default 15.")] = None,
    hang: Annotated[str, typer.Option(help="Own hang length, shoulder to bar, as --stature.")] = "",
    span: Annotated[str, typer.Option(help="Own arm span, if no hang length, as --stature.")] = "",
    legs: Annotated[str, typer.Option(help="Own hip height standing, as --stature; only --full.")] = "",
    dip: Annotated[float | None, typer.Option(help="Straight-bar dip maximum, like --pull.")] = None,
    first_rep: Annotated[
        float | None, typer.Option(help="Mean speed of the fastest fresh pull-up, m/s, from film.")
    ] = None,
    segments: Annotated[str, typer.Option(help="With --full: de_leva or winter.")] = "de_leva",
    full: Annotated[bool, typer.Option(help="Solve for this very body: about a minute.")] = False,
    records: Annotated[
        str, typer.Option(help="Folder of records whose logged tries move the thresholds.")
    ] = "",
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it all to this JSON file.")] = None,
) -> None:
    """Strength or technique: the threshold with its band, the margin, and the levers ranked."""
    from rich.console import Console
    from rich.table import Table as Rows

    from overbar.cli.film import check_can_be_written, write_whole
    from overbar.cli.lengths_and_masses import length_said, mass_said
    from overbar.errors import BadInput
    from overbar.mechanics.margins import (
        CAUTION,
        DEFAULT_SWING_DEG,
        TRADE_RULE_R,
        Person,
        answer,
        need,
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
    stature_m, length_unit = length_said(stature, "--stature")
    mass_kg, mass_unit = mass_said(mass, "--mass")
    hang_m, span_m, legs_m = (
        length_said(said, f"--{name}")[0] if said else None
        for name, said in (("hang", hang), ("span", span), ("legs", legs))
    )
    table = read_table()
    person = Person(
        stature_m=stature_m,
        mass_kg=mass_kg,
        R=pull,
        sex=sex,
        hang_length_m=hang_m,
        arm_span_m=span_m,
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
                table,
                person,
                angle,
                segments=named,
                leg_length_m=legs_m,
                offset=offset,
                mass_unit=mass_unit,
                length_unit=length_unit,
                progress=tell,
            )
    else:
        if legs_m is not None or segments != "de_leva":
            raise BadInput("--legs and --segments change nothing in the table", do="Add --full.")
        found, beside = (
            answer(table, person, angle, offset, mass_unit, length_unit),
            reference_of(table, angle, stature_m, sex, person.hang_m),
        )
    if json_out is not None:
        write_whole(json_out, json.dumps(found.to_json(beside), indent=1, allow_nan=False) + "\n")

    still, own = found.needs["still"], found.margin["still"]
    typer.echo(found.say)
    typer.echo(
        f"From a still hang without leg drive: {still.value:.2f} ({still.low:.2f} to {still.high:.2f}), "
        f"margin {own.value:+.2f} ({own.low:+.2f} to {own.high:+.2f})."
    )
    others = (
        ("swing_quiet", "From the same swing with quiet legs"),
        ("still_drive", "From a still hang with leg drive"),
    )
    for kind, start in () if full or not angle else others:
        band = need(table, person, angle, offset, kind=kind)
        typer.echo(f"{start}: {band.value:.2f} ({band.low:.2f} to {band.high:.2f}).")
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
    out: Annotated[
        Path, typer.Argument(help="File to write the table to; ways.npz, the movements, lands beside it.")
    ],
    cluster: Annotated[
        str, typer.Option(help="Address of a dask scheduler; without it, this machine's own processes.")
    ] = "",
    workers: Annotated[int, typer.Option(help="Processes on this machine.")] = 2,
    check: Annotated[int, typer.Option(help="Random bodies to check it on; 0 leaves it unchecked.")] = 24,
    quick: Annotated[bool, typer.Option(help="A handful of bodies, to try the way.")] = False,
) -> None:
    """Build the body table anew: some hundred full solves, their fit and its check (half an hour)."""
    from dataclasses import asdict

    from distributed import Client, LocalCluster, as_completed

    from overbar.cli.progress_bar import shown_progress
    from overbar.mechanics.surrogate import read_table
    from overbar.mechanics.sweep import jobs, table_of, walk
    from overbar.mechanics.table_check import compared, random_bodies, summed_up
    from overbar.mechanics.ways import FILE as WAYS_FILE
    from overbar.mechanics.ways import unpacked

    todo = jobs(quick)
    own = None
    if not cluster:
        own = LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None)
    with shown_progress() as tell, Client(cluster or own) as client:
        waiting = []
        for variant in todo:
            men = client.submit(walk, variant, "m", quick, pure=False)
            waiting += [men, client.submit(walk, variant, "f", quick, men, pure=False)]
        for count, _ in enumerate(as_completed(waiting), start=1):
            tell(count / len(waiting), f"{count} of {len(waiting)} walks over the bodies done")
        walks = [future.result() for future in waiting]
    if own is not None:
        own.close()
    data, ways = table_of(walks)
    out.with_name(WAYS_FILE).write_bytes(ways)
    _write_table(out, data)
    typer.echo(f"{out}: {data['solves']} solves, {data['failed']} did not converge.")
    if quick or not check:
        return
    rows = []
    with shown_progress() as tell:
        for row in compared(read_table(out), unpacked(ways), random_bodies(check)):
            rows.append(row)
            tell(len(rows) / check, f"{len(rows)} random bodies solved in full")
    found = summed_up(rows)
    _write_table(out, data | {"checked": asdict(found)})
    typer.echo(
        f"Against full solves of {found.bodies} random bodies: rms {found.rms:.3f}, "
        f"worst {found.worst:.3f} R of the mean of the variants."
    )


def _write_table(out: Path, data: dict[str, Any]) -> None:
    from overbar.cli.film import write_whole

    write_whole(out, json.dumps(data, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    typer.run(body_table)
