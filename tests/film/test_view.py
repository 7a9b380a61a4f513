"""View, hang and bar on a drawn stick figure whose every length is known."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.errors import UnusableFilm
from overbar.film.bar import angle_deg, find_hang
from overbar.film.camera import camera_of
from overbar.film.hands import HIGH, WIDE, Strips
from overbar.film.reading import Measured, View
from overbar.film.track import NAMES, Track, keep_sides
from overbar.film.view import Looking, look_from

NO_STRIPS = Strips(np.zeros(0, np.int64), np.zeros((0, 2, HIGH, WIDE, 3), np.uint8), np.zeros((0, 2, 4)))
PX_PER_M = 200.0


def figure(turned_deg: float, n: int = 40, forward: int = 1, raised: bool = True) -> Track:
    """Return a still hang seen ``turned_deg`` off the side, 0.68 m below a bar at (600, 200)."""
    half = np.sin(np.radians(turned_deg)) * PX_PER_M
    ahead = np.cos(np.radians(turned_deg)) * PX_PER_M * forward
    heights = {"ear": 0.55, "mouth": 0.60, "shoulder": 0.68, "hip": 1.18, "knee": 1.61, "ankle": 2.05}
    heights |= {"heel": 2.08, "toe": 2.12}
    arms = {"elbow": 0.38, "wrist": 0.11, "index": 0.03, "pinky": 0.03}
    if not raised:
        arms = {"elbow": 0.98, "wrist": 1.25, "index": 1.33, "pinky": 1.33}
    x, y = np.zeros((n, len(NAMES))), np.zeros((n, len(NAMES)))
    for j, name in enumerate(NAMES):
        side, _, part = name.partition("_")
        if name == "nose":
            x[:, j], y[:, j] = 600 + 0.09 * ahead, 200 + 0.57 * PX_PER_M
            continue
        across = {"shoulder": 0.18, "hip": 0.1, "elbow": 0.2, "wrist": 0.22}.get(part, 0.08)
        x[:, j] = (
            600 + (across if side == "left" else -across) * half + (0.12 * ahead if part == "toe" else 0)
        )
        y[:, j] = 200 + (heights | arms)[part] * PX_PER_M
    sd = np.full_like(x, 3.0)
    still = np.zeros_like(x)
    return Track(np.arange(n) / 30, x, y, sd, still, still, sd, 0.5 * PX_PER_M, np.zeros((n, 2)))


@pytest.mark.parametrize(("turned", "kind"), [(0, "side"), (10, "side"), (40, "oblique"), (90, "front")])
def test_the_view_is_told_from_the_shoulders(turned, kind):
    assert look_from(figure(turned)).view.kind == kind


@pytest.mark.parametrize(("forward", "facing", "near"), [(1, "right", "right"), (-1, "left", "left")])
def test_the_near_side_is_the_one_the_athlete_turns_to_the_camera(forward, facing, near):
    looking = look_from(figure(0, forward=forward))
    assert (looking.view.facing, looking.near) == (facing, near)


def test_a_front_view_weighs_both_sides_alike():
    assert look_from(figure(90)).near_weight == pytest.approx(0.5)


def test_the_bar_of_a_still_hang_is_found_within_its_uncertainty():
    track = figure(0)
    hang = find_hang(track, look_from(track), NO_STRIPS, camera_of(1280, 720, 1.78))
    assert abs(hang.bar.y_px - 200) < 2 * hang.bar.sd_px
    assert abs(hang.length_px - 0.68 * PX_PER_M) < 2 * hang.sd_px
    assert hang.frames.all()


def test_arms_at_the_sides_are_no_hang():
    track = figure(0, raised=False)
    with pytest.raises(UnusableFilm, match="nobody hangs"):
        find_hang(track, look_from(track), NO_STRIPS, camera_of(1280, 720, 1.78))


def test_frames_with_sides_exchanged_are_put_right():
    track = figure(90)
    look = np.stack([track.x, track.y, np.ones_like(track.x)], 2)
    true = look.copy()
    left = [NAMES.index(name) for name in NAMES if name.startswith("left")]
    right = [NAMES.index(name) for name in NAMES if name.startswith("right")]
    look[10:14, left + right] = look[10:14, right + left]
    keep_sides(look)
    assert np.array_equal(look, true)


def test_angles_are_those_of_the_triangle():
    a, b, c = (np.array([point], float) for point in ((1, 0), (0, 0), (0, 2)))
    assert angle_deg(a, b, c) == pytest.approx([90.0])


def test_an_oblique_view_shortens_fore_and_aft_by_its_cosine_and_a_front_view_shows_none():
    def seen(kind, degrees):
        return Looking(View(kind, "right", Measured(degrees, 8.0)), 1, "right", 0.8).foreshortening

    assert seen("side", 0.0) == pytest.approx(1.0)
    assert seen("oblique", 45.0) == pytest.approx(np.sqrt(0.5))
    assert seen("front", 90.0) == 1.0
