"""`overbar demo`: the invented coach's records, and the desk on top of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from overbar.settings import Settings


def demo(
    records: Annotated[
        str, typer.Option(help="Build them in this empty folder and keep them; else they go at the end.")
    ] = "",
    port: Annotated[int, typer.Option(help="Port to serve on.", min=1, max=65535)] = 8765,
    build_only: Annotated[bool, typer.Option("--build-only", help="Build them; do not serve.")] = False,
) -> None:
    """Build three invented athletes with sixteen weeks each and open the desk on them."""
    import tempfile
    from pathlib import Path

    from overbar.cli.progress_bar import shown_progress
    from overbar.demo import build_demo
    from overbar.errors import BadInput

    if build_only and not records:
        raise BadInput("there is no folder to build the records in", do="Add --records FOLDER.")
    with tempfile.TemporaryDirectory(prefix="overbar-demo-", ignore_cleanup_errors=True) as fresh:
        folder = Path(records) if records else Path(fresh) / "records"
        with shown_progress() as progress:
            settings = build_demo(folder, progress)
        typer.echo(f"The demo's records are in {settings.records}; its people and numbers are invented.")
        _show_decisions(settings)
        if not build_only:
            from overbar.cli.serve import open_desk

            open_desk(settings, port=port)


def _show_decisions(settings: Settings) -> None:
    """Print this week's decisions, the most urgent first."""
    from overbar.planning import decide
    from overbar.records import open_records

    kept = open_records(settings)
    try:
        today = kept.today()
        typer.echo(f"Today is {today:%A %d %B %Y} there. This week's decisions:")
        decided = [
            (
                athlete.name,
                decide(kept.history(athlete.id, today), kept.ladder_for(athlete.id), today).verdict,
            )
            for athlete in kept.athletes()
        ]
    finally:
        kept.close()
    for name, verdict in sorted(decided, key=lambda one: -one[1].urgent):
        typer.echo(f"  {name}, {verdict.rung_name}: {verdict.headline}")
