"""Fit the weights of the near shoulder's height: ``python -m benchmarks.shoulder_fit OUT.json FOLDER ...``.

Every film ``NAME.mp4`` with the generator's ``NAME.json`` beside it (``meta`` and
``frames``) seen within 25 degrees of the side is used. Weights are found by ridge
regression that leaves out no frame but gives those far off little say; each film
counts alike, and in it the hang, the tops, the support and the way between. How well
bodies and motions that were not in the fit are read is told by leaving a tenth of
them out at a time, and is written into the file.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overbar.errors import OverbarError
from overbar.film.decode import FilmFile, look_at
from overbar.film.joints import Sights, see
from overbar.film.shoulder import forward_of, near_features
from overbar.film.track import NAMES, nets_looks, trunk_of
from overbar.settings import read_settings

Array = NDArray[np.float64]

SQUARE_TO_DEG = 25.0
"""Films further off the side are left out."""
ON_BAR_M = 0.17
"""Wrists nearer to the bar's axis than this grip it."""
SHARES = {"hang": 1.0, "top": 3.0, "support": 2.0, "": 1.5}
"""Weight of each part of a film."""
RIDGE, FAR_OFF = 3e-3, 0.03
"""Strength of the ridge, and the error in trunk lengths from which a frame loses its say."""
PARTS = 10
"""The bodies (and the motions) are left out in so many parts."""


@dataclass(frozen=True)
class Seen:
    """One film: features (n, k), the joint's height over the finder's mark in trunk lengths, weights."""

    features: Array
    height: Array
    weight: Array
    part: NDArray[np.str_]
    body: str
    motion: str


def seen(data: dict[str, Any], sights: Sights) -> Seen | None:
    """Return one film's part of the fit, or None where it does not belong to it."""
    azimuth = abs((data["meta"]["camera"]["azimuth_deg"] + 180.0) % 360.0 - 180.0)
    frames = data["frames"]
    if abs(azimuth - 90.0) > SQUARE_TO_DEG or len(frames) != len(sights.t_s):
        return None
    place = nets_looks(sights)[..., :2]
    trunk = trunk_of(place[0])
    forward = forward_of(place[0], NAMES.index)
    near = "right" if forward > 0 else "left"
    features, mark = near_features(place, NAMES.index, trunk, near, forward)
    true = np.array([frame["joints2d"][f"{near}_shoulder"][1] for frame in frames]) - sights.shift[:, 1]
    both = np.array(
        [
            [frame["joints3d"][f"{s}_{p}"] for s in ("left", "right")]
            for frame in frames
            for p in ("shoulder", "wrist")
        ]
    )
    shoulder, wrist = both[::2].mean(1)[:, 2] / data["meta"]["athlete"]["reach"], both[1::2]
    used = np.isfinite(features).all(1) & (np.hypot(wrist[..., 0], wrist[..., 2]) < ON_BAR_M).all(1)
    part = _parts(shoulder)
    weight = np.zeros(len(used))
    for name, share in SHARES.items():
        here = (part == name) & used
        if here.any():
            weight[here] = share / here.sum() * min(1.0, here.sum() / 4)
    meta = data["meta"]
    body = f"{meta['athlete']['height']:.3f} {meta['athlete']['reach']:.3f}"
    motion = Path(str(meta["settings"]["csv"] or meta["motion"])).name
    return Seen(features[used], (mark - true)[used] / trunk, weight[used], part[used], body, motion)


def _parts(shoulder: Array) -> NDArray[np.str_]:
    part = np.full(len(shoulder), "", "<U8")
    part[shoulder < -0.96] = "hang"
    part[shoulder > 0.93] = "support"
    for i in np.nonzero((shoulder > -0.5) & (shoulder < 0.4))[0]:
        top = shoulder[max(0, i - 8) : i + 9].max()
        if top < 0.45 and shoulder[i] >= top - 0.02:
            part[i] = "top"
    return part


def fitted(films: list[Seen]) -> Array:
    """Return the weights, the constant last."""
    return ridge(
        np.vstack([film.features for film in films]),
        np.concatenate([film.height for film in films]),
        np.concatenate([film.weight for film in films]),
        RIDGE,
        FAR_OFF,
    )


def ridge(x: Array, y: Array, share: Array, hold: float, far_off: float) -> Array:
    """Return weights and constant of a ridge regression in which rows far off have little say.

    Parameters
    ----------
    x, y, share : ndarray, shapes (n, k), (n,), (n,)
        Features, what they should tell, and how much each row counts.
    hold : float
        Strength of the ridge.
    far_off : float
        Error from which a row loses its say.
    """
    middle = np.average(x, axis=0, weights=share)
    spread = np.sqrt(np.average((x - middle) ** 2, axis=0, weights=share)) + 1e-3
    z = np.hstack([(x - middle) / spread, np.ones((len(x), 1))])
    held = hold * share.sum() * np.diag([1.0] * x.shape[1] + [0.0])
    weight = share
    for _ in range(10):
        found = np.linalg.solve((z * weight[:, None]).T @ z + held, (z * weight[:, None]).T @ y)
        weight = share / (1.0 + ((y - z @ found) / far_off) ** 2)
    slopes = found[:-1] / spread
    return np.append(slopes, found[-1] - middle @ slopes)


def left_out(films: list[Seen], by: str) -> dict[str, list[float]]:
    """Return the median and 95 % error of each part of films whose body or motion was not in the fit."""
    names = sorted({getattr(film, by) for film in films})
    np.random.default_rng(0).shuffle(names)
    errors: dict[str, list[float]] = {name: [] for name in SHARES}
    for k in range(PARTS):
        out = set(names[k::PARTS])
        weights = fitted([film for film in films if getattr(film, by) not in out])
        for film in films:
            if getattr(film, by) in out:
                error = film.features @ weights[:-1] + weights[-1] - film.height
                for name in SHARES:
                    if (film.part == name).sum() >= 2:
                        errors[name].append(abs(float(np.median(error[film.part == name]))))
    return {
        name or "between": [round(float(np.percentile(found, share)), 4) for share in (50, 95)]
        for name, found in errors.items()
    }


def films_with_truth(folders: list[str]) -> Iterator[tuple[Path, dict[str, Any], FilmFile, Sights]]:
    """Yield every film with its truth and what the nets see of it; one without a person is named and left."""
    cache = read_settings().cache
    for path in sorted(path for folder in folders for path in Path(folder).glob("*.mp4")):
        beside = path.with_suffix(".json")
        data = json.loads(beside.read_text(encoding="utf-8")) if beside.exists() else {}
        if "frames" not in data:
            continue
        try:
            film = look_at(path)
            yield path, data, film, see(film, cache)
        except OverbarError as error:
            print(f"{path.stem} was not used: {error.say()}", file=sys.stderr)


def main(out: str, folders: list[str]) -> int:
    """Read the films, fit, and write the file."""
    films = [
        film for _, data, _, sights in films_with_truth(folders) if (film := seen(data, sights)) is not None
    ]
    made = {
        "schema": "overbar.near_shoulder/1",
        "basis": "own measurement",
        "why": "height of the near shoulder's joint over the finder's mark in a side view, trunk lengths",
        "films": len(films),
        "bodies": len({film.body for film in films}),
        "motions": len({film.motion for film in films}),
        "left_out": {by: left_out(films, by) for by in ("body", "motion")},
        "weights": [round(float(weight), 5) for weight in fitted(films)],
    }
    Path(out).write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
    print(json.dumps({key: value for key, value in made.items() if key != "weights"}, indent=1))
    return 0


if __name__ == "__main__":
    if len(sys.argv) < 3:
        sys.exit("usage: python -m benchmarks.shoulder_fit OUT.json FOLDER ...")
    sys.exit(main(sys.argv[1], sys.argv[2:]))
