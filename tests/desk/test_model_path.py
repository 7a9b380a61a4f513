"""The body model's figure beside a film whose truth is known."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

import overbar.demo
from overbar.athlete.person import Athlete
from overbar.desk.model_path import model_path
from overbar.film.path import path_of
from overbar.film.reading import Reading
from overbar.mechanics.asked import asked_of
from overbar.mechanics.margins import Person, answer
from overbar.mechanics.surrogate import read_table, reference_of
from overbar.records.solves import Solve

FILMS = Path(overbar.demo.__file__).parent / "films"
ATHLETE = Athlete("w", "Wilma Tarn", "m", date(1991, 5, 1), 1.78, 75.0, date(2025, 12, 1))


def reading_of(name: str) -> Reading:
    return Reading.from_json(json.loads((FILMS / f"{name}.reading.json").read_text(encoding="utf-8")))


def test_the_path_hangs_one_hang_length_under_the_bar_and_ends_over_it() -> None:
    path = path_of(reading_of("good_side_gym"))
    assert path is not None
    height = path.places["shoulder"][:, 1]
    assert np.median(height[:10]) == pytest.approx(-1.0, abs=0.05)
    # Truth of the rendered film: the shoulders end 0.976 L over the bar.
    assert height.max() == pytest.approx(0.976, abs=0.04)


def test_both_figures_pass_the_bar_at_the_same_moment_of_the_film() -> None:
    found = model_path(reading_of("good_side_gym"), ATHLETE, read_table())
    assert found is not None
    t = np.array(found.drawn["t"])
    # Truth of the rendered film: the shoulders pass the bar at 2.083 s.
    for body in ("own", "model"):
        height = np.array(found.drawn[body]["shoulder"])[:, 1]
        over = int(np.argmax(height > 0.01))
        passes = np.interp(0.0, height[over - 1 : over + 1], t[over - 1 : over + 1])
        assert passes == pytest.approx(2.083, abs=0.09)
    assert "±" in found.say
    assert "body weights" in found.force


def test_a_view_that_hides_fore_and_aft_or_a_film_without_a_try_shows_no_figure() -> None:
    assert model_path(reading_of("one_elbow_front_gym"), ATHLETE, read_table()) is None
    assert model_path(replace(reading_of("good_side_gym"), attempts=()), ATHLETE, read_table()) is None


def test_the_path_is_this_bodys_own_once_it_was_solved_and_else_the_nearest_one_and_said() -> None:
    reading, table = reading_of("good_side_gym"), read_table()
    near = model_path(reading, ATHLETE, table)
    assert near is not None
    assert "nearest solved body: a man of 1.75 m" in near.of
    person = Person(1.78, 75.0, 1.40, sex="m")
    answered = answer(table, person, 17.0).to_json(reference_of(table, 30.0, 1.95, "m"))
    at = datetime(2026, 3, 1, tzinfo=UTC)
    solved = Solve(1, asked_of(person, 17.0), "done", at, at, at, 1.0, "", 1, "", answered)
    own = model_path(reading, ATHLETE, table, solved)
    assert own is not None
    assert "solved for this very body" in own.of
    assert own.drawn["model"] != near.drawn["model"]
    # A solve of other lengths or from another swing is not this try's path.
    for other in (replace(ATHLETE, stature_m=1.70), replace(ATHLETE, sex="f")):
        found = model_path(reading, other, table, solved)
        assert found is not None
        assert "nearest solved body" in found.of
    far = replace(solved, asked=solved.asked | {"swing_deg": 30.0})
    found = model_path(reading, ATHLETE, table, far)
    assert found is not None
    assert "nearest solved body" in found.of
