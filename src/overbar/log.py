"""The program's log: standard library logging, set up once by a shell."""

from __future__ import annotations

import logging
import os


def set_up_logging() -> None:
    """Send warnings (or ``OVERBAR_LOG`` level) to standard error, one line each."""
    level = os.environ.get("OVERBAR_LOG", "WARNING").upper()
    logging.basicConfig(level=level, format="%(levelname)s %(name)s: %(message)s")
