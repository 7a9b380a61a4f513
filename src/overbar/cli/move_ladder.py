"""`overbar move-ladder`: athletes set on another version of their ladder."""

from __future__ import annotations

from typing import Annotated

import typer


def move_ladder(
    athletes: Annotated[list[str], typer.Argument(help="Ids of the athletes.")],
    to: Annotated[str, typer.Option(help="The version, as `overbar ladders` shows it.")],
    reason: Annotated[str, typer.Option(help="Why; kept with the move.")],
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Plan athletes under another version from now on."""
    from overbar.cli.progress_bar import shown_progress
    from overbar.records import open_records
    from overbar.records.judging import judge_anew
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        version = kept.ladder_version(to)
        moved = kept.move_to_ladder(athletes, version.fingerprint, reason)
        with shown_progress() as progress:
            anew = {athlete: judge_anew(kept, athlete, progress) for athlete in moved}
    finally:
        kept.close()
    for athlete in athletes:
        state = "moved to" if athlete in moved else "was on"
        typer.echo(f"{athlete}: {state} {version.name} {version.version}.")
        if anew.get(athlete):
            typer.echo(f"{athlete}: other faults or chances in {anew[athlete]} of the films read before.")
