"""The past decisions of an athlete, each with what was known when it was made: what a replay needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from overbar.errors import OverbarError
from overbar.ladder import Ladder
from overbar.planning.replay import Decided, Replayed, replay_decided
from overbar.progress import Progress, silent
from overbar.records.decisions import StoredWeek
from overbar.records.store import Records


@dataclass(frozen=True)
class AthletesPast:
    """One athlete's past decisions, made again.

    Attributes
    ----------
    athlete_id, name : str
    weeks : tuple of Replayed
        Oldest first.
    left_out : int
        Decisions that could not be made again because their ladder is not kept.
    ladder : str
        Version of the ladder used, "" when each week used its own.
    """

    athlete_id: str
    name: str
    weeks: tuple[Replayed, ...]
    left_out: int
    ladder: str = ""

    @property
    def otherwise(self) -> tuple[Replayed, ...]:
        """Weeks the program decided and now decides otherwise."""
        return tuple(one for one in self.weeks if one.differs and not one.by_coach)

    @property
    def by_coach(self) -> tuple[Replayed, ...]:
        """Weeks the coach decided without a proposal of the program."""
        return tuple(one for one in self.weeks if one.by_coach)


def decided(records: Records, athlete_id: str, weeks: int | None = None) -> tuple[Decided, ...]:
    """Return an athlete's past decisions, oldest first, with the history as known at each.

    Of several proposals for one week the last one counts that the coach settled, as in
    planning's own memory.

    Parameters
    ----------
    records : Records
    athlete_id : str
    weeks : int, optional
        Only the newest so many.
    """
    stored = records.weeks(athlete_id)
    chosen = _one_a_week(stored)
    out = []
    for one in chosen[-weeks:] if weeks else chosen:
        on = one.week.verdict.on
        history = records.history(athlete_id, on, known_at=one.decided_at, stored=stored)
        out.append(Decided(on, history, records.ladder(one.ladder) if one.ladder else None, one.week))
    return tuple(out)


def _one_a_week(stored: Sequence[StoredWeek]) -> list[StoredWeek]:
    last: dict[object, StoredWeek] = {}
    for one in stored:
        starts = one.week.verdict.week_starts
        held = last.get(starts)
        if held is None or one.standing != "proposed" or held.standing == "proposed":
            last[starts] = one
    return [last[starts] for starts in sorted(last)]  # type: ignore[type-var]


def replay_athlete(
    records: Records,
    athlete_id: str,
    ladder: Ladder | None = None,
    chained: bool = False,
    weeks: int | None = None,
    progress: Progress = silent,
) -> AthletesPast:
    """Make an athlete's past decisions again, each from the history as known then.

    Parameters
    ----------
    records : Records
    athlete_id : str
    ladder : Ladder, optional
        Decide with this one; else each with the version that decided then.
    chained : bool
        Remember the replayed decisions instead of those made at the time.
    weeks : int, optional
        Only the newest so many.
    progress : Progress
    """
    past = decided(records, athlete_id, weeks)
    again = replay_decided(past, ladder, chained, progress)
    name = records.athlete(athlete_id).name
    return AthletesPast(athlete_id, name, again, len(past) - len(again), ladder.version if ladder else "")


def replay_all(
    records: Records,
    athlete_ids: Iterable[str],
    ladder: Ladder | None = None,
    chained: bool = False,
    weeks: int | None = None,
    progress: Progress = silent,
) -> tuple[list[AthletesPast], list[tuple[str, str]]]:
    """Replay several athletes; return what came out, and whom it could not be done for, with the reason."""
    ids = list(athlete_ids)
    found: list[AthletesPast] = []
    failed: list[tuple[str, str]] = []
    for number, athlete_id in enumerate(ids):
        progress(number / max(1, len(ids)), f"{athlete_id}, {number + 1} of {len(ids)}")
        try:
            found.append(replay_athlete(records, athlete_id, ladder, chained, weeks))
        except OverbarError as error:
            failed.append((athlete_id, error.say()))
    progress(1.0, "replayed")
    return found, failed


def plain(found: Sequence[AthletesPast], failed: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Return what came out as plain JSON: per athlete every week, and in words what is not the same."""
    return {
        "athletes": [
            {
                "id": one.athlete_id,
                "name": one.name,
                "ladder": one.ladder,
                "left_out": one.left_out,
                "weeks": [
                    {
                        "starts": week.starts.isoformat(),
                        "then": week.then.decision if week.then else None,
                        "now": week.now.verdict.decision,
                        "by_coach": week.by_coach,
                        "differs": list(week.differs),
                    }
                    for week in one.weeks
                ],
            }
            for one in found
        ],
        "failed": [{"id": key, "why": why} for key, why in failed],
    }
