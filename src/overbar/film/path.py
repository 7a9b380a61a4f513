"""The joints of a reading as one body in the bar's plane: what the body model is laid beside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overbar.film.bar import hang_at, joined
from overbar.film.reading import Reading
from overbar.film.track import NAMES, in_life, track_of
from overbar.film.view import look_from

PARTS = ("wrist", "elbow", "shoulder", "hip", "knee", "ankle")


@dataclass(frozen=True)
class Path:
    """Places of both sides' middle in L against the bar.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Time of each frame in s.
    places : dict of str to ndarray, shape (n, 2)
        Forward and upward of each of :data:`PARTS`, in L.
    sd : dict of str to float
        One-sigma error of each, in L: the median over the film, with the bar's own.
    """

    t_s: NDArray[np.float64]
    places: dict[str, NDArray[np.float64]]
    sd: dict[str, float]


def path_of(reading: Reading) -> Path | None:
    """Return the path of a film that shows fore and aft, or None where the view does not.

    Parameters
    ----------
    reading : Reading
        A usable reading.
    """
    if reading.bar is None:
        return None
    track = in_life(track_of(reading), reading.film.slowed)
    looking = look_from(track)
    if not looking.shows_depth_plane:
        return None
    hang = hang_at(track, looking, reading.bar)
    origin = np.array([hang.bar.x_px, hang.bar.y_px])
    flip = np.array([looking.forward / looking.foreshortening, -1.0])
    places, sd = {}, {}
    for part in PARTS:
        seen = joined(track, looking, part)
        places[part] = (seen - origin) * flip / hang.length_px
        columns = [i for i, name in enumerate(NAMES) if name.endswith(part)]
        own = float(np.median(track.sd[:, columns]))
        sd[part] = float(np.hypot(own, hang.sd_px) / hang.length_px)
    return Path(np.asarray(track.t_s, float), places, sd)
