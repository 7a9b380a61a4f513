"""Pictures and films a browser can show: a still with its joints, an H.264 copy when it needs one."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overbar.desk.film import BONES
from overbar.errors import UnusableFilm
from overbar.film.reading import Reading

PLAYED = {"h264": ("yuv420p", "yuvj420p"), "vp8": ("yuv420p",), "vp9": ("yuv420p",), "av1": ("yuv420p",)}
"""Codecs and pixel forms that today's browsers play without help (common practice)."""
STILL_WIDTH = 640
QUARTER_TURNS = {0: 0, 90: -1, 180: 2, 270: 1}
COPY_QUALITY = "20"
"""x264's constant rate factor of a copy: no loss a coach would see at full size (own judgement)."""


def playable(path: Path, folder: Path, name: str) -> Path:
    """Return a film a browser plays: the file itself, or an H.264 copy made once.

    Parameters
    ----------
    path : pathlib.Path
        The film.
    folder : pathlib.Path
        Where copies are kept.
    name : str
        Key of the copy (the film's hash).

    Notes
    -----
    The copy keeps every frame with its own presentation time, so that the joints
    of a reading still lie on it.
    """
    import av

    try:
        with av.open(str(path)) as source:
            stream = source.streams.video[0]
            codec = stream.codec_context
            plays = codec.pix_fmt in PLAYED.get(codec.name, PLAYED.get(codec.name.removeprefix("lib"), ()))
    except (av.FFmpegError, IndexError) as error:
        raise UnusableFilm("no_film", f"{path.name} cannot be opened as a film: {error}") from error
    if plays or codec.name == "libdav1d":
        return path
    copy = folder / f"{name}.mp4"
    if not copy.exists():
        folder.mkdir(parents=True, exist_ok=True)
        handle, unfinished = tempfile.mkstemp(prefix=f"{name}-", suffix=".mp4", dir=folder)
        os.close(handle)
        try:
            _copy(path, Path(unfinished))
            os.replace(unfinished, copy)
        finally:
            Path(unfinished).unlink(missing_ok=True)
    return copy


def still(path: Path, reading: Reading | None, at_s: float | None = None) -> bytes:
    """Return a JPEG of one frame, with the joints on it when there is a reading.

    The picture is cut to the athlete and the bar, 16 to 9.
    """
    import cv2

    moment = at_s if at_s is not None else (_telling_moment(reading) if reading else 0.0)
    picture = _frame_at(path, moment)
    if reading is not None and reading.joints.t_s:
        frame = int(np.argmin(np.abs(np.asarray(reading.joints.t_s) - moment)))
        picture = _cut(_with_joints(picture, reading, frame), reading, frame)
    scale = STILL_WIDTH / picture.shape[1]
    if scale < 1:
        size = (STILL_WIDTH, round(picture.shape[0] * scale))
        picture = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
    done, jpeg = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 84])
    if not done:
        raise UnusableFilm("no_picture", f"no picture could be made of {path.name}")
    return bytes(jpeg.tobytes())


def kept_still(path: Path, reading: Reading | None, folder: Path, name: str) -> bytes:
    """Return the still of a film, made once per reading."""
    state = f"{reading.bar.x_px:.1f}-{reading.main_fault}" if reading and reading.bar else "bare"
    kept = folder / f"{name}-{state}.jpg"
    if kept.exists():
        return kept.read_bytes()
    picture = still(path, reading)
    folder.mkdir(parents=True, exist_ok=True)
    handle, unfinished = tempfile.mkstemp(prefix=f"{name}-", suffix=".jpg", dir=folder)
    with os.fdopen(handle, "wb") as out:
        out.write(picture)
    os.replace(unfinished, kept)
    return picture


def throw_out(folder: Path, kept: set[str]) -> None:
    """Delete every still and copy whose film is not among those kept; one in the making is named after it."""
    for path in folder.glob("*"):
        if path.name.split(".")[0].split("-")[0] not in kept:
            path.unlink(missing_ok=True)


def _telling_moment(reading: Reading) -> float:
    main = next((fault for fault in reading.faults if fault.id == reading.main_fault), None)
    if main is not None:
        return main.at_s
    peak = next((event for event in reading.events if event.kind == "peak"), None)
    return peak.at_s if peak else (reading.reps[0].top_s if reading.reps else 0.0)


def _frames(path: Path) -> Iterator[tuple[float, Any, int]]:
    import av

    with av.open(str(path)) as source:
        stream = source.streams.video[0]
        stream.thread_type = "AUTO"
        first = None
        for frame in source.decode(stream):
            if frame.pts is None or frame.time_base is None:
                continue
            at = float(frame.pts * frame.time_base)
            first = at if first is None else first
            yield at - first, frame, int(frame.rotation)


def _frame_at(path: Path, moment: float) -> NDArray[np.uint8]:
    import av

    chosen = None
    try:
        for at, frame, turned in _frames(path):
            if chosen is None or at <= moment + 1e-6:
                chosen = (frame, turned)
            if at >= moment:
                break
    except av.FFmpegError as error:
        raise UnusableFilm("no_film", f"{path.name} cannot be read to {moment:.1f} s: {error}") from error
    if chosen is None:
        raise UnusableFilm("no_film", f"{path.name} holds no frame")
    frame, turned = chosen
    picture = frame.to_ndarray(format="bgr24")
    return np.ascontiguousarray(np.rot90(picture, QUARTER_TURNS[-turned % 360]))


def _with_joints(picture: NDArray[np.uint8], reading: Reading, frame: int) -> NDArray[np.uint8]:
    import cv2

    joints = reading.joints
    place = {
        name: (round(joints.x_px[frame][i]), round(joints.y_px[frame][i]))
        for i, name in enumerate(joints.names)
    }
    thick = max(2, round(picture.shape[0] / 260))
    for colour, width in (((20, 16, 12), thick * 2), ((255, 255, 255), thick)):
        for one, other in BONES:
            if one in place and other in place:
                cv2.line(picture, place[one], place[other], colour, width, cv2.LINE_AA)
    if reading.bar is not None:
        at = (round(reading.bar.x_px), round(reading.bar.y_px))
        cv2.circle(picture, at, thick * 2, (112, 90, 21), -1, cv2.LINE_AA)
        cv2.circle(picture, at, thick * 2, (255, 255, 255), 1, cv2.LINE_AA)
    return picture


def _cut(picture: NDArray[np.uint8], reading: Reading, frame: int) -> NDArray[np.uint8]:
    height, width = picture.shape[:2]
    xs, ys = list(reading.joints.x_px[frame]), list(reading.joints.y_px[frame])
    if reading.bar is not None:
        xs.append(reading.bar.x_px)
        ys.append(reading.bar.y_px)
    middle_x, middle_y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    tall = min(max((max(ys) - min(ys)) * 1.35, (max(xs) - min(xs)) * 1.35 * 9 / 16), height, width * 9 / 16)
    wide = tall * 16 / 9
    left = int(min(max(middle_x - wide / 2, 0), width - wide))
    top = int(min(max(middle_y - tall / 2, 0), height - tall))
    return np.ascontiguousarray(picture[top : top + int(tall), left : left + int(wide)])


def _copy(path: Path, target: Path) -> None:
    import av

    clock = Fraction(1, 90_000)
    with av.open(str(target), "w", format="mp4", options={"movflags": "faststart"}) as out:
        stream: Any = None
        last = -1
        for at, frame, turned in _frames(path):
            picture = np.rot90(frame.to_ndarray(format="rgb24"), QUARTER_TURNS[-turned % 360])
            even = np.ascontiguousarray(picture[: picture.shape[0] // 2 * 2, : picture.shape[1] // 2 * 2])
            if stream is None:
                stream = out.add_stream(
                    "libx264", rate=30, options={"crf": COPY_QUALITY, "preset": "veryfast"}
                )
                stream.pix_fmt = "yuv420p"
                stream.height, stream.width = even.shape[:2]
                stream.time_base = stream.codec_context.time_base = clock
            made = av.VideoFrame.from_ndarray(even, format="rgb24")
            last = max(last + 1, round(at / clock))
            made.pts, made.time_base = last, clock
            out.mux(stream.encode(made))
        if stream is None:
            raise UnusableFilm("no_film", f"{path.name} holds no frame")
        out.mux(stream.encode(None))
