"""Film reading against bare decoding and nets in the same run, and against the plain way to use the nets."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import cv2

from overbar.film import read_film
from overbar.film.decode import frames, look_at
from overbar.film.faults import fault_data
from overbar.film.joints import FINDER_RATE_HZ, Finder, Landmarks, find_person, landmark_region, region_of
from overbar.settings import read_settings

FILM = Path(__file__).parent.parent / "tests" / "films" / "pullups_side_gym.mp4"
STATURE_M = 1.78


def seconds(work: Callable[[], object]) -> float:
    """Return the wall time of one run in s."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main() -> None:
    """Print the table."""
    cache = read_settings().cache
    film = look_at(FILM)
    duration = film.duration_s or 1.0
    cv2.setNumThreads(1)

    def bare(every_frame: bool) -> None:
        finder, landmarks = Finder(cache), Landmarks(cache, careful=False)
        pose, _ = find_person(finder, film)
        search, target = region_of(pose), landmark_region(pose)
        next_look = -1.0
        for frame in frames(film):
            if every_frame or frame.t_s >= next_look:
                next_look = frame.t_s + 0.999 / FINDER_RATE_HZ
                finder.look(frame.picture, search)
            landmarks.look(frame.picture, target)

    ladder = seconds(fault_data)
    whole = seconds(lambda: read_film(FILM, STATURE_M, cache=cache))
    nets = seconds(lambda: bare(every_frame=False))
    plain = seconds(lambda: bare(every_frame=True))
    decoding = seconds(lambda: [None for _ in frames(film)])
    print(f"{FILM.name}: {film.width} x {film.height}, {duration:.1f} s")
    print(f"{'whole reading':34} {whole:6.2f} s  {duration / whole:4.1f} x real time")
    print(f"{'decoding and nets alone':34} {nets:6.2f} s  whole / alone {whole / nets:.2f}")
    print(f"{'both nets on every frame':34} {plain:6.2f} s  whole / this  {whole / plain:.2f}")
    print(f"{'reading the ladder, once a process':34} {ladder:6.2f} s")
    print(f"{'decoding alone':34} {decoding:6.2f} s")


if __name__ == "__main__":
    main()
