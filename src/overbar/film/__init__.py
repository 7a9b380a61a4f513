"""Film: from an athlete's phone film to a measurement a coach can act on.

Comes in: a film file, the athlete's stature, and the two converted nets of the
cache. Goes out: a :class:`~overbar.film.reading.Reading` (what was seen, each
number with its uncertainty) and, when asked, a film with the skeleton over it.

The way inside: ``decode`` -> ``joints`` -> ``bar`` -> ``track`` -> ``motion`` ->
``phases`` -> ``reps`` and ``attempts`` -> ``faults`` -> ``reading``.

Must not know: the athlete's history, plan or database, the web, or the clock.
Nothing here is ever fetched while a film is read; ``weights`` does that once, at
set-up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from overbar.film.overlay import write_overlay
    from overbar.film.read import read_film, recalibrate, rejudge, reread, rescale

__all__ = ["read_film", "recalibrate", "rejudge", "reread", "rescale", "write_overlay"]


def __getattr__(name: str) -> Any:
    """Import the heavy parts only when they are asked for: planning needs the values alone."""
    if name in ("read_film", "recalibrate", "rejudge", "reread", "rescale"):
        from overbar.film import read

        return getattr(read, name)
    if name == "write_overlay":
        from overbar.film.overlay import write_overlay as function

        return function
    raise AttributeError(f"module 'overbar.film' has no attribute {name!r}")
