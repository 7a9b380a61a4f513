"""Every film can be watched in a browser, frame for frame; every still shows the telling moment."""

from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

import overbar.demo
from overbar.desk.pictures import kept_still, playable, still, throw_out
from overbar.errors import UnusableFilm
from overbar.film.reading import Reading

FILMS = Path(overbar.demo.__file__).parent / "films"


def made_film(path: Path, codec: str, pixels: str, times: list[int]) -> Path:
    """Write a film of grey steps whose frames come at uneven times, in 1/600 s."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 180, pixels
        stream.time_base = stream.codec_context.time_base = Fraction(1, 600)
        for n, at in enumerate(times):
            frame = av.VideoFrame.from_ndarray(np.full((180, 320, 3), 10 + 8 * n, np.uint8), format="rgb24")
            frame.pts, frame.time_base = at, stream.time_base
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def seen_times(path: Path) -> list[float]:
    with av.open(str(path)) as source:
        stream = source.streams.video[0]
        return [float(frame.pts * stream.time_base) for frame in source.decode(stream)]


def test_a_film_that_browsers_play_is_served_as_it_is(tmp_path: Path) -> None:
    film = FILMS / "early_side_gym.mp4"
    assert playable(film, tmp_path, "key") == film


@pytest.mark.parametrize(("codec", "pixels"), [("libx265", "yuv420p"), ("libx264", "yuv444p")])
def test_a_film_no_browser_plays_gets_a_copy_with_the_same_frame_times(
    tmp_path: Path, codec: str, pixels: str
) -> None:
    film = made_film(tmp_path / "phone.mov", codec, pixels, [0, 20, 40, 70, 90, 140, 160, 180])
    copy = playable(film, tmp_path / "copies", "key")
    assert copy != film
    with av.open(str(copy)) as made:
        assert made.streams.video[0].codec_context.name == "h264"
    first = seen_times(film)[0]
    assert seen_times(copy) == pytest.approx([at - first for at in seen_times(film)], abs=1e-4)
    assert playable(film, tmp_path / "copies", "key") == copy
    assert [path.name for path in (tmp_path / "copies").iterdir()] == ["key.mp4"]


def test_what_is_no_film_is_said_so(tmp_path: Path) -> None:
    text = tmp_path / "notes.mp4"
    text.write_text("pull-ups 5 x 5")
    with pytest.raises(UnusableFilm, match=r"notes\.mp4"):
        playable(text, tmp_path, "key")


def test_the_still_shows_the_moment_of_the_fault(tmp_path: Path, reading: Reading) -> None:
    film = FILMS / "early_side_gym.mp4"
    jpeg = kept_still(film, reading, tmp_path, "key")
    picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
    assert picture.shape[1] <= 640
    assert picture.shape[1] / picture.shape[0] == pytest.approx(16 / 9, rel=0.03)
    assert still(film, reading, 0.6) == jpeg
    assert kept_still(film, reading, tmp_path, "key") == jpeg


def test_only_what_belongs_to_no_kept_film_is_thrown_out(tmp_path: Path) -> None:
    for name in ("kept.mp4", "kept-in-the-making.mp4", "kept-12.5-F06.jpg", "gone.mp4", "gone-1.0-None.jpg"):
        (tmp_path / name).write_bytes(b"")
    throw_out(tmp_path, {"kept"})
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "kept-12.5-F06.jpg",
        "kept-in-the-making.mp4",
        "kept.mp4",
    ]
