"""The chin's height, on drawn marks and in the fit's own figures; and reps a film cannot tell."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest

from overbar.film.chin import CHIN_BELOW_NOSE, CHIN_SD, FADES_L, FILE, chin_height
from overbar.film.reading import Measured, Rep, View
from overbar.film.view import Looking

SIDE = Looking(View("side", "right", Measured(0.0, 8.0)), 1, "right", 1.0)
FRONT = Looking(View("front", "none", Measured(90.0, 8.0)), 1, "right", 0.5, 1.0)
MARKS = {"nose": (0.15, 0.1), "ear": (0.02, 0.13), "mouth": (0.13, 0.04), "shoulder": (-0.12, -0.17)}
MARKS |= {"elbow": (0.05, -0.45), "wrist": (0.0, -0.03), "hip": (-0.05, -0.85)}


def held(raised: float = 0.0):
    """Return the marks of a hold whose shoulders are 0.17 L under the bar, raised by so much, and those."""

    def place(joint: str) -> np.ndarray:
        x, y = MARKS[joint.rpartition("_")[2]]
        return np.tile([x, y + (0.0 if joint.endswith("wrist") else raised)], (5, 1))

    return place, np.full(5, -0.17 + raised)


@pytest.mark.parametrize("looking", [SIDE, FRONT])
def test_a_chin_at_the_bar_lies_under_the_nose(looking):
    place, shoulder = held()
    height, sd = chin_height(place, shoulder, looking)
    assert (height < place("nose")[:, 1]).all()
    assert (np.abs(height) < 0.15).all()
    np.testing.assert_allclose(sd, CHIN_SD[0])


def test_far_over_the_bar_the_nose_alone_tells_and_less_surely():
    place, shoulder = held(raised=FADES_L[1] + 0.4)
    height, sd = chin_height(place, shoulder, SIDE)
    np.testing.assert_allclose(height, place("nose")[:, 1] - CHIN_BELOW_NOSE["side"])
    np.testing.assert_allclose(sd, CHIN_SD[1])


def test_bodies_left_out_of_the_fit_are_read_within_the_stated_error():
    # Outside: the true chins of rendered films, a twelfth of the bodies left out at a time.
    views = json.loads(resources.files("overbar.film").joinpath(FILE).read_text(encoding="utf-8"))["views"]
    for by in ("body", "motion"):
        median, most, _ = views["side"]["left_out"][by]
        assert median < 0.025
        assert most < 0.04


def test_a_chin_within_its_uncertainty_of_the_bar_is_said_to_be_close():
    speed = Measured(0.6, 0.1)
    rep = Rep(
        "pull_up", 1.0, 2.0, 3.0, True, "", True, Measured(-0.17, 0.02), Measured(0.02, 0.03), speed, speed
    )
    assert rep.verdict == "counts"
    assert replace(rep, close=True).verdict.startswith("counts, close")
    short = replace(rep, counted=False, close=True, why_not="the chin stayed 1 cm under the bar")
    assert short.verdict == "does not count, close: the chin stayed 1 cm under the bar"
