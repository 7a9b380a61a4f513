"""`overbar replay`: past decisions made again, from what was known then."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.records.past import AthletesPast

LINES = 8
"""So many lines are shown of one week."""


def replay(
    athletes: Annotated[list[str] | None, typer.Argument(help="Ids of the athletes; else everybody.")] = None,
    ladder: Annotated[
        str, typer.Option(help="Decide with this version, or with a TOML file, instead of the one of then.")
    ] = "",
    chained: Annotated[
        bool, typer.Option(help="Each week remembers the replayed decisions, not those made at the time.")
    ] = False,
    weeks: Annotated[int | None, typer.Option(min=1, help="Only the newest so many weeks.")] = None,
    json_out: Annotated[str, typer.Option("--json", help="Write it to this JSON file.")] = "",
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Make all past weekly decisions again from what was known at the time.

    Without --ladder each week is decided by the version that decided it then, and must come out
    the same; where it does not, the command says so and ends with exit code 1. A week the coach
    wrote without a proposal of the program is shown beside what the program would have decided;
    it is no difference.
    """
    import json
    from pathlib import Path

    from overbar.cli.film import write_whole
    from overbar.cli.progress_bar import shown_progress
    from overbar.errors import BadInput
    from overbar.ladder import load_ladder
    from overbar.records import open_records
    from overbar.records.past import plain, replay_all
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        new = None
        if ladder:
            path = Path(ladder)
            from_disk = path.suffix == ".toml" or path.exists()
            new = load_ladder(path.stem, path) if from_disk else kept.ladder(ladder)
        for athlete in athletes or ():
            if new is not None and kept.athlete(athlete).skill != new.skill.id:
                raise BadInput(f"{athlete} trains another skill than {new.name}")
        skills = {new.skill.id} if new else {one.skill for one in kept.athletes()}
        ids = athletes or [one.id for one in kept.athletes() if one.skill in skills]
        with shown_progress() as progress:
            found, failed = replay_all(kept, ids, new, chained, weeks, progress)
    finally:
        kept.close()
    if json_out:
        data: dict[str, Any] = {"schema": "overbar.replay/1", **plain(found, failed)}
        write_whole(Path(json_out), json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    _show(found, failed)
    if failed or (new is None and any(one.otherwise for one in found)):
        raise typer.Exit(1)


def _show(found: list[AthletesPast], failed: list[tuple[str, str]]) -> None:
    for one in found:
        own = one.by_coach
        weeks, other = len(one.weeks) - len(own), len(one.otherwise)
        under = f"under {one.ladder}" if one.ladder else "each under its own ladder"
        same = "all come out the same" if not other else f"{other} of {weeks} come out otherwise"
        if weeks:
            typer.echo(f"{one.name}: {weeks} decisions made again, {under}: {same}.")
        elif not own:
            typer.echo(f"{one.name}: no decision could be made again.")
        if own:
            unlike = sum(bool(week.differs) for week in own)
            typer.echo(
                f"{one.name}: {len(own)} weeks the coach decided without a proposal; "
                f"the program would have decided {unlike} of them otherwise."
            )
        if one.left_out:
            typer.echo(f"  {one.left_out} left out: the ladder that decided them is not kept.")
        for week in (*one.otherwise, *(week for week in own if week.differs)):
            typer.echo(f"  week of {week.starts:%d %b %Y}:")
            for say in week.differs[:LINES]:
                typer.echo(f"    {say}")
            if len(week.differs) > LINES:
                typer.echo(f"    and {len(week.differs) - LINES} more (--json writes them all)")
    for athlete_id, why in failed:
        typer.echo(f"{athlete_id}: {why}")
