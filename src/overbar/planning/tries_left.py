"""How many tries of the skill are left today and this week, and what ends them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.ladder.form import Ladder
from overbar.planning.case import make_case
from overbar.planning.history import History
from overbar.planning.tries import HEIGHT_FALL_L
from overbar.planning.verdict import PlannedSession, Week


@dataclass(frozen=True)
class TriesLeft:
    """Tries planned and done.

    Attributes
    ----------
    today, done_today : int
        Planned for today, and logged or filmed today.
    week, done_week : int
        The same for the week that runs.
    next_on : datetime.date or None
        The next day of that week, after today, with tries planned.
    stop : str
        Why today's tries are over before their number is reached, or "".
    stop_lines : tuple of str
        The ladder's own words on when tries end.
    """

    today: int
    done_today: int
    week: int
    done_week: int
    next_on: date | None
    stop: str
    stop_lines: tuple[str, ...]

    @property
    def left_today(self) -> int:
        """Tries left today."""
        return 0 if self.stop else max(self.today - self.done_today, 0)

    @property
    def left_week(self) -> int:
        """Tries left this week."""
        return max(self.week - self.done_week, 0)


def tries_left(history: History, ladder: Ladder, week: Week, on: date) -> TriesLeft | None:
    """Return the tries left in a week that runs, or None when none are planned and none were done.

    Parameters
    ----------
    history : History
    ladder : Ladder
    week : Week
        The week that holds ``on``.
    on : datetime.date
    """
    if ladder.skill.attempt_exercise not in ladder.exercises:
        return None
    starts = week.verdict.week_starts
    planned = {session.on: _planned(ladder, session) for session in week.sessions}
    this_week = [one for one in history.attempts if starts <= one.on <= min(on, starts + timedelta(days=6))]
    if not any(planned.values()) and not this_week:
        return None
    return TriesLeft(
        today=planned.get(on, 0),
        done_today=sum(one.on == on for one in this_week),
        week=sum(planned.values()),
        done_week=len(this_week),
        next_on=min((day for day, count in planned.items() if count and day > on), default=None),
        stop=_stop(history, ladder, on),
        stop_lines=_stop_lines(ladder, week.sessions),
    )


def _planned(ladder: Ladder, session: PlannedSession) -> int:
    return sum(
        slot.sets * max(slot.reps_high, 1)
        for slot in session.slots
        if slot.exercise == ladder.skill.attempt_exercise
    )


def _stop(history: History, ladder: Ladder, on: date) -> str:
    """Say what in today's tries or pain ends them for the day."""
    case = make_case(history, ladder, on, ())
    today = [one for one in case.history.attempts if one.on == on]
    hurts = [
        one for one in case.history.pain if one.on == on and (one.worst >= ladder.pain.ease_at or one.flags)
    ]
    if hurts:
        return f"pain {hurts[-1].worst:g} of 10 was logged today"
    if not today:
        return ""
    peaks = [one.peak_L for one in today if one.peak_L is not None]
    if len(peaks) >= 3 and max(peaks[-2:]) <= max(peaks) - HEIGHT_FALL_L + 1e-9:
        return f"the last two tries peaked {HEIGHT_FALL_L:g} L or more under the best of today"
    gap = ladder.skill.one_side_first_gap_s
    if gap is not None and sum(one.elbow_gap_s is not None and one.elbow_gap_s > gap for one in today) >= 2:
        return "one arm came first twice today"
    return ""


def _stop_lines(ladder: Ladder, sessions: Sequence[PlannedSession]) -> tuple[str, ...]:
    """Return the cautions of the planned sessions that are about tries alone."""
    tried = ladder.exercises[ladder.skill.attempt_exercise].pattern
    about = {caution.say for caution in ladder.cautions.values() if tuple(caution.patterns) == (tried,)}
    shown = [say for session in sessions for say in session.cautions if say in about]
    return tuple(dict.fromkeys(shown))
