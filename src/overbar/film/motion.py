"""The motion in the bar's frame: heights and places in L, speeds, joint angles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overbar.film.bar import Hang, angle_deg, joined, shoulder_centre
from overbar.film.camera import HALF_SHOULDERS_M, HANG_LENGTH_PER_STATURE, HANG_LENGTH_SPREAD, Camera
from overbar.film.track import NAMES, Track
from overbar.film.view import Looking

Array = NDArray[np.float64]

CHIN_BELOW_NOSE = 0.115
"""The nets know no chin. Where it passes the bar it lies this far below the nose point, L (0.08 m), however
the head is held: a head thrown back lifts both. Fitted to 59 films of as many bodies and views with known
truth; on 31 others, on which this form was chosen among four, median 0.025, 80 % 0.050, 95 % 0.14 L."""
CHIN_SD = 0.035
"""One-sigma error of that, L."""
SHOULDER_SD = 0.012
"""One-sigma error of the shoulder point against the joint centre as the arm moves, L (own measurement)."""
MASS_SHARES = {"trunk": 0.50, "arm": 0.10, "thigh": 0.28, "shank": 0.12}
"""Body mass shares of trunk with head, both arms, both thighs, both shanks with feet (de Leva 1996,
rounded)."""


@dataclass(frozen=True)
class Motion:
    """Each frame of the film, in L and degrees; arrays of shape (n,).

    Attributes
    ----------
    t_s : ndarray
        Time in s.
    shoulder, shoulder_sd : ndarray
        Height of the mid-shoulder and its one-sigma error, L.
    rise : ndarray
        Rise speed of the mid-shoulder, L/s, and ``rise_sd``.
    chin, chin_sd : ndarray
        Height of the chin, L.
    shoulder_x, hip_x, foot_x, ear_x, body_x : ndarray
        Place before (+) or behind (-) the bar, L; ``body_x`` is the mass centre.
    foot_height : ndarray
        Height of the ankles, L.
    elbow_deg, hip_deg, knee_deg : ndarray
        Joint angles, 180 = straight, joined over the sides.
    left_elbow, right_elbow : ndarray
        Height of each elbow over the bar, L.
    elbow_up : ndarray
        Height of the elbows above their wrists, L.
    trunk_lean_deg : ndarray
        Trunk from plumb, forward positive, degrees.
    tilt_deg : ndarray
        Slope of the shoulder line in the picture, left shoulder up positive, degrees.
    reach : ndarray
        Distance of the shoulder from the bar, L.
    hand_off : ndarray
        Distance of the hands from where they grip, L.
    length_m, length_sd_m : float
        L in m and its one-sigma error.
    """

    t_s: Array
    shoulder: Array
    shoulder_sd: Array
    rise: Array
    rise_sd: Array
    chin: Array
    chin_sd: Array
    shoulder_x: Array
    hip_x: Array
    foot_x: Array
    foot_height: Array
    ear_x: Array
    body_x: Array
    elbow_deg: Array
    hip_deg: Array
    knee_deg: Array
    left_elbow: Array
    right_elbow: Array
    elbow_up: Array
    trunk_lean_deg: Array
    tilt_deg: Array
    reach: Array
    hand_off: Array
    length_m: float
    length_sd_m: float


def in_bar_frame(track: Track, looking: Looking, hang: Hang, camera: Camera) -> Motion:
    """Express a track in the bar's frame."""
    origin = np.array([hang.bar.x_px, hang.bar.y_px])
    flip = np.array([looking.forward / looking.foreshortening, -1.0])

    def place(path: Array) -> Array:
        return (path - origin) * flip / hang.length_px

    def pair(part: str) -> Array:
        return place(joined(track, looking, part))

    shoulder = place(shoulder_centre(track, looking))
    elbow, wrist, hip = (pair(part) for part in ("elbow", "wrist", "hip"))
    knee, ankle, ear = (pair(part) for part in ("knee", "ankle", "ear"))
    nose = place(track.at("nose"))
    # The head lies in the middle plane, the bar was found at the near shoulder's depth.
    near_shoulder_up = camera.rise_of(HALF_SHOULDERS_M, hang.length_px) * looking.side_on / hang.length_px
    chin = nose[:, 1] - CHIN_BELOW_NOSE + near_shoulder_up
    left = {part: place(track.at(f"left_{part}")) for part in ("shoulder", "elbow")}
    right = {part: place(track.at(f"right_{part}")) for part in ("shoulder", "elbow")}
    trunk = (shoulder + hip) / 2
    body = (
        MASS_SHARES["trunk"] * trunk
        + MASS_SHARES["arm"] * elbow
        + MASS_SHARES["thigh"] * (hip + knee) / 2
        + MASS_SHARES["shank"] * (knee + ankle) / 2
    )
    columns = [i for i, name in enumerate(NAMES) if name.endswith("shoulder")]
    seen_sd = track.sd[:, columns].mean(1) / hang.length_px
    # A bar placed too low by one part in a hundred of L reads a height of +1 L two parts too high.
    by_bar = hang.bar.sd_px / hang.length_px * np.abs(1 + shoulder[:, 1])
    height_sd = np.sqrt(seen_sd**2 + by_bar**2 + SHOULDER_SD**2)
    speed = (
        looking.near_weight * track.vy[:, NAMES.index(f"{looking.near}_shoulder")]
        + (1 - looking.near_weight)
        * track.vy[:, NAMES.index(f"{'left' if looking.near == 'right' else 'right'}_shoulder")]
    )
    return Motion(
        t_s=track.t_s,
        shoulder=shoulder[:, 1],
        shoulder_sd=height_sd,
        rise=-speed / hang.length_px,
        rise_sd=track.v_sd[:, columns].mean(1) / hang.length_px,
        chin=chin,
        chin_sd=np.hypot(height_sd, CHIN_SD),
        shoulder_x=shoulder[:, 0],
        hip_x=hip[:, 0],
        foot_x=ankle[:, 0],
        foot_height=ankle[:, 1],
        ear_x=ear[:, 0],
        body_x=body[:, 0],
        elbow_deg=angle_deg(shoulder, elbow, wrist),
        hip_deg=_signed_hip(shoulder, hip, knee)
        if looking.shows_depth_plane
        else angle_deg(shoulder, hip, knee),
        knee_deg=angle_deg(hip, knee, ankle),
        left_elbow=left["elbow"][:, 1],
        right_elbow=right["elbow"][:, 1],
        elbow_up=elbow[:, 1] - wrist[:, 1],
        trunk_lean_deg=np.degrees(np.arctan2(shoulder[:, 0] - hip[:, 0], shoulder[:, 1] - hip[:, 1])),
        tilt_deg=_slope_deg(left["shoulder"] - right["shoulder"]),
        reach=np.hypot(shoulder[:, 0], shoulder[:, 1]),
        # Along the bar the hands lie apart, which an oblique view does not shorten.
        hand_off=np.hypot(wrist[:, 0] * looking.foreshortening, wrist[:, 1]),
        length_m=camera.hang_length_m,
        length_sd_m=HANG_LENGTH_SPREAD / HANG_LENGTH_PER_STATURE * camera.hang_length_m,
    )


def _slope_deg(across: Array) -> Array:
    return np.asarray(np.degrees(np.arctan2(across[:, 1], np.abs(across[:, 0]))))


def _signed_hip(shoulder: Array, hip: Array, knee: Array) -> Array:
    """Return the hip angle in degrees, past 180 when arched."""
    trunk = np.arctan2(shoulder[:, 0] - hip[:, 0], shoulder[:, 1] - hip[:, 1])
    thigh = np.arctan2(knee[:, 0] - hip[:, 0], hip[:, 1] - knee[:, 1])
    return 180.0 - np.degrees(trunk + thigh)
