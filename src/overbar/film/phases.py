"""Hangs, pulls, supports and descents, by the geometry of the motion."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from overbar.film.motion import Motion
from overbar.film.view import Looking

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

HANG_BELOW = -0.82
"""Shoulder height under which the athlete hangs, L (arms within a fifth of straight; own judgement)."""
SMALLEST_PULL = 0.30
"""Rises of the shoulder smaller than this are no pull, L (own judgement)."""
SUPPORT_ABOVE = 0.78
"""Shoulder height from which the athlete is in support, L (straight arms reach 0.95 to 1; own judgement)."""
HAND_AWAY = 0.45
"""Hands further than this from where they grip are off the bar, L: room for the turn of the wrist (own
judgement)."""
BEGINS_ABOVE, BEGINNING_S = 0.3, 0.4
"""A film whose shoulders lie this far over the bar, in L, through its first moments begins from above (own
judgement)."""
PULL_SPEED_MPS = 0.3
"""Shortening of the shoulder-to-bar distance that starts a pull (handbook trade.md section 3.1)."""
PULL_ELBOW_DEG = 10.0
"""Or this closing of the elbow (same place)."""
SWING_LEAST = 0.10
"""Swings of the mass centre smaller than this are no swing, L (own judgement)."""

PHASES = ("away", "hang", "swing", "pull", "over", "support", "descent")


@dataclass(frozen=True)
class Pull:
    """One excursion of the shoulder out of the hang (or out of a support, down to the hang).

    Attributes
    ----------
    start, top, end : int
        Frames of the pull's start, its highest point and its end.
    from_above : bool
        The film begins over the bar: there was no pull.
    to_support : bool
        It ends in a support.
    descent : int or None
        Frame the way down from a support begins.
    """

    start: int
    top: int
    end: int
    from_above: bool
    to_support: bool
    descent: int | None


@dataclass(frozen=True)
class Turn:
    """A turning point of the swing: frame, +1 at the front and -1 at the back, and the place in L."""

    frame: int
    side: int
    at: float


@dataclass(frozen=True)
class Phases:
    """Hanging frames, pulls and turning points of a film."""

    on_bar: Mask
    hanging: Mask
    pulls: tuple[Pull, ...]
    turns: tuple[Turn, ...]
    label: tuple[str, ...]


def find_phases(motion: Motion, looking: Looking) -> Phases:
    """Cut a film's motion into its phases."""
    on_bar = _on_bar(motion)
    hanging = on_bar & (motion.shoulder < HANG_BELOW)
    pulls = tuple(
        pull
        for run in runs(on_bar & ~hanging)
        if (pull := _pull(motion, *run)) is not None and not _mount(on_bar, hanging, pull)
    )
    turns = _turns(motion, hanging, pulls) if looking.shows_depth_plane else ()
    return Phases(on_bar, hanging, pulls, turns, _labels(motion, on_bar, hanging, pulls, turns))


def crossing(t_s: Array, values: Array, level: float, first: int, last: int, upward: bool) -> float | None:
    """Return the time values first cross a level between two frames, interpolated; None if they do not."""
    above = values[first : last + 1] > level
    steps = np.nonzero(above[1:] & ~above[:-1] if upward else ~above[1:] & above[:-1])[0]
    if not len(steps):
        return None
    i = first + int(steps[0])
    share = (level - values[i]) / (values[i + 1] - values[i])
    return float(t_s[i] + share * (t_s[i + 1] - t_s[i]))


def _on_bar(motion: Motion) -> Mask:
    """Say in which frames the hands are at the bar, with room for the turn of the wrist."""
    away = motion.hand_off > HAND_AWAY
    # A hand is lost to sight for a moment more often than it leaves the bar.
    long_away = np.zeros_like(away)
    for first, last in runs(away):
        if motion.t_s[last] - motion.t_s[first] > 0.7:
            long_away[first : last + 1] = True
    return np.asarray(~long_away)


def runs(mask: Mask) -> list[tuple[int, int]]:
    """Return the first and last frame of every stretch in which a mask holds."""
    edges = np.diff(np.concatenate([[False], mask, [False]]).astype(int))
    return list(
        zip(np.nonzero(edges == 1)[0].tolist(), (np.nonzero(edges == -1)[0] - 1).tolist(), strict=True)
    )


def _mount(on_bar: Mask, hanging: Mask, pull: Pull) -> bool:
    """Say whether what looks like a pull is how the athlete took the bar, or let it go."""
    taken = pull.start > 0 and not on_bar[: pull.start].all() and not hanging[: pull.start].any()
    return taken and not pull.to_support


def _pull(motion: Motion, first: int, last: int) -> Pull | None:
    height = motion.shoulder[first : last + 1]
    top = first + int(height.argmax())
    if height.max() - HANG_BELOW < SMALLEST_PULL:
        return None
    supported = np.nonzero(motion.shoulder[first : last + 1] > SUPPORT_ABOVE)[0] + first
    # The very first frames may be misread while the nets still look for the body: hands off the bar tell.
    begins = motion.t_s < motion.t_s[0] + BEGINNING_S
    sound = begins & (motion.hand_off < HAND_AWAY)
    begun = motion.shoulder[sound if sound.any() else begins]
    from_above = bool(first == 0 and np.median(begun) > BEGINS_ABOVE)
    at_end = last == len(motion.t_s) - 1
    to_support = bool(len(supported)) and not from_above
    descent = None
    if len(supported) and not at_end:
        descent = int(supported[-1])
    elif from_above:
        descent = int(supported[-1]) if len(supported) else first
    return Pull(first if from_above else _start(motion, first), top, last, from_above, to_support, descent)


def _start(motion: Motion, first: int) -> int:
    """Go back from the frame the hang was left to the frame the pull began."""
    closing = -np.gradient(motion.reach, motion.t_s) * motion.length_m > PULL_SPEED_MPS
    start = first
    while start > 0 and closing[start - 1]:
        start -= 1
    since = max(0, int(np.searchsorted(motion.t_s, motion.t_s[first] - 0.6)))
    straight = float(np.median(motion.elbow_deg[since : max(since + 1, start)]))
    bent = start
    while (
        bent > since
        and motion.elbow_deg[bent - 1] < straight - PULL_ELBOW_DEG
        and motion.shoulder[bent - 1] < 0
    ):
        bent -= 1
    return start if start - bent > 0.25 / np.median(np.diff(motion.t_s)) else min(start, bent)


def _turns(motion: Motion, hanging: Mask, pulls: tuple[Pull, ...]) -> tuple[Turn, ...]:
    """Find the turning points of the mass centre, in the hangs and on into each pull."""
    found: list[Turn] = []
    for first, last in runs(hanging | _early_pull(motion, pulls)):
        found += _extremes(motion, first, last)
    return tuple(found)


def _early_pull(motion: Motion, pulls: tuple[Pull, ...]) -> Mask:
    mask = np.zeros(len(motion.t_s), bool)
    for pull in pulls:
        if not pull.from_above:
            mask[pull.start : pull.top + 1] = True
    return mask


def _extremes(motion: Motion, first: int, last: int) -> list[Turn]:
    """Return alternating extremes of the mass centre that differ by at least SWING_LEAST."""
    x = motion.body_x[first : last + 1]
    found: list[Turn] = []
    low = high = 0
    seeking = 0
    for i in range(1, len(x)):
        if x[i] > x[high]:
            high = i
        if x[i] < x[low]:
            low = i
        if seeking >= 0 and x[high] - x[i] > SWING_LEAST:
            if high > 0 or seeking > 0:
                found.append(Turn(first + high, 1, float(x[high])))
            seeking, low = -1, i
        elif seeking <= 0 and x[i] - x[low] > SWING_LEAST:
            if low > 0 or seeking < 0:
                found.append(Turn(first + low, -1, float(x[low])))
            seeking, high = 1, i
    return found


def _labels(
    motion: Motion, on_bar: Mask, hanging: Mask, pulls: tuple[Pull, ...], turns: tuple[Turn, ...]
) -> tuple[str, ...]:
    label = np.where(hanging, "hang", np.where(on_bar, "pull", "away")).astype(object)
    for one, other in pairwise(turns):
        between = slice(one.frame, other.frame + 1)
        label[between] = np.where(hanging[between], "swing", label[between])
    for pull in pulls:
        inside = np.arange(pull.start, pull.end + 1)
        label[inside] = "pull"
        after_top = inside > (pull.descent if pull.descent is not None else pull.top)
        high = motion.shoulder[inside] > 0
        label[inside[high]] = "over"
        label[inside[motion.shoulder[inside] > SUPPORT_ABOVE]] = "support"
        label[inside[after_top & ~high]] = "descent"
        if pull.descent is not None:
            label[inside[after_top]] = "descent"
    return tuple(str(one) for one in label)
