"""How high the chin is, told from all that is seen of head, arms and trunk: no net marks a chin."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from overbar.film.view import Looking

Array = NDArray[np.float64]
Place = Callable[[str], Array]
"""Takes a joint's name, gives its path in the bar's frame, shape (n, 2), L."""

FILE = "chin.json"
HEAD = ("ear", "mouth", "shoulder")
"""Marks of both sides that tell the chin in every view."""
BODY = ("elbow", "wrist", "hip")
"""And in a side view."""
FADES_L = (0.3, 0.5)
"""Heights over the bar between which the weighted sum, fitted near the bar, gives way to the nose alone."""
CHIN_BELOW_NOSE = {"side": 0.02, "other": 0.15}
"""How far the chin is seen under the nose mark there, L (medians of 56 and 36 films with known truth: a
camera under the bar sees a head before it higher)."""
CHIN_SD = (0.04, 0.05)
"""One-sigma errors of the chin beside that of the shoulder's height, near the bar and over it, L. Bodies left
out of the fit gave 0.022 near the bar; on five films of pull-ups nobody had looked at, two of three tops came
within 0.047 in all, one body 0.08 too low throughout."""


def chin_height(place: Place, shoulder: Array, looking: Looking) -> tuple[Array, Array]:
    """Return the chin's height over the bar in each frame and its own one-sigma error, L.

    Parameters
    ----------
    place : callable
        Path of a joint.
    shoulder : ndarray, shape (n,)
        Height of the mid-shoulder, L.
    looking : Looking
        The view.
    """
    view = "side" if looking.view.kind == "side" else "other"
    weights = _weights()[view]
    nose = place("nose")[:, 1]
    fitted = nose + chin_features(place, shoulder, looking) @ weights[:-1] + weights[-1]
    plain = nose - CHIN_BELOW_NOSE[view]
    share = np.clip((FADES_L[1] - plain) / (FADES_L[1] - FADES_L[0]), 0.0, 1.0)
    own_sd = share * CHIN_SD[0] + (1.0 - share) * CHIN_SD[1]
    return share * fitted + (1.0 - share) * plain, own_sd


def chin_features(place: Place, shoulder: Array, looking: Looking) -> Array:
    """Return what the weighted sum is taken over, shape (n, k): marks seen from the nose, and heights, L."""
    side_on = looking.view.kind == "side"
    far = "left" if looking.near == "right" else "right"
    nose = place("nose")
    marks = [
        place(f"{side}_{part}") - nose
        for part in (HEAD + BODY if side_on else HEAD)
        for side in (looking.near, far)
    ]
    view = [] if side_on else [np.full(len(nose), looking.towards)]
    return np.stack([*np.hstack(marks).T, shoulder - nose[:, 1], nose[:, 1], *view], 1)


@cache
def _weights() -> dict[str, Array]:
    """Return the fitted weights of both kinds of view, the constant last."""
    made = json.loads(resources.files("overbar.film").joinpath(FILE).read_text(encoding="utf-8"))
    return {view: np.array(one["weights"], np.float64) for view, one in made["views"].items()}
