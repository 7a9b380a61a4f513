"""An invented athlete who does exactly what is planned, week after week, whatever happens to him."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.planning.people import MONDAY, athlete, slots

from overbar.athlete.person import Athlete
from overbar.ladder import Ladder, load_ladder
from overbar.planning import decide, past_week
from overbar.planning.history import History, Measurement, PainReport, PastWeek, SessionLog
from overbar.planning.verdict import Week
from overbar.strength.sets import LoggedSet, StrengthPoint

LADDER = load_ladder()
EVENTS = ("train", "off", "ill", "sore", "stop")
"""A usual week; a week away; a week ill; the inner elbow at 4 of 10; at 6."""
SORE = {"sore": 4.0, "stop": 6.0}


@dataclass
class Following:
    """Weeks lived so far.

    Attributes
    ----------
    R : float
        Strength, as the estimate would give it.
    """

    who: Athlete = field(default_factory=athlete)
    R: float = 1.28
    ladder: Ladder = LADDER
    rung: str = "S2"
    start: date = MONDAY
    sets: list[LoggedSet] = field(default_factory=list)
    sessions: list[SessionLog] = field(default_factory=list)
    pain: list[PainReport] = field(default_factory=list)
    weeks: list[PastWeek] = field(default_factory=list)
    plans: list[Week] = field(default_factory=list)

    def history(self) -> History:
        """All he has logged."""
        shown = (Measurement(self.start - timedelta(days=3), "strict_pull_ups", 8, 1, "film"),)
        return History(
            self.who,
            sets=tuple(self.sets),
            sessions=tuple(self.sessions),
            pain=tuple(self.pain),
            measurements=shown,
            weeks=tuple(self.weeks),
        )

    def plan(self) -> Week:
        """Plan the next week."""
        monday = self.start + timedelta(weeks=len(self.plans))
        body = self.who.body_mass_kg
        point = StrengthPoint(
            monday - timedelta(days=1), self.R, self.R - 0.04, self.R + 0.04, self.R * body, body
        )
        return decide(self.history(), self.ladder, monday, (point,))

    def live(self, event: str, reps: int | None = None) -> Week:
        """Plan a week and live it: what is planned is done (in sets of ``reps`` when given), or missed."""
        week = self.plan()
        left = stops_at(week)
        for session in week.sessions:
            done = event not in ("off", "ill")
            self.sessions.append(
                SessionLog(session.on, session.label, done, 7, 60, "" if done else "ill" * (event == "ill"))
            )
            if not done:
                continue
            for slot in session.slots:
                for _ in range(slot.sets):
                    count = min(reps or slot.reps_high, left.get(slot.exercise, 99))
                    if slot.exercise in left:
                        left[slot.exercise] -= count
                    if count == 0 < slot.reps_high:
                        continue
                    self.sets.append(
                        LoggedSet(
                            session.on,
                            slot.exercise,
                            self.who.body_mass_kg,
                            slot.load.added_kg,
                            count,
                            session=session.label,
                            order=len(self.sets),
                            reps_left=2.0,
                        )
                    )
            level = SORE.get(event, 0.0)
            self.pain.append(PainReport(session.on, "inner elbow" if level else "", level, level))
        self.weeks.append(past_week(week))
        self.plans.append(week)
        return week


def pull_mass(week: Week, body_mass_kg: float) -> float:
    """Heaviest system mass of a week's pulls, kg."""
    pulls = [s for s in slots(week) if LADDER.exercises[s.exercise].volume == "pull"]
    return body_mass_kg + max((max(s.load.added_kg, 0.0) for s in pulls), default=0.0)


def stops_at(week: Week) -> dict[str, int]:
    """Totals at which exercises stop, as their notes say."""
    said = ((s.exercise, re.match(r"(\d+) reps over the whole week", s.note)) for s in slots(week))
    return {exercise: int(found.group(1)) for exercise, found in said if found}


def pull_reps(week: Week) -> int:
    """Pulling reps of a week, at most."""
    total: Counter[str] = Counter()
    for slot in slots(week):
        if LADDER.exercises[slot.exercise].volume == "pull":
            total[slot.exercise] += slot.sets * slot.reps_high
    stops = stops_at(week)
    return sum(min(reps, stops.get(exercise, reps)) for exercise, reps in total.items())


def through(life: Following, events: Sequence[str]) -> list[Week]:
    """Live a row of weeks."""
    return [life.live(event) for event in events]
