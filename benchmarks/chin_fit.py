"""Fit the weights of the chin's height: ``python -m benchmarks.chin_fit OUT.json FOLDER ...``.

Every film ``NAME.mp4`` with the generator's ``NAME.json`` beside it (``meta`` and
``frames``) is used, in the frames whose hands are on the bar; those whose chin is within 0.3 L of
it count most, and each film alike. One set of weights is for side views, one for
all others. Bodies and motions left out of the fit tell how well it reads new ones.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.film_truth import truth_of
from benchmarks.shoulder_fit import ON_BAR_M, films_with_truth, ridge
from overbar.errors import OverbarError
from overbar.film import hands
from overbar.film.bar import Hang, find_hang, hang_lean_deg
from overbar.film.camera import Camera, camera_of
from overbar.film.chin import chin_features
from overbar.film.joints import Sights
from overbar.film.motion import bar_frame, in_bar_frame
from overbar.film.plumb import roll_of
from overbar.film.track import Track, follow, middle_of, plumb
from overbar.film.view import Looking, look_from

Array = NDArray[np.float64]

NEAR_BAR_L, TOPS, ELSEWHERE = 0.3, 2.0, 0.05
"""Where the chin counts fully, and how much tops there and other places count."""
HOLD, FAR_OFF_L = {"side": 0.01, "other": 0.03}, 0.04
"""Strength of the ridge, and the error from which a frame loses its say."""
PARTS = 12
FEWEST_FRAMES = 2


@dataclass(frozen=True)
class Seen:
    """One film: features (n, k), the chin's height over the nose mark and over the bar, L."""

    view: str
    features: Array
    below_nose: Array
    chin: Array
    body: str
    motion: str


def seen(path: Path, data: dict[str, Any], sights: Sights, size: tuple[int, int]) -> Seen | None:
    """Return one film's part of the fit, or None where it has none."""
    frames, meta = data["frames"], data["meta"]
    if len(frames) != len(sights.t_s):
        return None
    try:
        askew = follow(sights)
        looking = look_from(askew)
        roll = roll_of(sights.uprights, hang_lean_deg(askew, looking)).value
        track = plumb(askew, roll, middle_of(*size))
        camera = camera_of(*size, meta["athlete"]["height"])
        hang = find_hang(track, looking, hands.plumb(sights.hands, roll, middle_of(*size)), camera)
    except OverbarError as error:
        print(f"{path.stem} was not used: {error.say()}", file=sys.stderr)
        return None
    return _pairs(path, data, track, looking, hang, camera)


def _pairs(
    path: Path, data: dict[str, Any], track: Track, looking: Looking, hang: Hang, camera: Camera
) -> Seen | None:
    frames, meta = data["frames"], data["meta"]
    shoulder = in_bar_frame(track, looking, hang, camera).shoulder
    place = bar_frame(track, looking, hang)
    truth = truth_of(path.with_suffix(".json"))
    length = -float(np.min([f["joints3d"]["left_shoulder"][2] for f in frames])) / -float(
        truth.shoulder_L.min()
    )
    chin = np.array([frame["joints3d"]["chin"][2] for frame in frames]) / length
    wrist = np.array([[frame["joints3d"][f"{side}_wrist"] for side in ("left", "right")] for frame in frames])
    used = (np.hypot(wrist[..., 0], wrist[..., 2]) < ON_BAR_M).all(1)
    if used.sum() < FEWEST_FRAMES:
        return None
    return Seen(
        "side" if looking.view.kind == "side" else "other",
        chin_features(place, shoulder, looking)[used],
        (chin - place("nose")[:, 1])[used],
        chin[used],
        f"{meta['athlete']['height']:.3f} {meta['athlete']['reach']:.3f}",
        Path(str(meta["settings"]["csv"] or meta["motion"])).name,
    )


def fitted(films: list[Seen]) -> Array:
    """Return the weights for films of one kind of view, the constant last."""
    return ridge(
        np.vstack([film.features for film in films]),
        np.concatenate([film.below_nose for film in films]),
        np.concatenate([_share(film) for film in films]),
        HOLD[films[0].view],
        FAR_OFF_L,
    )


def _share(film: Seen) -> Array:
    """Return how much each frame counts: the tops near the bar, the rest near it, all else."""
    highest = np.array([film.chin[max(0, i - 8) : i + 9].max() for i in range(len(film.chin))])
    near = np.abs(film.chin) < NEAR_BAR_L
    top = near & (film.chin > highest - 0.03) & (highest < NEAR_BAR_L)
    parts = [(top, TOPS), (near & ~top, 1.0), (~near, ELSEWHERE)]
    return np.asarray(sum(here * of * min(1.0, here.sum() / 6) / max(here.sum(), 1) for here, of in parts))


def left_out(films: list[Seen], by: str) -> list[float]:
    """Return the median, the 68 % and the 95 % error within 0.12 L of the bar, of films left out."""
    names = sorted({getattr(film, by) for film in films})
    np.random.default_rng(0).shuffle(names)
    errors = []
    for k in range(PARTS):
        out = set(names[k::PARTS])
        weights = fitted([film for film in films if getattr(film, by) not in out])
        for film in films:
            near = np.abs(film.chin) < 0.12
            if getattr(film, by) in out and near.sum() >= FEWEST_FRAMES:
                error = film.features @ weights[:-1] + weights[-1] - film.below_nose
                errors.append(abs(float(np.median(error[near]))))
    return [round(float(np.percentile(errors, share)), 4) for share in (50, 68, 95)]


def main(out: str, folders: list[str]) -> int:
    """Read the films, fit, and write the file."""
    films = [
        film
        for path, data, file, sights in films_with_truth(folders)
        if (film := seen(path, data, sights, (file.width, file.height))) is not None
    ]
    views = {}
    for view in HOLD:
        those = [film for film in films if film.view == view]
        views[view] = {
            "films": len(those),
            "bodies": len({film.body for film in those}),
            "motions": len({film.motion for film in those}),
            "left_out": {by: left_out(those, by) for by in ("body", "motion")},
            "weights": [round(float(weight), 5) for weight in fitted(those)],
        }
    made = {
        "schema": "overbar.chin/1",
        "basis": "own measurement",
        "why": "height of the chin over the nose mark, L; errors are median, 68 and 95 % of films left out",
        "views": views,
    }
    Path(out).write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
    for view, one in views.items():
        print(view, {key: value for key, value in one.items() if key != "weights"})
    return 0


if __name__ == "__main__":
    if len(sys.argv) < 3:
        sys.exit("usage: python -m benchmarks.chin_fit OUT.json FOLDER ...")
    sys.exit(main(sys.argv[1], sys.argv[2:]))
