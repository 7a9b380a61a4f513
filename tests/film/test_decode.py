"""Films of phones: codecs, rotation flags, variable rates, damaged ends."""

from __future__ import annotations

from fractions import Fraction

import av
import numpy as np
import pytest

from overbar.errors import UnusableFilm
from overbar.film.decode import frames, look_at, samples, variable_rate
from overbar.film.steady import Steadier, settled

from .conftest import FILMS


def make(path, codec="libx264", count=30, rate=30, size=(96, 160), times=None):
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate)
        stream.height, stream.width = size
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, 1000)
        for i in range(count):
            frame = av.VideoFrame.from_ndarray(np.full((*size, 3), 5 * i % 255, np.uint8), format="rgb24")
            frame.pts = int(times[i]) if times is not None else round(1000 * i / rate)
            frame.time_base = Fraction(1, 1000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


@pytest.mark.parametrize(
    ("codec", "name"),
    [("libx264", "a.mp4"), ("libx265", "a.mov"), ("libvpx-vp9", "a.webm"), ("libsvtav1", "a.mp4")],
)
def test_the_codecs_of_phones_are_read(tmp_path, codec, name):
    if codec not in av.codecs_available:
        pytest.skip(f"this build of the decoder library cannot write {codec}")
    film = look_at(make(tmp_path / name, codec))
    got = list(frames(film))
    assert len(got) == 30
    assert got[0].picture.shape == (96, 160, 3)


def test_times_are_the_files_own(tmp_path):
    times = np.cumsum([0, *([33, 34, 50] * 10)])[:30]
    got = [frame.t_s for frame in frames(look_at(make(tmp_path / "vfr.mp4", times=times)))]
    assert np.allclose(got, (times - times[0]) / 1000, atol=0.002)
    assert variable_rate(np.array(got))
    assert not variable_rate(np.arange(30) / 30)


def test_leaving_early_leaves_no_thread_behind():
    import threading

    before = threading.active_count()
    for _ in frames(look_at(FILMS / "good_side_gym.mp4")):
        break
    assert threading.active_count() == before


def test_samples_come_in_order_and_stop_when_not_asked():
    taken = [frame.t_s for frame in samples(look_at(FILMS / "good_side_gym.mp4"), (0.0, 0.5, 0.9))]
    assert taken[0] == 0.0
    assert taken == sorted(taken)
    assert len(taken) == 3


def test_tiny_pictures_are_refused(tmp_path):
    with pytest.raises(UnusableFilm, match="32 x 32"):
        look_at(make(tmp_path / "tiny.mp4", size=(32, 32)))


@pytest.mark.parametrize("cut", [0.3, 0.6, 0.9, 0.99])
def test_a_transport_stream_cut_short_gives_what_it_has(tmp_path, cut):
    whole = make(tmp_path / "whole.ts", count=60).read_bytes()
    path = tmp_path / "cut.ts"
    path.write_bytes(whole[: int(len(whole) * cut)])
    try:
        got = list(frames(look_at(path)))
    except UnusableFilm:
        got = []
    assert len(got) <= 60


@pytest.mark.parametrize("seed", range(12))
def test_a_film_with_damaged_bytes_never_crashes(tmp_path, seed):
    data = bytearray((FILMS / "good_side_gym.mp4").read_bytes())
    rng = np.random.default_rng(seed)
    for at in rng.integers(0, len(data), 200):
        data[at] = rng.integers(0, 256)
    path = tmp_path / "damaged.mp4"
    path.write_bytes(data)
    try:
        got = list(frames(look_at(path)))
    except UnusableFilm:
        got = []
    assert len(got) <= 200


def test_a_hand_held_cameras_shift_is_told_to_a_fifth_of_a_pixel():
    import cv2

    rng = np.random.default_rng(0)
    ground = cv2.GaussianBlur(rng.integers(0, 255, (400, 700, 3), np.uint8), (0, 0), 3)
    steadier = Steadier(ground, (350.0, 200.0), 150.0)
    for dx, dy in ((1.5, -2.25), (4.0, 3.0), (-3.5, 0.5)):
        moved = cv2.warpAffine(ground, np.array([[1, 0, dx], [0, 1, dy]], float), (700, 400))
        assert steadier.shift(moved) == pytest.approx([dx, dy], abs=0.2)


def test_a_standing_camera_is_left_alone():
    rng = np.random.default_rng(0)
    assert not settled(rng.normal(0, 0.05, (100, 2)), 1280).any()
    assert settled(rng.normal(0, 5, (100, 2)), 1280).any()


def test_a_picture_of_a_hundred_megapixels_is_refused_before_it_is_decoded(tmp_path):
    path = tmp_path / "huge.mov"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mjpeg", rate=30)
        stream.width, stream.height, stream.pix_fmt = 12_000, 9_000, "yuvj420p"
        frame = av.VideoFrame(12_000, 9_000, "yuvj420p")
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        container.mux(stream.encode(frame))
        container.mux(stream.encode())
    with pytest.raises(UnusableFilm, match="12000 x 9000"):
        look_at(path)


def test_a_film_without_a_single_frame_says_so(tmp_path):
    path = tmp_path / "none.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 640, 360, "yuv420p"
        container.start_encoding()
    with pytest.raises(UnusableFilm) as caught:
        look_at(path)
    assert caught.value.problem in ("not_a_film", "no_frames")


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_every_quarter_turn_of_a_flag_is_taken_out(tmp_path, turns):
    """The flag of phones: a display matrix in the track header (ISO/IEC 14496-12)."""
    path = make(tmp_path / "turned.mp4", count=5, size=(96, 160))
    data = bytearray(path.read_bytes())
    plain = b"\x00\x01\x00\x00" + bytes(12) + b"\x00\x01\x00\x00" + bytes(12) + b"\x40\x00\x00\x00"
    one, minus = b"\x00\x01\x00\x00", b"\xff\xff\x00\x00"
    a, b, c, d = {
        1: (bytes(4), one, minus, bytes(4)),
        2: (minus, bytes(4), bytes(4), minus),
        3: (bytes(4), minus, one, bytes(4)),
    }[turns]
    at = data.find(plain, data.find(b"tkhd"))
    data[at : at + 36] = a + b + bytes(4) + c + d + bytes(12) + b"\x40\x00\x00\x00"
    path.write_bytes(data)
    film = look_at(path)
    assert (film.width, film.height) == ((160, 96) if turns == 2 else (96, 160))
    assert film.rotation_deg == 360 - 90 * (4 - turns) if turns != 2 else film.rotation_deg == 180
    assert next(iter(samples(film, (0.0,)))).picture.shape[:2] == (film.height, film.width)
