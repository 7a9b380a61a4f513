"""Equations of motion of the body hinged at the grip, and what one instant shows.

Five absolute segment angles ``q`` (rad) from the bar outwards; segment i points
along (sin q, -cos q), so that 0 hangs straight down. x is the way the athlete
faces, y is up, the bar is at (0, 0). Straight-arm support above the bar is
q1 = q2 = -pi, q3 about 0. Everything is per kilogram of body mass.

Inverse form: ``M(q) a + h(q, v) = tau``, which stays valid at any load and costs no
matrix inversion inside the optimal control problem.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import casadi as ca
import numpy as np

from overbar.mechanics.joint_torque import ACTUATORS, KNEE_TORQUE, Muscles, speed_curve
from overbar.mechanics.segments import CHIN_ABOVE_SHOULDER_H, Body
from overbar.units import STANDARD_GRAVITY

SEGMENTS = 5
CONTROLS = (*ACTUATORS, "knee", "hand")
"""Activations: six one-way actuators (0 to 1), then knee and hand both ways (-1 to 1)."""

AT_HIPS = 1.0
"""Where a belt hangs its load, along the trunk from the shoulder."""

AT_CHEST = 0.35
"""Where a loaded vest sits, along the trunk from the shoulder (own judgement)."""

GEOMETRY = tuple(f"{what}{i}" for what in ("length", "centre", "mass", "inertia") for i in range(1, 6))
SHAPE = tuple(f"{what}_{name}" for name in ACTUATORS for what in ("torque", "best", "width", "speed"))
PARAMETERS = (*GEOMETRY, "stature", "load_place", *SHAPE, "hand_torque", "steepness", "push")
"""Names of the parameter vector, in order."""

BODY_DISCS: tuple[tuple[str, float, float], ...] = (
    ("trunk", -0.17, 0.045),
    ("trunk", 0.0, 0.055),
    ("trunk", 0.2, 0.06),
    ("trunk", 0.4, 0.06),
    ("trunk", 0.6, 0.06),
    ("trunk", 0.8, 0.057),
    ("trunk", 1.0, 0.055),
    ("thigh", 0.2, 0.042),
    ("thigh", 0.4, 0.042),
    ("thigh", 0.6, 0.042),
    ("thigh", 0.8, 0.042),
    ("thigh", 1.0, 0.042),
    ("shank", 0.25, 0.03),
    ("shank", 0.5, 0.03),
    ("shank", 0.75, 0.03),
    ("shank", 1.0, 0.03),
)
"""Discs the bar may not enter: segment, place along it, radius as a fraction of stature. Half the chest
depth (ANSUR II 253.8 mm of 1756 mm, .072) less soft tissue that gives; own judgement."""

HEAD_DISC = (-0.11, 0.02, 0.048)
"""The head: along the trunk, across it and radius, as fractions of stature (own judgement)."""

SHOWN = (
    "elbow",
    "shoulder",
    "hip",
    "knee",
    "elbow_speed",
    "hip_speed",
    "centre_x",
    "centre_y",
    "shoulder_x",
    "shoulder_y",
    "chin_y",
    "swing",
    "force_x",
    "force_y",
    "force_squared",
    "centre_speed_x",
    "centre_speed_y",
    "shoulder_speed_y",
    "clear_head",
    *(f"clear_{i}" for i in range(len(BODY_DISCS))),
)
"""What one instant shows: joint angles (rad, flexion positive), speeds, places (m), the hand force in
body weights of body and load, and how far the bar is outside each disc (scaled)."""


@dataclass(frozen=True)
class Equations:
    """Compiled functions of one instant.

    Attributes
    ----------
    instant : casadi.Function
        (q, v, a, u, p, strength, load, swing) -> residual (5), shown (len(SHOWN)).
    parts : casadi.Function
        (q, v, u, p, strength, load) -> mass matrix, bias h, generalized torques,
        kinetic and potential energy.
    places : casadi.Function
        (q, p) -> 2 x 6 places: bar, elbow, shoulder, hip, knee, ankle.
    """

    instant: Any
    parts: Any
    places: Any


def parameters(body: Body, muscles: Muscles, load_place: float = AT_HIPS) -> np.ndarray:
    """Return the parameter vector of a body and its muscles, in the order of :data:`PARAMETERS`."""
    shape: list[float] = []
    for name in ACTUATORS:
        actuator = muscles.actuators[name]
        shape += [actuator.torque, actuator.best_rad, actuator.width_rad, actuator.speed_rad_s]
    return np.array(
        [
            *body.length_m,
            *body.centre_m,
            *body.mass,
            *body.inertia,
            body.stature_m,
            load_place,
            *shape,
            muscles.hand_torque,
            muscles.steepness,
            muscles.push,
        ]
    )


@cache
def equations() -> Equations:
    """Build the equations of motion once.

    Notes
    -----
    Lagrange's equations of a hinged chain in absolute angles: with
    c_ij = L_i (m_j d_j + L_j sum of masses beyond j) for i < j,
    M_ij = c_ij cos(q_i - q_j), h_i = sum_j c_ij sin(q_i - q_j) v_j^2 + g e_i sin q_i.
    """
    n = SEGMENTS
    q, v, a = (ca.SX.sym(name, n) for name in ("q", "v", "a"))
    u = ca.SX.sym("u", len(CONTROLS))
    p = ca.SX.sym("p", len(PARAMETERS))
    strength, load, swing = (ca.SX.sym(name) for name in ("strength", "load", "swing"))
    at = {name: p[i] for i, name in enumerate(PARAMETERS)}
    length = [at[f"length{i}"] for i in range(1, n + 1)]
    stature = at["stature"]
    mass, centre, inertia = _loaded(at, load)
    total = sum(mass)

    lever = [mass[i] * centre[i] + sum(mass[i + 1 :]) * length[i] for i in range(n)]
    M, h = ca.SX(n, n), ca.SX.zeros(n)
    for i in range(n):
        M[i, i] = inertia[i] + mass[i] * centre[i] ** 2 + sum(mass[i + 1 :]) * length[i] ** 2
        h[i] += lever[i] * STANDARD_GRAVITY * ca.sin(q[i])
        for j in range(n):
            if i == j:
                continue
            coupling = length[min(i, j)] * lever[max(i, j)]
            M[i, j] = coupling * ca.cos(q[i] - q[j])
            h[i] += coupling * ca.sin(q[i] - q[j]) * v[j] ** 2

    elbow, elbow_speed = q[0] - q[1], v[0] - v[1]
    shoulder, shoulder_speed = q[1] + math.pi - q[2], v[1] - v[2]
    hip, hip_speed = q[3] - q[2], v[3] - v[2]
    knee = q[3] - q[4]
    tau = _torques(at, u, strength, (elbow, elbow_speed), (shoulder, shoulder_speed), (hip, hip_speed))

    def along(angle: Any) -> Any:
        return ca.vertcat(ca.sin(angle), -ca.cos(angle))

    def across(angle: Any) -> Any:
        return ca.vertcat(ca.cos(angle), ca.sin(angle))

    places = [ca.SX.zeros(2)]
    for i in range(n):
        places.append(places[-1] + length[i] * along(q[i]))
    mid = sum((mass[i] * (places[i] + centre[i] * along(q[i])) for i in range(n)), ca.SX.zeros(2)) / total
    mid_speed = sum((lever[i] * across(q[i]) * v[i] for i in range(n)), ca.SX.zeros(2)) / total
    mid_acc = (
        sum((lever[i] * (across(q[i]) * a[i] - along(q[i]) * v[i] ** 2) for i in range(n)), ca.SX.zeros(2))
        / total
    )
    force = (mid_acc + ca.vertcat(0, STANDARD_GRAVITY)) / STANDARD_GRAVITY
    at_shoulder = places[2]
    shoulder_up = ca.sin(q[0]) * length[0] * v[0] + ca.sin(q[1]) * length[1] * v[1]
    chin = at_shoulder[1] + CHIN_ABOVE_SHOULDER_H * stature * ca.cos(q[2])

    def clear(place: Any, radius_H: float) -> Any:
        return (ca.dot(place, place) - (radius_H * stature) ** 2) / (0.01 * stature**2)

    head = at_shoulder + along(q[2]) * HEAD_DISC[0] * stature + across(q[2]) * HEAD_DISC[1] * stature
    start = {"trunk": 2, "thigh": 3, "shank": 4}
    discs = [clear(head, HEAD_DISC[2])]
    for segment, place, radius in BODY_DISCS:
        i = start[segment]
        discs.append(clear(places[i] + along(q[i]) * place * length[i], radius))

    residual = (M @ a + h - tau) / (0.1 * STANDARD_GRAVITY * stature)
    shown = ca.vertcat(
        elbow,
        shoulder,
        hip,
        knee,
        elbow_speed,
        hip_speed,
        mid[0],
        mid[1],
        at_shoulder[0],
        at_shoulder[1],
        chin,
        mid[0] + ca.tan(swing) * mid[1],
        force,
        ca.dot(force, force),
        mid_speed,
        shoulder_up,
        *discs,
    )
    kinetic = 0.5 * ca.dot(v, M @ v)
    potential = total * STANDARD_GRAVITY * mid[1]
    return Equations(
        instant=ca.Function("instant", [q, v, a, u, p, strength, load, swing], [residual, shown]),
        parts=ca.Function("parts", [q, v, u, p, strength, load], [M, h, tau, kinetic, potential]),
        places=ca.Function("places", [q, p], [ca.horzcat(*places)]),
    )


def accelerations(
    q: np.ndarray, v: np.ndarray, u: np.ndarray, p: np.ndarray, strength: float, load: float
) -> np.ndarray:
    """Return the segments' angular accelerations in rad/s^2, five values, of one state."""
    M, h, tau, *_ = (np.asarray(x) for x in equations().parts(q, v, u, p, strength, load))
    return np.linalg.solve(M, (tau - h).ravel())


def _loaded(at: dict[str, Any], load: Any) -> tuple[list[Any], list[Any], list[Any]]:
    """Return masses, centres and inertias with the added load fixed to the trunk."""
    mass = [at[f"mass{i}"] for i in range(1, 6)]
    centre = [at[f"centre{i}"] for i in range(1, 6)]
    inertia = [at[f"inertia{i}"] for i in range(1, 6)]
    place = at["load_place"] * at["length3"]
    whole = mass[2] + load
    new = (mass[2] * centre[2] + load * place) / whole
    inertia[2] = inertia[2] + mass[2] * (new - centre[2]) ** 2 + load * (place - new) ** 2
    mass[2], centre[2] = whole, new
    return mass, centre, inertia


def _torques(
    at: dict[str, Any],
    u: Any,
    strength: Any,
    elbow: tuple[Any, Any],
    shoulder: tuple[Any, Any],
    hip: tuple[Any, Any],
) -> Any:
    """Return the generalized torques on the five absolute angles, per kg of body mass."""

    def torque(name: str, angle: Any, shortening: Any) -> Any:
        bell = ca.exp(-(((angle - at[f"best_{name}"]) / at[f"width_{name}"]) ** 2))
        speed = shortening / at[f"speed_{name}"]
        return at[f"torque_{name}"] * bell * speed_curve(speed, at["steepness"])

    stature, push = at["stature"], at["push"]
    at_shoulder = (
        stature
        * strength
        * (
            u[0] * torque("shoulder_extension", shoulder[0], -shoulder[1])
            - push * u[1] * torque("shoulder_flexion", shoulder[0], shoulder[1])
        )
    )
    at_elbow = (
        stature
        * strength
        * (
            u[2] * torque("elbow_flexion", elbow[0], elbow[1])
            - push * u[3] * torque("elbow_extension", elbow[0], -elbow[1])
        )
    )
    at_hip = stature * (
        u[4] * torque("hip_flexion", hip[0], hip[1]) - u[5] * torque("hip_extension", hip[0], -hip[1])
    )
    at_knee = stature * KNEE_TORQUE * u[6]
    at_hand = stature * at["hand_torque"] * u[7]
    return ca.vertcat(
        at_elbow + at_hand, -at_elbow - at_shoulder, at_shoulder - at_hip, at_hip + at_knee, -at_knee
    )
