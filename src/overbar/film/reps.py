"""Repetitions: what was done, from when to when, and whether it counts."""

from __future__ import annotations

import numpy as np

from overbar.film.measures import ANGLE_SD_DEG, SPAN_SD_S, hip_travel, locked_at, swing_before
from overbar.film.motion import Motion, elbow_of_reach
from overbar.film.phases import SUPPORT_ABOVE, Phases, Pull
from overbar.film.reading import Measured, Rep
from overbar.film.top import top_height
from overbar.film.view import Looking

FULL_HANG_DEG = 155.0
"""Elbow angle at the bottom from which a hang is full (handbook trade.md F20)."""
SWING_FROM_L = 0.25
"""Hip travel from which a pull comes out of a swing (handbook trade.md section 2.6)."""
FEET_RISE_L = 0.20
"""Rise of the feet towards the shoulders in a hang that shows a swing where the view hides fore and aft (own
judgement)."""
HIGH_PULL_FROM_L = 0.0
"""Shoulder height from which a strict pull is a high pull and no pull-up (own judgement)."""
NEGATIVE_FROM_S = 1.5
"""A way down from support of at least this time is a lowering (own judgement)."""
DIP_DEPTH_L = 0.15
"""Least fall of the shoulder below the support for a dip, L (own judgement)."""
PEAK_SD_MPS = 0.15
"""One-sigma error of a peak speed beside the smoother's own: the mark of the shoulder moves on it as the arm
leaves the overhead line (own measurement on films with known truth)."""
STRICT_PEAK_S, STRICT_PEAK_SD_MPS = 0.3, 0.08
"""The peak speed of a strict pull-up is the greatest mean over this time, s, with this one-sigma error: it
lasts, and a curve's highest value is an error's (own measurement on 69 pull-ups: +0.17 m/s by that)."""
HIP_SD_L = 0.02
"""One-sigma error of the hips' forward travel in a strict pull, L (own measurement)."""
HANG_DEPTH = 0.93
"""A hang with straight arms is at least this deep, L (own judgement)."""


def out_of_swing(motion: Motion, looking: Looking, pull: Pull) -> bool:
    """Say whether a pull comes out of a swing."""
    frames = swing_before(motion, pull)
    travel = hip_travel(motion, frames)
    # Plainly: a body sways after a grind as well.
    if looking.shows_depth_plane and travel.value - travel.sd >= SWING_FROM_L:
        return True
    # In the straight hang alone, and below the shoulders: a pull that begins lifts the feet as well.
    deep = motion.shoulder[frames] < -HANG_DEPTH
    if looking.shows_both_sides and deep.sum() > 3:
        return bool(np.ptp((motion.foot_height - motion.shoulder)[frames][deep]) >= FEET_RISE_L)
    return False


def find_reps(motion: Motion, looking: Looking, phases: Phases) -> tuple[Rep, ...]:
    """Return all reps of a film in order of time."""
    reps: list[Rep] = []
    for pull in phases.pulls:
        if pull.from_above:
            if pull.end < len(motion.t_s) - 1:
                reps.append(_negative(motion, pull, pull.descent or 0))
            continue
        if pull.to_support:
            reps.append(_rep(motion, looking, pull, "muscle_up"))
        elif out_of_swing(motion, looking, pull) or motion.shoulder[pull.top] >= HIGH_PULL_FROM_L:
            reps.append(_rep(motion, looking, pull, "high_pull"))
        else:
            reps.append(_rep(motion, looking, pull, "pull_up"))
        if pull.descent is not None and pull.end < len(motion.t_s) - 1:
            way_down = motion.t_s[pull.end] - motion.t_s[pull.descent]
            if way_down >= NEGATIVE_FROM_S:
                reps.append(_negative(motion, pull, pull.descent))
    reps += _dips(motion, phases)
    return tuple(sorted(reps, key=lambda rep: rep.from_s))


def _rep(motion: Motion, looking: Looking, pull: Pull, kind: str) -> Rep:
    t = motion.t_s
    end = pull.descent if kind == "muscle_up" and pull.descent is not None else pull.end
    path = slice(pull.start, end + 1)
    top = pull.start + int(motion.shoulder[path].argmax())
    bottom = _bottom_elbow(motion, pull)
    chin = top_height(t, motion.chin, motion.chin_sd, pull.start, end)
    chin_over = chin.value > 0
    why = ""
    if bottom.value < FULL_HANG_DEG:
        why = f"no full hang before it: elbows at {bottom.value:.0f} degrees"
    elif not chin_over:
        under, sd = (100 * motion.length_m * value for value in (-chin.value, chin.sd))
        why = f"the chin stayed {under:.0f} cm under the bar, give or take {sd:.0f} cm"
    elif kind == "pull_up" and pull.end == len(t) - 1:
        why = ""
    # In the support the shoulders sway on: the way up ends where the arms lock.
    mean, peak = _speeds(motion, pull.start, locked_at(motion, pull.start, end) if pull.to_support else top)
    if kind == "pull_up":
        peak = _strict_peak(motion, pull.start, top)
    return Rep(
        kind=kind,
        from_s=round(float(t[pull.start]), 4),
        top_s=round(float(t[top]), 4),
        to_s=round(float(t[end]), 4),
        counted=not why,
        why_not=why,
        chin_over_bar=chin_over,
        peak_shoulder_L=top_height(t, motion.shoulder, motion.shoulder_sd, pull.start, end),
        peak_chin_L=chin,
        mean_speed_mps=mean,
        peak_speed_mps=peak,
        bottom_elbow_deg=bottom,
        measures=_still(motion, looking, pull.start, top) if kind == "pull_up" else {},
        close=bottom.value >= FULL_HANG_DEG and abs(chin.value) < chin.sd,
    )


def _still(motion: Motion, looking: Looking, start: int, top: int) -> dict[str, Measured]:
    """Measure what a strict pull-up must not show: hips that travel, knees that drive."""
    if not looking.shows_depth_plane:
        return {}
    way = slice(start, max(top, start + 1) + 1)
    return {
        "hip_forward_L": Measured(float(motion.hip_x[way].max() - motion.hip_x[start]), HIP_SD_L),
        "knee_change_deg": Measured(float(np.ptp(motion.knee_deg[way])), ANGLE_SD_DEG),
    }


def _bottom_elbow(motion: Motion, pull: Pull) -> Measured:
    """Return the straightest elbow angle of the hang before a pull, seen or told by its depth."""
    since = max(0, int(np.searchsorted(motion.t_s, motion.t_s[pull.start] - 1.0)))
    frames = slice(since, pull.start + 1)
    angle = float(np.percentile(motion.elbow_deg[frames], 90))
    depth = float(motion.reach[frames].max())
    return Measured(max(angle, float(elbow_of_reach(depth))), ANGLE_SD_DEG)


def _speeds(motion: Motion, start: int, top: int) -> tuple[Measured, Measured]:
    relative = motion.length_sd_m / motion.length_m
    rise = motion.rise[start : top + 1] * motion.length_m
    # The way up ends where the shoulder has all but stopped; a hold at the top is no part of its mean speed.
    fast = np.nonzero(rise > 0.05 * max(float(rise.max()), 1e-6))[0]
    last = start + int(fast[-1]) if len(fast) else top
    span = max(float(motion.t_s[last] - motion.t_s[start]), 1e-3)
    mean = float((motion.shoulder[last] - motion.shoulder[start]) * motion.length_m / span)
    at = start + int(rise.argmax())
    peak = float(motion.rise[at] * motion.length_m)
    mean_sd = float(np.hypot(0.015 * motion.length_m / span, np.hypot(relative, SPAN_SD_S / span) * mean))
    peak_sd = float(np.hypot(np.hypot(motion.rise_sd[at] * motion.length_m, PEAK_SD_MPS), relative * peak))
    return Measured(mean, mean_sd), Measured(peak, peak_sd)


def _strict_peak(motion: Motion, start: int, top: int) -> Measured:
    """Return the greatest mean rise speed over ``STRICT_PEAK_S`` on the way up, m/s."""
    middle = motion.t_s[start : top + 1]
    before, after = (
        np.interp(middle + step, motion.t_s, motion.shoulder)
        for step in (-STRICT_PEAK_S / 2, STRICT_PEAK_S / 2)
    )
    peak = float((after - before).max()) * motion.length_m / STRICT_PEAK_S
    relative = motion.length_sd_m / motion.length_m
    return Measured(peak, float(np.hypot(STRICT_PEAK_SD_MPS, relative * peak)))


def _negative(motion: Motion, pull: Pull, first: int) -> Rep:
    t = motion.t_s
    way = slice(first, pull.end + 1)
    top = int(first)
    fall = -motion.rise[way] * motion.length_m
    relative = motion.length_sd_m / motion.length_m
    span = max(float(t[pull.end] - t[first]), 1e-3)
    mean = float((motion.shoulder[first] - motion.shoulder[pull.end]) * motion.length_m / span)
    fastest = first + int(fall.argmax())
    chin = first + int(motion.chin[way].argmax())
    return Rep(
        kind="negative",
        from_s=round(float(t[first]), 4),
        top_s=round(float(t[top]), 4),
        to_s=round(float(t[pull.end]), 4),
        counted=True,
        why_not="",
        chin_over_bar=True,
        peak_shoulder_L=Measured(float(motion.shoulder[way].max()), float(motion.shoulder_sd[top])),
        peak_chin_L=Measured(float(motion.chin[chin]), float(motion.chin_sd[chin])),
        mean_speed_mps=Measured(mean, float(relative * abs(mean) + 0.01)),
        peak_speed_mps=Measured(
            float(fall.max()),
            float(np.hypot(motion.rise_sd[fastest] * motion.length_m, relative * fall.max())),
        ),
        bottom_elbow_deg=None,
    )


def _dips(motion: Motion, phases: Phases) -> list[Rep]:
    """Return dips: falls from a support and back to it without a hang between."""
    reps: list[Rep] = []
    support = phases.on_bar & (motion.shoulder > SUPPORT_ABOVE)
    edges = np.diff(support.astype(int))
    for leave in np.nonzero(edges == -1)[0]:
        back = np.nonzero(edges[leave:] == 1)[0]
        if not len(back):
            break
        again = int(leave + back[0] + 1)
        between = slice(int(leave), again + 1)
        low = int(leave) + int(motion.shoulder[between].argmin())
        depth = SUPPORT_ABOVE - motion.shoulder[low]
        if motion.shoulder[low] < 0.0 or depth < DIP_DEPTH_L:
            continue
        mean, peak = _speeds(motion, low, again)
        chin = Measured(float(motion.chin[low]), float(motion.chin_sd[low]))
        reps.append(
            Rep(
                kind="dip",
                from_s=round(float(motion.t_s[leave]), 4),
                top_s=round(float(motion.t_s[low]), 4),
                to_s=round(float(motion.t_s[again]), 4),
                counted=True,
                why_not="",
                chin_over_bar=True,
                peak_shoulder_L=Measured(
                    float(motion.shoulder[between].max()), float(motion.shoulder_sd[int(leave)])
                ),
                peak_chin_L=chin,
                mean_speed_mps=mean,
                peak_speed_mps=peak,
                bottom_elbow_deg=Measured(float(motion.elbow_deg[low]), ANGLE_SD_DEG),
            )
        )
    return reps
