"""Faults a film shows, with the chance that each limit is passed, and the one to work on.

Limits, cues and drills are the ladder's data; nothing here knows a threshold.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace
from functools import lru_cache
from math import erf, sqrt
from typing import Any

import numpy as np

from overbar.film.grip import hand_shift, width_ratio
from overbar.film.measures import bent_start, contact, longest_stall, uneven_pulls
from overbar.film.motion import Motion
from overbar.film.mount import first_swing_elbow
from overbar.film.phases import Phases, Pull, crossing
from overbar.film.reading import Attempt, FoundFault, Measured, Rep
from overbar.film.support import sinking
from overbar.film.view import Looking

SKILL = "bar_muscle_up"
SHOWN_FROM = 0.5
"""A fault is listed when its limit is passed at least as likely as not."""
MAIN_FROM = 0.7
"""It is named as the one to work on from this chance (own judgement)."""
SAME_PRIORITY = ("F06", "F04", "F13", "F05", "F18", "F16", "F10")
"""Order among faults of one priority: what causes the other goes first. A pull before the front costs
height, too little height makes the stall, the stall delays the press; early legs come before the arms
(handbook trade.md sections 3.3 and 3.4)."""
TIMING_AND_SWING = ("F06", "F07", "F08", "F09", "F10")
"""Faults of timing and swing."""
LOWERING_SD_S = 0.1
"""One-sigma error of a lowering's time, s (own measurement)."""
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


@dataclass(frozen=True)
class Judged:
    """How likely a fault's limit is passed, by which rep or attempt, measure and limit."""

    chance: float
    subject: Subject
    measure: str
    limit: float | tuple[float, float]


_JUDGED_BY: ContextVar[Any] = ContextVar("ladder whose faults are looked for", default=None)


@contextmanager
def judged_by(ladder: Any) -> Iterator[None]:
    """Look for a ladder's faults, by its limits, cues and drills, while the body runs.

    A ladder of another skill changes nothing: what a film shows is judged as a pull at a bar.
    """
    token = _JUDGED_BY.set(ladder if ladder.skill.id == SKILL else None)
    try:
        yield
    finally:
        _JUDGED_BY.reset(token)


def fault_data() -> Any:
    """Return the ladder whose faults, cues and drills are used."""
    return _JUDGED_BY.get() or _shipped()


def limits_mark() -> str:
    """Return a mark of the limits faults are judged by; two ladders with the same fault entries share it."""
    return mark_of(fault_data())


def mark_of(ladder: Any) -> str:
    """Return the mark of a ladder's limits; that of another skill judges as the pull at a bar does."""
    judging = ladder if ladder.skill.id == SKILL else _shipped()
    entries = sorted(fault.model_dump_json(exclude={"basis", "why"}) for fault in judging.faults.values())
    return hashlib.sha256("\n".join(entries).encode()).hexdigest()[:16]


@lru_cache(maxsize=1)
def _shipped() -> Any:
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


def judge(subjects: tuple[Subject, ...], looking: Looking) -> dict[str, Judged]:
    """Return for every fault the view can show where its limit is most likely passed."""
    judged = {}
    for fault in fault_data().faults.values():
        seen = [
            Judged(chance(value.value, value.sd, op, limit), subject, name, limit)
            for name, op, limit in fault.conditions
            for subject in subjects
            if (value := subject.measures.get(name)) is not None
        ]
        if seen and fault.shown_from(looking.view.kind):
            judged[fault.id] = max(seen, key=lambda one: one.chance)
    return judged


def find_faults(subjects: tuple[Subject, ...], looking: Looking) -> tuple[FoundFault, ...]:
    """Return the faults shown, the one to work on first."""
    found = [
        _found(fault_id, one)
        for fault_id, one in judge(subjects, looking).items()
        if one.chance >= SHOWN_FROM
    ]
    found.sort(key=_order)
    return tuple(replace(fault, rank=rank) for rank, fault in enumerate(found, start=1))


def _found(fault_id: str, one: Judged) -> FoundFault:
    value, limit = one.subject.measures[one.measure], one.limit
    return FoundFault(
        id=fault_id,
        name=fault_data().faults[fault_id].name,
        at_s=round(one.subject.at_s.get(one.measure, one.subject.start_s), 4),
        measure=one.measure,
        value=value.value,
        sd=value.sd,
        threshold=float(limit[int(value.value > sum(limit) / 2)] if isinstance(limit, tuple) else limit),
        chance=round(one.chance, 3),
        rank=0,
    )


def _order(fault: FoundFault) -> tuple[bool, int, int, str]:
    cause = SAME_PRIORITY.index(fault.id) if fault.id in SAME_PRIORITY else len(SAME_PRIORITY)
    return fault.chance < MAIN_FROM, fault_data().faults[fault.id].priority, cause, fault.id


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
    at["contact_speed_drop_ms"] = float(t[contact(motion, pull, top)[1]])
    pressed = bent_start(motion, pull)
    if pressed is not None:
        at["elbow_at_20deg_shoulder_close_deg"] = float(t[pressed[1]])
    at["trunk_thigh_deg"] = float(t[pull.start + int(motion.hip_deg[pull.start : top + 1].argmax())])
    under = motion.knee_x[top : last + 1] - motion.hip_x[top : last + 1]
    at["knee_travel_after_peak_L"] = float(t[top + int(under.argmax())])
    down = pull.descent if pull.descent is not None else top
    fastest = down + int(motion.rise[down : pull.end + 1].argmin())
    at["descent_peak_speed_ms"] = float(t[fastest])
    measures = dict(attempt.measures)
    if attempt.outcome == "valid":
        # A try that counts was judged locked out; its elbow, read within a few degrees, is no fault.
        measures.pop("final_elbow_deg", None)
    return Subject(measures, at, attempt.from_s)


def subject_of_rep(rep: Rep, first: bool) -> Subject:
    """Return a strict rep as something that can show faults."""
    measures = {"chin_over_bar_L": rep.peak_chin_L, **rep.measures}
    if rep.bottom_elbow_deg is not None:
        measures["bottom_elbow_deg"] = rep.bottom_elbow_deg
    if first and rep.mean_speed_mps is not None:
        measures["first_rep_mean_speed_ms"] = rep.mean_speed_mps
    at = {"chin_over_bar_L": rep.top_s, "hip_forward_L": rep.top_s, "knee_change_deg": rep.top_s}
    return Subject(measures, at, rep.from_s)


def subject_of_lowering(rep: Rep) -> Subject:
    """Return a way down from support as something that can show faults: it may be a drop."""
    span = Measured(rep.to_s - rep.from_s, LOWERING_SD_S)
    measures = {"support_to_hang_s": span}
    if rep.peak_speed_mps is not None:
        measures["descent_peak_speed_ms"] = rep.peak_speed_mps
    return Subject(measures, {}, rep.from_s)


def subject_of_film(
    motion: Motion, looking: Looking, phases: Phases, bar_shift_L: Measured | None = None
) -> Subject:
    """Return what the whole film shows beside its reps and attempts: bar, grip, mount, support, evenness."""
    found = sinking(motion, looking, phases)
    if bar_shift_L is not None:
        found["bar_shift_L"] = bar_shift_L, float(motion.t_s[int(phases.on_bar.argmax())])
    for name, measure in (
        ("hand_width_ratio", width_ratio),
        ("hand_shift_L", hand_shift),
        ("first_swing_elbow_deg", first_swing_elbow),
        ("shoulder_height_diff_L", uneven_pulls),
    ):
        seen = measure(motion, looking, phases)
        if seen is not None:
            found[name] = seen
    return Subject(
        {name: value for name, (value, _) in found.items()},
        {name: at for name, (_, at) in found.items()},
        0.0,
    )


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
    first = strict[0].mean_speed_mps if strict else None
    return "speed" if first is not None and first.value < SLOW_FIRST_REP_MPS else ""


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
