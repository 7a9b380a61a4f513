"""``python -m overbar``: the command line."""

from overbar.cli import main

main()
