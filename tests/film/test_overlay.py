"""The overlay film and the command."""

from __future__ import annotations

import json
import shutil

import av
import numpy as np
import pytest
import typer
from typer.testing import CliRunner

from overbar.cli.film import film, summary, write_whole
from overbar.errors import BadInput, UnusableFilm
from overbar.film import write_overlay

from .conftest import FILMS

pytestmark = pytest.mark.xdist_group("films")


def command(*arguments):
    app = typer.Typer()
    app.command()(film)
    return CliRunner().invoke(app, [str(one) for one in arguments])


def test_the_overlay_has_every_frame_at_its_own_time(early, tmp_path):
    reading, _ = early
    out = tmp_path / "seen.mp4"
    write_overlay(FILMS / "early_side_gym.mp4", reading, out)
    with av.open(str(out)) as container:
        times = [float(frame.time) for frame in container.decode(video=0)]
    assert len(times) == reading.film.frames
    assert np.allclose(times, reading.joints.t_s, atol=0.002)
    assert [path.name for path in tmp_path.iterdir()] == ["seen.mp4"]


def test_the_overlay_draws_over_the_picture(early, tmp_path):
    reading, _ = early
    out = tmp_path / "seen.mp4"
    write_overlay(FILMS / "early_side_gym.mp4", reading, out)

    def middle(path):
        with av.open(str(path)) as container:
            for i, frame in enumerate(container.decode(video=0)):
                if i == 30:
                    return frame.to_ndarray(format="rgb24").astype(int)
        raise AssertionError

    changed = np.abs(middle(out) - middle(FILMS / "early_side_gym.mp4")).max(2) > 60
    assert 500 < changed.sum() < 40_000


def test_the_summary_says_the_one_fault_and_its_cue(early):
    lines = summary(early[0])
    (work,) = [line for line in lines if line.startswith("Work on: Early pull")]
    assert "(pull after the front of the swing -" in work
    assert " s, limit -0.07 s; chance " in work
    assert any(line.startswith("Cue: ") for line in lines)
    assert any("±" in line for line in lines)


def test_the_command_writes_a_whole_reading(tmp_path):
    out = tmp_path / "reading.json"
    done = command(FILMS / "early_side_gym.mp4", "--stature", 1.78, "--mass", 82, "--json", out)
    assert done.exit_code == 0, done.output
    data = json.loads(out.read_text())
    assert data["schema"] == "overbar.reading/1"
    assert data["main_fault"] == "F06"
    assert data["mass_kg"] == 82
    assert {
        "film",
        "view",
        "bar",
        "hang_length",
        "events",
        "reps",
        "attempts",
        "faults",
        "joints",
    } <= data.keys()


def test_an_unusable_film_writes_nothing(tmp_path):
    film_path, out = tmp_path / "film.mp4", tmp_path / "reading.json"
    film_path.write_text("no film")
    done = command(film_path, "--stature", 1.78, "--json", out, "--overlay", tmp_path / "seen.mp4")
    assert isinstance(done.exception, UnusableFilm)
    assert done.exception.exit_code == 3
    assert [path.name for path in tmp_path.iterdir()] == ["film.mp4"]


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with pytest.raises(BadInput, match="cannot be written"):
        write_whole(tmp_path / "none" / "reading.json", "{}")


def test_a_film_turned_by_its_flag_is_read_upright(early, tmp_path):
    from overbar.film.decode import look_at, samples

    turned = tmp_path / "turned.mp4"
    shutil.copy(FILMS / "early_side_gym.mp4", turned)
    data = bytearray(turned.read_bytes())
    plain = b"\x00\x01\x00\x00" + bytes(12) + b"\x00\x01\x00\x00" + bytes(12) + b"\x40\x00\x00\x00"
    quarter = (
        bytes(4)
        + b"\x00\x01\x00\x00"
        + bytes(4)
        + b"\xff\xff\x00\x00"
        + bytes(16)
        + b"\x00\x00\x00\x00\x40\x00\x00\x00"
    )
    at = data.find(plain, data.find(b"tkhd"))
    assert at > 0
    data[at : at + 36] = quarter[:36]
    turned.write_bytes(data)
    film_file = look_at(turned)
    assert film_file.rotation_deg in (90, 270)
    assert (film_file.width, film_file.height) == (720, 1280)
    assert next(iter(samples(film_file, (0.0,)))).picture.shape == (1280, 720, 3)
    with av.open(str(FILMS / "early_side_gym.mp4")) as container:
        stored = next(container.decode(video=0)).to_ndarray(format="rgb24")
    upright = next(iter(samples(film_file, (0.0,)))).picture
    # QuickTime matrix (0 1; -1 0): a point to the right goes down, so the picture turns clockwise.
    assert np.array_equal(upright, np.rot90(stored, -1))


def test_a_marked_length_refines_the_scale_on_the_command_line(tmp_path):
    out = tmp_path / "reading.json"
    source = FILMS / "early_side_gym.mp4"
    done = command(source, "--stature", 1.78, "--json", out, "--known-length", "300,100,300,304=1.0")
    assert done.exit_code == 0
    reading = json.loads(out.read_text(encoding="utf-8"))
    assert reading["known_length"]["length_m"] == 1.0
    assert reading["hang_length"]["sd_m"] < 0.018 * 1.78
    # 204 px/m: the picture's own scale at the bar, so that the hang length is the true one of 0.68 m.
    assert abs(reading["hang_length"]["m"] - 0.68) < 2 * reading["hang_length"]["sd_m"]


def test_a_marked_length_that_is_not_one_is_said():
    refused = command(FILMS / "early_side_gym.mp4", "--stature", 1.78, "--known-length", "300,100=1")
    assert isinstance(refused.exception, BadInput)
    assert "812,640,812,676=0.45" in refused.exception.say()


def test_the_film_itself_is_never_written_over(tmp_path):
    own = tmp_path / "film.mp4"
    shutil.copy(FILMS / "early_side_gym.mp4", own)
    before = own.read_bytes()
    for option in ("--json", "--overlay"):
        done = command(own, "--stature", 1.78, option, own)
        assert isinstance(done.exception, BadInput)
        assert "would be lost" in done.exception.say()
    assert own.read_bytes() == before


@pytest.mark.parametrize("option", ["--json", "--overlay"])
def test_where_nothing_can_be_written_is_said_before_the_film_is_read(tmp_path, option):
    film_path = tmp_path / "film.mp4"
    film_path.write_text("no film: reading it would say so")
    for out in (tmp_path / "none" / "out.mp4", tmp_path):
        done = command(film_path, "--stature", 1.78, option, out)
        assert isinstance(done.exception, BadInput)
        assert "cannot be written" in done.exception.say()


def test_an_overlay_into_no_folder_is_said(early, tmp_path):
    with pytest.raises(BadInput, match="cannot be written"):
        write_overlay(FILMS / "early_side_gym.mp4", early[0], tmp_path / "none" / "seen.mp4")


@pytest.mark.parametrize("mass", ["nan", "-5", "0", "inf"])
def test_a_body_mass_that_cannot_be_is_refused_before_the_film_is_read(tmp_path, mass):
    done = command(FILMS / "early_side_gym.mp4", "--stature", 1.78, "--mass", mass)
    assert isinstance(done.exception, BadInput)
    assert "body mass" in done.exception.say()
