"""`overbar forget`: one athlete erased, with proof."""

from __future__ import annotations

from typing import Annotated

import typer


def forget(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete.")],
    sure: Annotated[
        str, typer.Option("--yes", help="The athlete's id once more, instead of being asked.")
    ] = "",
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Erase an athlete with every log, film and reading, and show that nothing is left."""
    from overbar.errors import BadInput
    from overbar.records import open_records
    from overbar.records.forget import forget as erase
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        name = kept.athlete(athlete).name
        typed = sure or typer.prompt(f"This erases {name} for good. Type {athlete} to go on")
        if typed != athlete:
            raise BadInput(f"{typed!r} is not {athlete!r}; nothing was erased.")
        proof = erase(kept, athlete)
    finally:
        kept.close()
    for table, count in proof.rows.items():
        if count:
            typer.echo(f"  {count:>6}  rows of {table.replace('_', ' ')}")
    typer.echo(f"  {proof.films:>6}  film files")
    typer.echo(f"Erased; {proof.left} traces left in the records. Proof {proof.digest}")
    typer.echo("Backups made before still hold this athlete: delete or remake them too.")
