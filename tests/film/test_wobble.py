"""A bar that gives is told from a swing on a bar that stands still."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.film.bar import Hang
from overbar.film.hands import HIGH, WIDE, Strips
from overbar.film.reading import BarPoint
from overbar.film.track import NAMES, Track
from overbar.film.wobble import bar_shift

from .test_measures import FRONT, SIDE

LENGTH, BAR = 160.0, (640.0, 200.0)
SIZE = 1.25
T = np.arange(0, 5, 1 / 30)


def swinging(bar_x: np.ndarray, nets_x: np.ndarray | None = None) -> tuple[Track, Hang, Strips]:
    """Return a hang from a bar at these places (px), seen in strips of skin on a grey wall.

    ``nets_x`` is where the nets see the hands; by default where they are.
    """
    nets = bar_x if nets_x is None else nets_x
    x, y = np.full((len(T), len(NAMES)), BAR[0]), np.full((len(T), len(NAMES)), BAR[1] + LENGTH)
    for side in ("left", "right"):
        for joint, below in (("wrist", 20.0), ("elbow", 75.0)):
            x[:, NAMES.index(f"{side}_{joint}")] = nets
            y[:, NAMES.index(f"{side}_{joint}")] = BAR[1] + below
    still = np.zeros_like(x)
    track = Track(T, x, y, still + 2.0, still, still, still + 5.0, 120.0, np.zeros((len(T), 2)))
    hang = Hang(BarPoint(*BAR, 2.0), LENGTH, 3.0, np.ones(len(T), bool))
    frames = np.arange(0, len(T), 3)
    rng = np.random.default_rng(7)
    pictures = rng.normal(140, 4, (len(frames), 2, HIGH, WIDE, 3))
    place = np.zeros((len(frames), 2, 4))
    for i, frame in enumerate(frames):
        left, top = nets[frame] - SIZE * WIDE / 2, BAR[1] + 75.0 - SIZE * HIGH
        row, column = round((BAR[1] - top) / SIZE), round((bar_x[frame] - left) / SIZE)
        pictures[i, :, row:, column - 5 : column + 6] = (205, 160, 135)
        place[i] = left, top, SIZE, (BAR[1] + 20.0 - top) / SIZE
    return track, hang, Strips(frames, np.clip(pictures, 0, 255).astype(np.uint8), place)


def test_a_bar_that_gives_is_measured_by_its_way():
    give = 0.05 * LENGTH * np.sin(2 * np.pi * T / 2.1)
    track, hang, strips = swinging(BAR[0] + give)
    shift = bar_shift(track, SIDE, hang, strips)
    assert shift is not None
    assert shift.value == pytest.approx(0.10, abs=0.015)


def test_a_bar_that_stands_still_does_not_move_though_the_nets_sway():
    # The nets alone were seen to move still hands by 0.1 L.
    sway = 0.05 * LENGTH * np.sin(2 * np.pi * T / 2.1)
    track, hang, strips = swinging(np.full(len(T), BAR[0]), BAR[0] + sway)
    shift = bar_shift(track, SIDE, hang, strips)
    assert shift is not None
    assert shift.value < 0.02


def test_neither_a_short_hang_nor_a_view_from_the_front_tells_it():
    track, hang, strips = swinging(np.full(len(T), BAR[0]))
    assert bar_shift(track, FRONT, hang, strips) is None
    short = Hang(hang.bar, LENGTH, 3.0, T < 0.8)
    assert bar_shift(track, SIDE, short, strips) is None
