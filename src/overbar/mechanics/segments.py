"""The body as five planar segments below the bar, from published segment tables.

Two tables, never mixed in one body:

``de_leva``
    de Leva 1996, J Biomech 29:1223-1230, Table 4 (Zatsiorsky's data, adjusted),
    for women and men; mean segment lengths of the same groups, scaled by stature.
``winter``
    Winter 2009 after Dempster, one table for all; segment lengths as fractions of
    stature after Drillis and Contini 1966.

The chain starts at the bar: forearms with hands, upper arms, trunk with head,
thighs, shanks with feet; left and right are lumped. Masses are fractions of body
mass, lengths are in m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from overbar.athlete.anthropometry import body_length, check_stature
from overbar.errors import BadInput
from overbar.units import STANDARD_GRAVITY

Table = Literal["de_leva", "winter"]
SEGMENT_NAMES = ("forearm and hand", "upper arm", "trunk and head", "thigh", "shank and foot")

MASS_RANGE_KG = (30.0, 250.0)
"""Body masses outside this are read as slips of the pen."""

SLACK_FAT_ON_TRUNK = 0.6
"""Share of a change in body fat that sits on the trunk, the rest on the thighs (own judgement)."""


@dataclass(frozen=True)
class Part:
    """One row of a segment table.

    Attributes
    ----------
    mass : float
        Fraction of body mass, one side for a limb.
    centre : float
        Centre of mass from the first endpoint, as a fraction of the length.
    gyration : float
        Radius of gyration about the centre of mass for turning in the side view
        (the transverse axis), as a fraction of the length.
    length_H : float
        Length as a fraction of stature.
    """

    mass: float
    centre: float
    gyration: float
    length_H: float


DE_LEVA: dict[str, dict[str, Part]] = {
    "m": {
        "head": Part(0.0694, 0.5002, 0.315, 242.9 / 1741),
        "trunk": Part(0.4346, 0.4310, 0.358, 515.5 / 1741),
        "upper_arm": Part(0.0271, 0.5772, 0.269, 281.7 / 1741),
        "forearm": Part(0.0162, 0.4574, 0.265, 268.9 / 1741),
        "hand": Part(0.0061, 0.7900, 0.513, 86.2 / 1741),
        "thigh": Part(0.1416, 0.4095, 0.329, 422.2 / 1741),
        "shank": Part(0.0433, 0.4395, 0.246, 434.0 / 1741),
        "foot": Part(0.0137, 0.4415, 0.245, 258.1 / 1741),
    },
    "f": {
        "head": Part(0.0668, 0.4841, 0.295, 243.7 / 1735),
        "trunk": Part(0.4257, 0.3782, 0.361, 497.9 / 1735),
        "upper_arm": Part(0.0255, 0.5754, 0.260, 275.1 / 1735),
        "forearm": Part(0.0138, 0.4559, 0.257, 264.3 / 1735),
        "hand": Part(0.0056, 0.7474, 0.454, 78.0 / 1735),
        "thigh": Part(0.1478, 0.3612, 0.364, 368.5 / 1735),
        "shank": Part(0.0481, 0.4352, 0.263, 432.3 / 1735),
        "foot": Part(0.0129, 0.4014, 0.279, 228.3 / 1735),
    },
}
"""de Leva 1996, Table 4. Endpoints: head vertex to C7, trunk mid-shoulder to mid-hip, upper arm and
forearm between joint centres, hand wrist to third metacarpal, thigh and shank between joint centres,
foot heel to toe. Lengths: means of the same groups (from memory, the male head, trunk, thigh, shank and
foot confirmed by printed ratios)."""

WINTER: dict[str, Part] = {
    "forearm_hand": Part(0.022, 0.682, 0.468, 0.146),
    "upper_arm": Part(0.028, 0.436, 0.322, 0.186),
    "trunk_head": Part(0.578, 0.340, 0.503, 0.818 - 0.530),
    "thigh": Part(0.100, 0.433, 0.323, 0.245),
    "shank_foot": Part(0.061, 0.606, 0.416, 0.246),
}
"""Winter 2009 / Dempster, the printed combined rows; lengths after Drillis and Contini (from memory).
First endpoints: elbow, shoulder, shoulder, hip, knee. The trunk row is printed from the hip (0.660) and
turned round here."""

WINTER_GRIP_H = 0.054
"""Wrist to the middle of the grip as a fraction of stature: half the hand's length, 0.108 (own judgement)."""

C7_ABOVE_SHOULDER_H = {"m": (603.3 - 515.5) / 1741, "f": (614.8 - 497.9) / 1735}
"""C7 above mid-shoulder as a fraction of stature: de Leva's trunk from C7 less that from mid-shoulder."""

ANKLE_FROM_HEEL = 0.25
"""Where the ankle sits along the foot, from the heel (own judgement; the foot is light)."""

CHIN_ABOVE_SHOULDER_H = 0.052
"""Chin above the shoulder's centre, head level, as a fraction of stature: Drillis and Contini
.870 - .818 (from memory); ANSUR II gives .045 from the acromion."""


@dataclass(frozen=True)
class Body:
    """A body hung from the bar, per kilogram of its own body mass.

    Attributes
    ----------
    stature_m, mass_kg : float
        Stature in m and body mass in kg; the mass only turns shares into kg.
    table : str
        ``de_leva`` or ``winter``.
    length_m : tuple of float
        Segment lengths from the bar outwards, in m, five values.
    centre_m : tuple of float
        Centre of mass of each segment from its end nearer the bar, in m.
    mass : tuple of float
        Segment masses as fractions of body mass.
    inertia : tuple of float
        Moment of inertia about the segment's centre of mass, in m^2 (per kg of body mass).
    """

    stature_m: float
    mass_kg: float
    table: str
    length_m: tuple[float, ...]
    centre_m: tuple[float, ...]
    mass: tuple[float, ...]
    inertia: tuple[float, ...]

    @property
    def hang_length_m(self) -> float:
        """L: shoulder centre to grip with straight arms, in m."""
        return self.length_m[0] + self.length_m[1]

    @property
    def arm_H(self) -> float:
        """L as a fraction of stature."""
        return self.hang_length_m / self.stature_m


@dataclass(frozen=True)
class Hang:
    """Whole-body figures of the straight hang and the support, per kg of body mass.

    Attributes
    ----------
    centre_below_grip_m : float
        Centre of mass below the grip in the straight hang, in m.
    gyration_m : float
        Radius of gyration about the centre of mass, arms overhead, in m.
    inertia_grip_m2 : float
        Moment of inertia about the grip over body mass, in m^2.
    period_s : float
        Small-swing period of the straight body about the grip, in s.
    centre_above_grip_m : float
        Centre of mass above the grip in the straight-arm support, in m.
    rise_m : float
        Rise of the centre of mass from hang to support, in m.
    work_J_per_kg : float
        Work against gravity of that rise.
    """

    centre_below_grip_m: float
    gyration_m: float
    inertia_grip_m2: float
    period_s: float
    centre_above_grip_m: float
    rise_m: float
    work_J_per_kg: float


def check_body_mass(mass_kg: float) -> None:
    """Raise BadInput when a body mass in kg cannot be meant."""
    low, high = MASS_RANGE_KG
    if not low <= mass_kg <= high:
        raise BadInput(
            f"body mass {mass_kg:g} kg is outside {low:g} to {high:g} kg",
            do="Give the body mass in kilograms, for example 78.5.",
        )


def body_of(
    stature_m: float,
    mass_kg: float,
    sex: str = "unstated",
    table: Table = "de_leva",
    *,
    arm_span_m: float | None = None,
    hang_length_m: float | None = None,
    leg_length_m: float | None = None,
) -> Body:
    """Build the five-segment body of an athlete.

    Parameters
    ----------
    stature_m, mass_kg : float
        Stature in m and body mass in kg.
    sex : {"f", "m", "unstated"}
        Chooses the de Leva table; "unstated" takes the mean of both.
    table : {"de_leva", "winter"}
        Source of masses, centres, radii and lengths; never mixed.
    arm_span_m : float, optional
        Own fingertip span; scales the arms by the span less the shoulder breadth.
    hang_length_m : float, optional
        Own shoulder-to-bar length with straight arms; goes before the span.
    leg_length_m : float, optional
        Own hip (trochanter) height standing; scales thigh and shank, the trunk
        gives or takes the difference so that stature stays.

    Returns
    -------
    Body

    Raises
    ------
    BadInput
        A measure that cannot be meant, with its value.

    Examples
    --------
    >>> round(body_of(1.741, 73.0, "m").hang_length_m, 3)
    0.637
    """
    check_stature(stature_m)
    check_body_mass(mass_kg)
    if table == "winter":
        body = _winter(stature_m, mass_kg)
    elif table == "de_leva":
        if sex in DE_LEVA:
            body = _de_leva(stature_m, mass_kg, sex)
        else:
            body = _mean_body(_de_leva(stature_m, mass_kg, "m"), _de_leva(stature_m, mass_kg, "f"))
    else:
        raise BadInput(f"segment table {table!r} is not known", do="Choose de_leva or winter.")
    arm = _arm_ratio(body, sex, arm_span_m, hang_length_m)
    if leg_length_m is not None:
        body = _with_legs(body, sex, leg_length_m)
    return with_arms(body, arm) if arm != 1 else body


def with_arms(body: Body, ratio: float) -> Body:
    """Return the body with arms longer by a ratio, masses kept."""
    scale = (ratio, ratio, 1.0, 1.0, 1.0)
    return _rescaled(body, scale)


def with_fat(body: Body, share: float) -> Body:
    """Return the body with fat put on (or off), per kilogram of the mass before.

    Muscle stays. The masses then sum to ``1 + share``; the moment of inertia grows
    as if the fat were spread like the segment it sits on.

    Parameters
    ----------
    share : float
        Fat put on over body mass before; negative for fat lost.
    """
    added = [0.0, 0.0, SLACK_FAT_ON_TRUNK * share, (1 - SLACK_FAT_ON_TRUNK) * share, 0.0]
    mass = tuple(m + extra for m, extra in zip(body.mass, added, strict=True))
    inertia = tuple(i * new / m for i, new, m in zip(body.inertia, mass, body.mass, strict=True))
    return replace(body, mass=mass, inertia=inertia)


def straight_hang(body: Body) -> Hang:
    """Return the whole-body figures of a straight hang and a straight-arm support.

    Examples
    --------
    >>> round(straight_hang(body_of(1.741, 73.0, "m")).period_s, 2)
    2.22
    """
    total = sum(body.mass)
    start = 0.0
    below = []
    for length, centre in zip(body.length_m, body.centre_m, strict=True):
        below.append(start + centre)
        start += length
    centre = sum(m * d for m, d in zip(body.mass, below, strict=True)) / total
    grip = sum(m * d**2 + i for m, d, i in zip(body.mass, below, body.inertia, strict=True)) / total
    reach = body.hang_length_m
    above = []
    for index, d in enumerate(below):
        above.append(d if index < 2 else 2 * reach - d)
    over = sum(m * d for m, d in zip(body.mass, above, strict=True)) / total
    return Hang(
        centre_below_grip_m=centre,
        gyration_m=math.sqrt(grip - centre**2),
        inertia_grip_m2=grip,
        period_s=2 * math.pi * math.sqrt(grip / (STANDARD_GRAVITY * centre)),
        centre_above_grip_m=over,
        rise_m=centre + over,
        work_J_per_kg=STANDARD_GRAVITY * (centre + over),
    )


def coast_m(speed_mps: float) -> float:
    """Return the further rise in m of a body let go at an upward speed, v^2 / 2g."""
    return speed_mps**2 / (2 * STANDARD_GRAVITY)


def hip_travel_L(body: Body, swing_deg: float) -> float:
    """Return the hip's front-to-back travel in L of a straight-body swing of this angle to each side."""
    reach = body.hang_length_m
    return 2 * (reach + body.length_m[2]) * math.sin(math.radians(swing_deg)) / reach


def swing_deg_from_hips(body: Body, travel_L: float) -> float:
    """Return the swing angle in degrees to each side whose hip travel in L this is."""
    reach = body.hang_length_m
    share = travel_L * reach / (2 * (reach + body.length_m[2]))
    if not 0 <= share < 1:
        raise BadInput(f"hip travel {travel_L:g} L cannot be a swing on straight arms")
    return math.degrees(math.asin(share))


def _de_leva(stature_m: float, mass_kg: float, sex: str) -> Body:
    part = DE_LEVA[sex]
    whole = sum(
        p.mass * (1 if name in ("head", "trunk") else 2) for name, p in part.items()
    )  # the women's column sums to 0.9999
    size = {name: p.length_H * stature_m for name, p in part.items()}
    rows: list[list[tuple[float, float, float]]] = [
        [
            _row(part["hand"], 2, size["hand"], size["hand"], -1),
            _row(part["forearm"], 2, size["forearm"], size["hand"] + size["forearm"], -1),
        ],
        [_row(part["upper_arm"], 2, size["upper_arm"], size["upper_arm"], -1)],
        [
            _row(part["trunk"], 1, size["trunk"], 0.0, 1),
            _row(part["head"], 1, size["head"], -(C7_ABOVE_SHOULDER_H[sex] * stature_m + size["head"]), 1),
        ],
        [_row(part["thigh"], 2, size["thigh"], 0.0, 1)],
        [
            _row(part["shank"], 2, size["shank"], 0.0, 1),
            _row(part["foot"], 2, size["foot"], size["shank"] - ANKLE_FROM_HEEL * size["foot"], 1),
        ],
    ]
    lengths = (
        size["hand"] + size["forearm"],
        size["upper_arm"],
        size["trunk"],
        size["thigh"],
        size["shank"],
    )
    lumped = [_lump(row) for row in rows]
    return Body(
        stature_m=stature_m,
        mass_kg=mass_kg,
        table="de_leva",
        length_m=lengths,
        centre_m=tuple(d for _, d, _ in lumped),
        mass=tuple(m / whole for m, _, _ in lumped),
        inertia=tuple(i / whole for _, _, i in lumped),
    )


def _winter(stature_m: float, mass_kg: float) -> Body:
    part = WINTER
    grip = WINTER_GRIP_H * stature_m
    size = {name: p.length_H * stature_m for name, p in part.items()}
    rows = [
        _row(part["forearm_hand"], 2, size["forearm_hand"], grip + size["forearm_hand"], -1),
        _row(part["upper_arm"], 2, size["upper_arm"], size["upper_arm"], -1),
        _row(part["trunk_head"], 1, size["trunk_head"], 0.0, 1),
        _row(part["thigh"], 2, size["thigh"], 0.0, 1),
        _row(part["shank_foot"], 2, size["shank_foot"], 0.0, 1),
    ]
    return Body(
        stature_m=stature_m,
        mass_kg=mass_kg,
        table="winter",
        length_m=(
            grip + size["forearm_hand"],
            size["upper_arm"],
            size["trunk_head"],
            size["thigh"],
            size["shank_foot"],
        ),
        centre_m=tuple(d for _, d, _ in rows),
        mass=tuple(m for m, _, _ in rows),
        inertia=tuple(i for _, _, i in rows),
    )


def _row(part: Part, sides: int, length: float, start: float, way: int) -> tuple[float, float, float]:
    """Return mass, place along the chain's segment and own inertia of one table row."""
    mass = sides * part.mass
    return mass, start + way * part.centre * length, mass * (part.gyration * length) ** 2


def _lump(rows: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    mass = sum(m for m, _, _ in rows)
    centre = sum(m * d for m, d, _ in rows) / mass
    return mass, centre, sum(i + m * (d - centre) ** 2 for m, d, i in rows)


def _mean_body(one: Body, other: Body) -> Body:
    def mean(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
        return tuple((x + y) / 2 for x, y in zip(a, b, strict=True))

    return replace(
        one,
        length_m=mean(one.length_m, other.length_m),
        centre_m=mean(one.centre_m, other.centre_m),
        mass=mean(one.mass, other.mass),
        inertia=mean(one.inertia, other.inertia),
    )


def _rescaled(body: Body, scale: tuple[float, ...]) -> Body:
    def times(values: tuple[float, ...], power: int) -> tuple[float, ...]:
        return tuple(v * s**power for v, s in zip(values, scale, strict=True))

    return replace(
        body,
        length_m=times(body.length_m, 1),
        centre_m=times(body.centre_m, 1),
        inertia=times(body.inertia, 2),
    )


def _arm_ratio(body: Body, sex: str, span_m: float | None, hang_m: float | None) -> float:
    if hang_m is not None:
        return _checked(hang_m / body.hang_length_m, "hang length", hang_m)
    if span_m is None:
        return 1.0
    breadth = body_length("biacromial_breadth", body.stature_m, sex).m
    expected = body_length("span", body.stature_m, sex).m
    return _checked((span_m - breadth) / (expected - breadth), "arm span", span_m)


def _with_legs(body: Body, sex: str, leg_m: float) -> Body:
    ratio = _checked(leg_m / body_length("trochanter_height", body.stature_m, sex).m, "leg length", leg_m)
    legs = body.length_m[3] + body.length_m[4]
    trunk = (body.length_m[2] - legs * (ratio - 1)) / body.length_m[2]
    return _rescaled(body, (1.0, 1.0, trunk, ratio, ratio))


def _checked(ratio: float, what: str, value_m: float) -> float:
    if not 0.8 <= ratio <= 1.25:
        raise BadInput(
            f"{what} {value_m:g} m is {ratio:.0%} of what this stature has; that cannot be meant",
            do="Measure again, in metres.",
        )
    return ratio
