"""`overbar hand-over`: one athlete's data out, in open formats."""

from __future__ import annotations

from typing import Annotated

import typer


def hand_over(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete.")],
    out: Annotated[str, typer.Option("--out", "-o", help="The ZIP file to write.")] = "",
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Write all of one athlete's data, films included, for that athlete to keep."""
    from pathlib import Path

    from overbar.records import open_records
    from overbar.records.hand_over import hand_over as write_out
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    target = out or f"{athlete}.zip"
    try:
        names = write_out(kept, athlete, Path(target))
    finally:
        kept.close()
    typer.echo(f"{target}: {len(names)} files; start with 'READ ME.txt'.")
