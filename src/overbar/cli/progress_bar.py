"""The bar that shows how far long work is, with the time left, at a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from overbar.progress import Progress


@contextmanager
def shown_progress() -> Iterator[Progress]:
    """Give a progress to report to; nothing is drawn when standard error is no terminal."""
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Bar(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("starting", total=1.0)

        def tell(share: float, doing: str) -> None:
            bar.update(task, completed=share, description=doing)

        yield tell
