"""From a filmed motion to the force of the hands on the bar, and to the model's path beside it.

Comes in: plain arrays, joint positions in metres against the bar, x the way the
athlete faces, y up, with the time of each frame. The centre of mass follows from the
segment table; its acceleration is the hand force. All steps are linear in the
positions, so that the uncertainty of each force is carried through.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from overbar.errors import BadInput
from overbar.mechanics.segments import CHIN_ABOVE_SHOULDER_H, DE_LEVA, Body
from overbar.units import STANDARD_GRAVITY

JOINTS = ("wrist", "elbow", "shoulder", "hip", "knee", "ankle")

LEAST_FRAMES = 6
"""Frames a force needs."""

ACCELERATION_SD = 4.0
"""How large the acceleration of the centre of mass is on the bar, one sigma of each component in m/s^2
(measured on films with known force: 3.4; a try has more than a hang)."""

ACCELERATION_HOLDS_S = 0.1
"""How fast it changes: its correlation falls to 1/e within this time, about what activation needs
(chosen on the same films)."""

LEAST_CENTRE_SD_M = 0.002
"""Error of the centre of mass that remains with perfect joints, from its changing place in the segments."""

LOST_BELOW_BW = 0.35
"""Vertical hand force under which the bar is hardly pressed (own judgement)."""

TURN_OVER_L = (-0.10, 0.60)
"""Shoulder heights between which pressure on the bar matters most: the turn-over and the press."""


@dataclass(frozen=True)
class HandForce:
    """Force of the bar on the hands, both together.

    Attributes
    ----------
    t_s : ndarray
        Times in s.
    x_bw, y_bw : ndarray
        Forward and upward force in body weights.
    sd_bw : ndarray
        One-sigma uncertainty of each component.
    shoulder_L : ndarray
        Shoulder height over the bar in L at the same times.
    lost : tuple of (float, float, float)
        Spells of the turn-over with hardly any pressure: from, to (s), least force (body weights).
        On read films two in three of the true ones are found, all but one found are true
        (docs/body-model.md).
    """

    t_s: np.ndarray
    x_bw: np.ndarray
    y_bw: np.ndarray
    sd_bw: np.ndarray
    shoulder_L: np.ndarray
    lost: tuple[tuple[float, float, float], ...]

    @property
    def peak_bw(self) -> tuple[float, float]:
        """Largest resultant force and its one-sigma uncertainty."""
        resultant = np.hypot(self.x_bw, self.y_bw)
        at = int(np.nanargmax(resultant))
        return float(resultant[at]), float(self.sd_bw[at])

    def say(self) -> str:
        """Return in words where pressure on the bar is lost."""
        peak, sd = self.peak_bw
        opening = f"The hands carry {peak:.2f} (+- {sd:.2f}) body weights at most."
        if not self.lost:
            return f"{opening} The bar stays pressed through the turn-over."
        start, end, least = min(self.lost, key=lambda spell: spell[2])
        least_sd = float(np.interp(start, self.t_s, self.sd_bw))
        return (
            f"{opening} Pressure on the bar is lost in the turn-over from {start:.2f} to {end:.2f} s "
            f"(down to {max(least, 0.0):.1f} +- {least_sd:.1f} body weights)."
        )


@dataclass(frozen=True)
class Beside:
    """The athlete's path beside the model's, both in L, both timed from bar height.

    Attributes
    ----------
    t_s : ndarray
        Time from the moment the shoulder passes bar height (negative before).
    own, model : dict of str to ndarray
        Per joint, (n, 2) places in L.
    gap_L : dict of str to float
        Root mean square distance of the two paths of each joint.
    widest : tuple of (str, float, float)
        Joint, time and distance where they differ most.
    zero_s : float
        Time 0 of ``t_s`` on the film's own clock.
    """

    t_s: np.ndarray
    own: dict[str, np.ndarray]
    model: dict[str, np.ndarray]
    gap_L: dict[str, float]
    widest: tuple[str, float, float]
    zero_s: float


def centre_of_mass(joints: dict[str, np.ndarray], body: Body, sex: str = "m") -> np.ndarray:
    """Return the centre of mass of each frame, (n, 2), in m against the bar.

    Parameters
    ----------
    joints : dict of str to ndarray
        Mid of left and right of :data:`JOINTS`, each (n, 2) in m; ``chin`` may be there.
    body : Body
        Only for stature.
    sex : {"f", "m"}
        de Leva's column; any other value takes the mean of both.
    """
    return sum(share * joints[name] for name, share in _shares(joints, body, sex).items())  # type: ignore[return-value]


def hand_force(
    t_s: np.ndarray,
    joints: dict[str, np.ndarray],
    body: Body,
    *,
    sex: str = "unstated",
    joint_sd_m: float | dict[str, float] = 0.01,
    L_m: float | None = None,
) -> HandForce:
    """Return the hand force of a filmed motion by inverse dynamics.

    Parameters
    ----------
    t_s : ndarray
        Time of each frame in s, increasing; may be irregular.
    joints : dict of str to ndarray
        Mid of left and right, each (n, 2) in m against the bar: wrist, elbow,
        shoulder, hip, knee, ankle, and chin when seen.
    joint_sd_m : float or dict
        One-sigma uncertainty of a joint's position in m, of all or of each.
    L_m : float, optional
        Hang length; the body's own when not given.

    Raises
    ------
    BadInput
        Arrays that do not fit together, or too few frames.

    Notes
    -----
    F / (m g) = a / g + (0, 1). The acceleration a is the best linear estimate from the
    centre's places with their error, given how large accelerations on the bar are and how fast they
    change (:data:`ACCELERATION_SD`, :data:`ACCELERATION_HOLDS_S`): good joints keep
    short peaks, poor ones are smoothed more, and the uncertainty says so. Nothing but the bar may
    touch the athlete. Time grows with the cube of the frames; give one try, not a whole training.
    """
    t = np.asarray(t_s, float)
    _check(t, joints)
    shares = _shares(joints, body, sex)
    centre = sum(share * np.asarray(joints[name], float) for name, share in shares.items())
    sd = {
        name: joint_sd_m if isinstance(joint_sd_m, float) else joint_sd_m.get(name, 0.01) for name in shares
    }
    centre_sd = float(np.sqrt(sum((shares[name] * sd[name]) ** 2 for name in shares)))
    operator, spread = _acceleration_of(t, max(centre_sd, LEAST_CENTRE_SD_M))
    acceleration = operator @ centre
    reach = L_m if L_m is not None else body.hang_length_m
    height = np.asarray(joints["shoulder"], float)[:, 1] / reach
    up = acceleration[:, 1] / STANDARD_GRAVITY + 1
    return HandForce(
        t_s=t,
        x_bw=acceleration[:, 0] / STANDARD_GRAVITY,
        y_bw=up,
        sd_bw=spread / STANDARD_GRAVITY,
        shoulder_L=height,
        lost=_lost(t, up, height),
    )


def beside_model(
    t_s: np.ndarray, joints: dict[str, np.ndarray], L_m: float, figure: dict[str, Any], frames: int = 41
) -> Beside:
    """Lay the athlete's path beside the model's, aligned where the shoulder passes bar height.

    Parameters
    ----------
    joints : dict of str to ndarray
        As in :func:`hand_force`, of one attempt.
    figure : dict
        From :func:`overbar.mechanics.muscle_up.figure`, or the table's stored path.

    Raises
    ------
    BadInput
        An attempt whose shoulder never passes the bar is aligned at its highest point
        instead; an empty one is refused.
    """
    t = np.asarray(t_s, float)
    _check(t, joints)
    model_t = np.asarray(figure["t_s"], float)
    own_zero = _bar_height_time(t, np.asarray(joints["shoulder"], float)[:, 1])
    model_zero = _bar_height_time(model_t, np.asarray(figure["shoulder"], float)[:, 1])
    start = max(t[0] - own_zero, model_t[0] - model_zero)
    end = min(t[-1] - own_zero, model_t[-1] - model_zero)
    grid = np.linspace(start, end, frames)
    own, model = {}, {}
    for name in JOINTS[1:]:
        own[name] = _onto(grid + own_zero, t, np.asarray(joints[name], float) / L_m)
        model[name] = _onto(grid + model_zero, model_t, np.asarray(figure[name], float))
    gaps = {name: np.hypot(*(own[name] - model[name]).T) for name in own}
    joint = max(gaps, key=lambda name: float(gaps[name].max()))
    at = int(np.argmax(gaps[joint]))
    return Beside(
        t_s=grid,
        own=own,
        model=model,
        gap_L={name: float(np.sqrt(np.mean(gap**2))) for name, gap in gaps.items()},
        widest=(joint, float(grid[at]), float(gaps[joint][at])),
        zero_s=own_zero,
    )


def _shares(joints: dict[str, np.ndarray], body: Body, sex: str) -> dict[str, float]:
    """Return the weight of each joint's position in the centre of mass (they sum to 1)."""
    if sex not in DE_LEVA:
        one, other = (_shares(joints, body, key) for key in DE_LEVA)
        return {name: (one[name] + other[name]) / 2 for name in one}
    part = DE_LEVA[sex]
    weight = dict.fromkeys(JOINTS, 0.0)

    def put(first: str, second: str, place: float, mass: float) -> None:
        weight[first] += (1 - place) * mass
        weight[second] += place * mass

    put("shoulder", "elbow", part["upper_arm"].centre, 2 * part["upper_arm"].mass)
    put("elbow", "wrist", part["forearm"].centre, 2 * part["forearm"].mass)
    # The hand hardly moves against the bar; it is taken to be at the wrist.
    put("wrist", "wrist", 0.0, 2 * part["hand"].mass)
    put("shoulder", "hip", part["trunk"].centre, part["trunk"].mass)
    put("hip", "knee", part["thigh"].centre, 2 * part["thigh"].mass)
    put("knee", "ankle", part["shank"].centre, 2 * part["shank"].mass)
    put("knee", "ankle", 1.1, 2 * part["foot"].mass)
    head = part["head"].mass
    if "chin" in joints:
        weight["chin"] = head
    else:
        trunk_H = part["trunk"].length_H
        put("shoulder", "hip", -(CHIN_ABOVE_SHOULDER_H + 0.05) / trunk_H, head)
    whole = sum(weight.values())
    return {name: share / whole for name, share in weight.items()}


def _acceleration_of(t: np.ndarray, place_sd_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the matrix that turns places into accelerations, and one sigma of the latter in m/s^2.

    Notes
    -----
    Between frames the acceleration runs straight; place, speed and mean acceleration are
    free. With places x = D b + X a + e, a of covariance S and e of ``place_sd_m``, the estimate
    is the free acceleration and S X' C^-1 (x - D b), with C = X S X' + place_sd_m^2 and b by
    least squares in C.
    """
    n, step = len(t), np.diff(t)
    speed, place = np.zeros((n, n)), np.zeros((n, n))
    for i, h in enumerate(step, start=1):
        speed[i], place[i] = speed[i - 1], place[i - 1] + h * speed[i - 1]
        speed[i, [i - 1, i]] += h / 2
        place[i, i - 1] += h * h / 3
        place[i, i] += h * h / 6
    S = ACCELERATION_SD**2 * np.exp(-np.abs(t[:, None] - t) / ACCELERATION_HOLDS_S)
    free = np.vander((t - t[0]) / (t[-1] - t[0]), 3, increasing=True)
    through = S @ place.T
    inverse = np.linalg.inv(place @ through + place_sd_m**2 * np.eye(n))
    seen = inverse @ free
    steady = np.linalg.solve(free.T @ seen, seen.T)
    inverse -= seen @ steady
    constant = 2 / (t[-1] - t[0]) ** 2 * steady[2]
    operator = through @ inverse + constant
    left = np.diag(S) - np.sum((through @ inverse) * through, axis=1)
    return operator, np.sqrt(np.maximum(left, 0.0))


def _lost(t: np.ndarray, up: np.ndarray, height: np.ndarray) -> tuple[tuple[float, float, float], ...]:
    """Return spells of little pressure on the way up through the turn-over."""
    top = int(np.argmax(height))
    low, high = TURN_OVER_L
    weak = (up < LOST_BELOW_BW) & (height > low) & (height < high)
    weak[top + 1 :] = False
    spells, start = [], None
    for i, is_weak in enumerate([*weak, False]):
        if is_weak and start is None:
            start = i
        elif not is_weak and start is not None:
            spells.append((float(t[start]), float(t[i - 1]), float(up[start:i].min())))
            start = None
    return tuple(spells)


def _bar_height_time(t: np.ndarray, height: np.ndarray) -> float:
    """Return when a height first passes 0 going up, or the time of its highest point."""
    above = np.flatnonzero((height[1:] >= 0) & (height[:-1] < 0))
    if not len(above):
        return float(t[int(np.argmax(height))])
    i = int(above[0])
    share = -height[i] / (height[i + 1] - height[i])
    return float(t[i] + share * (t[i + 1] - t[i]))


def _onto(grid: np.ndarray, t: np.ndarray, path: np.ndarray) -> np.ndarray:
    return np.column_stack([np.interp(grid, t, path[:, k]) for k in (0, 1)])


def _check(t: np.ndarray, joints: dict[str, np.ndarray]) -> None:
    if len(t) < LEAST_FRAMES or np.any(np.diff(t) <= 0):
        raise BadInput(
            f"{len(t)} frames with these times cannot give a force",
            do=f"Give at least {LEAST_FRAMES} frames in order of time.",
        )
    for name in JOINTS:
        if name not in joints:
            raise BadInput(f"the {name} is missing from the filmed joints")
        if np.shape(joints[name]) != (len(t), 2):
            raise BadInput(
                f"the {name} has shape {np.shape(joints[name])}, wanted ({len(t)}, 2)",
                do="Give one x and y for each frame.",
            )
