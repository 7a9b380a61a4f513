"""`overbar report`: an athlete's block report as PDF."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import typer


def report(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete.")],
    out: Annotated[str, typer.Option("--out", "-o", help="The PDF file to write.")] = "",
    weeks: Annotated[int, typer.Option(min=1, max=8, help="How many weeks to look back on.")] = 6,
    on: Annotated[datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Last day of the block.")] = None,
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Write the block report: two pages that print in grey and hold no other athlete's data."""
    from pathlib import Path

    from overbar.records import open_records
    from overbar.report.from_records import report_from_records
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        block, pdf = report_from_records(kept, athlete, on.date() if on else kept.today(athlete), weeks)
    finally:
        kept.close()
    target = Path(out or f"{athlete}.pdf")
    part = target.with_name(target.name + ".part")
    part.write_bytes(pdf)
    part.replace(target)
    typer.echo(f"{target}: block report of {block.name}, {block.period}.")
