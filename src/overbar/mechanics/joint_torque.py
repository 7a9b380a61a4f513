"""Joint torque as a product: strength x angle curve x speed curve x activation.

Reference torques are for both sides together at arm strength 1, per kilogram of
body mass and metre of stature, so that body mass drops out. The curves are
smooth, as the solver needs second derivatives.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import casadi as ca

ACTUATORS = (
    "shoulder_extension",
    "shoulder_flexion",
    "elbow_flexion",
    "elbow_extension",
    "hip_flexion",
    "hip_extension",
)
"""Actuators with an angle and a speed curve; the knee and the hand on the bar have a plain limit."""

REFERENCE_KG_M = 75.0 * 1.75
"""The reference torques below were written down for a body of 75 kg and 1.75 m."""


@dataclass(frozen=True)
class Actuator:
    """One direction of one joint, both sides together.

    Attributes
    ----------
    torque : float
        Peak isometric torque at strength 1, N m per kg of body mass and m of stature.
    best_rad, width_rad : float
        Joint angle of the peak and width of the bell exp(-((angle - best) / width)^2).
    speed_rad_s : float
        Joint speed at which the torque has fallen to nothing.
    basis, why : str
        Where the numbers come from.
    """

    torque: float
    best_rad: float
    width_rad: float
    speed_rad_s: float
    basis: str
    why: str


def _actuator(
    newton_metres: float, best: float, width: float, speed: float, basis: str, why: str
) -> Actuator:
    return Actuator(
        newton_metres / REFERENCE_KG_M, math.radians(best), math.radians(width), speed, basis, why
    )


BASE: dict[str, Actuator] = {
    "shoulder_extension": _actuator(
        200.0,
        110.0,
        142.0,
        16.0,
        "own judgement",
        "about 1.25 x flexion (Arch PM&R 1985;66:384); a wide bell, as the pull is strong all the way",
    ),
    "shoulder_flexion": _actuator(
        183.0,
        -15.0,
        112.0,
        16.0,
        "published: dynamic shoulder flexion strength, 26 men, 89.9 Nm at 0 deg and 68.6 Nm at 45 deg an arm",
        "two arms; the bell passes through both points",
    ),
    "elbow_flexion": _actuator(
        150.0, 85.0, 102.0, 20.0, "from memory", "70 to 80 Nm an arm at 90 deg in men, best at 80 to 100 deg"
    ),
    "elbow_extension": _actuator(
        124.0,
        80.0,
        100.0,
        20.0,
        "published: Lategan and Krueger 2003, flexion over extension 1.19",
        "flexion divided by the published ratio",
    ),
    "hip_flexion": _actuator(200.0, 60.0, 120.0, 18.0, "from memory", "about 100 Nm a leg"),
    "hip_extension": _actuator(300.0, 80.0, 120.0, 18.0, "from memory", "about 150 Nm a leg"),
}
"""Reference actuators; the speeds of shoulder and elbow were chosen so that a fastest body-weight
pull-up agrees with Beckham et al. 2018 (reps = -6.661 + 25.556 x mean speed)."""

KNEE_TORQUE = 120.0 / REFERENCE_KG_M
"""Knee limit either way, N m per kg and m (own judgement: enough never to decide)."""

HAND_TORQUE = 20.0 / REFERENCE_KG_M
"""Torque both hands can pass to the bar, N m per kg and m: wrist extension 10.2 N m a hand, the weakest
of the arm's torques in Holzbaur et al. 2007. Variants have 10 and 30 N m."""

HILL_SHAPE = 0.25
"""a/F0 of Hill 1938, a usual value for whole muscles (from memory)."""

LENGTHENING_PEAK = 1.4
"""Torque while yielding over isometric torque, 1.2 to 1.5 in the literature (from memory)."""


@dataclass(frozen=True)
class Muscles:
    """All limits of the joints of one structural variant.

    Attributes
    ----------
    actuators : dict of str to Actuator
        The six of :data:`ACTUATORS`.
    hand_torque : float
        Torque limit between hand and bar, N m per kg and m.
    steepness : float
        0 takes the smooth curve of De Groote et al. 2016, 1 takes Hill's hyperbola
        with :data:`HILL_SHAPE`; between them a mixture.
    push : float
        Shoulder flexion and elbow extension strength over arm strength.
    """

    actuators: dict[str, Actuator]
    hand_torque: float = HAND_TORQUE
    steepness: float = 0.0
    push: float = 1.0

    def faster(self, ratio: float) -> Muscles:
        """Return the muscles with arm joint speeds scaled."""
        return self._arms(speed=ratio)

    def flatter(self, ratio: float) -> Muscles:
        """Return the muscles with wider angle curves of the arms."""
        return self._arms(width=ratio)

    def _arms(self, speed: float = 1.0, width: float = 1.0) -> Muscles:
        changed = {
            name: replace(a, speed_rad_s=a.speed_rad_s * speed, width_rad=a.width_rad * width)
            if name.startswith(("shoulder", "elbow"))
            else a
            for name, a in self.actuators.items()
        }
        return replace(self, actuators=changed)


def hill(speed: Any, shape: float = HILL_SHAPE) -> Any:
    """Return torque over isometric torque by Hill's hyperbola.

    Parameters
    ----------
    speed : float or casadi expression
        Shortening speed over its greatest value; negative when lengthening.
    shape : float
        a/F0.

    Notes
    -----
    Shortening: (1 - v) / (1 + v / shape). Lengthening: a hyperbola of the same
    slope at rest, up to :data:`LENGTHENING_PEAK`.

    Examples
    --------
    >>> round(float(hill(0.2)), 4)
    0.4444
    """
    shortening, lengthening = ca.fmax(speed, 0), ca.fmax(-speed, 0)
    turn = (LENGTHENING_PEAK - 1) * shape / (1 + shape)
    return (1 - shortening) / (1 + shortening / shape) + (LENGTHENING_PEAK - 1) * lengthening / (
        lengthening + turn
    )


def smooth_speed_curve(speed: Any) -> Any:
    """Return torque over isometric torque by the curve of De Groote et al. 2016 (constants from memory).

    ``speed`` is shortening speed over its greatest value. About 1.0 at rest, 0 at
    full speed, smooth through lengthening.
    """
    x = 8.149 * speed - 0.374
    return -0.318 * ca.log(x + ca.sqrt(x**2 + 1)) + 0.886


def speed_curve(speed: Any, steepness: Any) -> Any:
    """Return the mixture of both speed curves, see :class:`Muscles`."""
    return (1 - steepness) * smooth_speed_curve(speed) + steepness * hill(speed)
