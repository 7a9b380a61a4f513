"""One athlete's history cut to the day of the decision, sorted, and split into weeks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, timedelta
from functools import cached_property
from typing import TypeVar

from overbar.athlete.person import Athlete
from overbar.errors import BadInput
from overbar.ladder.form import Ladder, Method, Rung
from overbar.planning.history import TAKEN_BACK, CoachWord, History, PastWeek
from overbar.strength.sets import LoggedSet, StrengthPoint

LOOK_BACK_DAYS = 168
"""Sets older than this no longer decide anything (24 weeks; own judgement)."""
EVIDENCE_DAYS = 370
"""Tests, films and pain older than this no longer decide anything (a year; own judgement)."""
BODY_DAYS = 42
"""Body mass and sleep older than this no longer decide anything (own judgement)."""
WEEK = timedelta(days=7)
EASED = ("ease", "deload", "change_exercise", "stop_and_refer", "ask")
"""Decisions that plan less than usual; such a week says nothing of what an athlete is used to."""
RUNG_HELD_DAYS = 14
"""A rung set by the coach is not left by an open gate for so long, the age most gates' evidence may have
(own judgement)."""
DELOAD_LIKE = 0.65
"""A trained week with at most this share of the weeks before it was a deload in all but name."""
DAY_ENDS_EVERYWHERE = timedelta(hours=12)
"""A day of the calendar is over everywhere twelve hours after it ends in Greenwich."""

Dated = TypeVar("Dated")


@dataclass(frozen=True)
class Case:
    """What a decision may look at.

    Attributes
    ----------
    history : History
        Nothing in it is dated after ``on``; rows are in a fixed order.
    on : datetime.date
        Day of the decision.
    week_starts : datetime.date
        Monday of the week planned: ``on`` itself when it is a Monday.
    strength : tuple of StrengthPoint
        Oldest first.
    """

    history: History
    ladder: Ladder
    on: date
    week_starts: date
    strength: tuple[StrengthPoint, ...]

    @property
    def athlete(self) -> Athlete:
        """The athlete."""
        return self.history.athlete

    @cached_property
    def method(self) -> Method:
        """The athlete's method; the skill's own when none is named.

        Raises
        ------
        BadInput
            A method the ladder does not have: never planned by another one in silence.
        """
        methods = self.ladder.methods
        named = self.athlete.method or self.ladder.skill.default_method
        if named not in methods:
            raise BadInput(
                f"{self.athlete.name} is to train by {named!r}, which {self.ladder.name} does not have",
                "method",
                f"Choose one of: {', '.join(methods)}.",
            )
        return methods[named]

    @cached_property
    def last_day(self) -> date:
        """Last day of the week that is judged."""
        return min(self.on, self.week_starts - timedelta(days=1))

    @cached_property
    def last_week(self) -> PastWeek | None:
        """The newest earlier decision."""
        return self.history.weeks[-1] if self.history.weeks else None

    @cached_property
    def weeks_of_sets(self) -> tuple[tuple[LoggedSet, ...], ...]:
        """Sets by week, the judged week first."""
        weeks: list[list[LoggedSet]] = [[] for _ in range(LOOK_BACK_DAYS // 7)]
        last = self.last_day.toordinal()
        for one in self.history.sets:
            age = last - one.on.toordinal()
            if 0 <= age < LOOK_BACK_DAYS:
                weeks[age // 7].append(one)
        return tuple(tuple(week) for week in weeks)

    @cached_property
    def sets_of(self) -> dict[str, tuple[LoggedSet, ...]]:
        """Sets by exercise id, oldest first."""
        kept: dict[str, list[LoggedSet]] = {}
        for one in self.history.sets:
            kept.setdefault(one.exercise, []).append(one)
        return {exercise: tuple(sets) for exercise, sets in kept.items()}

    @cached_property
    def days_trained(self) -> tuple[int, ...]:
        """Training days in each of those weeks: days with a set or a session done."""
        days: list[set[date]] = [{one.on for one in week} for week in self.weeks_of_sets]
        for session in self.history.sessions:
            age = (self.last_day - session.on).days
            if session.done and 0 <= age < LOOK_BACK_DAYS:
                days[age // 7].add(session.on)
        return tuple(len(each) for each in days)

    @cached_property
    def trained(self) -> tuple[bool, ...]:
        """Whether at least half of the offered days were trained, week by week."""
        needed = max(1, (self.athlete.days_per_week + 1) // 2)
        return tuple(days >= needed for days in self.days_trained)

    @cached_property
    def pull_reps(self) -> tuple[int, ...]:
        """Pulling reps, week by week."""
        exercises = self.ladder.exercises
        pulls = {key for key, exercise in exercises.items() if exercise.volume == "pull"}
        return tuple(sum(s.reps for s in week if s.exercise in pulls) for week in self.weeks_of_sets)

    @cached_property
    def deload(self) -> tuple[bool, ...]:
        """Whether each week was a deload: planned as one, or much lighter than the three before."""
        planned = {week.starts for week in self.history.weeks if week.deload}
        known = {week.starts for week in self.history.weeks}
        out = []
        for index, reps in enumerate(self.pull_reps):
            monday = self._monday(index)
            before = [r for r in self.pull_reps[index + 1 : index + 4] if r > 0]
            light = len(before) == 3 and 0 < reps <= DELOAD_LIKE * sum(before) / 3
            out.append(monday in planned or (monday not in known and light))
        return tuple(out)

    def _monday(self, index: int) -> date:
        """Monday of the planned week that a judged week lies in."""
        middle = self.last_day - index * WEEK - timedelta(days=3)
        return middle - timedelta(days=middle.weekday())

    @cached_property
    def usual(self) -> tuple[bool, ...]:
        """Whether each week was trained as usual: no deload, not planned easier, no test day after one."""
        eased = {week.starts for week in self.history.weeks if week.decision in EASED}
        tested = {week.starts + WEEK for week in self.history.weeks if week.deload}
        mondays = (self._monday(index) for index in range(len(self.trained)))
        easier = (monday in eased or monday in tested for monday in mondays)
        weeks = zip(self.trained, self.deload, easier, strict=True)
        return tuple(trained and not deload and not less for trained, deload, less in weeks)

    @cached_property
    def planned_reps(self) -> dict[date, int]:
        """Pulling reps planned at most, by the Monday of their week."""
        exercises = self.ladder.exercises
        pulls = {key for key, exercise in exercises.items() if exercise.volume == "pull"}
        out = {}
        for week in self.history.weeks:
            reps = dict.fromkeys(pulls, 0)
            for _, exercise, sets, _, high, _ in week.slots:
                if exercise in pulls:
                    reps[exercise] += sets * high
            stops = dict(week.stops)
            out[week.starts] = sum(int(min(n, stops.get(exercise, n))) for exercise, n in reps.items())
        return out

    @cached_property
    def used_to(self) -> tuple[float, ...]:
        """Pulling reps week by week: done, or planned for the days that were trained where that is more."""
        days = {week.starts: len({slot[0] for slot in week.slots}) for week in self.history.weeks}
        out = []
        for index, (done, trained) in enumerate(zip(self.pull_reps, self.days_trained, strict=True)):
            monday = self._monday(index)
            share = min(1.0, trained / max(1, days.get(monday, 1)))
            out.append(max(float(done), share * self.planned_reps.get(monday, 0)))
        return tuple(out)

    @cached_property
    def accustomed(self) -> tuple[tuple[int, int], ...]:
        """Pulling reps (used to, done) of each week trained as usual, newest first.

        Where fewer reps were done than planned the plan counts: a cap on what was done would
        shrink the week of an athlete whose sets fall short, and shrink it again the week after.
        """
        weeks = enumerate(zip(self.usual, self.pull_reps, strict=True))
        return tuple(
            (max(done, self.planned_reps.get(self._monday(index), 0)), done)
            for index, (usual, done) in weeks
            if usual and done > 0
        )

    @cached_property
    def judged(self) -> int | None:
        """Index of the last trained week that was no deload, or None."""
        pairs = zip(self.trained, self.deload, strict=True)
        return next((i for i, (trained, deload) in enumerate(pairs) if trained and not deload), None)

    @cached_property
    def rung_held(self) -> CoachWord | None:
        """The coach's newest word on the rung while it is young: no gate moves the athlete on meanwhile."""
        spoken = [w for w in self.history.coach if w.about.startswith("rung:")]
        if not spoken or spoken[-1].choice in ("ignore", TAKEN_BACK):
            return None
        return spoken[-1] if said_on(spoken[-1]) > self.on - timedelta(days=RUNG_HELD_DAYS) else None

    def word(self, about: str) -> CoachWord | None:
        """Return the coach's newest word about something that still holds."""
        said = [w for w in self.history.coach if w.about == about and (w.until is None or w.until >= self.on)]
        return said[-1] if said and said[-1].choice != TAKEN_BACK else None


def make_case(history: History, ladder: Ladder, on: date, strength: Sequence[StrengthPoint]) -> Case:
    """Cut a history to a day and put its rows in a fixed order.

    The order in which rows arrive, and the time zone their clock times are written in,
    change nothing: rows are sorted by all they say, and a coach's word counts up to the
    moment the day has ended everywhere on earth.
    """
    first = on - timedelta(days=LOOK_BACK_DAYS + 7)
    week_starts = on if on.weekday() == 0 else on + timedelta(days=7 - on.weekday())
    spoken = {one.exercise for one in history.sets}
    ids = {text: (found.id if (found := ladder.exercise_named(text)) else text) for text in spoken}
    cut = replace(
        history,
        sets=tuple(
            sorted(
                (
                    one if ids[one.exercise] == one.exercise else replace(one, exercise=ids[one.exercise])
                    for one in history.sets
                    if first <= one.on <= on
                ),
                key=_set_order,
            )
        ),
        sessions=_between(history.sessions, first, on),
        body=_between(history.body, on - timedelta(days=BODY_DAYS), on),
        pain=_between(history.pain, on - timedelta(days=EVIDENCE_DAYS), on),
        measurements=_between(history.measurements, on - timedelta(days=EVIDENCE_DAYS), on),
        attempts=_between(history.attempts, date.min, on),
        films=_between(history.films, on - timedelta(days=EVIDENCE_DAYS), on),
        weeks=tuple(sorted((w for w in history.weeks if w.starts < week_starts), key=lambda w: w.starts)),
        coach=tuple(sorted((w for w in history.coach if said_on(w) <= on), key=_word_order)),
    )
    return Case(cut, ladder, on, week_starts, tuple(p for p in strength if p.on <= on))


def said_on(word: CoachWord) -> date:
    """Return the calendar day a coach's word belongs to, the same whatever zone it is written in."""
    return (word.said_at.astimezone(UTC) - DAY_ENDS_EVERYWHERE).date()


def _set_order(one: LoggedSet) -> tuple[object, ...]:
    left = -1.0 if one.reps_left is None else one.reps_left
    return (one.on, one.session, one.order, one.exercise, one.added_kg, one.reps, left)


def _word_order(word: CoachWord) -> tuple[object, ...]:
    return (word.said_at.astimezone(UTC), word.about, word.choice)


def _between(rows: Sequence[Dated], first: date, last: date) -> tuple[Dated, ...]:
    """Keep a span of days; rows of one day are put in the order of all they say."""
    kept = [row for row in rows if first <= row.on <= last]  # type: ignore[attr-defined]
    return tuple(sorted(kept, key=_said))


def _said(row: object) -> tuple[object, ...]:
    fields = row.__dict__
    return (fields["on"], *(str(value) for value in fields.values()))


def rung_after(case: Case) -> Rung | None:
    """Return the rung the last decision planned, when the ladder still has it."""
    return case.ladder.rungs.get(case.last_week.rung) if case.last_week else None
