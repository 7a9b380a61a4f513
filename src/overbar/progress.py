"""How long work says how far it is, without knowing who listens."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float, str], None]
"""Called with the share done (0 to 1) and what is being done."""


def silent(share: float, doing: str) -> None:
    """Listen to nothing."""
