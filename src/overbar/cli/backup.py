"""`overbar backup`: the whole of the records into one file."""

from __future__ import annotations

from typing import Annotated

import typer


def backup(
    out: Annotated[str, typer.Option("--out", "-o", help="The file to write, for example records.zip.")],
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Write the whole records, films included, into one file."""
    from pathlib import Path

    from overbar.cli.progress_bar import shown_progress
    from overbar.records import open_records
    from overbar.records.backup import back_up
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        with shown_progress() as progress:
            counts = back_up(kept, Path(out), progress)
    finally:
        kept.close()
    typer.echo(f"{out}: {counts['athletes']} athletes, {counts['sets']} sets, {counts['films']} films.")
    typer.echo("It holds health data and films: keep it where only you can open it.")
