"""`overbar report`: an athlete's block report as PDF."""

from __future__ import annotations

from datetime import datetime, timedelta
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

    from overbar.cli.forecast import outlook, usual_habits
    from overbar.ladder import load_ladder
    from overbar.records import open_records
    from overbar.report.block import block_report
    from overbar.report.current import current_week
    from overbar.report.frames import best_frames
    from overbar.report.pdf import typeset
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None))
    try:
        day = on.date() if on else kept.today(athlete)
        history = kept.history(athlete, day)
        ladder = load_ladder(history.athlete.skill)
        first = day - timedelta(days=day.weekday(), weeks=weeks)
        current = current_week(kept, athlete, day)
        habits = usual_habits(history, day)
        block = block_report(
            history=history,
            current=current.week,
            agreed=current.agreed,
            stored=kept.weeks(athlete),
            ladder=ladder,
            house=kept.house(),
            on=day,
            weeks=weeks,
            outlook=[
                item.say()
                for gate in outlook(history, ladder, day, habits)
                for item in gate.items
                if not item.reached
            ],
            assumes="; ".join(habits.assumes()),
        )
        pdf = typeset(block, best_frames(kept, athlete, ladder, first, day))
    finally:
        kept.close()
    target = Path(out or f"{athlete}.pdf")
    part = target.with_name(target.name + ".part")
    part.write_bytes(pdf)
    part.replace(target)
    typer.echo(f"{target}: block report of {history.athlete.name}, {block.period}.")
