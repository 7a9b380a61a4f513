"""The measures of one pull, rep or attempt, each with its one-sigma uncertainty.

Names, units and definitions are those of the trade (handbook trade.md section 3.1)
and of the ladder's fault conditions; what a view cannot show is left out.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from overbar.film.motion import Motion, elbow_of_reach
from overbar.film.phases import HANG_BELOW, SUPPORT_ABOVE, Phases, Pull, Turn, crossing
from overbar.film.reading import Measured
from overbar.film.top import top_height
from overbar.film.view import Looking

Array = NDArray[np.float64]
Put = Callable[[str, float | None, float], None]
"""Takes a measure's name, its value if it can be told, and its one-sigma error."""

MEASURES: dict[str, str] = {
    "hip_travel_L": "travel of the hips in the swing before the pull, or what the feet's amounts to there",
    "pull_after_front_s": "pull start after the forward swing came to rest, some 0.12 s before its furthest",
    "swing_period_s": "time of one swing there and back before the pull",
    "swing_period_spread": "difference of two swing periods before the pull, as a share of one",
    "elbow_at_pull_deg": "elbow angle at the pull's start",
    "swing_elbow_deg": "median elbow angle in the swing",
    "hip_angle_from_vertical_deg": "greatest angle of the line from bar to hips from plumb in the swing",
    "hip_angle_deg": "least hip angle until 0.15 s before the pull's start",
    "elbow_at_20deg_shoulder_close_deg": "elbow angle when the shoulder has closed 20 degrees in the pull",
    "trunk_thigh_deg": "trunk to thigh in the pull, over 180 when arched: the angle a tenth of it passes",
    "knee_travel_after_peak_L": "travel of the knees fore and aft under the hips from the top to the hang",
    "peak_shoulder_L": "greatest shoulder height",
    "peak_chin_L": "greatest chin height",
    "swing_peak_L": "greatest shoulder height of a pull out of a swing",
    "strict_peak_L": "greatest shoulder height of a strict high pull",
    "rise_mean_mps": "mean rise speed from the pull's start to the top or the bar",
    "rise_propulsive_mps": "mean rise speed while its fall is slower than free fall",
    "peak_rise_speed_ms": "greatest rise speed",
    "hang_to_bar_level_s": "time from the pull's start to the shoulder at bar height",
    "gap_at_bar_level_L": "distance of the shoulder behind the bar at bar height",
    "stall_s": "longest pause between +0.05 and +0.40 L before the elbows are over the wrists",
    "drop_in_transition_L": "greatest loss of height from bar level to the turn-over",
    "elbow_gap_s": "time between the two elbows rising past the bar",
    "shoulder_tilt_deg": "tilt of the shoulder line while the elbows rise past the bar",
    "trunk_back_lean_deg": "lean of the trunk backwards at the turn-over",
    "ear_behind_shoulder_L": "distance of the ear behind the shoulder at the top of a failed pull",
    "elbow_below_wrist_after_peak_s": "time the elbows hang plainly under the wrists at the top",
    "contact_speed_drop_ms": "speed lost in 0.15 s with the chest at the bar",
    "hip_at_pull_L": "place of the hips before the bar as a pull after the front of the swing starts",
    "over_bar_to_lockout_s": "time from shoulders over the bar to straight arms",
    "final_elbow_deg": "elbow angle in the support",
    "support_hold_s": "time the support is held in the film",
    "descent_s": "time from support to hang",
    "support_to_hang_s": "the same, where it is a drop",
    "descent_peak_speed_ms": "greatest speed downwards before the arms are straight",
    "bottom_elbow_deg": "elbow angle at the bottom of a rep",
    "chin_over_bar_L": "chin height over the bar at the top of a rep",
    "hip_forward_L": "forward travel of the hips in a strict pull",
    "knee_change_deg": "change of the knee angle in a strict pull",
    "first_rep_mean_speed_ms": "mean rise speed of the first rep",
    "shoulder_height_diff_L": "one shoulder over the other for 0.3 s of the pull; over reps the middle one",
    "hand_width_ratio": "distance of the hands over shoulder width",
    "hand_shift_L": "shift of a hand along the bar without leaving it",
    "bar_shift_L": "way the gripped bar moves to and fro across the picture in a hang",
    "first_swing_elbow_deg": "elbow angle as the first swing sets off",
    "neck_shoulder_shrink": "share of the neck's length lost in a support",
    "support_elbow_deg": "elbow angle in the softest second of a support",
}
"""Every measure a reading may name, in words."""

ANGLE_SD_DEG = 8.0
"""One-sigma error of a joint angle seen side-on (handbook science.md section 6.4 and own measurement: 5 to
10)."""
LONGEST_HALF_S = 1.6
"""Turning points further apart than this belong to two swings: half a swing lasts about 1.1 s (handbook
science.md section 3.3)."""
SHOULDER_CLOSES_DEG = 20.0
"""Closing of the shoulder at which a bent-arm start is judged (handbook trade.md F10)."""
UNEVEN_S = 0.3
"""Time one shoulder must stay higher for an uneven pull (handbook trade.md F22)."""
UNEVEN_SD_L = 0.02
"""One-sigma error of the shoulders' height difference (own measurement on even pulls)."""
KNEE_SD_L = 0.06
"""One-sigma error of the knees' travel under the hips, L (own measurement)."""
READ_WRONG = {
    "elbow_at_pull_deg": 12.0,
    "elbow_at_20deg_shoulder_close_deg": 10.0,
    "gap_at_bar_level_L": -0.055,
    "trunk_back_lean_deg": 8.5,
    "ear_behind_shoulder_L": -0.05,
    "hip_angle_from_vertical_deg": 2.8,
    "hip_at_pull_L": 0.068,
    "final_elbow_deg": -4.0,
    "support_elbow_deg": -2.0,
}
"""By how much the nets read a measure too great, taken out of it (own measurement on 25 to 50 films with
known truth): elbows that flare sideways look straighter from the side, and in support the wrists hide
behind hip and bar; the nets mark shoulders and hips ahead of their joint centres, the ears behind."""
START_ELBOW_SD_DEG = 10.0
"""One-sigma error of the elbow at the pull's start, whose moment is not sharp either (same films)."""
GAP_SD_L = 0.05
LEAN_SD_DEG = 7.0
EAR_SD_L = 0.035
"""One-sigma errors of the gap at bar level, the lean at the turn-over and the ear behind the shoulder (same
films)."""
EAR_ROUND_S = 0.1
"""The ear's place is a mean over this time before and after the top, s: a head can nod within two frames."""
TRAVEL_SD_L, TRAVEL_SD_SHARE = 0.03, 0.11
"""One-sigma error of the hips' travel: a fixed part in L and a share of the travel (same films)."""
ELBOW_GAP_SD_SHARE = 0.25
"""One-sigma error of the time between the elbows beside a frame's, as a share of it: smoothing brings the two
nearer together (same films)."""
LEVEL_DEG, TILTED_DEG, LEVEL_GAP_SD_SHARE = 3.0, 6.0, 2.0
"""An elbow that goes over alone tilts the shoulder line: by 5 to 17 degrees in the films of it, by 0 to 4 in
those of even elbows. Where the line stays level a gap is likely a misread elbow, and its one-sigma error this
share of it; between the two angles it falls (own measurement on 12 films from front and behind)."""
LOCKED_WITHIN_L = 0.015
"""The arms are locked once the shoulders are this close to as high as they stay in the support, L: 0.08 s
before the true elbow passes 165 degrees (own measurement, 37 muscle-ups; 0.04 L was 0.20 s before it)."""
LOCKED_SD_S = 0.07
"""One-sigma error of the moment the arms lock, s (same films)."""
HANGING_ELBOW = -0.06
"""Elbow height over the wrist under which a forearm hangs from the bar, L: an elbow level with its wrist
reads up to 0.04 off (own measurement)."""
CONTACT_S, CONTACT_SD_MPS = 0.15, 0.35
"""Time over which a loss of speed counts as one knock, s (own judgement), and the one-sigma error of that
loss (own measurement on 17 films with known truth)."""
CONTACT_HEIGHTS, CONTACT_NEAR = (-0.10, 0.20), -0.25
"""Shoulder heights at which the chest is level with the bar, and how far behind it the shoulder is at most
when the chest can touch it, L (chest heights of handbook trade.md section 2.1; own judgement)."""
FROM_MPS = 0.3
"""What rises slower than this does not knock (speed of a pull, handbook trade.md section 3.1)."""
HIP_SD_L = 0.05
"""One-sigma error of the hips' place at the pull's start, whose moment is not sharp (own measurement)."""
PEAK_OVER_S, PEAK_SD_MPS = 0.2, 0.10
"""The greatest rise speed is a mean over this time, s, and its one-sigma error beside the scale's: the peak
of a noisy curve is always too high (own measurement on 77 pulls: 95 % within 0.26 m/s, of single frames
0.42)."""
START_SD_S, SPAN_SD_S = 0.06, 0.10
"""One-sigma errors of the moment a pull starts and of the time a way up takes, s (own measurement on 74
pulls)."""
HIP_ANGLE_SD_DEG = 12.0
"""One-sigma error of the least hip angle before a pull (same films)."""
HIP_RADIUS, FOOT_RADIUS = 1.74, 3.0
"""Distance of hips and feet from the bar in the hang, L (trunk 0.50 m, leg 0.86 m, L 0.68 m)."""
STALL_BAND = (0.05, 0.40)
STALL_SPEED_MPS = 0.15
"""Band and speed of a stall (handbook trade.md section 3.1)."""
STALL_BEHIND = -0.03
"""In a stall the shoulders are still behind the bar by more than this, L (own judgement)."""
STALL_ELBOW_UP = 0.12
"""Where fore and aft cannot be seen: in a stall the elbows are no higher over the wrists than this, L (own
judgement)."""
ELBOW_BAND = (0.0, 0.3)
"""Heights over the bar between which the two elbows are compared, L."""
ELBOW_SHARE = 75
"""Of the gaps at these heights the one that so many per cent stay under counts: from behind, both elbows are
seen too high near the bar, and a late one only shows further up (own judgement)."""
TURNED_OVER = 0.0
"""Elbow height over the wrist from which an arm has turned over, L."""
FRONT_BEFORE_S = 1.1
"""How far back before a pull its front turning point can lie: nearly half a swing (same place)."""
TURNED_SHARE = 1 / 3
"""Share of the greatest forward speed under which the swing has come to rest in front (own judgement; in a
swing of 2.2 s that is asin(1/3) / 360 degrees of it, 0.12 s, before the furthest point)."""
FRONT_SD_S = 0.06
"""One-sigma error of the front turning point beside that of the frames, s (own measurement: the same drawn
pull, filmed 20 ways, reads 0.08 s apart)."""
LEAST_SWING_L = 0.25
"""Hip travel from which there is a swing (handbook trade.md section 2.6)."""
BEFORE_PULL_S = 2.5
"""How far back before a pull its swing is looked for: a swing lasts about 2.2 s (handbook science.md
section 3.3)."""


def put_right(motion: Motion, name: str, value: float, sd: float) -> Measured:
    """Return a measure without the error the nets are known to make in it."""
    right = value - READ_WRONG.get(name, 0.0) if motion.by_nets else value
    return Measured(min(right, 180.0) if name.endswith("_elbow_deg") else right, sd)


def angle_sd(looking: Looking) -> float:
    """Return the one-sigma error of a joint angle in degrees; askew, depth is mistaken for bend."""
    return ANGLE_SD_DEG / looking.foreshortening**2


def event_sd(motion: Motion, at_s: float, height_sd: float, least_speed: float = 0.25) -> float:
    """Return the one-sigma error of the time a height is crossed, from frame time and height error."""
    i = int(np.clip(np.searchsorted(motion.t_s, at_s), 1, len(motion.t_s) - 1))
    frame = float(motion.t_s[i] - motion.t_s[i - 1])
    speed = max(abs(float(motion.rise[i])), least_speed)
    return float(np.hypot(0.3 * frame, height_sd / speed))


def swing_before(motion: Motion, pull: Pull) -> slice:
    """Return the hanging frames before a pull that can be its swing."""
    since = int(np.searchsorted(motion.t_s, motion.t_s[pull.start] - BEFORE_PULL_S))
    first = pull.start
    while first > since and motion.shoulder[first - 1] < HANG_BELOW + 0.02:
        first -= 1
    return slice(first, pull.start + 1)


def hip_travel(motion: Motion, frames: slice) -> Measured:
    """Return the swing's travel at the hips: their own, or the feet's at the hips' distance, the greater."""
    if frames.stop - frames.start < 3:
        return Measured(0.0, TRAVEL_SD_L)
    hips = float(np.ptp(motion.hip_x[frames]))
    feet = float(np.ptp(motion.foot_x[frames])) * HIP_RADIUS / FOOT_RADIUS
    travel = max(hips, feet)
    return Measured(travel, float(np.hypot(TRAVEL_SD_L, TRAVEL_SD_SHARE * travel)))


def swing_period(
    turns: tuple[Turn, ...], motion: Motion, until: int | None = None
) -> tuple[Measured | None, float]:
    """Return the period of the swing and the relative spread of its halves.

    Two turning points of the same side are one period, two of different sides half of one.
    """
    used = [turn for turn in turns if until is None or turn.frame <= until]
    if len(used) < 3:
        return None, 0.0
    times = motion.t_s[[turn.frame for turn in used]]
    periods = times[2:] - times[:-2]
    value = float(np.mean(periods))
    sd = float(max(np.std(periods) / np.sqrt(len(periods)), 2 * FRONT_SD_S / len(periods)))
    spread = float(np.ptp(periods) / value) if len(periods) > 1 else 0.0
    return Measured(value, sd), spread


def bent_start(motion: Motion, pull: Pull) -> tuple[float, int] | None:
    """Return the elbow angle in degrees when the shoulder has closed by 20 degrees, and that frame.

    A press of straight arms closes the shoulder first; a bent-arm start the elbow.
    """
    since = int(np.searchsorted(motion.t_s, motion.t_s[pull.start] - 0.8))
    opens = int(np.searchsorted(motion.t_s, motion.t_s[pull.start] + 0.25))
    widest = since + int(motion.shoulder_deg[since : min(opens, pull.top) + 1].argmax())
    closed = motion.shoulder_deg[widest : pull.top + 1] <= (motion.shoulder_deg[widest] - SHOULDER_CLOSES_DEG)
    if not closed.any():
        return None
    frame = widest + int(closed.argmax())
    return float(motion.elbow_deg[frame]), frame


def uneven(motion: Motion, first: int, last: int, level: float) -> tuple[float, int]:
    """Return how far one shoulder stays over the other for 0.3 s, in L, left positive, and when.

    Parameters
    ----------
    first, last : int
        Frames of the way up.
    level : float
        The same difference in the hang: a camera out of level shows one.
    """
    window = max(1, round(UNEVEN_S / float(np.median(np.diff(motion.t_s)))))
    gap = motion.shoulder_gap[first : max(last, first + window) + 1] - level
    stays = sliding_window_view(gap, min(window, len(gap)))
    left, right = stays.min(axis=1), stays.max(axis=1)
    if left.max() >= -right.min():
        return float(left.max()), first + int(left.argmax())
    return float(right.min()), first + int(right.argmin())


def uneven_pulls(motion: Motion, looking: Looking, phases: Phases) -> tuple[Measured, float] | None:
    """Return the height difference of the shoulders that is usual in a film's pulls, in L, and when it shows.

    Over several pulls the middle one counts, so that the same side must lead in most
    of them (handbook trade.md F22: three of five).
    """
    pulls = [pull for pull in phases.pulls if not pull.from_above]
    if not looking.shows_both_sides or not pulls or not phases.hanging.any():
        return None
    level = float(np.median(motion.shoulder_gap[phases.hanging]))
    seen = []
    for pull in pulls:
        bar = np.nonzero(motion.shoulder[pull.start : pull.top + 1] > 0.0)[0]
        seen.append(uneven(motion, pull.start, pull.start + int(bar[0]) if len(bar) else pull.top, level))
    usual = float(np.median([gap for gap, _ in seen]))
    _, frame = min(seen, key=lambda one: abs(one[0] - usual))
    return Measured(abs(usual), UNEVEN_SD_L), float(motion.t_s[frame])


def front_turn(motion: Motion, pull: Pull) -> int:
    """Return the frame the forward swing has come to rest after the last back swing, even inside the pull.

    A pull that starts while the body still travels forward has its front turning
    point after its start. The back swing is where the feet are furthest back. While
    the feet are still behind the bar the front is yet to come, and is told by them:
    they travel ten times as far as the mass centre does. The furthest point itself is
    flat and a leg that rises late moves it by a fifth of a second; the frame at which
    the forward speed has fallen to ``TURNED_SHARE`` of its greatest is sharp.
    """
    since = int(np.searchsorted(motion.t_s, motion.t_s[pull.start] - FRONT_BEFORE_S))
    back = since + int(motion.foot_x[since : pull.start + 1].argmin())
    led_by = motion.foot_x if motion.foot_x[pull.start] < 0 else motion.body_x
    # Over the bar the body travels forward too: the swing's front lies before the shoulders pass it.
    over = np.nonzero(motion.shoulder[pull.start : pull.top + 1] > 0.0)[0]
    last = pull.start + int(over[0]) if len(over) else pull.top
    speed = np.gradient(led_by, motion.t_s)[back : last + 1]
    fastest = int(speed.argmax())
    slow = np.nonzero(speed[fastest:] < TURNED_SHARE * speed[fastest])[0]
    return back + fastest + (int(slow[0]) if len(slow) else len(speed) - 1 - fastest)


def of_pull(
    motion: Motion, looking: Looking, pull: Pull, turns: tuple[Turn, ...] = ()
) -> dict[str, Measured]:
    """Return every measure of a pull (with or without swing, over the bar or not) that the view can show."""
    t, rise_mps = motion.t_s, motion.rise * motion.length_m
    found: dict[str, Measured] = {}

    def put(name: str, value: float | None, sd: float) -> None:
        if value is not None and np.isfinite(value):
            found[name] = put_right(motion, name, float(value), float(sd))

    last = pull.descent if pull.descent is not None else pull.end
    path = slice(pull.start, last + 1)
    top = pull.start + int(motion.shoulder[path].argmax())
    found["peak_shoulder_L"] = top_height(t, motion.shoulder, motion.shoulder_sd, pull.start, last)
    found["peak_chin_L"] = top_height(t, motion.chin, motion.chin_sd, pull.start, last)
    relative = motion.length_sd_m / motion.length_m
    frame = float(np.median(np.diff(t)))
    level_s = crossing(t, motion.shoulder, 0.0, pull.start, last, upward=True)
    level = int(np.searchsorted(t, level_s)) if level_s is not None else None
    rise_end = level if level is not None else top
    climb = slice(pull.start, rise_end + 1)
    if rise_end > pull.start:
        span = float(t[rise_end] - t[pull.start])
        mean = float((motion.shoulder[rise_end] - motion.shoulder[pull.start]) * motion.length_m / span)
        height_sd = float(motion.shoulder_sd[rise_end]) * motion.length_m / span
        mean_sd = np.hypot(height_sd, np.hypot(relative, SPAN_SD_S / span) * mean)
        put("rise_mean_mps", mean, mean_sd)
        slowing = np.gradient(rise_mps, t)
        pushing = (rise_mps[climb] > 0) & (slowing[climb] >= -9.80665)
        if pushing.any():
            put("rise_propulsive_mps", rise_mps[climb][pushing].mean(), mean_sd)
        steady = uniform_filter1d(rise_mps, max(1, round(PEAK_OVER_S / frame)))
        fastest = float(steady[pull.start : top + 1].max())
        put("peak_rise_speed_ms", fastest, np.hypot(PEAK_SD_MPS, relative * fastest))
    put(
        "elbow_at_pull_deg",
        motion.elbow_deg[pull.start],
        np.hypot(START_ELBOW_SD_DEG, angle_sd(looking) - ANGLE_SD_DEG),
    )
    swing = swing_before(motion, pull)
    if looking.shows_depth_plane:
        travel = hip_travel(motion, swing)
        put("hip_travel_L", travel.value, travel.sd)
        if swing.stop - swing.start > 3:
            seen = float(np.median(motion.elbow_deg[swing]))
            put(
                "swing_elbow_deg",
                max(seen, float(elbow_of_reach(np.median(motion.reach[swing])))),
                ANGLE_SD_DEG,
            )
            hips = np.degrees(np.arctan2(np.abs(motion.hip_x[swing]), HIP_RADIUS))
            put("hip_angle_from_vertical_deg", hips.max(), 3.0)
        early = slice(swing.start, max(swing.start + 1, int(np.searchsorted(t, t[pull.start] - 0.15))))
        put("hip_angle_deg", motion.hip_deg[early].min(), HIP_ANGLE_SD_DEG)
        if travel.value >= LEAST_SWING_L:
            front = front_turn(motion, pull)
            put("pull_after_front_s", t[pull.start] - t[front], np.hypot(1.5 * frame, FRONT_SD_S))
            if pull.start >= front:
                put("hip_at_pull_L", motion.hip_x[pull.start], HIP_SD_L)
            pressed = bent_start(motion, pull)
            # Askew, a bend of the elbow is not told from a turn of the arm.
            if pressed is not None and looking.view.kind == "side":
                put("elbow_at_20deg_shoulder_close_deg", pressed[0], angle_sd(looking))
            _periods(motion, pull, turns, put)
        put("trunk_thigh_deg", np.percentile(motion.hip_deg[climb], 90), angle_sd(looking))
        legs = slice(top, last + 1)
        put("knee_travel_after_peak_L", np.ptp(motion.knee_x[legs] - motion.hip_x[legs]), KNEE_SD_L)
        if level is not None:
            put("gap_at_bar_level_L", -motion.shoulder_x[level], GAP_SD_L)
        if looking.view.kind == "side":
            put("contact_speed_drop_ms", contact(motion, pull, top)[0], CONTACT_SD_MPS)
    if level_s is not None and level is not None:
        put(
            "hang_to_bar_level_s",
            level_s - t[pull.start],
            np.hypot(SPAN_SD_S, event_sd(motion, level_s, 0.02)),
        )
        _over(motion, looking, pull, level, last, put)
    if not pull.to_support:
        _short(motion, looking, pull, top, put)
    if pull.descent is not None or not pull.to_support:
        _down(motion, pull, pull.descent if pull.descent is not None else top, put)
    return found


def _periods(motion: Motion, pull: Pull, turns: tuple[Turn, ...], put: Put) -> None:
    """Measure the swing's period, and how far two of its periods differ, in the hang before a pull."""
    own = _last_swings(motion, turns, pull.start)
    period, spread = swing_period(own, motion, pull.start)
    if period is None:
        return
    put("swing_period_s", period.value, period.sd)
    if len([turn for turn in own if turn.frame <= pull.start]) > 3:
        put("swing_period_spread", spread, 2 * FRONT_SD_S / period.value)


def _last_swings(motion: Motion, turns: tuple[Turn, ...], start: int) -> tuple[Turn, ...]:
    """Return the turning points of the swing a pull comes out of: in one hang, no rest between them."""
    kept: list[Turn] = []
    after = start
    for turn in reversed([turn for turn in turns if turn.frame <= start]):
        hung = (motion.shoulder[turn.frame : after] < HANG_BELOW + 0.02).all()
        if not hung or motion.t_s[after] - motion.t_s[turn.frame] > LONGEST_HALF_S:
            break
        kept.append(turn)
        after = turn.frame
    return tuple(reversed(kept))


def _over(motion: Motion, looking: Looking, pull: Pull, level: int, last: int, put: Put) -> None:
    """Measure what happens between bar level and support."""
    t = motion.t_s
    frame = float(np.median(np.diff(t)))
    turned = np.nonzero(motion.elbow_up[level : last + 1] > TURNED_OVER)[0]
    turn_over = level + int(turned[0]) if len(turned) else last
    stall, _ = longest_stall(motion, looking, level, last)
    put("stall_s", stall, 2 * frame)
    before_support = np.nonzero(motion.shoulder[level : last + 1] > SUPPORT_ABOVE)[0]
    until = min(turn_over, level + int(before_support[0]) if len(before_support) else turn_over)
    if until > level and pull.to_support:
        run = np.maximum.accumulate(motion.shoulder[level : until + 1])
        put("drop_in_transition_L", float((run - motion.shoulder[level : until + 1]).max()), 0.02)
    if looking.shows_both_sides:
        _sides(motion, level, last, put)
    elif len(turned):
        put("trunk_back_lean_deg", -motion.trunk_lean_deg[turn_over], LEAN_SD_DEG)
    if pull.to_support:
        locked = locked_at(motion, level, last)
        put("over_bar_to_lockout_s", t[locked] - t[level], LOCKED_SD_S)
        seen = float(np.percentile(motion.elbow_deg[locked : last + 1], 75))
        put("final_elbow_deg", seen, ANGLE_SD_DEG)
        put("support_hold_s", t[last] - t[locked], LOCKED_SD_S)


def locked_at(motion: Motion, first: int, last: int) -> int:
    """Return the frame from which the shoulders are as high as they stay in the support."""
    plateau = float(np.percentile(motion.shoulder[first : last + 1], 95))
    return first + int(np.nonzero(motion.shoulder[first : last + 1] >= plateau - LOCKED_WITHIN_L)[0][0])


def longest_stall(motion: Motion, looking: Looking, level: int, last: int) -> tuple[float, int]:
    """Return the longest pause in the stall band before the turn-over, in s, and the frame it starts at."""
    slow = (
        (np.abs(motion.rise) * motion.length_m < STALL_SPEED_MPS)
        & (motion.shoulder > STALL_BAND[0])
        & (motion.shoulder < STALL_BAND[1])
    )
    if looking.shows_depth_plane:
        # Shoulders over the hands are past the chest's rest on the bar; elbows may lie over it in the rest.
        slow &= motion.shoulder_x < STALL_BEHIND
    else:
        slow &= motion.elbow_up < STALL_ELBOW_UP
    best, at = 0.0, level
    start: int | None = None
    missed = 0
    for i in range(level, last + 1):
        if slow[i]:
            start, missed = (i if start is None else start), 0
            length = float(motion.t_s[i] - motion.t_s[start])
            if length > best:
                best, at = length, start
        elif start is not None:
            missed += 1
            # Resting on the chest is not standing still: a short sway does not end the stall.
            if (
                motion.t_s[i] - motion.t_s[i - missed] > 0.2
                or not STALL_BAND[0] < motion.shoulder[i] < STALL_BAND[1]
            ):
                start, missed = None, 0
    return best, at


def contact(motion: Motion, pull: Pull, top: int) -> tuple[float, int]:
    """Return the most speed lost in one knock with the chest at the bar, in m/s, and the frame it begins."""
    frame = float(np.median(np.diff(motion.t_s)))
    later = max(1, round(CONTACT_S / frame))
    first, last = pull.start, min(top + later, len(motion.t_s) - later - 1)
    if last <= first:
        return 0.0, first
    before, after = np.arange(first, last), np.arange(first, last) + later
    speed = motion.rise * motion.length_m
    at_chest = (motion.shoulder[after] > CONTACT_HEIGHTS[0]) & (motion.shoulder[after] < CONTACT_HEIGHTS[1])
    at_chest &= (motion.shoulder_x[after] > CONTACT_NEAR) & (motion.elbow_up[after] < TURNED_OVER)
    at_chest &= speed[before] > FROM_MPS
    lost = np.where(at_chest, speed[before] - np.maximum(speed[after], 0.0), 0.0)
    return float(lost.max()), first + int(lost.argmax())


def elbow_gap(motion: Motion, level: int, last: int) -> tuple[float, float] | None:
    """Return how much later one elbow rises past the bar than the other, in s, and when the first does.

    The upper quartile over seven heights from the bar to a forearm over it: one
    crossing alone hangs on the point error of an elbow seen end-on.
    """
    since = max(0, int(np.searchsorted(motion.t_s, motion.t_s[level] - 0.5)))
    gaps, first = [], np.inf
    for height in np.linspace(*ELBOW_BAND, 7):
        left = crossing(motion.t_s, motion.left_elbow, height, since, last, upward=True)
        right = crossing(motion.t_s, motion.right_elbow, height, since, last, upward=True)
        if left is not None and right is not None:
            gaps.append(abs(left - right))
            first = min(first, left, right)
    return (float(np.percentile(gaps, ELBOW_SHARE)), first) if gaps else None


def _sides(motion: Motion, level: int, last: int, put: Put) -> None:
    gap = elbow_gap(motion, level, last)
    if gap is None:
        return
    frame = float(np.median(np.diff(motion.t_s)))
    share = ELBOW_GAP_SD_SHARE
    turning = slice(*np.searchsorted(motion.t_s, [gap[1], gap[1] + max(gap[0], 0.2)]))
    if turning.stop - turning.start >= 3:
        tilt = float(np.median(np.abs(motion.tilt_deg[turning])))
        put("shoulder_tilt_deg", tilt, 5.0)
        share = float(np.interp(tilt, (LEVEL_DEG, TILTED_DEG), (LEVEL_GAP_SD_SHARE, share)))
    put("elbow_gap_s", gap[0], np.hypot(frame, share * gap[0]))


def _short(motion: Motion, looking: Looking, pull: Pull, top: int, put: Put) -> None:
    """Measure the top of a pull that does not reach the support."""
    if looking.shows_depth_plane:
        round_top = np.abs(motion.t_s - motion.t_s[top]) <= EAR_ROUND_S
        behind = motion.shoulder_x[round_top] - motion.ear_x[round_top]
        put("ear_behind_shoulder_L", float(behind.mean()), EAR_SD_L)
    if motion.shoulder[top] > 0.0:
        below = motion.elbow_up[top : pull.end + 1] < HANGING_ELBOW
        stays = int(np.argmin(below)) if not below.all() else len(below) - 1
        high = motion.shoulder[top : pull.end + 1] > 0.0
        stays = min(stays, int(np.argmin(high)) if not high.all() else len(high) - 1)
        put("elbow_below_wrist_after_peak_s", motion.t_s[top + stays] - motion.t_s[top], 0.05)


def _down(motion: Motion, pull: Pull, first: int, put: Put) -> None:
    way = slice(first, pull.end + 1)
    speed = -motion.rise[way] * motion.length_m
    if len(speed) < 3:
        return
    fastest = int(speed.argmax())
    put(
        "descent_peak_speed_ms",
        speed[fastest],
        np.hypot(0.1, motion.rise_sd[first + fastest] * motion.length_m),
    )
    if pull.descent is not None:
        hang = crossing(
            motion.t_s, motion.shoulder, HANG_BELOW, first, min(pull.end + 1, len(motion.t_s) - 1), False
        )
        if hang is not None:
            put("descent_s", hang - motion.t_s[first], 0.05)
            put("support_to_hang_s", hang - motion.t_s[first], 0.05)
