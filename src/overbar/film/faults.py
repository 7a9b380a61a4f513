"""Faults a film shows, with the chance that each limit is passed, and the one to work on.

Limits, cues and drills are the ladder's data; nothing here knows a threshold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import erf, sqrt
from typing import Any

import numpy as np

from overbar.film.measures import longest_stall
from overbar.film.motion import Motion
from overbar.film.phases import Pull, crossing
from overbar.film.reading import Attempt, FoundFault, Measured, Rep
from overbar.film.view import Looking

SKILL = "bar_muscle_up"
SHOWN_FROM = 0.5
"""A fault is listed when its limit is passed at least as likely as not."""
MAIN_FROM = 0.7
"""It is named as the one to work on from this chance (own judgement)."""
SAME_PRIORITY = ("F06", "F04", "F13", "F05", "F18")
"""Order among faults of one priority: what causes the other goes first. A pull before the front costs
height, too little height makes the stall, the stall delays the press (handbook trade.md sections 3.3 and
3.4)."""
NOT_FROM_FILM = ("F01", "F23", "F25", "F26")
"""Faults this room does not judge by a limit: the place needs a photo, grip and skin a closer look, and an
unusable film is said as a problem."""
TIMING_AND_SWING = ("F06", "F07", "F08", "F09", "F10")
"""Faults of timing and swing."""
SLOW_FIRST_REP_MPS = 0.60
"""Mean speed of the first rep under which speed is short (handbook trade.md section 3.3)."""
GATE_HEIGHT_L = 0.18
"""Shoulder height of a swing high pull at which attempts pay (handbook trade.md gate G4)."""


@dataclass(frozen=True)
class Subject:
    """One rep or attempt that can show faults: its measures and where to look for each."""

    measures: dict[str, Measured]
    at_s: dict[str, float]
    start_s: float


@lru_cache(maxsize=1)
def fault_data() -> Any:
    """Return the ladder whose faults, cues and drills are used."""
    from overbar.ladder import load_ladder

    return load_ladder(SKILL)


def chance(value: float, sd: float, op: str, limit: float | tuple[float, float]) -> float:
    """Return the chance that a value with a normal error lies past a limit.

    Examples
    --------
    >>> round(chance(0.19, 0.04, ">", 0.10), 3)
    0.988
    """

    def above(x: float) -> float:
        return 0.5 * (1 + erf((value - x) / (sqrt(2) * max(sd, 1e-9))))

    if isinstance(limit, tuple):
        return 1.0 - (above(limit[0]) - above(limit[1]))
    return above(limit) if op in (">", ">=") else 1.0 - above(limit)


def find_faults(subjects: tuple[Subject, ...], looking: Looking) -> tuple[FoundFault, ...]:
    """Return the faults shown, the one to work on first."""
    found: list[tuple[tuple[int, int, str], FoundFault]] = []
    for fault in fault_data().faults.values():
        if fault.id in NOT_FROM_FILM or not _visible(fault.view, looking):
            continue
        seen = list(_seen(fault, subjects))
        if not seen:
            continue
        sure, subject, name, limit = max(seen, key=lambda one: one[0])
        if sure < SHOWN_FROM:
            continue
        value = subject.measures[name]
        edge = limit if not isinstance(limit, tuple) else limit[int(value.value > sum(limit) / 2)]
        order = SAME_PRIORITY.index(fault.id) if fault.id in SAME_PRIORITY else len(SAME_PRIORITY)
        found.append(
            (
                (fault.priority, order, fault.id),
                FoundFault(
                    id=fault.id,
                    name=fault.name,
                    at_s=round(subject.at_s.get(name, subject.start_s), 4),
                    measure=name,
                    value=value.value,
                    sd=value.sd,
                    threshold=float(edge),
                    chance=round(sure, 3),
                    rank=0,
                ),
            )
        )
    ranked = sorted(found, key=lambda one: (one[1].chance < MAIN_FROM, *one[0]))
    return tuple(
        FoundFault(**{**fault.__dict__, "rank": rank}) for rank, (_, fault) in enumerate(ranked, start=1)
    )


def main_fault(faults: tuple[FoundFault, ...]) -> FoundFault | None:
    """Return the one fault to work on, or None."""
    return faults[0] if faults and faults[0].chance >= MAIN_FROM else None


def subject_of_attempt(motion: Motion, looking: Looking, attempt: Attempt, pull: Pull) -> Subject:
    """Return an attempt as something that can show faults."""
    t = motion.t_s
    last = pull.descent if pull.descent is not None else pull.end
    level_s = crossing(t, motion.shoulder, 0.0, pull.start, last, upward=True)
    top = pull.start + int(motion.shoulder[pull.start : last + 1].argmax())
    at = {
        "swing_peak_L": float(t[top]),
        "strict_peak_L": float(t[top]),
        "ear_behind_shoulder_L": float(t[top]),
    }
    if level_s is not None:
        level = int(np.searchsorted(t, level_s))
        at |= dict.fromkeys(("gap_at_bar_level_L", "elbow_gap_s", "over_bar_to_lockout_s"), level_s)
        at["stall_s"] = float(t[longest_stall(motion, looking, level, last)[1]])
    down = pull.descent if pull.descent is not None else top
    fastest = down + int(motion.rise[down : pull.end + 1].argmin())
    at["descent_peak_speed_ms"] = float(t[fastest])
    measures = dict(attempt.measures)
    if attempt.outcome == "valid":
        # A try that counts was judged locked out; its elbow, read within a few degrees, is no fault.
        measures.pop("final_elbow_deg", None)
    return Subject(measures, at, attempt.from_s)


def subject_of_rep(motion: Motion, rep: Rep, first: bool) -> Subject:
    """Return a strict rep as something that can show faults."""
    t = motion.t_s
    start, top = (int(np.searchsorted(t, s)) for s in (rep.from_s, rep.top_s))
    way = slice(start, max(top, start + 1) + 1)
    measures = {"chin_over_bar_L": rep.peak_chin_L}
    if rep.bottom_elbow_deg is not None:
        measures["bottom_elbow_deg"] = rep.bottom_elbow_deg
    measures["hip_forward_L"] = Measured(float(motion.hip_x[way].max() - motion.hip_x[start]), 0.06)
    measures["knee_change_deg"] = Measured(float(np.ptp(motion.knee_deg[way])), 8.0)
    if first:
        measures["first_rep_mean_speed_ms"] = rep.mean_speed_mps
    at = {"chin_over_bar_L": rep.top_s, "hip_forward_L": rep.top_s, "knee_change_deg": rep.top_s}
    return Subject(measures, at, rep.from_s)


def holds_back(attempts: tuple[Attempt, ...], reps: tuple[Rep, ...], faults: tuple[FoundFault, ...]) -> str:
    """Say what holds the attempts back, by the order of the trade (handbook trade.md section 3.3).

    Returns
    -------
    str
        'technique', 'speed', or '' when nothing does or only the log can tell.
    """
    if not attempts or any(one.outcome == "valid" for one in attempts):
        return ""
    peak = max(one.measures["peak_shoulder_L"].value for one in attempts)
    if peak >= GATE_HEIGHT_L or any(one.id in TIMING_AND_SWING for one in faults):
        return "technique"
    strict = [rep for rep in reps if rep.kind == "pull_up"]
    return "speed" if strict and strict[0].mean_speed_mps.value < SLOW_FIRST_REP_MPS else ""


def margins(attempts: tuple[Attempt, ...], motion: Motion) -> str:
    """Say what holds the best attempt back, as margins, or say nothing when none failed."""
    tries = [one for one in attempts if one.outcome != "valid"]
    if not tries:
        return ""
    best = max(tries, key=lambda one: one.measures["peak_shoulder_L"].value)
    peak = best.measures["peak_shoulder_L"]
    short = peak.value - GATE_HEIGHT_L
    cm = motion.length_m * 100
    parts = [
        f"height {short:+.2f} L ({short * cm:+.0f} ± {peak.sd * cm:.0f} cm) against +{GATE_HEIGHT_L:.2f} L"
    ]
    timing = best.measures.get("pull_after_front_s")
    if timing is not None:
        side = "after" if timing.value >= 0 else "before"
        parts.append(f"pull {abs(timing.value):.2f} ± {timing.sd:.2f} s {side} the front of the swing")
    gap = best.measures.get("gap_at_bar_level_L")
    if gap is not None:
        parts.append(f"{gap.value:.2f} ± {gap.sd:.2f} L behind the bar at bar level")
    stall = best.measures.get("stall_s")
    if stall is not None and stall.value >= 0.1:
        parts.append(f"stall {stall.value:.1f} ± {stall.sd:.1f} s")
    gap_s = best.measures.get("elbow_gap_s")
    if gap_s is not None:
        parts.append(f"elbows {gap_s.value:.2f} ± {gap_s.sd:.2f} s apart")
    return "; ".join(parts)


def _visible(view: str, looking: Looking) -> bool:
    if view == "side":
        return True
    if view == "front":
        return looking.view.kind == "front"
    if view == "front/rear":
        return looking.shows_both_sides
    return True


def _seen(fault: Any, subjects: tuple[Subject, ...]) -> Iterator[tuple[float, Subject, str, Any]]:
    for name, op, limit in fault.conditions:
        for subject in subjects:
            value = subject.measures.get(name)
            if value is not None:
                yield chance(value.value, value.sd, op, limit), subject, name, limit
