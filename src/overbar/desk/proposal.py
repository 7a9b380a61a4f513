"""What the program proposes for an athlete today, and what the coach has made of it so far."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from overbar.athlete.person import Athlete
from overbar.desk.today import DayLine, day_line
from overbar.ladder import Ladder, load_ladder
from overbar.planning import decide
from overbar.planning.history import History
from overbar.planning.verdict import Week
from overbar.records import Records
from overbar.records.decisions import StoredWeek
from overbar.records.films import FilmRow

SETTLED = ("accepted", "changed", "refused")


@dataclass(frozen=True)
class Proposal:
    """Today's proposal for one athlete.

    Attributes
    ----------
    athlete : Athlete
    history : History
        Everything known up to ``on``.
    ladder : Ladder
    week : Week
        Reckoned now.
    settled : StoredWeek or None
        The coach's newest decision on the same week.
    on : datetime.date
    """

    athlete: Athlete
    history: History
    ladder: Ladder
    week: Week
    settled: StoredWeek | None
    on: date

    @property
    def standing(self) -> str:
        """The coach's standing on this week, "" while there is none or something graver came since."""
        if self.settled is None or self.week.verdict.urgent > max(1, self.settled.week.verdict.urgent):
            return ""
        return self.settled.standing

    @property
    def shown(self) -> Week:
        """The week the pages show: what the coach settled on, else the proposal."""
        if self.standing in ("accepted", "changed") and self.settled is not None:
            return self.settled.holds or self.week
        return self.week


@lru_cache
def ladder_named(name: str) -> Ladder:
    """Return a ladder, read once."""
    return load_ladder(name)


def propose(records: Records, athlete_id: str) -> Proposal:
    """Reckon today's proposal from the records."""
    on = records.today(athlete_id)
    history = records.history(athlete_id, on)
    ladder = ladder_named(history.athlete.skill)
    week = decide(history, ladder, on)
    settled = [
        stored
        for stored in records.weeks(athlete_id)
        if stored.week.verdict.week_starts == week.verdict.week_starts and stored.standing in SETTLED
    ]
    newest = max(settled, key=lambda stored: (stored.at or stored.decided_at, stored.id), default=None)
    return Proposal(history.athlete, history, ladder, week, newest, on)


def line_of(proposal: Proposal, films: list[FilmRow]) -> DayLine:
    """Return the athlete's line of the day."""
    return day_line(
        proposal.athlete,
        proposal.week,
        proposal.standing,
        proposal.on,
        films_waiting=sum(film.status in ("waiting", "reading") for film in films),
        films_unseen=sum(film.status == "read" and film.reviewed_at is None for film in films),
    )
