"""How the athlete takes the bar and begins to swing, where the film shows it."""

from __future__ import annotations

import numpy as np

from overbar.film.measures import angle_sd
from overbar.film.motion import Motion
from overbar.film.phases import Phases
from overbar.film.reading import Measured
from overbar.film.view import Looking

STILL_BEFORE_S = 0.3
"""The arms are judged over this time before the first swing sets off, s (own judgement)."""
SETS_OFF = 0.1
"""A swing has set off once it has covered this share of its first way (own judgement)."""


def first_swing_elbow(motion: Motion, looking: Looking, phases: Phases) -> tuple[Measured, float] | None:
    """Return the elbow angle as the first swing sets off and when that is, or None without a swing."""
    if not looking.shows_depth_plane or not phases.turns:
        return None
    turn = phases.turns[0]
    if phases.pulls and turn.frame > phases.pulls[0].start:
        return None
    on_bar = int(phases.on_bar.argmax())
    if turn.frame - on_bar < 3 or (motion.shoulder[on_bar : turn.frame] > 0.0).any():
        # Whoever has been over the bar swings out of that, not out of the mount.
        return None
    way = turn.side * motion.body_x[on_bar : turn.frame + 1]
    furthest = int(len(way) - 1 - way[::-1].argmin())
    # Only the way of this swing: taking the bar may have carried the body further.
    covered = way[furthest:] - way[furthest]
    sets_off = on_bar + furthest + int((covered >= SETS_OFF * covered.max()).argmax())
    since = max(on_bar, int(np.searchsorted(motion.t_s, motion.t_s[sets_off] - STILL_BEFORE_S)))
    elbow = float(np.median(motion.elbow_deg[since : sets_off + 1]))
    return Measured(elbow, angle_sd(looking)), float(motion.t_s[sets_off])
