"""The week an athlete is to train by now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from overbar.planning import decide
from overbar.planning.verdict import Week
from overbar.records import Records
from overbar.records.kept_strength import strength_on


@dataclass(frozen=True)
class CurrentWeek:
    """A week and whether the coach has agreed to it."""

    week: Week
    agreed: bool


def current_week(records: Records, athlete_id: str, on: date) -> CurrentWeek:
    """Return the week in force on a day: what the coach agreed to, else the program's proposal.

    Parameters
    ----------
    records : Records
    athlete_id : str
    on : datetime.date
        Where the athlete is.
    """
    monday = on - timedelta(days=on.weekday())
    agreed = [
        stored
        for stored in records.weeks(athlete_id)
        if stored.standing in ("accepted", "changed") and stored.week.verdict.week_starts >= monday
    ]
    if agreed and (week := agreed[-1].holds) is not None:
        return CurrentWeek(week, agreed=True)
    history, ladder = records.history(athlete_id, on), records.ladder_for(athlete_id)
    points = strength_on(records, history, ladder, on).points
    return CurrentWeek(decide(history, ladder, on, points), agreed=False)
