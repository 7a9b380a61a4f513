"""`overbar demo`: the invented coach's records, and the desk on top of them."""

from __future__ import annotations

from typing import Annotated

import typer


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
        if not build_only:
            from overbar.cli.serve import open_desk

            open_desk(settings, port=port)
