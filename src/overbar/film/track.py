"""Joints over the whole film: both nets joined, sides kept apart, gaps filled, smoothed with uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from overbar.errors import UnusableFilm
from overbar.film.joints import FINDER_JOINTS, LANDMARKS, LOWEST_SCORE, Sights
from overbar.film.reading import Joints, Reading
from overbar.film.shoulder import to_joint_centres
from overbar.film.smoothing import Smoothed, smooth

Array = NDArray[np.float64]

PAIRED = (
    "ear",
    "mouth",
    "shoulder",
    "elbow",
    "wrist",
    "index",
    "pinky",
    "hip",
    "knee",
    "ankle",
    "heel",
    "toe",
)
NAMES: tuple[str, ...] = ("nose", *(f"{side}_{part}" for part in PAIRED for side in ("left", "right")))
"""Joints of the track."""
_LIMBS = (
    ("shoulder", "elbow"),
    ("elbow", "wrist"),
    ("wrist", "index"),
    ("shoulder", "hip"),
    ("hip", "knee"),
    ("knee", "ankle"),
    ("heel", "toe"),
    ("ankle", "heel"),
)
BONES: tuple[tuple[str, str], ...] = (
    *((f"{side}_{a}", f"{side}_{b}") for side in ("left", "right") for a, b in _LIMBS),
    ("left_shoulder", "right_shoulder"),
    ("left_hip", "right_hip"),
)
"""Lines drawn between joints."""

LANDMARK_SD = 0.035
FINDER_SD = 0.045
"""One-sigma error of one look of each net in trunk lengths (own measurement on films with known truth)."""
UNSEEN = 4.0
"""A landmark of visibility 0 counts with an sd larger by this factor."""
DISAGREEMENT = 0.15
"""Median distance of shoulders, hips and knees between the nets, in trunk lengths, at which the landmarks
of a frame count half as sure."""
JERK = 3e4
"""Spectral density of the jerk in trunk^2/s^5: about a 3.5 Hz low pass at 30 frames/s (own measurement)."""
LONGEST_GAP_S = 0.5
"""Finder looks further apart than this are not joined."""


@dataclass(frozen=True)
class Track:
    """Smoothed joints in pixels, columns in the order of :data:`NAMES`.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Times in s.
    x, y, sd : ndarray, shape (n, m)
        Place and its one-sigma error in pixels, y downwards.
    vx, vy, v_sd : ndarray, shape (n, m)
        Speeds in pixels/s and their one-sigma error.
    trunk_px : float
        Median length shoulder to hip in pixels.
    shift : ndarray, shape (n, 2)
        The camera's shift in pixels, already taken out of ``x`` and ``y``.
    roll_deg : float
        The camera's roll, already taken out too: the picture turned back about ``pivot``.
    pivot : (float, float)
        Middle of the picture in pixels.
    """

    t_s: Array
    x: Array
    y: Array
    sd: Array
    vx: Array
    vy: Array
    v_sd: Array
    trunk_px: float
    shift: Array
    roll_deg: float = 0.0
    pivot: tuple[float, float] = (0.0, 0.0)

    def at(self, joint: str) -> Array:
        """Return the (n, 2) path of one joint in pixels."""
        j = NAMES.index(joint)
        return np.stack([self.x[:, j], self.y[:, j]], 1)

    def middle(self, part: str) -> Array:
        """Return the (n, 2) path of the middle of a pair of joints in pixels."""
        return (self.at(f"left_{part}") + self.at(f"right_{part}")) / 2

    def upright(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the first picture lies once the roll is taken out."""
        x, y = turn(np.array([x, y]), -self.roll_deg, self.pivot)
        return float(x), float(y)

    def in_picture(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the track lies in the first picture as it was filmed."""
        x, y = turn(np.array([x, y]), self.roll_deg, self.pivot)
        return float(x), float(y)


def turn(points: Array, clockwise_deg: float, pivot: tuple[float, float]) -> Array:
    """Turn pixel points of shape (..., 2) about a pivot."""
    cosine, sine = np.cos(np.radians(clockwise_deg)), np.sin(np.radians(clockwise_deg))
    return np.asarray((points - pivot) @ np.array([[cosine, sine], [-sine, cosine]]) + pivot)


def plumb(track: Track, roll_deg: float, pivot: tuple[float, float]) -> Track:
    """Return a track with the camera's roll taken out."""
    place = turn(np.stack([track.x, track.y], -1), -roll_deg, pivot)
    speed = turn(np.stack([track.vx, track.vy], -1), -roll_deg, (0.0, 0.0))
    return replace(
        track,
        x=place[..., 0],
        y=place[..., 1],
        vx=speed[..., 0],
        vy=speed[..., 1],
        roll_deg=roll_deg,
        pivot=pivot,
    )


def in_life(track: Track, slowed: float) -> Track:
    """Return the track of a film that plays ``slowed`` times slower than life in the time of life."""
    return replace(
        track,
        t_s=track.t_s / slowed,
        vx=track.vx * slowed,
        vy=track.vy * slowed,
        v_sd=track.v_sd * slowed,
    )


def follow(sights: Sights) -> Track:
    """Join, smooth and fill what the nets saw.

    Raises
    ------
    UnusableFilm
        The athlete is out of sight in too much of the film.
    """
    looks = nets_looks(sights)
    place, certainty = looks[..., :2], looks[..., 2]
    trunk = trunk_of(place[0])
    to_joint_centres(place, NAMES.index, trunk)
    # Where the nets part about the trunk, the finder was right in nearly all films with known truth.
    firm = [
        NAMES.index(f"{side}_{part}") for side in ("left", "right") for part in ("shoulder", "hip", "knee")
    ]
    apart = np.hypot(*np.moveaxis(place[0][:, firm] - place[1][:, firm], -1, 0)) / (DISAGREEMENT * trunk)
    doubt = 1.0 + np.nan_to_num(np.minimum(np.median(apart, axis=1), 5.0))[:, None] ** 2
    sd = np.stack(
        [
            LANDMARK_SD * trunk * (1.0 + (UNSEEN - 1.0) * (1.0 - certainty[0])) * doubt,
            FINDER_SD * trunk * (1.0 + (UNSEEN - 1.0) * (1.0 - np.clip(certainty[1] / 0.6, 0, 1))),
        ]
    )
    return _smoothed(sights.t_s, place, sd, trunk, sights.shift)


def nets_looks(sights: Sights) -> Array:
    """Return the looks of the landmark net and the finder at every frame, shape (2, n, m, 3).

    The camera's shift is taken out, and left and right stay what they are.
    """
    looks = np.stack([_landmark_looks(sights), _finder_looks(sights)])
    for look in looks:
        look[..., :2] -= sights.shift[:, None]
        keep_sides(look)
    return looks


def track_of(reading: Reading) -> Track:
    """Rebuild the track from a reading's own joints, as corrected by hand, in the time of the film."""
    joints = reading.joints
    shift = np.array(joints.shift_px) if joints.shift_px else np.zeros((len(joints.t_s), 2))
    place = (np.stack([np.array(joints.x_px), np.array(joints.y_px)], 2) - shift[:, None])[None]
    sd = np.array(joints.sd_px)[None]
    track = _smoothed(np.array(joints.t_s), place, np.where(sd > 0, sd, np.nan), trunk_of(place[0]), shift)
    return plumb(track, reading.view.roll.value, middle_of(reading.film.width, reading.film.height))


def middle_of(width_px: int, height_px: int) -> tuple[float, float]:
    """Return the middle of a picture in pixels."""
    return width_px / 2, height_px / 2


def to_joints(track: Track) -> Joints:
    """Return the track in the compact form of a reading."""

    def rows(values: Array) -> tuple[tuple[float, ...], ...]:
        return tuple(tuple(row) for row in np.round(values, 1).tolist())

    times = tuple(np.round(track.t_s, 4).tolist())
    filmed = turn(np.stack([track.x, track.y], -1), track.roll_deg, track.pivot) + track.shift[:, None]
    x, y = filmed[..., 0], filmed[..., 1]
    shift = rows(track.shift) if track.shift.any() else ()
    return Joints(NAMES, times, rows(x), rows(y), rows(np.maximum(track.sd, 0.1)), shift)


def keep_sides(look: Array) -> None:
    """Swap left and right back, in place, in frames that show them the other way round than the film does.

    Parameters
    ----------
    look : ndarray, shape (n, m, 3)
        One net's looks.
    """
    left = [NAMES.index(f"left_{part}") for part in PAIRED]
    right = [NAMES.index(f"right_{part}") for part in PAIRED]
    trunk_parts = [PAIRED.index("shoulder"), PAIRED.index("hip")]
    width = np.mean(np.stack([look[:, left[k], 0] - look[:, right[k], 0] for k in trunk_parts]), axis=0)
    usual = np.nanmedian(width)
    swapped = np.nonzero((np.sign(width) != np.sign(usual)) & (np.abs(width) > 0.5 * np.abs(usual)))[0]
    if np.abs(usual) < 0.15 * trunk_of(look[..., :2]):
        return
    for i in swapped:
        look[i, left + right] = look[i, right + left]


def trunk_of(place: Array) -> float:
    """Return the median length of the trunk in pixels from places of shape (n, m, 2)."""

    def middle(part: str) -> Array:
        return (place[:, NAMES.index(f"left_{part}")] + place[:, NAMES.index(f"right_{part}")]) / 2

    return float(np.nanmedian(np.hypot(*(middle("hip") - middle("shoulder")).T)))


def _landmark_looks(sights: Sights) -> Array:
    columns = [LANDMARKS.index(name) for name in NAMES]
    return sights.marks[:, columns][:, :, [0, 1, 3]].copy()


def _finder_looks(sights: Sights) -> Array:
    """Return the finder's looks carried to every frame by a spline; NaN where it has none."""
    found = np.full((len(sights.t_s), len(NAMES), 3), np.nan)
    looked = np.nonzero(
        np.isfinite(sights.finder[:, 0, 0]) & (sights.finder[:, :, 2].mean(1) > LOWEST_SCORE)
    )[0]
    if len(looked) < 4:
        raise UnusableFilm(
            "no_person",
            "the athlete is in sight in too little of the film.",
            "Film side-on, whole body and bar, from 4 to 6 m away.",
        )
    inside = (sights.t_s >= sights.t_s[looked[0]]) & (sights.t_s <= sights.t_s[looked[-1]])
    before = np.clip(
        np.searchsorted(looked, np.arange(len(sights.t_s)), side="right") - 1, 0, len(looked) - 2
    )
    gap = sights.t_s[looked[before + 1]] - sights.t_s[looked[before]]
    inside &= gap <= LONGEST_GAP_S
    for source, name in enumerate(FINDER_JOINTS):
        if name in NAMES:
            curve = CubicSpline(sights.t_s[looked], sights.finder[looked, source])
            found[inside, NAMES.index(name)] = curve(sights.t_s[inside])
    return found


def _smoothed(t_s: Array, place: Array, sd: Array, trunk: float, shift: Array) -> Track:
    looks, n, m, _ = place.shape
    flat = place.reshape(looks, n, 2 * m)
    both = np.repeat(sd, 2, axis=2)
    result: Smoothed = smooth(t_s, flat, np.where(np.isfinite(flat), both, np.nan), JERK * trunk**2)

    def axis(values: Array, k: int) -> Array:
        return values.reshape(n, m, 2)[..., k]

    return Track(
        t_s,
        axis(result.place, 0),
        axis(result.place, 1),
        axis(result.place_sd, 1),
        axis(result.speed, 0),
        axis(result.speed, 1),
        axis(result.speed_sd, 1),
        trunk,
        shift,
    )
