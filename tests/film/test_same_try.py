"""The same try filmed otherwise reads the same: mirrored, with a leaning phone, with an uneven clock."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from overbar.errors import UnusableFilm
from overbar.film import read_film
from overbar.film.reading import Reading
from overbar.settings import read_settings

from .conftest import FILMS

Picture = np.ndarray


def filmed_anew(
    path: Path, source: str, change: Callable[[Picture], Picture], times: Callable[[int], float] | None = None
) -> Reading:
    """Film a film of the tests again, each picture changed, and read it."""
    with av.open(str(FILMS / source)) as old, av.open(str(path), "w") as new:
        stream = new.add_stream("libx264", rate=30, options={"crf": "18", "preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = 1280, 720, "yuv420p"
        stream.codec_context.time_base = Fraction(1, 90_000)
        kept = -1.0
        for i, frame in enumerate(old.decode(video=0)):
            at = times(i) if times else i / 30
            if at <= kept:
                continue
            kept = at
            picture = np.ascontiguousarray(change(frame.to_ndarray(format="rgb24")))
            shown = av.VideoFrame.from_ndarray(picture, format="rgb24")
            shown.pts, shown.time_base = round(at * 90_000), Fraction(1, 90_000)
            new.mux(stream.encode(shown))
        new.mux(stream.encode())
    return read_film(path, 1.78, cache=read_settings().cache)


def leaning(degrees: float) -> Callable[[Picture], Picture]:
    matrix = cv2.getRotationMatrix2D((640, 360), -degrees, 1.0)

    def turned(picture: Picture) -> Picture:
        return cv2.warpAffine(picture, matrix, (1280, 720), borderMode=cv2.BORDER_REPLICATE)

    return turned


@pytest.mark.xdist_group("films")
def test_a_mirrored_film_faces_the_other_way_and_reads_the_same(tmp_path, good):
    mirrored = filmed_anew(tmp_path / "m.mp4", "good_side_gym.mp4", lambda picture: picture[:, ::-1])
    assert (good[0].view.facing, mirrored.view.facing) == ("right", "left")
    assert [attempt.outcome for attempt in mirrored.attempts] == ["valid"]
    assert mirrored.main_fault is None
    peak = good[0].reps[0].peak_shoulder_L
    assert mirrored.reps[0].peak_shoulder_L.value == pytest.approx(peak.value, abs=2 * peak.sd)


@pytest.mark.xdist_group("films")
@pytest.mark.parametrize("degrees", [-5.0, 5.0])
def test_a_leaning_phone_changes_neither_heights_nor_places(tmp_path, early, degrees):
    level, _ = early
    askew = filmed_anew(tmp_path / "r.mp4", "early_side_gym.mp4", leaning(degrees))
    assert askew.view.roll.value == pytest.approx(level.view.roll.value + degrees, abs=1.0)
    assert askew.main_fault == "F06"
    peak = level.attempts[0].measures["peak_shoulder_L"]
    assert askew.attempts[0].measures["peak_shoulder_L"].value == pytest.approx(peak.value, abs=2 * peak.sd)
    hips, level_hips = np.array(askew.curves.hip_x_L), np.array(level.curves.hip_x_L)
    assert np.median(np.abs(hips - level_hips)) < 0.04
    # The marked bar lies on the picture as it was filmed.
    ahead = np.radians(degrees)
    x = 640 + np.cos(ahead) * (level.bar.x_px - 640) - np.sin(ahead) * (level.bar.y_px - 360)
    y = 360 + np.sin(ahead) * (level.bar.x_px - 640) + np.cos(ahead) * (level.bar.y_px - 360)
    assert np.hypot(askew.bar.x_px - x, askew.bar.y_px - y) < 8.0


@pytest.mark.xdist_group("films")
def test_an_uneven_clock_moves_no_event(tmp_path, early):
    """Phones drop to 20 frames a second in the dark: every third picture is late or missing."""
    level, _ = early

    def times(i: int) -> float:
        return i / 30 if i % 3 else (i - 1) / 30

    uneven = filmed_anew(tmp_path / "v.mp4", "early_side_gym.mp4", lambda picture: picture, times)
    assert uneven.film.variable_rate
    chin = next(event.at_s for event in level.events if event.kind == "chin_over")
    assert min(abs(e.at_s - chin) for e in uneven.events if e.kind == "chin_over") < 2 / 30


@pytest.mark.xdist_group("films")
def test_a_film_at_the_cinema_rate_is_read_and_its_few_frames_are_said(tmp_path, early):
    level, _ = early

    def times(i: int) -> float:
        return int(i * 24 / 30) / 24

    few = filmed_anew(tmp_path / "c.mp4", "early_side_gym.mp4", lambda picture: picture, times)
    assert "few_frames" in [problem.id for problem in few.problems]
    assert few.main_fault == "F06"
    peak = level.attempts[0].measures["peak_shoulder_L"]
    assert few.attempts[0].measures["peak_shoulder_L"].value == pytest.approx(peak.value, abs=2 * peak.sd)


def test_two_athletes_on_bars_are_not_told_apart_by_guessing(tmp_path):
    def twice(picture: Picture) -> Picture:
        return np.hstack([picture[:, 325:965], picture[:, 325:965]])

    with pytest.raises(UnusableFilm) as caught:
        filmed_anew(tmp_path / "two.mp4", "early_side_gym.mp4", twice)
    assert caught.value.problem == "two_people"


def test_a_body_cut_off_at_the_knees_is_said(tmp_path):
    def from_above_the_knees(picture: Picture) -> Picture:
        return cv2.resize(picture[:440, 250:1032], (1280, 720), interpolation=cv2.INTER_LINEAR)

    with pytest.raises(UnusableFilm) as caught:
        filmed_anew(tmp_path / "cut.mp4", "pullups_side_gym.mp4", from_above_the_knees)
    assert caught.value.problem == "cut_off"


@pytest.mark.xdist_group("films")
def test_a_dark_film_is_said(tmp_path):
    dark = filmed_anew(
        tmp_path / "d.mp4", "early_side_gym.mp4", lambda picture: (picture * 0.14).astype(np.uint8)
    )
    assert "dark" in {problem.id for problem in dark.problems}


@pytest.mark.xdist_group("films")
def test_a_wandering_camera_is_said(tmp_path, early):
    steps = iter(np.linspace(-60.0, 90.0, 130))

    def moved(picture: Picture) -> Picture:
        matrix = np.array([[1.0, 0.0, next(steps)], [0.0, 1.0, 0.0]])
        return cv2.warpAffine(picture, matrix, (1280, 720), borderMode=cv2.BORDER_REPLICATE)

    wandering = filmed_anew(tmp_path / "w.mp4", "early_side_gym.mp4", moved)
    assert "camera_moves" in {problem.id for problem in wandering.problems}
    assert "camera_moves" not in {problem.id for problem in early[0].problems}
