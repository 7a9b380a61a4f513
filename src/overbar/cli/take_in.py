"""`overbar take-in`: logs from a table or a pasted message into the records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from overbar.records.take_in import TakenIn


def take_in(
    file: Annotated[str, typer.Argument(help="A CSV or XLSX table, a text file, or - for standard input.")],
    athlete: Annotated[str, typer.Option(help="Whose log it is; a table may say so in a column.")] = "",
    dry: Annotated[bool, typer.Option("--dry", help="Show what would be understood; store nothing.")] = False,
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Take in a log: say what was understood and what was not, and store the first."""
    import sys
    from pathlib import Path

    from overbar.errors import BadInput
    from overbar.records import open_records
    from overbar.records.take_in import take_in as take_in_text
    from overbar.records.take_in import take_in_file
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        if file != "-":
            outcome = take_in_file(kept, Path(file), athlete, dry)
        elif athlete:
            outcome = (take_in_text(kept, athlete, sys.stdin.read(), "standard input", dry),)
        else:
            raise BadInput("a message does not say whose it is", do="Add --athlete.")
    finally:
        kept.close()
    for one in outcome:
        _show(one)
    if not any(one.understood for one in outcome):
        raise typer.Exit(2)


def _show(taken: TakenIn) -> None:
    """Print the account of one log."""
    if taken.understood:
        whose = f" for {taken.athlete_id}" if taken.athlete_id else ""
        typer.echo(f"Understood{whose}:")
        for piece in taken.understood:
            typer.echo(f"  {piece.line:>4}  {piece.piece}\n        -> {piece.say}")
    if taken.not_understood:
        typer.echo("Not understood, and not stored:")
        for lost in taken.not_understood:
            place = f"{lost.where}: " if lost.where else ""
            typer.echo(f"  {lost.line:>4}  {place}{lost.piece}\n        -> {lost.why}")
    facts = sum(len(piece.facts) for piece in taken.understood)
    if not taken.stored:
        typer.echo(f"Nothing stored (dry): {facts} facts would be.")
    else:
        typer.echo(f"Stored {taken.new} of {facts} facts; {taken.known} were there already.")
