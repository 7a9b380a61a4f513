"""Films: kept once, by the hash they arrived with, without sound, place or device."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import av
import numpy as np
import pytest
from tests.records.conftest import NOW, someone

from overbar.errors import BadInput, NotFound, UnusableFilm
from overbar.records import FilmConsent, Records
from overbar.records.films import FilmStore, sha256_of, strip

FILMED = datetime(2026, 4, 20, 18, 40, tzinfo=UTC)


def film(path: Path, sound: bool = True, codec: str = "libx264", frames: int = 20) -> Path:
    """A small film with a tone, a place and a device in it."""
    with av.open(str(path), "w") as out:
        out.metadata.update({"location": "+59.3-018.1/", "make": "Phone maker", "title": "private"})
        video = out.add_stream(codec, rate=30, options={"x264-params": "log-level=none"})
        video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        audio = out.add_stream("aac" if path.suffix != ".webm" else "libopus", rate=48000) if sound else None
        for n in range(frames):
            picture = np.full((48, 64, 3), n * 10 % 255, np.uint8)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts = n + (n > 10) * 3  # variable rate: a gap in the middle
            out.mux(video.encode(frame))
        out.mux(video.encode(None))
        if audio is not None:
            tone = av.AudioFrame.from_ndarray(np.zeros((1, 48000), np.float32), format="fltp", layout="mono")
            tone.sample_rate = 48000
            out.mux(audio.encode(tone))
            out.mux(audio.encode(None))
    return path


def pictures(path: Path) -> list[tuple[float, int]]:
    with av.open(str(path)) as source:
        return [
            (round(float(frame.time), 5), int(frame.to_ndarray(format="gray").mean()))
            for frame in source.decode(video=0)
        ]


@pytest.mark.parametrize(
    ("name", "codec"),
    [("a.mp4", "libx264"), ("a.mov", "libx264"), ("a.webm", "libvpx-vp9"), ("a.mkv", "libx264")],
)
def test_sound_place_and_device_are_left_out_and_the_pictures_stay_the_same(
    tmp_path: Path, name: str, codec: str
) -> None:
    source = film(tmp_path / name, codec=codec)
    (tmp_path / "bare").mkdir()
    bare = strip(source, tmp_path / "bare")
    with av.open(str(bare)) as kept:
        assert [stream.type for stream in kept.streams] == ["video"]
        told = " ".join(str(value) for value in (*kept.metadata.values(), *kept.streams[0].metadata.values()))
        for secret in ("59.3", "Phone maker", "private"):
            assert secret not in told
    assert b"59.3-018.1" not in bare.read_bytes()
    kept_pictures, sent = pictures(bare), pictures(source)
    assert [grey for _, grey in kept_pictures] == [grey for _, grey in sent]
    assert np.allclose([at for at, _ in kept_pictures], [at for at, _ in sent], atol=1e-4)


def test_the_rotation_flag_stays(tmp_path: Path) -> None:
    """Phone films stand upright only by their rotation flag (ISO base media file, track matrix)."""
    source = film(tmp_path / "a.mp4", sound=False)
    raw = source.read_bytes()
    upright = b"\x00\x01\x00\x00" + b"\x00" * 12 + b"\x00\x01\x00\x00" + b"\x00" * 12 + b"\x40\x00\x00\x00"
    turned = (
        b"\x00\x00\x00\x00"
        + b"\x00\x01\x00\x00"
        + b"\x00" * 4
        + b"\xff\xff\x00\x00"
        + b"\x00" * 16
        + b"\x40\x00\x00\x00"
    )
    track = raw.index(b"tkhd")
    at = raw.index(upright, track)
    source.write_bytes(raw[:at] + turned + raw[at + len(upright) :])
    with av.open(str(source)) as before:
        rotation = next(before.decode(video=0)).rotation
    assert rotation in (90, -90, 270)
    (tmp_path / "bare").mkdir()
    with av.open(str(strip(source, tmp_path / "bare"))) as kept:
        assert next(kept.decode(video=0)).rotation == rotation


def test_a_film_is_kept_once(records: Records, tmp_path: Path) -> None:
    source = film(tmp_path / "a.mp4")
    first = records.add_film("tove", source, FILMED, "muscle_up")
    again = records.add_film("tove", source.rename(tmp_path / "other.mp4"), FILMED)
    assert first == again
    assert first.sha256 == sha256_of(tmp_path / "other.mp4")
    assert len(records.film_store.names()) == 1
    assert records.film_file(first.sha256).exists()


def test_a_film_of_one_athlete_is_not_given_to_another(records: Records, tmp_path: Path) -> None:
    records.save_athlete(someone("jon"))
    source = film(tmp_path / "a.mp4")
    records.add_film("tove", source, FILMED)
    with pytest.raises(BadInput, match="another athlete"):
        records.add_film("jon", source, FILMED)


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"\x00" * 5000, b"\x00\x00\x00\x18ftypmp42" + b"\x00" * 100]
)
def test_what_is_no_film_is_refused_and_leaves_nothing(
    records: Records, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(content)
    with pytest.raises(UnusableFilm):
        records.add_film("tove", path, FILMED)
    assert records.films() == []
    assert records.film_store.names() == []


def test_a_film_cut_off_in_the_middle_keeps_what_can_be_seen_or_is_refused(
    records: Records, tmp_path: Path
) -> None:
    whole = film(tmp_path / "a.mkv", frames=60).read_bytes()
    half = tmp_path / "half.mkv"
    half.write_bytes(whole[: len(whole) * 2 // 3])
    row = records.add_film("tove", half, FILMED)
    assert 0 < len(pictures(records.film_file(row.sha256))) <= 60


def test_no_tick_is_set_beforehand_and_without_the_first_a_film_is_not_read(
    records: Records, tmp_path: Path
) -> None:
    row = records.add_film("tove", film(tmp_path / "a.mp4"), FILMED)
    assert row.consent == FilmConsent(coach=False, keep=False, show=False, improve=False)
    with pytest.raises(BadInput, match="no consent"):
        records.enqueue_reading(row.sha256)
    records.set_consent(row.sha256, FilmConsent(coach=True))
    records.enqueue_reading(row.sha256)
    assert records.film(row.sha256).status == "waiting"


def test_a_film_is_kept_ninety_days_from_review_unless_the_athlete_ticks_longer(
    records: Records, tmp_path: Path
) -> None:
    """90 days: own judgement, handbook trade.md 5.7."""
    row = records.add_film("tove", film(tmp_path / "a.mp4"), FILMED)
    assert row.keep_until is None
    assert records.mark_reviewed(row.sha256).keep_until == NOW.date() + timedelta(days=90)
    assert records.set_consent(row.sha256, FilmConsent(coach=True, keep=True)).keep_until is None
    assert records.set_consent(row.sha256, FilmConsent(coach=True)).keep_until == date(2026, 7, 26)


def test_a_film_is_found_by_the_beginning_of_its_hash(records: Records, tmp_path: Path) -> None:
    row = records.add_film("tove", film(tmp_path / "a.mp4"), FILMED)
    assert records.film(row.sha256[:12]) == row
    for wrong in ("", row.sha256[:4], "f" * 64, "%" * 12):
        with pytest.raises(NotFound):
            records.film(wrong)


def test_the_store_may_be_any_address(tmp_path: Path) -> None:
    store = FilmStore("memory://films-of-a-test", tmp_path / "copies")
    source = tmp_path / "a.bin"
    source.write_bytes(b"pictures")
    store.put(source, "ab/abc.mp4")
    assert store.get("ab/abc.mp4").read_bytes() == b"pictures"
    assert store.names() == ["ab/abc.mp4"]
    assert store.remove("ab/abc.mp4")
    assert not store.remove("ab/abc.mp4")
    with pytest.raises(NotFound):
        store.get("ab/abc.mp4")
