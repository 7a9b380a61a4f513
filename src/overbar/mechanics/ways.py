"""Solved movements of the sweep, kept in the package so that a full solve can begin near its answer.

The muscle-up has several local optima. A search that begins at the easiest way of
a neighbouring body mostly ends at the easiest way of this one.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from overbar.errors import NotSetUp
from overbar.mechanics.collocation import Movement
from overbar.mechanics.surrogate import AXES, SEXES, Place

FILE = "ways.npz"
KEPT_KINDS = ("still", "still_drive", "swing")

_COARSE = np.float16
"""Accelerations and activations only have to be near: a start loses nothing by half precision (measured)."""


@dataclass(frozen=True)
class Way:
    """The easiest way over of one body of the sweep.

    Attributes
    ----------
    variant, sex, kind : str
    place : Place
    movement : Movement
        On the search mesh.
    """

    variant: str
    sex: str
    kind: str
    place: Place
    movement: Movement


def near(ways: Sequence[Way], variant: str, sex: str, kind: str, place: Place, count: int) -> list[Way]:
    """Return the ways of one variant nearest to a body, nearest first; sex "unstated" takes both."""
    able = [w for w in ways if (w.variant, w.kind) == (variant, kind) and (w.sex == sex or sex not in SEXES)]
    return sorted(able, key=lambda way: distance(way, place))[:count]


def distance(way: Way, place: Place) -> float:
    """Return how far a body is from that of a way, in units of the table's axes."""
    off = way.place.scaled() - place.scaled()
    return float(np.linalg.norm(off[0 if way.kind == "swing" else 1 :]))


def packed(ways: Sequence[Way]) -> bytes:
    """Return the ways as the bytes of a data file."""
    to = io.BytesIO()
    np.savez_compressed(
        to,
        key=np.array([(w.variant, w.sex, w.kind) for w in ways]),
        place=np.array([[getattr(w.place, name) for name in AXES] for w in ways]),
        q=np.array([w.movement.q for w in ways], np.float32),
        v=np.array([w.movement.v for w in ways], np.float32),
        a=np.array([w.movement.a for w in ways], _COARSE),
        u=np.array([w.movement.u for w in ways], _COARSE),
        durations=np.array([w.movement.durations for w in ways]),
        strength=np.array([w.movement.strength for w in ways]),
    )
    return to.getvalue()


def unpacked(data: bytes) -> tuple[Way, ...]:
    """Return the ways in the bytes of a data file."""
    kept = np.load(io.BytesIO(data), allow_pickle=False)
    one = {name: kept[name].astype(float) for name in ("place", "q", "v", "a", "u", "durations", "strength")}
    ways = []
    for i, (variant, sex, kind) in enumerate(kept["key"].tolist()):
        movement = Movement(
            q=one["q"][i],
            v=one["v"][i],
            a=one["a"][i],
            u=one["u"][i],
            durations=one["durations"][i],
            strength=float(one["strength"][i]),
            load=0.0,
        )
        ways.append(Way(variant, sex, kind, Place(*one["place"][i].tolist()), movement))
    return tuple(ways)


def mark_of(data: bytes) -> str:
    """Return what a table writes down of the file of ways that was solved with it."""
    return hashlib.sha256(data).hexdigest()


@cache
def read_ways(mark: str) -> tuple[Way, ...]:
    """Return the ways of the package.

    Parameters
    ----------
    mark : str
        What the table says of the file that belongs to it.

    Raises
    ------
    NotSetUp
        The file is missing, or belongs to another table.
    """
    file = resources.files("overbar.mechanics").joinpath(FILE)
    if not file.is_file():
        raise NotSetUp("the solved movements are missing from this installation", do="Install Overbar again.")
    data = file.read_bytes()
    if mark_of(data) != mark:
        raise NotSetUp(
            "the solved movements of this installation belong to another body table",
            do="Install Overbar again, or build table and movements anew together.",
        )
    return unpacked(data)
