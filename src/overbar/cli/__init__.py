"""The command line: one file a command, wired here; errors become sentences.

Each command's function imports the room it needs inside itself, so that
``overbar --help`` stays quick.
"""

from __future__ import annotations

import sys
from importlib import import_module

import typer

from overbar.errors import OverbarError
from overbar.log import set_up_logging

PANELS: dict[str, tuple[str, ...]] = {
    "The coach's day": ("demo", "serve", "week", "take-in", "report", "calendar"),
    "The ladder": ("ladders", "take-in-ladder", "move-ladder", "replay"),
    "Measure and compute": ("film", "strength", "forecast", "body", "dry-run"),
    "Look after the records": ("backup", "restore", "hand-over", "forget"),
}
"""Commands in the order they are shown, under the heading they are shown with."""


def build_app() -> typer.Typer:
    """Return the command line with every command wired."""
    app = typer.Typer(
        name="overbar",
        help="From about five strict pull-ups to the first bar muscle-up, at a distance.",
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode="rich",
    )
    for panel, commands in PANELS.items():
        for command in commands:
            name = command.replace("-", "_")
            function = getattr(import_module(f"overbar.cli.{name}"), name)
            app.command(command, rich_help_panel=panel)(function)
    return app


def main() -> None:
    """Run the command line; an error of ours ends as one sentence and its exit code."""
    set_up_logging()
    try:
        build_app()()
    except OverbarError as error:
        print(f"overbar: {error.say()}", file=sys.stderr)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        print("overbar: stopped.", file=sys.stderr)
        sys.exit(130)
