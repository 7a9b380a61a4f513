"""`overbar take-in-ladder`: a ladder file from disk, checked and kept as a version."""

from __future__ import annotations

from typing import Annotated

import typer


def take_in_ladder(
    file: Annotated[str, typer.Argument(help="TOML file, or a folder of them.")],
    note: Annotated[str, typer.Option(help="What it is for; kept with it.")] = "",
    made_from: Annotated[str, typer.Option(help="The version it was made from.")] = "",
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Check a ladder and keep it as a version. No athlete is moved by it."""
    from pathlib import Path

    from overbar.ladder import load_ladder
    from overbar.records import open_records
    from overbar.settings import read_settings

    ladder = load_ladder(Path(file).stem, file)
    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        base = kept.ladder_version(made_from).fingerprint if made_from else None
        there = {one.fingerprint for one in kept.ladder_versions() if one.kept_at is not None}
        version = kept.keep_ladder(ladder, note, base or kept.ladder_of_skill(ladder.skill.id).fingerprint)
    finally:
        kept.close()
    if ladder.fingerprint in there:
        typer.echo(f"{version.name} {version.version} was there already.")
        return
    typer.echo(f"{version.name} {version.version} is kept; nobody is planned under it yet.")
    typer.echo(f"See what it would have decided: overbar replay --ladder {version.version}")
    typer.echo(f"Move athletes: overbar move-ladder ATHLETE --to {version.version} --reason WHY")
