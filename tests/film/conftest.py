"""Films with known truth (rendered; body mesh CC0, all else ours) and their readings, read once a run."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from overbar.film import read_film
from overbar.film.reading import Reading
from overbar.settings import read_settings

FILMS = Path(__file__).parent.parent / "films"


@lru_cache(maxsize=8)
def read_once(name: str) -> tuple[Reading, dict[str, Any]]:
    """Read a film of ``tests/films`` and give its truth too."""
    truth = json.loads((FILMS / f"{name}.json").read_text(encoding="utf-8"))
    return read_film(FILMS / f"{name}.mp4", truth["stature_m"], cache=read_settings().cache), truth


@pytest.fixture(scope="session")
def good() -> tuple[Reading, dict[str, Any]]:
    """A clean muscle-up out of a swing, side view."""
    return read_once("good_side_gym")


@pytest.fixture(scope="session")
def early() -> tuple[Reading, dict[str, Any]]:
    """A pull that starts while the body still travels forward, side view."""
    return read_once("early_side_gym")


@pytest.fixture(scope="session")
def pull_ups() -> tuple[Reading, dict[str, Any]]:
    """Five strict pull-ups, the last two short, side view."""
    return read_once("pullups_side_gym")


@pytest.fixture(scope="session")
def one_elbow() -> tuple[Reading, dict[str, Any]]:
    """Left elbow over before the right, front view."""
    return read_once("one_elbow_front_gym")


@pytest.fixture(scope="session")
def uneven() -> tuple[Reading, dict[str, Any]]:
    """Three strict pull-ups with one shoulder leading, front view."""
    return read_once("uneven_front")
