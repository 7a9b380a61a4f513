"""The support over the bar: whether the neck stays long (front view) and the elbows straight (side view)."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from overbar.film.measures import angle_sd, put_right
from overbar.film.motion import Motion
from overbar.film.phases import SUPPORT_ABOVE, Phases, runs
from overbar.film.reading import Measured
from overbar.film.view import Looking

HELD_S = 1.0
"""Time a support must last to be judged (handbook trade.md F19)."""
STILL_MPS = 0.12
"""A support begins and ends where the shoulders are slower than this, m/s (own judgement)."""
STEADY_S = 0.3
"""The neck's length is a median over this time, s (own judgement)."""
SHRINK_SD = 0.06
"""One-sigma error of the share the neck loses (own measurement on supports held tall)."""


def sinking(motion: Motion, looking: Looking, phases: Phases) -> dict[str, tuple[Measured, float]]:
    """Return the greatest share the neck loses in a support, or its softest elbows, with their times.

    The neck is the height of the ears over the shoulders; a support is compared with
    its own tallest moment. Seen from the front, elbows that bend fore and aft look straight.
    """
    found: dict[str, tuple[Measured, float]] = {}
    frame = float(np.median(np.diff(motion.t_s)))
    still = np.abs(motion.rise) * motion.length_m < STILL_MPS
    for begins, ends in runs(phases.on_bar & (motion.shoulder > SUPPORT_ABOVE)):
        # The press into a support and the way down out of it are no part of it.
        held = np.nonzero(still[begins : ends + 1])[0]
        if not len(held):
            continue
        first, last = begins + int(held[0]), begins + int(held[-1])
        if motion.t_s[last] - motion.t_s[first] < HELD_S:
            continue
        if looking.view.kind == "front":
            neck = _over(motion.head_up[first : last + 1], STEADY_S / frame)
            lowest = int(neck.argmin())
            tallest = float(neck[: lowest + 1].max())
            lost = Measured(1.0 - float(neck[lowest]) / tallest if tallest > 0 else 0.0, SHRINK_SD)
            _keep_worse(found, "neck_shoulder_shrink", lost, motion.t_s[first + lowest], 1)
        elif looking.view.kind == "side":
            elbow = _over(motion.elbow_deg[first : last + 1], HELD_S / frame)
            softest = int(elbow.argmin())
            bent = put_right(motion, "support_elbow_deg", float(elbow[softest]), angle_sd(looking))
            _keep_worse(found, "support_elbow_deg", bent, motion.t_s[first + softest], -1)
    return found


def _over(values: NDArray[np.float64], frames: float) -> NDArray[np.float64]:
    """Return the medians of all stretches of this many frames."""
    width = min(max(1, round(frames)), len(values))
    return np.asarray(np.median(sliding_window_view(values, width), axis=1))


def _keep_worse(
    found: dict[str, tuple[Measured, float]], name: str, value: Measured, at_s: float, sign: int
) -> None:
    if name not in found or sign * value.value > sign * found[name][0].value:
        found[name] = value, float(at_s)
