"""Where the bar is, and the hang length, from the gripping hands over the hanging frames."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from overbar.errors import BadInput, UnusableFilm
from overbar.film.camera import HALF_GRIP_M, HALF_SHOULDERS_M, Camera
from overbar.film.hands import Strips, hand_ends
from overbar.film.reading import BarPoint
from overbar.film.track import Track
from overbar.film.view import Looking

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

GRIP_BEYOND_WRIST = 0.40
"""Grip beyond the wrist along the forearm, in forearm lengths (hand 0.11 m, forearm 0.27 m; own
measurement)."""
GRIP_BY_WRIST_SD = 0.08
"""One-sigma error of the grip so found, in L (own measurement on films with known truth)."""
HANG_PER_BODY, HANG_PER_BODY_SD = 0.455, 0.08
"""L as a share of trunk, thigh and shank together, and its one-sigma spread in L (own measurement, same
films)."""
HANDS_LOST, HANDS_LOST_FOR_SURE, WRISTS_DENY = 0.27, 0.35, 0.12
"""Hands that put the bar further than this from where the body's size does, in L, are not believed: where the
nets' wrists deny them too by the last of these, or whatever the wrists say (own judgement: the body's size
tells the bar to 0.08)."""
GRIP_BY_HAND_SD = 0.013
"""One-sigma error of the grip where the hand's upper end is seen, in L (own measurement on 125 side
views)."""
HAND_OVER_WRIST, TO_USUAL = (0.198, -0.023), 0.037
"""A hand whose end is seen close over the nets' wrist has been cut short by shade, bar or ground. The end is
set right by these shares of its height over the near and the far wrist, and so many trunk lengths (own
measurement on 125 side views of 105 bodies; bodies left out, two in three come within 0.013 L, 0.016 without
it)."""
HAND_ABOVE_WRIST = (0.05, 0.50)
"""A hand's end is believed this far above the nets' wrist, in trunk lengths (hand 0.11 m, wrist too low by
up to as much)."""
GRIP_IN_PULL_LOW, GRIP_IN_PULL_SD = 0.05, 0.045
"""How much too low the grip is told by the forearms of a pull, and its one-sigma spread, in L (own
measurement on 40 films with known truth)."""
PULLING_RISE, PULLING_ELBOW_DEG, PULLING_FOREARM = 0.35, 130.0, 0.15
"""Frames used for that: rise out of the hang in L, elbow bent under, wrist over the elbow in L (own
judgement)."""
FEWEST_PULLING = 3
SUPPORT_HEIGHT, SUPPORT_HEIGHT_SD = 0.965, 0.020
"""Shoulder height in a straight-armed support, in L, and its one-sigma spread: the wrist stands on the bar
instead of hanging from it, and the shoulders sink or are pushed down (own judgement, chosen
knowing that it is 0.976 in the rendered films)."""
SUPPORT_LEAST_S = 0.25
STRAIGHT_DEG = 145.0
"""Seen elbow angle from which an arm counts as straight while looking for the hang."""
HANG_SHARE = 0.93
"""A frame hangs when its shoulder is at least this share of the deepest one below the wrists."""
LEAST_RISE = 0.6
"""Rise of the shoulder in a film, in trunk lengths, from which its lowest frames can be a hang."""
BODY_FORWARD_DEG = 2.3
"""How far before plumb the mass centre of the seen joints lies in a hang, since the nets see the hips too far
forward (own measurement on 40 films with known truth)."""
MASS_SHARES = {"trunk": 0.50, "arm": 0.10, "thigh": 0.28, "shank": 0.12}
"""Body mass shares of trunk with head, both arms, both thighs, both shanks with feet (de Leva 1996,
rounded)."""
FEWEST_HANGING = 4
ENOUGH_STRIPS, GRIP_STAYS = 4, 0.25
"""With fewer strips than this from the hang the hands are looked at in every frame that shows them within so
many L of the same place (own judgement)."""
FEWEST_STRIPS = 3
MOST_STRIPS_USED = 9
SHARE_AGREEING = 0.5
LARGEST_SCATTER = 0.05
"""A hand's end must be told in this share of the strips, with a scatter under this (trunk lengths)."""
WAYS_APART = 0.15
"""Share of the distance between the two best ways to tell a hand's end that counts as uncertainty (own
judgement)."""
LEAST_WEIGHT = 0.12
"""A side of smaller weight is left out."""
HANG_PER_TRUNK = 1.35
"""L in trunk lengths, only to scale the error of the hands' ends."""
SHOULDER_SD = 0.02
"""One-sigma error of the shoulder in the hang, in L (own measurement on films with known truth)."""


@dataclass(frozen=True)
class Hang:
    """The straight hang of a film.

    Attributes
    ----------
    bar : BarPoint
        Where the bar is between the hands, in pixels.
    length_px, sd_px : float
        L and its one-sigma error in pixels.
    frames : ndarray of bool, shape (n,)
        The hanging frames it rests on.
    """

    bar: BarPoint
    length_px: float
    sd_px: float
    frames: Mask


def joined(track: Track, looking: Looking, part: str) -> Array:
    """Return the (n, 2) path of a pair of joints, the near side counting more in a side view."""
    near = track.at(f"{looking.near}_{part}")
    far = track.at(f"{'left' if looking.near == 'right' else 'right'}_{part}")
    return looking.near_weight * near + (1.0 - looking.near_weight) * far


def angle_deg(a: Array, b: Array, c: Array) -> Array:
    """Return the angle at b between a and c in degrees, for paths of shape (n, 2)."""
    u, v = a - b, c - b
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return np.degrees(np.abs(np.arctan2(cross, (u * v).sum(1))))


def find_hang(track: Track, looking: Looking, hands: Strips, camera: Camera) -> Hang:
    """Find the hanging frames, the bar and L.

    Raises
    ------
    UnusableFilm
        Nobody hangs from a bar with straight arms.
    """
    shoulder = joined(track, looking, "shoulder")
    elbow, wrist = joined(track, looking, "elbow"), joined(track, looking, "wrist")
    hanging = _hanging(track, shoulder, elbow, wrist)
    grip = wrist + GRIP_BEYOND_WRIST * (wrist - elbow)
    x, by_wrist = np.median(grip[hanging], axis=0)
    deepest = float(np.median(shoulder[hanging, 1]))
    scale = deepest - by_wrist
    gripping = _gripping(hands, hanging, shoulder, elbow, wrist, grip, by_wrist, scale)
    by_hand, hand_sd = _hand_height(hands, gripping, looking, track.trunk_px)
    hip, knee, ankle = (joined(track, looking, part) for part in ("hip", "knee", "ankle"))
    tall = np.hypot(*(shoulder - hip).T) + np.hypot(*(hip - knee).T) + np.hypot(*(knee - ankle).T)
    by_body = deepest - HANG_PER_BODY * float(np.median(tall[hanging]))
    # Hands grip wider than the shoulders; the bar is wanted at the depth of the near shoulder.
    wider = camera.rise_of(HALF_GRIP_M - HALF_SHOULDERS_M, scale) * looking.side_on
    by_hand += wider
    estimates = [(by_hand - _cut_short(track, looking, hanging, by_hand), hand_sd)]
    # What puts the bar far from where the body's size does has lost the hands.
    length = deepest - by_body
    lost = HANDS_LOST * length
    from_body, from_wrist = (abs(by_hand - other) for other in (by_body, by_wrist))
    denied = from_body > lost and from_wrist > WRISTS_DENY * length
    if not np.isfinite(hand_sd) or denied or from_body > HANDS_LOST_FOR_SURE * length:
        estimates = [(by_body, HANG_PER_BODY_SD * length)]
        if abs(by_wrist + wider - by_body) < lost:
            estimates.append((by_wrist + wider, GRIP_BY_WRIST_SD * scale))
        by_pull = _grip_in_pull(shoulder, elbow, wrist, deepest, length)
        if by_pull is not None:
            estimates.append((by_pull, GRIP_IN_PULL_SD * length))
    highest = _support(shoulder, elbow, wrist, hip, track.t_s, by_wrist, scale)
    if highest is not None:
        by_support = (highest + SUPPORT_HEIGHT * deepest) / (1 + SUPPORT_HEIGHT)
        estimates.append((by_support, SUPPORT_HEIGHT_SD * scale / (1 + SUPPORT_HEIGHT)))
    weights = np.array([1 / sd**2 for _, sd in estimates])
    y = float((weights * [place for place, _ in estimates]).sum() / weights.sum())
    bar_sd = float(1 / np.sqrt(weights.sum()))
    length = deepest - y
    sd = float(np.hypot(bar_sd, SHOULDER_SD * length))
    return Hang(BarPoint(float(x), y, bar_sd), length, sd, hanging)


def _cut_short(track: Track, looking: Looking, hanging: Mask, by_hand: float) -> float:
    """Return by how many pixels a hand's end lies too low, told by the wrists; none from the front."""
    far = "left" if looking.near == "right" else "right"
    over = [
        (by_hand - float(np.median(track.at(f"{side}_wrist")[hanging, 1]))) / track.trunk_px
        for side in (looking.near, far)
    ]
    return looking.side_on * track.trunk_px * (float(np.dot(HAND_OVER_WRIST, over)) + TO_USUAL)


def _gripping(
    hands: Strips,
    hanging: Mask,
    shoulder: Array,
    elbow: Array,
    wrist: Array,
    grip: Array,
    by_wrist: float,
    scale: float,
) -> Mask:
    """Return the frames whose hands may tell the bar: the hang, or, where that is short, the pulls too."""
    if hanging[hands.frame].sum() >= ENOUGH_STRIPS:
        return hanging
    raised = (wrist[:, 1] < elbow[:, 1]) & (wrist[:, 1] < shoulder[:, 1])
    return np.asarray(hanging | (raised & (np.abs(grip[:, 1] - by_wrist) < GRIP_STAYS * scale)))


def _grip_in_pull(shoulder: Array, elbow: Array, wrist: Array, deepest: float, length: float) -> float | None:
    """Return the height of the grip told by the forearms of a pull, in pixels, or None without one.

    Arms the nets lose overhead they often find again once the elbows are bent.
    """
    pulling = (
        (deepest - shoulder[:, 1] > PULLING_RISE * length)
        & (angle_deg(shoulder, elbow, wrist) < PULLING_ELBOW_DEG)
        & (elbow[:, 1] - wrist[:, 1] > PULLING_FOREARM * length)
    )
    if pulling.sum() < FEWEST_PULLING:
        return None
    grip = wrist[pulling, 1] - GRIP_BEYOND_WRIST * (elbow - wrist)[pulling, 1]
    return float(np.median(grip)) - GRIP_IN_PULL_LOW * length


def _support(
    shoulder: Array, elbow: Array, wrist: Array, hip: Array, t_s: Array, by_wrist: float, scale: float
) -> float | None:
    """Return the shoulder's place in a straight-armed support, in pixels, or None without one.

    The same straight arm carries the shoulder below the bar in the hang and above
    it in the support, so that both places together tell where the bar is.
    """
    high = (
        (by_wrist - shoulder[:, 1] > 0.7 * scale)
        & (shoulder[:, 1] < elbow[:, 1])
        & (elbow[:, 1] < wrist[:, 1])
    )
    # In a support the hips are at the bar or over it; in a high pull they hang below.
    high &= by_wrist - hip[:, 1] > -0.15 * scale
    if high.sum() < 3:
        return None
    top = float(np.percentile(shoulder[high, 1], 10))
    still = high & (shoulder[:, 1] < top + 0.06 * scale)
    straight = np.median(angle_deg(shoulder, elbow, wrist)[still]) > STRAIGHT_DEG
    lasts = still.sum() * float(np.median(np.diff(t_s))) >= SUPPORT_LEAST_S
    return float(np.median(shoulder[still, 1])) if straight and lasts else None


def hang_lean_deg(track: Track, looking: Looking) -> float | None:
    """Return how far a hanging body leans clockwise from plumb in the picture; None without a hang.

    A body that hangs has its mass under its hands.
    """
    shoulder, elbow, wrist = (joined(track, looking, part) for part in ("shoulder", "elbow", "wrist"))
    try:
        hanging = _hanging(track, shoulder, elbow, wrist)
    except UnusableFilm:
        return None
    hip, knee, ankle = (joined(track, looking, part) for part in ("hip", "knee", "ankle"))
    mass = (
        MASS_SHARES["trunk"] * (shoulder + hip) / 2
        + MASS_SHARES["arm"] * elbow
        + MASS_SHARES["thigh"] * (hip + knee) / 2
        + MASS_SHARES["shank"] * (knee + ankle) / 2
    )
    grip = wrist + GRIP_BEYOND_WRIST * (wrist - elbow)
    line = (grip - mass)[hanging]
    lean = float(np.median(np.degrees(np.arctan2(line[:, 0], -line[:, 1]))))
    return lean + BODY_FORWARD_DEG * looking.forward * looking.side_on


def hang_at(track: Track, looking: Looking, bar: BarPoint) -> Hang:
    """Return the hang of a film whose bar is known in its first picture, as after a correction by hand."""
    bar = BarPoint(*track.upright(bar.x_px, bar.y_px), bar.sd_px)
    shoulder = joined(track, looking, "shoulder")
    elbow, wrist = joined(track, looking, "elbow"), joined(track, looking, "wrist")
    hanging = _hanging(track, shoulder, elbow, wrist)
    length = float(np.median(shoulder[hanging, 1])) - bar.y_px
    if length <= 0:
        raise BadInput("the bar lies below the hanging shoulders", do="Put it between the gripping hands.")
    return Hang(bar, length, float(np.hypot(bar.sd_px, SHOULDER_SD * length)), hanging)


def _hanging(track: Track, shoulder: Array, elbow: Array, wrist: Array) -> Mask:
    straight = angle_deg(shoulder, elbow, wrist) > STRAIGHT_DEG
    above = (wrist[:, 1] < elbow[:, 1]) & (elbow[:, 1] < shoulder[:, 1])
    depth = shoulder[:, 1] - wrist[:, 1]
    candidates = straight & above & (depth > 0.7 * track.trunk_px)
    if candidates.sum() < FEWEST_HANGING:
        lowest = _lowest(track, shoulder, wrist)
        if lowest is not None:
            return lowest
        raise UnusableFilm(
            "no_bar_hang",
            "nobody hangs from a bar with straight arms in this film.",
            "Start the film before the first hang, with hands and bar in the picture.",
        )
    return np.asarray(candidates & (depth >= HANG_SHARE * np.percentile(depth[candidates], 95)))


def _lowest(track: Track, shoulder: Array, wrist: Array) -> Mask | None:
    """Return the frames the body is lowest, as a hang whose arms the nets have lost; None if it is none.

    The body must rise by more than half a trunk in the film, and in most of the
    lowest frames a hand must be seen over the shoulder.
    """
    low, high = np.percentile(shoulder[:, 1], [90, 2])
    lowest = np.asarray(shoulder[:, 1] > low - 0.12 * track.trunk_px)
    nose = track.at("nose")[:, 1]
    hands = np.minimum(track.at("left_wrist")[:, 1], track.at("right_wrist")[:, 1])
    raised = (hands < nose) | (wrist[:, 1] < shoulder[:, 1] - 0.3 * track.trunk_px)
    rises = low - high > LEAST_RISE * track.trunk_px
    enough = lowest.sum() >= FEWEST_HANGING and raised[lowest].mean() > 0.5
    return lowest if rises and enough else None


def _hand_height(hands: Strips, hanging: Mask, looking: Looking, trunk_px: float) -> tuple[float, float]:
    """Return the height of the hands' upper ends in the hang and its sd in pixels; infinite if not seen."""
    used = np.nonzero(hanging[np.minimum(hands.frame, len(hanging) - 1)])[0]
    used = used[np.unique(np.linspace(0, len(used) - 1, min(MOST_STRIPS_USED, len(used))).astype(int))]
    far = "left" if looking.near == "right" else "right"
    wanted = {looking.near: looking.near_weight, far: 1.0 - looking.near_weight}
    height, variance, total = 0.0, 0.0, 0.0
    for side, weight in wanted.items():
        if weight < LEAST_WEIGHT:
            continue
        arm = ("left", "right").index(side)
        middle, scatter = _end_of_arm(hands, used, arm, trunk_px)
        height += weight * middle
        variance += weight * (scatter**2 + (GRIP_BY_HAND_SD * HANG_PER_TRUNK * trunk_px) ** 2)
        total += weight
    return height / total, float(np.sqrt(variance / total))


def _end_of_arm(hands: Strips, used: NDArray[np.intp], arm: int, trunk_px: float) -> tuple[float, float]:
    """Return the median upper end of one hand and its scatter in pixels, by the best way that is steady."""
    by_way: tuple[list[float], list[float], list[float]] = ([], [], [])
    for i in used:
        _, top, size, wrist_row = hands.place[i, arm]
        for ends, row in zip(by_way, hand_ends(hands.pictures[i, arm], wrist_row), strict=True):
            if row is not None:
                rise = (wrist_row - row) * size / trunk_px
                if HAND_ABOVE_WRIST[0] <= rise <= HAND_ABOVE_WRIST[1]:
                    ends.append(top + row * size)
    steady: list[tuple[float, float]] = []
    for ends in by_way:
        if len(ends) >= max(FEWEST_STRIPS, SHARE_AGREEING * len(used)):
            middle = float(np.median(ends))
            scatter = 1.48 * float(np.median(np.abs(np.array(ends) - middle)))
            if scatter < LARGEST_SCATTER * trunk_px:
                steady.append((middle, scatter))
    if not steady:
        return 0.0, np.inf
    # The ways stand in the order of their worth; the next one only says how sure the first is.
    middle, scatter = steady[0]
    if len(steady) > 1:
        scatter = float(np.hypot(scatter, WAYS_APART * (steady[1][0] - middle)))
    return middle, scatter
