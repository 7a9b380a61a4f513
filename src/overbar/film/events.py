"""The moments of a film a coach jumps to."""

from __future__ import annotations

import numpy as np

from overbar.film.measures import START_SD_S, event_sd, locked_at
from overbar.film.motion import Motion
from overbar.film.phases import SUPPORT_ABOVE, Phases, Pull, crossing
from overbar.film.reading import Event

BAR_RADIUS_M = 0.014
"""Half the usual bar thickness of 28 mm, over whose top the chin passes (common practice)."""
CHIN_SD_L, SHOULDER_SD_L = 0.035, 0.015
"""One-sigma errors of the two heights near bar level, L (own measurement on truth films)."""
OVER_SD_S, CATCH_SD_S = 0.035, 0.12
"""One-sigma errors of the moment the shoulders pass the bar beside that of the height there, and of the
catch, s (own measurement on 12 and 10 films with known truth)."""


def find_events(motion: Motion, phases: Phases) -> tuple[Event, ...]:
    """Return every event in order of time."""
    t = motion.t_s
    frame = float(np.median(np.diff(t)))
    found: list[Event] = []

    def put(kind: str, at_s: float | None, sd_s: float) -> None:
        if at_s is not None:
            found.append(Event(kind, round(float(at_s), 4), round(float(sd_s), 4)))

    hanging = np.nonzero(phases.hanging)[0]
    if len(hanging):
        put("hang_start", t[hanging[0]], 2 * frame)
        put("hang_end", t[hanging[-1]], 2 * frame)
    for turn in phases.turns:
        put("front_turn" if turn.side > 0 else "back_turn", t[turn.frame], 1.5 * frame)
    for pull in phases.pulls:
        if pull.from_above:
            put("descent_start", t[pull.descent or 0], 3 * frame)
            continue
        last = pull.descent if pull.descent is not None else pull.end
        top = pull.start + int(motion.shoulder[pull.start : last + 1].argmax())
        put("pull_start", t[pull.start], START_SD_S)
        chin = crossing(t, motion.chin, BAR_RADIUS_M / motion.length_m, pull.start, top, upward=True)
        put("chin_over", chin, event_sd(motion, chin, CHIN_SD_L) if chin is not None else 0.0)
        level = crossing(t, motion.shoulder, 0.0, pull.start, top, upward=True)
        if level is not None:
            put("shoulder_over", level, float(np.hypot(OVER_SD_S, event_sd(motion, level, SHOULDER_SD_L))))
        put("peak", t[top], _peak_sd(motion, pull.start, top, last))
        if level is not None and pull.to_support:
            _finish(motion, pull, level, last, put)
        if pull.descent is not None:
            put("descent_start", t[pull.descent], 3 * frame)
    return tuple(sorted(found, key=lambda event: event.at_s))


def _finish(motion: Motion, pull: Pull, level_s: float, last: int, put: object) -> None:
    assert callable(put)
    t = motion.t_s
    frame = float(np.median(np.diff(t)))
    level = int(np.searchsorted(t, level_s))
    high = np.nonzero(motion.shoulder[level : last + 1] > SUPPORT_ABOVE)[0]
    if not len(high):
        return
    on_top = level + int(high[0])
    # The catch is the slowest moment between bar level and support.
    put("catch", t[level + int(np.abs(motion.rise[level : on_top + 1]).argmin())], CATCH_SD_S)
    put("support", t[locked_at(motion, on_top, last)], 3 * frame)


def _peak_sd(motion: Motion, first: int, top: int, last: int) -> float:
    """Return the one-sigma error of the moment of the top: a support is flat and any of it may be highest."""
    t = motion.t_s
    as_high = np.nonzero(motion.shoulder[first : last + 1] >= motion.shoulder[top] - SHOULDER_SD_L)[0] + first
    furthest = max(t[top] - t[as_high[0]], t[as_high[-1]] - t[top])
    return float(np.hypot(2 * np.median(np.diff(t)), furthest / np.sqrt(3)))
