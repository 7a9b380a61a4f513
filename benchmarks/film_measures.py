"""The measures and faults of films against known truth: ``python -m benchmarks.film_measures FOLDER``.

Every film ``NAME.mp4`` with the generator's ``NAME.json`` beside it (``meta`` and
``frames``) is read. The truth is put through the same definitions: the true joints
make a motion, and that motion the true measures and the true faults. Prints two
Markdown tables: for each measure the error beside the stated one-sigma uncertainty,
and for each fault how often it was named rightly, wrongly and not at all.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overbar.errors import OverbarError
from overbar.film import read_film
from overbar.film.attempts import find_attempts
from overbar.film.chin import CHIN_SD
from overbar.film.faults import (
    MAIN_FROM,
    judge,
    subject_of_attempt,
    subject_of_film,
    subject_of_lowering,
    subject_of_rep,
)
from overbar.film.measures import START_SD_S
from overbar.film.motion import Motion, shoulder_angle
from overbar.film.phases import find_phases
from overbar.film.reading import Attempt, Measured, Reading, Rep, View
from overbar.film.reps import find_reps
from overbar.film.view import FRONT_FROM_DEG, OBLIQUE_FROM_DEG, Looking
from overbar.film.wobble import SHIFT_SD_L, SWAY
from overbar.settings import read_settings

Array = NDArray[np.float64]

ON_BAR_M = 0.16
"""Wrists nearer to the bar's axis than this grip it."""
HEIGHT_SD_L, RISE_SD_L_PER_S = 0.025, 0.35
"""One-sigma errors a film usually states; with them a true value is judged as near to a limit or not."""
PLAIN = 0.84
"""A fault is plainly there when its true value lies one of the film's own sd or more past the limit, and
plainly not there one sd or more on the other side; in between no film can tell and nothing is counted."""


def true_motion(data: dict[str, Any]) -> Motion:
    """Return the motion of the true joints, in the bar's frame."""
    frames = data["frames"]

    def at(name: str) -> Array:
        return np.array([frame["joints3d"][name] for frame in frames])

    def middle(part: str) -> Array:
        return np.asarray((at(f"left_{part}") + at(f"right_{part}")) / 2)

    def angle(name: str) -> Array:
        both = [[frame["angles"][f"{side}_{name}"] for side in ("left", "right")] for frame in frames]
        return np.asarray(np.mean(both, axis=1))

    wrist, shoulder = middle("wrist"), middle("shoulder")
    grips = np.hypot(wrist[:, 0], wrist[:, 2]) < ON_BAR_M
    length = -float(shoulder[grips, 2].min())
    if length < 0.5 * data["meta"]["athlete"]["reach"] or length > 1.05 * data["meta"]["athlete"]["reach"]:
        length = data["meta"]["athlete"]["reach"]
    left, right = at("left_shoulder") / length, at("right_shoulder") / length
    shoulder, wrist = shoulder / length, wrist / length
    elbow, hip, knee = (middle(part) / length for part in ("elbow", "hip", "knee"))
    ankle, ear = middle("ankle") / length, middle("ear") / length
    trunk = np.arctan2(shoulder[:, 0] - hip[:, 0], shoulder[:, 2] - hip[:, 2])
    thigh = np.arctan2(knee[:, 0] - hip[:, 0], hip[:, 2] - knee[:, 2])
    across = left - right
    t = np.array([frame["t"] for frame in frames])
    return Motion(
        t_s=t,
        shoulder=shoulder[:, 2],
        shoulder_sd=np.full(len(t), HEIGHT_SD_L),
        rise=np.gradient(shoulder[:, 2], t),
        rise_sd=np.full(len(t), RISE_SD_L_PER_S),
        chin=at("chin")[:, 2] / length,
        chin_sd=np.full(len(t), CHIN_SD[0]),
        shoulder_x=shoulder[:, 0],
        hip_x=hip[:, 0],
        knee_x=knee[:, 0],
        foot_x=ankle[:, 0],
        foot_height=ankle[:, 2],
        ear_x=ear[:, 0],
        body_x=np.array([frame["com3d"][0] for frame in frames]) / length,
        elbow_deg=angle("elbow"),
        hip_deg=180.0 - np.degrees(trunk + thigh),
        knee_deg=angle("knee"),
        shoulder_deg=shoulder_angle(*(joint[:, [0, 2]] for joint in (shoulder, elbow, wrist, hip))),
        left_elbow=at("left_elbow")[:, 2] / length,
        right_elbow=at("right_elbow")[:, 2] / length,
        elbow_up=elbow[:, 2] - wrist[:, 2],
        trunk_lean_deg=np.degrees(trunk),
        tilt_deg=np.degrees(np.arctan2(across[:, 2], np.hypot(across[:, 0], across[:, 1]))),
        shoulder_gap=across[:, 2],
        head_up=ear[:, 2] - shoulder[:, 2],
        hands_apart=np.abs(at("left_wrist")[:, 1] - at("right_wrist")[:, 1]) / length,
        reach=np.hypot(shoulder[:, 0], shoulder[:, 2]),
        hand_off=np.hypot(wrist[:, 0], wrist[:, 2]),
        length_m=length,
        length_sd_m=1e-3,
        by_nets=False,
    )


def true_bar_shift(data: dict[str, Any], length_m: float) -> Measured | None:
    """Return how far the bar really moved across the picture, in L; None where the camera is not told.

    Joints in space go with the bar, in the picture they stand where they are seen: the difference is
    the bar's own way.
    """
    frames, (fx, _, cx, _) = data["frames"], data["meta"]["camera"]["K"]
    if "R" not in frames[0]:
        return None
    bar = np.array([0.0, 0.0, data["meta"]["bar"]["height"]])
    moved = []
    for frame in frames:
        at_rest = np.array(frame["R"]) @ (bar + frame["joints3d"]["left_wrist"] - np.array(frame["eye"]))
        across = frame["joints2d"]["left_wrist"][0] - (fx * at_rest[0] / at_rest[2] + cx)
        moved.append(across * at_rest[2] / fx / length_m)
    low, high = np.percentile(moved, SWAY)
    return Measured(float(high - low), SHIFT_SD_L)


def true_looking(data: dict[str, Any]) -> Looking:
    """Return the view the film was really taken from."""
    azimuth = abs((data["meta"]["camera"]["azimuth_deg"] + 180.0) % 360.0 - 180.0)
    off_side = abs(90.0 - azimuth)
    if off_side >= FRONT_FROM_DEG:
        kind = "front" if azimuth < 90 else "rear"
    else:
        kind = "oblique" if off_side >= OBLIQUE_FROM_DEG else "side"
    return Looking(View(kind, "right", Measured(off_side, 1.0)), 1, "right", 1.0)


Found = tuple[tuple[Attempt, ...], tuple[Rep, ...], dict[str, Measured], dict[str, float]]


def true_reading(data: dict[str, Any]) -> Found:
    """Return the attempts, reps, whole-film measures and each fault's chance of the truth."""
    motion, looking = true_motion(data), true_looking(data)
    phases = find_phases(motion, looking)
    reps = find_reps(motion, looking, phases)
    tried = find_attempts(motion, looking, phases)
    strict = [rep for rep in reps if rep.kind == "pull_up"]
    shift = true_bar_shift(data, motion.length_m) if looking.shows_depth_plane else None
    whole = subject_of_film(motion, looking, phases, shift)
    subjects = (
        *(subject_of_attempt(motion, looking, attempt, pull) for attempt, pull in tried),
        *(subject_of_rep(rep, first=rep is strict[0]) for rep in strict),
        *(subject_of_lowering(rep) for rep in reps if rep.kind == "negative"),
        whole,
    )
    return (
        tuple(attempt for attempt, _ in tried),
        reps,
        whole.measures,
        {fault: one.chance for fault, one in judge(subjects, looking).items()},
    )


def pairs(reading: Reading, truth: Found) -> Iterator[tuple[str, Measured, float]]:
    """Return every measure the film and the truth both have: name, as read, true value."""
    attempts, reps, whole, _ = truth
    for seen in reading.attempts:
        for true in attempts:
            if seen.from_s < true.to_s and true.from_s < seen.to_s:
                yield "pull start, s", Measured(seen.from_s, START_SD_S), true.from_s
                yield from (
                    (name, value, true.measures[name].value)
                    for name, value in seen.measures.items()
                    if name in true.measures
                )
                break
    for rep in reading.reps:
        for same in reps:
            if rep.kind == same.kind and rep.from_s < same.to_s and same.from_s < rep.to_s:
                for name, seen_value, true_value in (
                    ("mean speed", rep.mean_speed_mps, same.mean_speed_mps),
                    ("peak speed", rep.peak_speed_mps, same.peak_speed_mps),
                    ("elbow at bottom", rep.bottom_elbow_deg, same.bottom_elbow_deg),
                ):
                    if seen_value and true_value:
                        yield f"{rep.kind}: {name}", seen_value, true_value.value
                yield from (
                    (f"{rep.kind}: {name}", value, same.measures[name].value)
                    for name, value in rep.measures.items()
                    if name in same.measures
                )
                break
    for name, value in reading.measures.items():
        if name in whole:
            yield name, value, whole[name].value


def print_measures(found: dict[str, list[tuple[float, float]]]) -> None:
    """Print the table of measures: errors beside the stated uncertainty."""
    print("| measure | n | bias | median error | 95 % within | stated sd | within one sd |")
    print("|---|---|---|---|---|---|---|")
    for name, errors in sorted(found.items()):
        error, sd = np.array(errors).T
        print(
            f"| {name} | {len(error)} | {error.mean():+.3f} | {np.median(np.abs(error)):.3f} | "
            f"{np.percentile(np.abs(error), 95):.3f} | {np.median(sd):.3f} | "
            f"{100 * np.mean(np.abs(error) <= sd):.0f} % |"
        )


def print_faults(named: dict[str, list[tuple[bool, bool]]]) -> None:
    """Print the table of faults: named rightly, wrongly, missed, and the shares."""
    print("\n| fault | shown and named | named, not shown | shown, not named | precision | recall |")
    print("|---|---|---|---|---|---|")
    total = np.zeros(3, int)
    for fault, cases in sorted(named.items()):
        right, wrong, missed = (
            sum(shown and seen for shown, seen in cases),
            sum(seen and not shown for shown, seen in cases),
            sum(shown and not seen for shown, seen in cases),
        )
        total += right, wrong, missed
        _print_row(fault, right, wrong, missed)
    _print_row("all", *total.tolist())


def _print_row(name: str, right: int, wrong: int, missed: int) -> None:
    print(f"| {name} | {right} | {wrong} | {missed} | {_share(right, wrong)} | {_share(right, missed)} |")


def _share(right: int, other: int) -> str:
    return f"{right / (right + other):.2f}" if right + other else "-"


def main(folders: list[str]) -> int:
    """Print both tables."""
    cache = read_settings().cache
    errors: dict[str, list[tuple[float, float]]] = defaultdict(list)
    named: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    for film in sorted(path for folder in folders for path in Path(folder).glob("*.mp4")):
        beside = film.with_suffix(".json")
        data = json.loads(beside.read_text(encoding="utf-8")) if beside.exists() else {}
        if "frames" not in data:
            continue
        try:
            reading = read_film(film, data["meta"]["athlete"]["height"], cache=cache)
        except OverbarError as error:
            print(f"{film.stem} was not read: {error.say()}", file=sys.stderr)
            continue
        add(reading, data, errors, named)
        print(f"{film.stem} read", file=sys.stderr)
    print_measures(errors)
    print_faults(named)
    return 0


def add(
    reading: Reading,
    data: dict[str, Any],
    errors: dict[str, list[tuple[float, float]]],
    named: dict[str, list[tuple[bool, bool]]],
) -> None:
    """Add one film to both tables."""
    truth = true_reading(data)
    for name, seen, true in pairs(reading, truth):
        errors[name].append((seen.value - true, seen.sd))
    sure = {fault.id for fault in reading.faults if fault.chance >= MAIN_FROM}
    for fault, chance in truth[3].items():
        if not 1 - PLAIN < chance < PLAIN and (chance > PLAIN or fault in sure):
            named[fault].append((chance > PLAIN, fault in sure))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
