"""What the measures are called where people read them, and their units."""

from __future__ import annotations

MEASURE_NAMES = {
    "peak_shoulder_L": "peak shoulder height",
    "peak_chin_L": "peak chin height",
    "pull_after_front_s": "pull after the front of the swing",
    "hip_travel_L": "hip travel in the swing",
    "swing_period_s": "swing period",
    "swing_period_spread": "swing periods apart by (share)",
    "elbow_at_pull_deg": "elbow at pull start",
    "rise_mean_mps": "mean rise speed",
    "peak_rise_speed_ms": "peak rise speed",
    "gap_at_bar_level_L": "gap at bar level",
    "stall_s": "longest pause over the bar",
    "elbow_gap_s": "left to right elbow gap",
    "over_bar_to_lockout_s": "over the bar to lock-out",
    "support_hold_s": "support held",
    "descent_s": "way down",
    "swing_peak_L": "peak height out of a swing",
    "strict_peak_L": "peak height, strict",
    "rise_propulsive_mps": "mean speed while pushing on",
    "hang_to_bar_level_s": "pull start to bar level",
    "drop_in_transition_L": "drop in the turn-over",
    "swing_elbow_deg": "elbow in the swing",
    "first_swing_elbow_deg": "elbow as the swing begins",
    "hip_angle_from_vertical_deg": "swing angle from plumb",
    "hip_angle_deg": "least hip angle before the pull",
    "elbow_at_20deg_shoulder_close_deg": "elbow when the shoulder has closed 20°",
    "knee_travel_after_peak_L": "knee travel after the top",
    "trunk_back_lean_deg": "lean back at the turn-over",
    "trunk_thigh_deg": "arch in the pull",
    "ear_behind_shoulder_L": "ear behind shoulder",
    "shoulder_tilt_deg": "tilt of the shoulders",
    "shoulder_height_diff_L": "one shoulder higher",
    "elbow_below_wrist_after_peak_s": "elbows under wrists at the top",
    "final_elbow_deg": "elbow in support",
    "support_to_hang_s": "support to hang",
    "descent_peak_speed_ms": "peak speed down",
    "bottom_elbow_deg": "elbow at the bottom",
    "chin_over_bar_L": "chin over the bar",
    "contact_speed_drop_ms": "speed lost with the chest at the bar",
    "hip_at_pull_L": "hips before the bar at pull start",
    "hip_forward_L": "hips forward in the pull",
    "knee_change_deg": "change of the knees",
    "first_rep_mean_speed_ms": "mean speed of the first rep",
    "hand_width_ratio": "hands apart, in shoulder widths",
    "hand_shift_L": "a hand's shift on the bar",
    "bar_shift_L": "the bar's own movement",
    "neck_shoulder_shrink": "neck lost in the support (share)",
    "support_elbow_deg": "softest elbow in the support",
}
"""Short names of the film room's measures, in the order they are shown."""
UNITS = {"s": "s", "L": "L", "mps": "m/s", "ms": "m/s", "deg": "°"}
"""Units by the last part of a measure's id; a share has none."""


def name_of(measure: str) -> str:
    """Return a measure's short name."""
    return MEASURE_NAMES.get(measure, measure.replace("_", " "))


def unit_of(measure: str) -> str:
    """Return a measure's unit, or nothing for a share.

    Examples
    --------
    >>> name_of("peak_rise_speed_ms"), unit_of("peak_rise_speed_ms")
    ('peak rise speed', 'm/s')
    """
    return UNITS.get(measure.rsplit("_", 1)[-1], "")
