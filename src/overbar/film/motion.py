"""The motion in the bar's frame: heights and places in L, speeds, joint angles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overbar.film.bar import GRIP_BEYOND_WRIST, MASS_SHARES, Hang, angle_deg, joined
from overbar.film.camera import Camera
from overbar.film.chin import Place, chin_height
from overbar.film.reading import Calibration
from overbar.film.track import NAMES, Track
from overbar.film.view import Looking

Array = NDArray[np.float64]

SHOULDER_SD = 0.012
"""One-sigma error of the shoulder point against the joint centre as the arm moves, L (own measurement)."""
BEHIND_AT_BAR = 0.35
"""Shoulders behind the bar as they pass it, L (a clean pull passes 0.2 to 0.3 m behind the bar, own
judgement): only where the view hides it."""
VIEW_LOW_L, VIEW_LOW_FROM_L = {"oblique": 0.027, "rear": 0.035}, 0.6
"""How much too low these views read a shoulder this far out of the hang, L (own measurement: 24 and 18 films
of as many bodies; the spread between them, 0.02 to 0.04, is in the sd)."""
BAR_ANEW = 0.6
"""Share of the bar's error that comes anew with each film; a calibration has taken out the rest: how thick
this athlete's hands look over the bar (own judgement)."""

UPPER_ARM = 0.44
"""Share of the upper arm in L: 0.30 m of 0.68 m (ANSUR II shoulder-elbow 0.207 and elbow-grip 0.198 of
stature give 0.51 from the acromion; the joint centre lies 5 cm lower)."""
ELBOW_SLACK_DEG = 25.0
"""An elbow seen this much more bent than the shoulder's distance from the bar allows is misread: nets lose
arms overhead (own judgement)."""


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
    shoulder_x, hip_x, knee_x, foot_x, ear_x, body_x : ndarray
        Place before (+) or behind (-) the bar, L; ``body_x`` is the mass centre.
    foot_height : ndarray
        Height of the ankles, L.
    elbow_deg, hip_deg, knee_deg : ndarray
        Joint angles, 180 = straight, joined over the sides.
    shoulder_deg : ndarray
        Angle between upper arm and trunk in the plane of the swing, 180 = straight overhead, and so it
        stays where an arch takes the arm behind the trunk's line: no arm that opens counts as closing.
    left_elbow, right_elbow : ndarray
        Height of each elbow over the bar, L.
    elbow_up : ndarray
        Height of the elbows above their wrists, L.
    trunk_lean_deg : ndarray
        Trunk from plumb, forward positive, degrees.
    tilt_deg : ndarray
        Slope of the shoulder line in the picture, left shoulder up positive, degrees.
    shoulder_gap : ndarray
        Height of the left shoulder over the right one, L.
    head_up : ndarray
        Height of the ears over the shoulders as the nets mark them, L.
    hands_apart : ndarray
        Distance between the hands across the picture, L.
    reach : ndarray
        Distance of the shoulder from the bar, L.
    hand_off : ndarray
        Distance of the hands from where they grip, L.
    length_m, length_sd_m : float
        L in m and its one-sigma error.
    by_nets : bool
        Whether the joints are the nets', whose known errors the measures take out.
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
    knee_x: Array
    foot_x: Array
    foot_height: Array
    ear_x: Array
    body_x: Array
    elbow_deg: Array
    hip_deg: Array
    knee_deg: Array
    shoulder_deg: Array
    left_elbow: Array
    right_elbow: Array
    elbow_up: Array
    trunk_lean_deg: Array
    tilt_deg: Array
    shoulder_gap: Array
    head_up: Array
    hands_apart: Array
    reach: Array
    hand_off: Array
    length_m: float
    length_sd_m: float
    by_nets: bool = True


def bar_frame(track: Track, looking: Looking, hang: Hang) -> Place:
    """Return what gives a joint's path in the bar's frame: forward and up, in L."""
    place = _placed(looking, hang)
    return lambda joint: place(track.at(joint))


def _placed(looking: Looking, hang: Hang) -> Callable[[Array], Array]:
    origin = np.array([hang.bar.x_px, hang.bar.y_px])
    flip = np.array([looking.forward / looking.foreshortening, -1.0])
    return lambda path: np.asarray((path - origin) * flip / hang.length_px)


def in_bar_frame(
    track: Track, looking: Looking, hang: Hang, camera: Camera, calibration: Calibration | None = None
) -> Motion:
    """Express a track in the bar's frame, with the athlete's own calibration taken out of the heights."""
    at, place = bar_frame(track, looking, hang), _placed(looking, hang)

    def pair(part: str) -> Array:
        return place(joined(track, looking, part))

    shoulder, elbow, wrist, hip = (pair(part) for part in ("shoulder", "elbow", "wrist", "hip"))
    knee, ankle, ear = (pair(part) for part in ("knee", "ankle", "ear"))
    if looking.towards:
        shoulder = _at_bar_depth(shoulder, looking, camera, hang)
    low = VIEW_LOW_L.get(looking.view.kind, 0.0) * np.clip((1.0 + shoulder[:, 1]) / VIEW_LOW_FROM_L, 0.0, 1.0)
    shoulder = shoulder + np.stack([np.zeros_like(low), low], 1)
    chin, chin_sd = chin_height(at, shoulder[:, 1], looking)
    left = {part: at(f"left_{part}") for part in ("shoulder", "elbow")}
    right = {part: at(f"right_{part}") for part in ("shoulder", "elbow")}
    hands = [
        at(f"{side}_wrist") + GRIP_BEYOND_WRIST * (at(f"{side}_wrist") - at(f"{side}_elbow"))
        for side in ("left", "right")
    ]
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
    own_sd: Array = np.full_like(seen_sd, SHOULDER_SD)
    if calibration is not None:
        too_high, own_sd = _offset(calibration, shoulder[:, 1])
        shoulder = shoulder - np.stack([np.zeros_like(too_high), too_high], 1)
        by_bar = by_bar * BAR_ANEW
    height_sd = np.sqrt(seen_sd**2 + by_bar**2 + own_sd**2)
    speed = (
        looking.near_weight * track.vy[:, NAMES.index(f"{looking.near}_shoulder")]
        + (1 - looking.near_weight)
        * track.vy[:, NAMES.index(f"{'left' if looking.near == 'right' else 'right'}_shoulder")]
    )
    reach = np.hypot(shoulder[:, 0], shoulder[:, 1])
    return Motion(
        t_s=track.t_s,
        shoulder=shoulder[:, 1],
        shoulder_sd=height_sd,
        rise=-speed / hang.length_px,
        rise_sd=track.v_sd[:, columns].mean(1) / hang.length_px,
        chin=chin,
        chin_sd=np.hypot(height_sd, chin_sd),
        shoulder_x=shoulder[:, 0],
        hip_x=hip[:, 0],
        knee_x=knee[:, 0],
        foot_x=ankle[:, 0],
        foot_height=ankle[:, 1],
        ear_x=ear[:, 0],
        body_x=body[:, 0],
        elbow_deg=np.maximum(angle_deg(shoulder, elbow, wrist), elbow_of_reach(reach) - ELBOW_SLACK_DEG),
        hip_deg=_signed_hip(shoulder, hip, knee)
        if looking.shows_depth_plane
        else angle_deg(shoulder, hip, knee),
        knee_deg=angle_deg(hip, knee, ankle),
        shoulder_deg=shoulder_angle(shoulder, elbow, wrist, hip),
        left_elbow=left["elbow"][:, 1],
        right_elbow=right["elbow"][:, 1],
        elbow_up=elbow[:, 1] - wrist[:, 1],
        trunk_lean_deg=np.degrees(np.arctan2(shoulder[:, 0] - hip[:, 0], shoulder[:, 1] - hip[:, 1])),
        tilt_deg=_slope_deg(left["shoulder"] - right["shoulder"]),
        shoulder_gap=left["shoulder"][:, 1] - right["shoulder"][:, 1],
        head_up=ear[:, 1] - pair("shoulder")[:, 1],
        hands_apart=np.abs(hands[0][:, 0] - hands[1][:, 0]),
        reach=reach,
        # Along the bar the hands lie apart, which an oblique view does not shorten.
        hand_off=np.hypot(wrist[:, 0] * looking.foreshortening, wrist[:, 1]),
        length_m=camera.hang_length_m,
        length_sd_m=camera.hang_length_sd_m,
    )


def _offset(calibration: Calibration, height: Array) -> tuple[Array, Array]:
    """Return how much too high each height reads, and its one-sigma error, in L.

    In the hang a height is -1 by definition: the offset grows from there to the lowest hold.
    """
    at = [-1.0, *(one.read_L for one in calibration.holds)]
    too_high = [0.0, *(one.too_high_L.value for one in calibration.holds)]
    sd = [SHOULDER_SD, *(one.too_high_L.sd for one in calibration.holds)]
    return np.interp(height, at, too_high), np.interp(height, at, sd)


def _at_bar_depth(shoulder: Array, looking: Looking, camera: Camera, hang: Hang) -> Array:
    """Return shoulders as high as they would be seen at the bar's depth.

    From the front or back a body behind the bar is seen lower or higher than it is, by a
    camera under the bar. How far behind it is, an oblique view shows; where the view hides
    it, the usual path is taken.
    """
    usual = -BEHIND_AT_BAR * np.clip(1.0 - np.abs(shoulder[:, 1]), 0.0, 1.0)
    x = shoulder[:, 0] if looking.shows_depth_plane else usual
    rise = camera.rise_per_forward(shoulder[:, 1], hang.length_px) * x * looking.towards
    return np.asarray(shoulder - np.stack([np.zeros_like(rise), rise], 1))


def elbow_of_reach(reach: Array | float) -> Array:
    """Return the elbow angle in degrees at which the shoulder is this far from the bar, in L.

    Where the arm is nearly straight the distance tells the angle better than the
    seen joints do: upper arm and forearm with hand share L as UPPER_ARM to the rest.
    """
    lower = 1.0 - UPPER_ARM
    cosine = (UPPER_ARM**2 + lower**2 - np.minimum(reach, 1.0) ** 2) / (2 * UPPER_ARM * lower)
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def shoulder_angle(shoulder: Array, elbow: Array, wrist: Array, hip: Array) -> Array:
    """Return the angle between upper arm and trunk in degrees, at most 180, for paths in the bar's frame.

    Where the nets have lost an arm overhead the line to the bar stands for it.
    """
    lost = angle_deg(shoulder, elbow, wrist) < elbow_of_reach(np.hypot(*shoulder.T)) - ELBOW_SLACK_DEG
    arm = np.where(lost[:, None], 0.0, elbow) - shoulder
    trunk = hip - shoulder
    turned = np.arctan2(trunk[:, 0], trunk[:, 1]) - np.arctan2(arm[:, 0], arm[:, 1])
    forward = (np.degrees(turned) + 180.0) % 360.0 - 180.0
    return np.asarray(np.where(forward < -90.0, 180.0, np.abs(forward)))


def _slope_deg(across: Array) -> Array:
    return np.asarray(np.degrees(np.arctan2(across[:, 1], np.abs(across[:, 0]))))


def _signed_hip(shoulder: Array, hip: Array, knee: Array) -> Array:
    """Return the hip angle in degrees, past 180 when arched."""
    trunk = np.arctan2(shoulder[:, 0] - hip[:, 0], shoulder[:, 1] - hip[:, 1])
    thigh = np.arctan2(knee[:, 0] - hip[:, 0], hip[:, 1] - knee[:, 1])
    return 180.0 - np.degrees(trunk + thigh)
