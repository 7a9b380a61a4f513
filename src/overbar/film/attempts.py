"""Attempts at the muscle-up: outcome, class by swing, and measures."""

from __future__ import annotations

from overbar.film.measures import of_pull
from overbar.film.motion import Motion
from overbar.film.phases import Phases, Pull, Turn
from overbar.film.reading import Attempt, Measured
from overbar.film.reps import SWING_FROM_L, out_of_swing
from overbar.film.view import Looking

KIP_FROM_L = 1.0
"""Hip travel from which the class is kip (handbook trade.md section 2.6)."""
EVEN_ELBOWS_S = 0.10
"""Largest time between the elbows of a clean turn-over (same place)."""
SEVEN_IN_TEN = 0.52
"""So many sd over a limit a value lies beyond it by seven chances in ten, as the main fault must."""
EVEN_SHOULDERS_DEG = 12.0
"""Largest tilt of the shoulder line in it (handbook trade.md F03)."""
LOCKED_DEG = 165.0
"""Elbow angle of a support (same place)."""
HELD_S = 1.0
"""Time a support is held (same place); a film that ends in the support counts as held."""
OVER_FROM_L = 0.05
"""Shoulder height from which a strict pull was an attempt to go over (own judgement)."""


def is_attempt(motion: Motion, looking: Looking, pull: Pull) -> bool:
    """Say whether a pull tried to go over: it did, or came out of a swing, or rose over the bar."""
    if pull.from_above:
        return False
    return pull.to_support or out_of_swing(motion, looking, pull) or motion.shoulder[pull.top] > OVER_FROM_L


def find_attempts(motion: Motion, looking: Looking, phases: Phases) -> tuple[tuple[Attempt, Pull], ...]:
    """Return every attempt with its pull, in order of time."""
    return tuple(
        (_attempt(motion, looking, pull, phases.turns), pull)
        for pull in phases.pulls
        if is_attempt(motion, looking, pull)
    )


def _attempt(motion: Motion, looking: Looking, pull: Pull, turns: tuple[Turn, ...]) -> Attempt:
    measures = of_pull(motion, looking, pull, turns)
    swing = out_of_swing(motion, looking, pull)
    peak = measures["peak_shoulder_L"]
    measures["swing_peak_L" if swing else "strict_peak_L"] = peak
    kind, or_kind = _class(swing, measures.get("hip_travel_L"))
    last = pull.descent if pull.descent is not None else pull.end
    return Attempt(
        from_s=round(float(motion.t_s[pull.start]), 4),
        to_s=round(float(motion.t_s[last]), 4),
        outcome=_outcome(motion, pull, measures),
        kind=kind,
        measures=measures,
        or_kind=or_kind,
    )


def _class(swing: bool, travel: Measured | None) -> tuple[str, str]:
    """Return the class by swing, and the one next to it where the travel is uncertain by more; else empty."""
    kind = "no_swing" if not swing else "swing"
    if travel is None:
        return kind, ""
    if swing and travel.value > KIP_FROM_L:
        kind = "kip"
    if abs(travel.value - KIP_FROM_L) < travel.sd:
        return kind, "swing" if kind == "kip" else "kip"
    if abs(travel.value - SWING_FROM_L) < travel.sd:
        return kind, "no_swing" if swing else "swing"
    return kind, ""


def _outcome(motion: Motion, pull: Pull, measures: dict[str, Measured]) -> str:
    if not pull.to_support:
        return "failed"
    gap = measures.get("elbow_gap_s")
    tilt = measures.get("shoulder_tilt_deg")
    uneven = (gap is not None and gap.value - SEVEN_IN_TEN * gap.sd > EVEN_ELBOWS_S) or (
        tilt is not None and tilt.value > EVEN_SHOULDERS_DEG
    )
    hold = measures.get("support_hold_s")
    in_support_at_end = pull.end == len(motion.t_s) - 1
    dropped = hold is not None and hold.value + 2 * hold.sd < HELD_S and not in_support_at_end
    soft = "final_elbow_deg" in measures and (
        measures["final_elbow_deg"].value + 2 * measures["final_elbow_deg"].sd < LOCKED_DEG
    )
    return "over_not_clean" if uneven or dropped or soft else "valid"
