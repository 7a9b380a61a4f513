"""What to tell the athlete when a film shows too little: one sentence and one picture for each problem."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Help:
    """One sentence to send, the picture that shows it, and the picture in words.

    Attributes
    ----------
    say : str
    picture : str
        File of the desk's static folder.
    seen : str
        What the picture shows, for those who do not see it.
    """

    say: str
    picture: str
    seen: str


def _help(say: str, name: str, seen: str) -> Help:
    return Help(say, f"filming/{name}.svg", seen)


USUAL = _help(
    "Film once more: square from the side, phone upright on a stand at chest height, four to six metres "
    "away, whole body and bar in the picture, 60 frames a second, no zoom.",
    "stand_side",
    "A phone on a stand at chest height, four to six metres to the side of the bar, the whole body and the "
    "bar in its view.",
)
"""How to film, when nothing more can be said."""
NEAR = _help(
    "Film from four to six metres, so that you fill the picture from the bar to the feet, in good light.",
    "near",
    "Too far away the athlete is small; from four to six metres bar and feet fill the picture.",
)
WHOLE = _help(
    "Keep the whole of you in the picture, a hand's width over the bar and down to the feet.",
    "whole",
    "On the left bar and feet are cut off; on the right there is room over the bar and under the feet.",
)
SQUARE = _help(
    "Put the phone square to your side, in line with the bar, so that the camera sees you in profile.",
    "square",
    "Seen from above: the phone stands in line with the bar, four to six metres from it, not askew.",
)
ALONE = _help(
    "One athlete at a time on the bar, and nobody between you and the phone.",
    "alone",
    "On the left two hang from the bar; on the right one athlete alone.",
)
START = _help(
    "Start the film two seconds before you take the bar, hang still for a second, then pull.",
    "start",
    "Along a line of time: the film starts, a still hang, then the pull.",
)
SETTING = _help(
    "Set the phone to 60 frames a second at 1080p, main lens, no zoom, no slow motion.",
    "setting",
    "The camera's settings: 60 frames a second, 1080p, no zoom.",
)
TRIM = _help(
    "Cut the film to the set, with two seconds before and after it, five minutes at most.",
    "trim",
    "A strip of film of which only the part with the athlete on the bar is kept.",
)
ORIGINAL = _help(
    "Send the whole file again as the phone made it, not forwarded, shortened or renamed.",
    "original",
    "The phone's own film goes over as a whole.",
)
LIGHT = _help(
    "Film with the light behind the phone, not with a window behind you.",
    "light",
    "The light stands behind the phone; the window behind the athlete is crossed out.",
)
STAND = _help(
    "Put the phone on a stand or against a wall and do not touch it while you are on the bar.",
    "stand",
    "A phone on a stand, and beside it one in the hand of somebody walking, crossed out.",
)

HELP: dict[str, Help] = {
    "no_person": NEAR,
    "too_small": SETTING,
    "too_large": SETTING,
    "slow_rate": SETTING,
    "few_frames": SETTING,
    "slow_motion": SETTING,
    "wrong_clock": SETTING,
    "cut_off": WHOLE,
    "oblique": SQUARE,
    "no_fore_aft": SQUARE,
    "two_people": ALONE,
    "someone_else": ALONE,
    "no_bar_hang": START,
    "too_short": START,
    "no_pull": START,
    "too_long": TRIM,
    "not_a_film": ORIGINAL,
    "no_frames": ORIGINAL,
    "dark": LIGHT,
    "camera_moves": STAND,
}
"""The help for each problem the film room names."""
SAID_ONLY = frozenset({"clock_unchecked"})
"""Problems that are said and ask for no other film."""


def help_for(problems: Iterable[str]) -> Help:
    """Return the help for the first problem that has one, else how to film in general.

    Parameters
    ----------
    problems : iterable of str
        Problem ids, the gravest first.
    """
    return next((HELP[problem] for problem in problems if problem in HELP), USUAL)
