"""Film files to upright pictures, each with its own presentation time.

Phones write variable frame rates, rotation flags and several codecs; the file's
own time stamps are the only clock used. Damaged, cut or absurd files end in one
sentence, with bounded time and memory.
"""

from __future__ import annotations

import hashlib
import math
import queue
import threading
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from overbar.errors import BadInput, UnusableFilm

Picture = NDArray[np.uint8]

LONGEST_S = 300.0
"""Longer films are refused: a set or a few attempts fit in five minutes (own judgement)."""
MOST_PIXELS = 40_000_000
"""Larger pictures are refused before anything is decoded (8K is 33 million)."""
LARGEST_SIDE = 1920
"""Larger pictures are halved until they fit: the nets look at 256 pixels anyway."""
FEWEST_FRAMES = 15
CONTAINERS = ("mov", "matroska", "mpegts")
"""Container families of phones: MOV and MP4, WebM and MKV, MPEG transport streams."""
TAKEN_AT_RATE = "com.android.capture.fps"
"""Where phones of one kind write the rate a slow motion was taken at (platform's media documentation, from
memory)."""
_AHEAD = 6


@dataclass(frozen=True)
class FilmFile:
    """What the file says about itself.

    Attributes
    ----------
    path : pathlib.Path
        The file.
    sha256 : str
        SHA-256 of its bytes.
    width, height : int
        Upright size in pixels.
    rotation_deg : int
        Rotation flag: 0, 90, 180 or 270.
    duration_s : float or None
        Duration in s by the header.
    frames_expected : int
        Number of frames by the header or its rate; 0 when unknown.
    shrink : int
        Pictures are given smaller by this whole factor.
    slowed : float or None
        How many times slower than life the film plays, where the file says at what rate it was taken.
    """

    path: Path
    sha256: str
    width: int
    height: int
    rotation_deg: int
    duration_s: float | None
    frames_expected: int
    shrink: int
    slowed: float | None


@dataclass(frozen=True)
class Frame:
    """One upright picture (height, width, 3; RGB) and its time in s from the film's first frame."""

    t_s: float
    picture: Picture


def look_at(path: Path) -> FilmFile:
    """Open a film and read its header.

    Raises
    ------
    BadInput
        No such file.
    UnusableFilm
        Not a film, or too large or too long to be read.
    """
    if not path.is_file():
        raise BadInput("there is no such file", where=str(path), do="Check the name.")
    with _opened(path) as container:
        stream = container.streams.video[0]
        wide, high = stream.codec_context.width, stream.codec_context.height
        if wide * high > MOST_PIXELS:
            raise UnusableFilm(
                "too_large", f"the pictures are {wide} x {high} pixels.", "Film at 1080p, 60 frames a second."
            )
        if wide < 64 or high < 64:
            raise UnusableFilm(
                "too_small", f"the pictures are {wide} x {high} pixels.", "Film at 720p or more."
            )
        duration = float(container.duration / av.time_base) if container.duration else None
        if duration is not None and duration > LONGEST_S:
            raise UnusableFilm(
                "too_long",
                f"the film lasts {duration / 60:.0f} minutes.",
                "Cut it to the set or the attempts: five minutes at most.",
            )
        first = _first_frame(container)
        rotation = round(-first.rotation / 90.0) * 90 % 360
        slowed = _slowed(container, stream)
        expected = stream.frames or int((duration or 0.0) * float(stream.average_rate or 0))
    if rotation in (90, 270):
        wide, high = high, wide
    shrink = max(1, math.ceil(max(wide, high) / LARGEST_SIDE))
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return FilmFile(path, digest, wide, high, rotation, duration, expected, shrink, slowed)


def frames(film: FilmFile) -> Iterator[Frame]:
    """Give every frame in order, decoded ahead in a second thread.

    A file that breaks off gives the frames before the break.
    """
    waiting: queue.Queue[Frame | BaseException | None] = queue.Queue(_AHEAD)
    stopped = threading.Event()

    def hand_on(item: Frame | BaseException | None) -> bool:
        while not stopped.is_set():
            with suppress(queue.Full):
                waiting.put(item, timeout=0.1)
                return True
        return False

    def work() -> None:
        try:
            for frame in _decoded(film):
                if not hand_on(frame):
                    return
            hand_on(None)
        except BaseException as error:  # handed to the reading thread, which raises it
            hand_on(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    try:
        while (item := waiting.get()) is not None:
            if isinstance(item, BaseException):
                raise item
            yield item
    finally:
        stopped.set()
        thread.join()


def samples(film: FilmFile, shares: tuple[float, ...]) -> Iterator[Frame]:
    """Give the frames at the asked rising shares of the film's duration, one after another.

    Phone films hold few frames that can be sought to, so the film is decoded up to
    each of them; who stops asking early saves the rest.
    """
    wanted = list(shares)
    for frame in _decoded(film):
        if film.duration_s is None or frame.t_s >= wanted[0] * film.duration_s:
            yield frame
            del wanted[0]
            if not wanted:
                return


def variable_rate(t_s: NDArray[np.float64]) -> bool:
    """Say whether frame spacing varies by more than a tenth of its median."""
    gaps = np.diff(t_s)
    return bool(len(gaps) and np.max(np.abs(gaps - np.median(gaps))) > 0.1 * np.median(gaps))


def _decoded(film: FilmFile) -> Iterator[Frame]:
    last = -math.inf
    with _opened(film.path) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        begin: int | None = None
        try:
            for frame in container.decode(stream):
                if begin is None:
                    begin = frame.pts or 0
                t_s = _time(frame, begin)
                if t_s <= last:
                    continue
                if t_s > LONGEST_S:
                    return
                last = t_s
                yield Frame(t_s, _upright(frame, film))
        except av.error.FFmpegError:
            return


def _opened(path: Path) -> Any:
    try:
        container = av.open(str(path), mode="r", metadata_errors="ignore")
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise UnusableFilm(
            "not_a_film",
            f"{path.name} is not a film that can be opened, or breaks off.",
            "Send the film again.",
        ) from error
    families = container.format.name.split(",")
    readable = container.streams.video and container.streams.video[0].codec_context is not None
    if not readable or not any(family in CONTAINERS for family in families):
        container.close()
        raise UnusableFilm(
            "not_a_film",
            f"{path.name} holds no film.",
            "Send a film as the phone made it (MOV, MP4 or WebM).",
        )
    return container


def _slowed(container: Any, stream: Any) -> float | None:
    """Return the rate the film was taken at over the rate it plays at, where its maker wrote it down."""
    text = container.metadata.get(TAKEN_AT_RATE) or stream.metadata.get(TAKEN_AT_RATE)
    try:
        taken_hz, plays_hz = float(text or "nan"), float(stream.average_rate or 0)
    except ValueError:
        return None
    if not plays_hz or not 1.0 <= taken_hz <= 2000.0:
        return None
    return max(1.0, round(taken_hz / plays_hz, 2))


def _first_frame(container: Any) -> Any:
    try:
        return next(container.decode(video=0))
    except (av.error.FFmpegError, StopIteration) as error:
        raise UnusableFilm(
            "no_frames", "no picture of the film can be decoded.", "Send the film again."
        ) from error


def _time(frame: Any, begin: int) -> float:
    return float((frame.pts - begin) * frame.time_base) if frame.pts is not None else -math.inf


def _upright(frame: Any, film: FilmFile) -> Picture:
    sideways = film.rotation_deg in (90, 270)
    wide, high = film.width // film.shrink, film.height // film.shrink
    if sideways:
        wide, high = high, wide
    picture = frame.to_ndarray(format="rgb24", width=wide, height=high)
    if film.rotation_deg:
        picture = np.ascontiguousarray(np.rot90(picture, -film.rotation_deg // 90))
    return picture
