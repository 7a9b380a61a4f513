"""`overbar ladders`: the ladders there are, and who is planned under which."""

from __future__ import annotations

from typing import Annotated

import typer


def ladders(
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
    of: Annotated[str, typer.Option(help="Say what this version does otherwise than another one.")] = "",
    beside: Annotated[str, typer.Option(help="The other one; else the one it was made from.")] = "",
    write: Annotated[str, typer.Option(help="Write the texts of --of into this folder.")] = "",
) -> None:
    """List the versions of every ladder; with --of, what one does otherwise, or its texts as files."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from overbar.errors import BadInput
    from overbar.records import open_records
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        if write and not of:
            raise BadInput("no version was named", do="Name it with --of.")
        if of:
            _show_one(kept, of, beside, write)
            return
        table = Table(box=None, padding=(0, 2))
        for head in ("skill", "version", "kept", "planned under it", "note"):
            table.add_column(head)
        for one in kept.ladder_versions():
            start = " · new athletes" if kept.new_athletes_start_with(one.skill) == one.fingerprint else ""
            when = f"{one.kept_at:%Y-%m-%d}" if one.kept_at else "with the program"
            cells = (one.name, one.version, when, f"{one.athletes}{start}", one.note)
            table.add_row(*map(Text, cells))
        Console(highlight=False, width=120).print(table)
    finally:
        kept.close()


def _show_one(kept: object, of: str, beside: str, write: str) -> None:
    from pathlib import Path

    from overbar.errors import BadInput
    from overbar.ladder.difference import differences
    from overbar.records import Records

    assert isinstance(kept, Records)
    version = kept.ladder_version(of)
    ladder = kept.ladder(version.fingerprint)
    if write:
        folder = Path(write)
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise BadInput("is no empty folder", str(folder), "Give a new folder.")
        for name, text in ladder.files:
            path = folder / name
            if not path.resolve().is_relative_to(folder.resolve()):
                raise BadInput(f"the file name {name!r} leads out of the folder", str(folder))
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(text, encoding="utf-8")
            except OSError as error:
                raise BadInput(f"cannot be written: {error.strerror}", str(path)) from error
        typer.echo(f"{folder}: {len(ladder.files)} files of {ladder.name} {ladder.version}.")
        return
    other = beside or version.made_from
    if not other:
        raise BadInput(f"{version.version} was not made from another one", do="Name one with --beside.")
    old = kept.ladder(other)
    found = differences(old, ladder)
    typer.echo(f"{ladder.name} {ladder.version}, beside {old.version}:")
    for one in found:
        typer.echo(f"  {one.head}: {one.what}")
        for say in one.say:
            typer.echo(f"    {say}")
    if not found:
        typer.echo("  no entry differs.")
