"""`overbar restore`: a backup back into empty records."""

from __future__ import annotations

from typing import Annotated

import typer


def restore(
    file: Annotated[str, typer.Argument(help="A file made by `overbar backup`.")],
    records: Annotated[str, typer.Option(help="Folder to restore into; it must hold no records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of a file in the folder.")] = "",
) -> None:
    """Bring a backup back; every part is checked before anything is written."""
    from pathlib import Path

    from overbar.cli.progress_bar import shown_progress
    from overbar.records.backup import restore as bring_back
    from overbar.settings import read_settings

    settings = read_settings(records or None, database or None)
    with shown_progress() as progress:
        counts = bring_back(Path(file), settings, progress=progress)
    typer.echo(
        f"{settings.records}: {counts['athletes']} athletes, {counts['sets']} sets, {counts['films']} films."
    )
