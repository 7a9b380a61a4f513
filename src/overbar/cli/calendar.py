"""`overbar calendar`: an athlete's sessions as iCalendar."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import typer


def calendar(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete.")],
    out: Annotated[str, typer.Option("--out", "-o", help="The .ics file to write.")] = "",
    at: Annotated[
        datetime | None, typer.Option(formats=["%H:%M"], help="Time of day; else whole-day entries.")
    ] = None,
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Write the sessions of the current week for the athlete's calendar."""
    from pathlib import Path

    from overbar.records import open_records
    from overbar.report.current import current_week
    from overbar.report.sessions_calendar import calendar_of
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        current = current_week(kept, athlete, kept.today(athlete))
        starts = at.time() if at else None
        text = calendar_of(kept.athlete(athlete), current.week, kept.now(), current.agreed, starts)
    finally:
        kept.close()
    target = Path(out or f"{athlete}.ics")
    part = target.with_name(target.name + ".part")
    part.write_bytes(text)
    part.replace(target)
    state = "agreed" if current.agreed else "proposed, not yet agreed by the coach"
    typer.echo(f"{target}: {len(current.week.sessions)} sessions ({state}).")
