"""Readings of films with known truth against it: ``python -m benchmarks.film_truth FOLDER [FOLDER ...]``.

Every film ``NAME.mp4`` with a ``NAME.json`` beside it is read. Two forms of truth
are understood: the generator's own (``meta`` and ``frames``) and the short form of
``tests/films``. Prints a Markdown table and a summary.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overbar.errors import OverbarError
from overbar.film import read_film
from overbar.film.reading import Measured, Reading
from overbar.settings import read_settings

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Truth:
    """What happened in a film: times in s, heights in L."""

    stature_m: float
    t_s: Array
    shoulder_L: Array
    chin_over_s: list[float]
    shoulder_over_s: list[float]


def truth_of(path: Path) -> Truth:
    """Read the truth beside a film."""
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    if "frames" not in data:
        shoulder = np.array(data["shoulder_m"]) / data["hang_length_m"]
        return Truth(
            data["stature_m"], np.array(data["t_s"]), shoulder, data["chin_over_s"], data["shoulder_over_s"]
        )
    frames, meta = data["frames"], data["meta"]
    both = [[f["joints3d"][f"{side}_shoulder"][2] for side in ("left", "right")] for f in frames]
    shoulder = np.mean(both, axis=1)
    hang = max(-float(shoulder.min()), 0.95 * meta["athlete"]["reach"])
    events = meta["events_derived"]
    return Truth(
        meta["athlete"]["height"],
        np.array([f["t"] for f in frames]),
        shoulder / hang,
        events["chin_over_bar"],
        events["shoulders_over_bar"],
    )


def peaks(reading: Reading) -> list[tuple[float, float, Measured]]:
    """Return from, to and peak shoulder height of every rep that has one."""
    return [(rep.from_s, rep.to_s, rep.peak_shoulder_L) for rep in reading.reps if rep.kind != "negative"]


def main(folders: list[str]) -> int:
    """Print the table and the summary."""
    cache = read_settings().cache
    heights: list[float] = []
    in_sd: list[float] = []
    times: list[float] = []
    counts = counted = 0
    print(
        "| film | seen | counted / true | height error L (sd) | event error, frames | fault | x real time |"
    )
    print("|---|---|---|---|---|---|---|")
    films = sorted(
        path
        for folder in folders
        for path in Path(folder).glob("*.mp4")
        if path.with_suffix(".json").exists()
    )
    for film in films:
        truth = truth_of(film.with_suffix(".json"))
        began = time.perf_counter()
        try:
            reading = read_film(film, truth.stature_m, cache=cache)
        except OverbarError as error:
            print(f"| {film.stem} | not read: {error.say()} | | | | | |")
            continue
        took = time.perf_counter() - began
        found = []
        for start, end, peak in peaks(reading):
            inside = (truth.t_s >= start - 0.1) & (truth.t_s <= end + 0.1)
            if inside.any():
                error_L = peak.value - float(truth.shoulder_L[inside].max())
                found.append(f"{error_L:+.3f} ({peak.sd:.3f})")
                heights.append(error_L)
                in_sd.append(abs(error_L) / peak.sd)
        missed = []
        for kind, true in (("chin_over", truth.chin_over_s), ("shoulder_over", truth.shoulder_over_s)):
            seen = [event.at_s for event in reading.events if event.kind == kind]
            for at in true:
                error_s = min((abs(one - at) for one in seen), default=float("inf"))
                missed.append(f"{30 * error_s:.1f}" if np.isfinite(error_s) else "missed")
                times.append(error_s)
        pulls = [rep for rep in reading.reps if rep.kind == "pull_up"]
        says = ""
        if pulls:
            counts += 1
            counted += reading.counted == len(truth.chin_over_s)
            says = f"{reading.counted} / {len(truth.chin_over_s)}"
        print(
            f"| {film.stem} | {reading.view.kind} | {says} | {' '.join(found)} | {' '.join(missed)} | "
            f"{reading.main_fault or 'none'} | {reading.film.duration_s / took:.1f} |",
            flush=True,
        )
    if heights:
        size = np.abs(heights)
        frames = 30 * np.minimum(times, 9.0) if times else np.array([np.nan])
        print(
            f"\n{len(films)} films. Pull-up counts right in {counted} of {counts}. Peak shoulder height: "
            f"median error {np.median(size):.3f} L, 95 % within {np.percentile(size, 95):.3f} L, bias "
            f"{np.mean(heights):+.3f} L, {100 * np.mean(np.array(in_sd) <= 1):.0f} % within one stated sd. "
            f"Chin and shoulder crossings: median {np.median(frames):.1f}, 95 % within "
            f"{np.percentile(frames, 95):.1f} frames of 1/30 s."
        )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or ["tests/films"]))
