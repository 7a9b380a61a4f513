"""Who needs the coach today and why: one line an athlete, the most urgent first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from overbar.athlete.person import Athlete
from overbar.desk.figures import ago, sentence
from overbar.planning.verdict import Verdict, Week

LEVELS = ("fine", "decide", "talk", "stop")
"""Heaps of the day, by the verdict's urgency 0 to 3."""

DUE_DAYS = 3
"""A week is to be decided from the Friday before it (own judgement: most of this week is logged by then)."""

DECISIONS = {
    "add_load": "Add load",
    "add_rep": "Add a rep",
    "hold": "Hold",
    "ease": "Ease",
    "deload": "Deload",
    "climb": "Climb a rung",
    "change_exercise": "Change exercise",
    "stop_and_refer": "Stop and refer",
    "ask": "Ask first",
}
"""The weekly decision in words."""

STANDINGS = {
    "proposed": "waits for you",
    "accepted": "accepted",
    "changed": "changed by you",
    "refused": "refused by you",
}


@dataclass(frozen=True)
class DayLine:
    """One athlete's line of the day.

    Attributes
    ----------
    athlete_id, name, rung : str
    level : str
        One of :data:`LEVELS`.
    reason : str
        Why, in one sentence.
    more : tuple of str
        What else fired or is asked, shown when the line is opened.
    since : str
        When the newest evidence behind the reason was seen, in words.
    since_on : datetime.date or None
        The same as a date: oldest first within a level.
    decision : str
        The proposed decision in words.
    standing : str
        What the coach made of this week's proposal; "" when nothing yet.
    week_starts : datetime.date
    films_waiting : int
        Films not read yet.
    films_unseen : int
        Films read that the coach has not marked as seen.
    pain : bool
        The reason rests on a pain report: first within its heap.
    """

    athlete_id: str
    name: str
    rung: str
    level: str
    reason: str
    more: tuple[str, ...]
    since: str
    since_on: date | None
    decision: str
    standing: str
    week_starts: date
    films_waiting: int = 0
    films_unseen: int = 0
    pain: bool = False


@dataclass(frozen=True)
class Heap:
    """Lines of one kind with their heading."""

    id: str
    title: str
    hint: str
    lines: tuple[DayLine, ...]


@dataclass(frozen=True)
class Day:
    """The whole page: heaps in the order they are worked through, and one sentence."""

    on: date
    sentence: str
    pressing: tuple[Heap, ...]
    fine: tuple[DayLine, ...]


def day_line(
    athlete: Athlete,
    week: Week,
    standing: str,
    on: date,
    running: bool = False,
    films_waiting: int = 0,
    films_unseen: int = 0,
) -> DayLine:
    """Return an athlete's line from the proposed week.

    Parameters
    ----------
    athlete : Athlete
    week : Week
        The proposal of :func:`overbar.planning.decide` for that day.
    standing : str
        The coach's standing on this week ("accepted", ...), or "" when not settled.
    on : datetime.date
        The day.
    running : bool
        A week the coach settled on runs today, so that the next one is not due before
        :data:`DUE_DAYS` ahead.
    films_waiting, films_unseen : int
        Films not read yet; films read and not seen by the coach.
    """
    verdict = week.verdict
    settled = standing in ("accepted", "changed", "refused")
    urgency = verdict.urgent
    if urgency <= 1:
        due = not running or (verdict.week_starts - on).days <= DUE_DAYS
        urgency = 1 if due and not settled else 0
    since_on = _newest_evidence(verdict)
    more = [rule.say for rule in verdict.rules if not rule.ignored]
    return DayLine(
        athlete_id=athlete.id,
        name=athlete.name,
        rung=verdict.rung_name,
        level=LEVELS[min(urgency, 3)],
        reason=sentence(verdict.referral or verdict.headline if urgency == 3 else verdict.headline),
        more=tuple(dict.fromkeys(sentence(say) for say in [*more, *verdict.questions])),
        since=ago(since_on, on) if since_on else "",
        since_on=since_on,
        decision=DECISIONS[verdict.decision],
        standing=STANDINGS.get(standing, "") if settled else "",
        week_starts=verdict.week_starts,
        films_waiting=films_waiting,
        films_unseen=films_unseen,
        pain=any(piece.kind == "pain" for rule in verdict.rules[:1] for piece in rule.evidence),
    )


def broken_line(athlete: Athlete, why: str, on: date) -> DayLine:
    """Return the line of an athlete whose week cannot be reckoned, so that nobody is lost from the list."""
    return DayLine(
        athlete_id=athlete.id,
        name=athlete.name,
        rung="",
        level="talk",
        reason=f"This week could not be reckoned: {why}",
        more=(),
        since="",
        since_on=None,
        decision="Look here",
        standing="",
        week_starts=on,
    )


def the_day(lines: Iterable[DayLine], on: date) -> Day:
    """Sort the lines into heaps: stop, talk, decide; the fine ones apart."""
    ordered = sorted(
        lines, key=lambda line: (not line.pain, bool(line.standing), line.since_on or on, line.name)
    )
    by_level = {level: tuple(line for line in ordered if line.level == level) for level in LEVELS}
    heaps = (
        Heap(
            "stop",
            "Pain or a warning sign: stop and refer",
            "Before anything else. Write or call; you never name a diagnosis.",
            by_level["stop"],
        ),
        Heap(
            "talk",
            "Talk to them",
            "The plan is already eased; a word from you is what is missing.",
            by_level["talk"],
        ),
        Heap(
            "decide",
            "Weeks that wait for your decision",
            "Open one, read the reasons, decide.",
            by_level["decide"],
        ),
    )
    return Day(on, _sentence(by_level), tuple(heap for heap in heaps if heap.lines), by_level["fine"])


def _newest_evidence(verdict: Verdict) -> date | None:
    days = [piece.on for rule in verdict.rules[:1] for piece in rule.evidence]
    return max(days) if days else None


def _sentence(by_level: dict[str, tuple[DayLine, ...]]) -> str:
    pain = len(by_level["stop"])
    talk = len(by_level["talk"])
    decide = len(by_level["decide"])
    fine = len(by_level["fine"])
    if not (pain or talk or decide or fine):
        return "No athlete in the records yet."
    parts = []
    if pain:
        parts.append(f"{pain} to stop and refer")
    if talk:
        parts.append(f"{talk} to talk to")
    if decide:
        parts.append(f"{decide} {'week' if decide == 1 else 'weeks'} to decide")
    if not parts:
        return f"Nobody is waiting for you: {fine} fine."
    return ", ".join(parts) + (f"; {fine} fine." if fine else ".")
