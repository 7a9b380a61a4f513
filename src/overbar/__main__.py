"""``python -m overbar``: the command line."""

from overbar.cli import main

if __name__ == "__main__":
    main()
