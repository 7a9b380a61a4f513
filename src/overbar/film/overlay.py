"""The film again, with skeleton, bar and numbers drawn over it."""

from __future__ import annotations

import os
import tempfile
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np

from overbar.errors import BadInput
from overbar.film.decode import Picture, frames, look_at
from overbar.film.reading import Reading
from overbar.film.track import BONES
from overbar.progress import Progress, silent

LONGEST_SIDE = 1280
"""Larger films are written smaller: the overlay is for looking at, not for measuring."""
SIDE_COLOURS = {"left": (240, 170, 60), "right": (90, 190, 255), "middle": (235, 235, 235)}
BAR_COLOUR = (255, 245, 120)
UNSURE = 0.08
"""Joints with a one-sigma error above this share of the trunk are drawn hollow."""
_INK, _SHADE = (255, 255, 255), (20, 24, 28)


def write_overlay(film: Path, reading: Reading, out: Path, progress: Progress = silent) -> None:
    """Write an MP4 (H.264) of a film with what was read drawn over it.

    Parameters
    ----------
    film : pathlib.Path
        The film the reading is of.
    reading : Reading
        Its reading.
    out : pathlib.Path
        The film to write; it appears only when it is whole.
    progress : Progress
        Told the share of frames done.
    """
    file = look_at(film)
    scale = min(1.0, LONGEST_SIDE / max(file.width, file.height))
    wide, high = (round(side * scale / 2) * 2 for side in (file.width, file.height))
    try:
        handle, name = tempfile.mkstemp(prefix=".", suffix=".mp4", dir=out.parent)
    except OSError as error:
        raise BadInput(f"{out} cannot be written: {error.strerror}", do="Choose another folder.") from error
    os.close(handle)
    try:
        with av.open(name, "w") as container:
            stream = container.add_stream(
                "libx264", rate=Fraction(30), options={"crf": "24", "preset": "veryfast"}
            )
            stream.width, stream.height, stream.pix_fmt = wide, high, "yuv420p"
            stream.time_base = Fraction(1, 90_000)
            for i, frame in enumerate(frames(file)):
                if i >= len(reading.joints.t_s):
                    break
                smaller = cv2.resize(frame.picture, (wide, high), interpolation=cv2.INTER_AREA)
                picture = np.ascontiguousarray(smaller, np.uint8)
                _draw(picture, reading, i, wide / file.width)
                shown = av.VideoFrame.from_ndarray(picture, format="rgb24")
                shown.pts = round(frame.t_s * 90_000)
                shown.time_base = Fraction(1, 90_000)
                container.mux(stream.encode(shown))
                progress((i + 1) / len(reading.joints.t_s), "drawing")
            container.mux(stream.encode())
        os.chmod(name, 0o644)
        os.replace(name, out)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _draw(picture: Picture, reading: Reading, i: int, scale: float) -> None:
    joints = reading.joints
    place = {
        name: (joints.x_px[i][j] * scale, joints.y_px[i][j] * scale, joints.sd_px[i][j] * scale)
        for j, name in enumerate(joints.names)
    }
    thick = max(2, round(picture.shape[0] / 360))
    for one, other in BONES:
        side = "middle" if one[:4] != other[:4] else one.split("_")[0]
        cv2.line(picture, _at(place[one]), _at(place[other]), SIDE_COLOURS[side], thick, cv2.LINE_AA)
    trunk = reading.hang_length.px * scale / 1.35 if reading.hang_length else picture.shape[0] / 5
    for name, (x, y, sd) in place.items():
        colour = SIDE_COLOURS.get(name.split("_")[0], SIDE_COLOURS["middle"])
        fill = -1 if sd < UNSURE * trunk else 1
        cv2.circle(picture, _at((x, y, sd)), thick + 2, colour, fill, cv2.LINE_AA)
    if reading.bar:
        dx, dy = joints.shift_px[i] if joints.shift_px else (0.0, 0.0)
        centre = _at(((reading.bar.x_px + dx) * scale, (reading.bar.y_px + dy) * scale, 0.0))
        cv2.drawMarker(picture, centre, BAR_COLOUR, cv2.MARKER_CROSS, 10 * thick, thick, cv2.LINE_AA)
        half = int(picture.shape[1] * 0.08)
        cv2.line(
            picture, (centre[0] - half, centre[1]), (centre[0] + half, centre[1]), BAR_COLOUR, 1, cv2.LINE_AA
        )
    curves = reading.curves
    lines = [
        f"{curves.t_s[i]:.2f} s  {curves.phase[i]}",
        f"shoulder {curves.shoulder_L[i]:+.2f} +- {curves.shoulder_sd_L[i]:.2f} L",
        f"rise {curves.rise_mps[i]:+.1f} m/s",
    ]
    size = picture.shape[0] / 900 + 0.15
    for row, text in enumerate(lines):
        at = (int(18 * size), int((row + 1) * 34 * size))
        cv2.putText(picture, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, _SHADE, thick + 2, cv2.LINE_AA)
        cv2.putText(picture, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, _INK, max(1, thick - 1), cv2.LINE_AA)


def _at(place: tuple[float, float, float]) -> tuple[int, int]:
    return round(place[0]), round(place[1])
