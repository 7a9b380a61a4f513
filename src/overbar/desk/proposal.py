"""What the program proposes for an athlete today, and what the coach has made of it so far."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from overbar.athlete.person import Athlete
from overbar.desk.figures import monday
from overbar.desk.today import DayLine, day_line
from overbar.ladder import Ladder
from overbar.planning import decide
from overbar.planning.history import History
from overbar.planning.outlook import Ahead, look_ahead
from overbar.planning.verdict import Week
from overbar.records import Records
from overbar.records.decisions import StoredWeek
from overbar.records.films import FilmRow
from overbar.records.kept_strength import strength_on
from overbar.strength.posterior import Belief
from overbar.strength.sets import StrengthPoint

SETTLED = ("accepted", "changed", "refused")
KEPT_ATHLETES = 4096
"""So many athletes' strength is kept in memory, some 70 kB each after two years."""
KEPT_OUTLOOKS = 256
"""So many athletes' outlooks are kept, for the what-ifs that follow the first look."""
T = TypeVar("T")


class Kept(Generic[T]):
    """Values that were reckoned, the most recently asked for kept; safe from several threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Hashable, T] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: Hashable, reckon: Callable[[], T]) -> T:
        """Return the value of a key, reckoned when it is not there."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                return self._values[key]
        value = reckon()
        with self._lock:
            self._values[key] = value
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return value


_STRENGTH: Kept[tuple[tuple[StrengthPoint, ...], Belief | None]] = Kept(KEPT_ATHLETES)
_WEEKS: Kept[Week] = Kept(KEPT_ATHLETES)
_AHEAD: Kept[Ahead] = Kept(KEPT_OUTLOOKS)


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
    running : StoredWeek or None
        The week the coach settled on that runs today.
    on : datetime.date
    points : tuple of StrengthPoint
        Strength over time up to ``on``.
    belief : Belief or None
        The newest one behind them.
    """

    athlete: Athlete
    history: History
    ladder: Ladder
    week: Week
    settled: StoredWeek | None
    running: StoredWeek | None
    on: date
    points: tuple[StrengthPoint, ...] = ()
    belief: Belief | None = None

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


def ahead_of(proposal: Proposal) -> Ahead:
    """Return what lies ahead of an athlete, reckoned once for the same history."""
    history, ladder, on = proposal.history, proposal.ladder, proposal.on
    return _AHEAD.of(
        (proposal.athlete.id, ladder.version, on, hash(history)),
        lambda: look_ahead(history, ladder, on, proposal.points, proposal.belief),
    )


def propose(records: Records, athlete_id: str) -> Proposal:
    """Reckon today's proposal from the records."""
    on = records.today(athlete_id)
    history = records.history(athlete_id, on)
    ladder = records.ladder_for(athlete_id)
    points, belief = _strength(records, history, ladder, on)
    # Every page of an athlete asks for the same decision.
    key = (athlete_id, ladder.version, on, hash(history))
    week = _WEEKS.of(key, lambda: decide(history, ladder, on, points))
    stored = records.weeks(athlete_id)
    settled = _newest(stored, week.verdict.week_starts)
    running = _newest(stored, monday(on))
    held = running is not None and running.holds is not None
    return Proposal(
        history.athlete, history, ladder, week, settled, running if held else None, on, points, belief
    )


def _strength(
    records: Records, history: History, ladder: Ladder, on: date
) -> tuple[tuple[StrengthPoint, ...], Belief | None]:
    """Return strength over time and the newest belief, reckoned once for the same sets.

    The list of the day, the athlete's page and its curves all ask for it.
    """

    def reckon() -> tuple[tuple[StrengthPoint, ...], Belief | None]:
        found = strength_on(records, history, ladder, on)
        return found.points, found.newest

    who, sets = history.athlete, history.sets
    key = (who.id, who.sex, history.prior, ladder.version, on, len(sets), hash(sets))
    return _STRENGTH.of(key, reckon)


def _newest(stored: list[StoredWeek], starts: date) -> StoredWeek | None:
    """Return the coach's newest decision on the week that starts on a day."""
    settled = [one for one in stored if one.week.verdict.week_starts == starts and one.standing in SETTLED]
    return max(settled, key=lambda one: (one.at or one.decided_at, one.id), default=None)


def line_of(proposal: Proposal, films: list[FilmRow]) -> DayLine:
    """Return the athlete's line of the day."""
    return day_line(
        proposal.athlete,
        proposal.week,
        proposal.standing,
        proposal.on,
        proposal.running is not None,
        films_waiting=sum(film.status in ("waiting", "reading") for film in films),
        films_unseen=sum(film.status == "read" and film.reviewed_at is None for film in films),
    )
