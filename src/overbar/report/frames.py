"""Pictures of the frames a block's best heights and tries were seen in."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from overbar.errors import NotFound
from overbar.film.reading import Reading
from overbar.ladder import Ladder
from overbar.records import FilmRow, Records
from overbar.records.findings import TRIES

MOST = 3
TALL = 480
"""Height of a picture, pixels: sharp enough at 45 mm in print."""

OUTCOMES = {"valid": "a valid try", "over_not_clean": "over, not clean", "failed": "a failed try"}


@dataclass(frozen=True)
class Picture:
    """A frame as PNG, and what it shows in words."""

    png: bytes
    say: str


def best_frames(
    records: Records, athlete_id: str, ladder: Ladder, first: date, on: date
) -> tuple[Picture, ...]:
    """Return the frames of the greatest height in each film of the block, the newest three.

    Films that are deleted or could not be read are left out.
    """
    found: list[Picture] = []
    for film in reversed(records.films(athlete_id)):
        filmed = film.filmed_at.date()
        reading = records.reading(film.sha256)
        if len(found) < MOST and first <= filmed <= on and reading is not None and reading.usable:
            picture = _picture(records, film, reading, ladder)
            if picture is not None:
                found.append(picture)
    return tuple(found)


def _picture(records: Records, film: FilmRow, reading: Reading, ladder: Ladder) -> Picture | None:
    heights = reading.curves.shoulder_L
    if not heights:
        return None
    best = max(range(len(heights)), key=lambda i: heights[i])
    sd = reading.curves.shoulder_sd_L[best]
    try:
        png = frame_at(records.film_file(film.sha256), reading.curves.t_s[best])
    except NotFound:
        return None
    name = ladder.exercises[film.exercise].name if film.exercise in ladder.exercises else "Film"
    height = f"shoulder {heights[best]:+.2f} ± {sd:.2f} L at the top"
    say = f"{name}, {film.filmed_at.day} {film.filmed_at:%b}: {height}"
    if reading.attempts and film.exercise in TRIES:
        say += f"; {OUTCOMES[reading.attempts[0].outcome]}"
    return Picture(png, say) if png else None


def frame_at(path: Path, at_s: float) -> bytes | None:
    """Return the frame shown at a time (from the first frame, s) as PNG, upright; None when there is none."""
    import av
    import cv2
    import numpy as np

    with av.open(str(path)) as source:
        start: float | None = None
        for frame in source.decode(video=0):
            time = float(frame.time or 0.0)
            start = time if start is None else start
            if time - start >= at_s - 1e-6:
                turned = np.rot90(frame.to_ndarray(format="rgb24"), round(frame.rotation / 90))
                height, width = turned.shape[:2]
                small = cv2.resize(np.ascontiguousarray(turned), (round(width * TALL / height), TALL))
                ok, png = cv2.imencode(".png", small[:, :, ::-1])
                return io.BytesIO(png.tobytes()).getvalue() if ok else None
    return None
