"""Tries left today and this week, and the next light week and tests, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from overbar.desk.figures import day, plural, sentence
from overbar.planning.light_week import LightWeek
from overbar.planning.tries_left import TriesLeft


@dataclass(frozen=True)
class TriesBox:
    """What stands where tries are planned.

    Attributes
    ----------
    today : str
        Tries left today, in one sentence.
    week : str
        The same for the week.
    stop : str
        Why it is over for today, or "".
    lines : tuple of str
        When tries end, in the ladder's words.
    """

    today: str
    week: str
    stop: str
    lines: tuple[str, ...]


def tries_box(left: TriesLeft | None, on: date) -> TriesBox | None:
    """Return the tries left in words, or None when there are none to speak of."""
    if left is None:
        return None
    if left.today:
        today = (
            f"{plural(left.left_today, 'try', 'tries')} left today: {left.done_today} of {left.today} done."
        )
    elif left.done_today:
        today = f"No tries are planned today; {plural(left.done_today, 'try', 'tries')} done."
    else:
        today = "No tries today."
    if left.next_on is not None:
        today += f" Next: {day(left.next_on, on)}."
    return TriesBox(
        today=today,
        week=f"This week: {left.left_week} left, {left.done_week} of {left.week} done.",
        stop=f"Over for today: {left.stop}." if left.stop else "",
        lines=left.stop_lines,
    )


def light_week_in_words(light: LightWeek, on: date) -> str:
    """Return when the next light week and the next tests are due."""
    said = []
    if light.this_one:
        said.append("this is the light week")
    elif light.starts is not None:
        said.append(f"next light week from {day(light.starts, on)}, if every week until then is trained")
    if light.tests_on is not None:
        said.append(f"next tests {day(light.tests_on, on)}")
    return sentence("; ".join(said)) + "." if said else ""
