"""When each gate ahead is likely to open: per item a range of dates, the latest one decides."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from overbar.ladder.form import Gate, Ladder, Requirement
from overbar.planning.case import make_case
from overbar.planning.facts import Facts
from overbar.planning.gates import item_key, judge, placement
from overbar.planning.history import History
from overbar.planning.shown import best_by_day, in_unit
from overbar.planning.week import pulls_of
from overbar.strength.forecast import (
    Habits,
    When,
    forecast_strength,
    forecast_value,
    latest,
    soonest,
    what_ifs,
)
from overbar.strength.posterior import Belief, beliefs
from overbar.strength.prior import Prior
from overbar.strength.sets import LoggedSet, StrengthPoint

CAVEAT = (
    "Ranges that hold 8 times in 10 if things go on as assumed; not a promise. Forecast again each block."
)
SLEEP_DAYS = 28
"""Sleep of so many days tells how the athlete sleeps (own judgement: four weeks)."""
USUAL_DAYS = 56
"""Training days a week are counted over so many days of a log (own judgement: eight weeks)."""
TRAINING_DAYS = (1, 5)
"""Fewest and most training days a week that are forecast."""

Forecast = Callable[[Habits], When]


@dataclass(frozen=True)
class GateOutlook:
    """When one gate may open.

    Attributes
    ----------
    id, name : str
    items : tuple of When
        One per item with values to go by.
    held : tuple of str
        Items no trend leads to (a film, a photo, calm mornings) that are shown today.
    unknown : tuple of str
        The same not shown, and items without a value.
    all_of_it : When or None
        The latest of this gate's items and of the gates before it.
    keys : tuple of str
        Of each item the tests behind it, as the coach's word on it names them.
    """

    id: str
    name: str
    items: tuple[When, ...]
    held: tuple[str, ...]
    unknown: tuple[str, ...]
    all_of_it: When | None
    keys: tuple[str, ...] = ()

    @property
    def decides(self) -> When | None:
        """The item of this gate that is reached last, or None when all are reached or none is forecast."""
        ahead = [item for item in self.items if not item.reached]
        return max(ahead, key=lambda item: (item.likely or date.max, item.late or date.max), default=None)


@dataclass(frozen=True)
class Changed:
    """A what-if: its name, how the coming weeks are lived in it, and what becomes of the gates."""

    name: str
    lived: Habits
    gates: tuple[GateOutlook, ...]


@dataclass(frozen=True)
class _GateAhead:
    """One gate with a forecast per item, waiting to be told how the coming weeks are lived."""

    id: str
    name: str
    forecasts: tuple[Forecast, ...]
    held: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ahead:
    """The gates from where an athlete stands up to the one that opens the tries.

    Attributes
    ----------
    on : datetime.date
        Day it is looked ahead from.
    usual : Habits
        How the athlete lived so far.
    """

    on: date
    usual: Habits
    _gates: tuple[_GateAhead, ...] = field(repr=False)

    def look(self, lived: Habits | None = None) -> tuple[GateOutlook, ...]:
        """Forecast every gate for coming weeks lived in some way; as so far when not told."""
        habits = lived or self.usual
        found: list[GateOutlook] = []
        before: list[When] = []
        for gate in self._gates:
            items = tuple(forecast(habits) for forecast in gate.forecasts)
            before += items
            whole = latest(before, "all of it") if before else None
            found.append(GateOutlook(gate.id, gate.name, items, gate.held, gate.unknown, whole, gate.keys))
        return tuple(found)

    def what_ifs(self, lived: Habits | None = None) -> tuple[Changed, ...]:
        """Forecast every gate under the usual what-ifs."""
        return tuple(
            Changed(name, habits, self.look(habits)) for name, habits in what_ifs(lived or self.usual).items()
        )


def look_ahead(
    history: History,
    ladder: Ladder,
    on: date,
    strength: Sequence[StrengthPoint] | None = None,
    belief: Belief | None = None,
) -> Ahead:
    """Look ahead from a day to the gates between an athlete and the first tries.

    Parameters
    ----------
    history : History
        Rows dated after ``on`` are not looked at.
    ladder : Ladder
    on : datetime.date
    strength : sequence of StrengthPoint, optional
        Estimates made elsewhere; otherwise they are made from ``history.sets``.
    belief : Belief, optional
        The newest one behind those estimates, when it is at hand.

    Returns
    -------
    Ahead
        Empty of gates where the skill is tried already.
    """
    newest = belief
    if newest is None:
        believed = beliefs(pulls_of(history, ladder, on), history.athlete.sex, prior=history.prior)
        newest = believed[-1] if believed else None
        strength = tuple(one.point() for one in believed) if strength is None else strength
    points = tuple(strength or ())
    case = make_case(history, ladder, on, points)
    facts = Facts(case, next(iter(ladder.rungs.values())))
    rung = placement(case, facts).rung
    return Ahead(
        on,
        usual_habits(history, on),
        tuple(_gate_ahead(facts, gate, newest, on) for gate in _gates_ahead(ladder, rung.id)),
    )


def look_ahead_on_sets(
    sets: Sequence[LoggedSet],
    sex: str,
    ladder: Ladder,
    on: date | None = None,
    prior: Prior | None = None,
) -> Ahead:
    """Look ahead to the strength items of a whole ladder, from sets alone.

    Parameters
    ----------
    sets : sequence of LoggedSet
        Sets that show pulling strength, at least one of them up to ``on``.
    sex : str
    ladder : Ladder
    on : datetime.date, optional
        The day of the newest set when not given.
    prior : Prior, optional
        In place of the published norm.
    """
    believed = beliefs(sets, sex, through=on, prior=prior)
    belief, day = believed[-1], on or believed[-1].on
    used_to = _days_a_week(sorted({done.on for done in sets if done.on <= day}))
    gates = []
    for gate in ladder.gates.values():
        asked = {leaf.value for item in gate.item for leaf in item.leaves if leaf.test == "R"}
        if asked:
            ways = tuple(_strength_forecast(belief, value, day) for value in sorted(asked))
            gates.append(_GateAhead(gate.id, gate.name, ways))
    return Ahead(day, Habits(days_a_week=used_to, used_to_days=used_to), tuple(gates))


def usual_habits(history: History, on: date) -> Habits:
    """Return how the athlete lived so far: offered days, and mean sleep of the last four weeks."""
    slept = [
        note.sleep_h
        for note in history.body
        if note.sleep_h is not None and 0 <= (on - note.on).days < SLEEP_DAYS
    ]
    hours = round(sum(slept) / len(slept), 1) if slept else None
    offered = history.athlete.days_per_week
    return Habits(days_a_week=offered, sleep_h=hours, used_to_days=offered, used_to_sleep_h=hours)


def _gates_ahead(ladder: Ladder, rung_id: str) -> Iterator[Gate]:
    """Yield the gates ahead, up to the one behind which the skill is first tried."""
    rung = ladder.rungs[rung_id]
    while rung.gate:
        gate = ladder.gates[rung.gate]
        yield gate
        rung = ladder.rungs[gate.to_rung]
        if any(slot.exercise == ladder.skill.attempt_exercise for slot in rung.slot):
            return


def _gate_ahead(facts: Facts, gate: Gate, belief: Belief | None, on: date) -> _GateAhead:
    forecasts: list[Forecast] = []
    held, unknown, keys = [], [], []
    for needed in gate.item:
        if not needed.hard:
            continue
        way = _forecast_of(facts, needed, belief, on)
        if way is not None:
            forecasts.append(way)
            keys.append(item_key(needed))
        elif judge(facts, needed).met is True:
            held.append(_name(facts, needed))
        else:
            unknown.append(_name(facts, needed))
    return _GateAhead(gate.id, gate.name, tuple(forecasts), tuple(held), tuple(unknown), tuple(keys))


def _forecast_of(facts: Facts, needed: Requirement, belief: Belief | None, on: date) -> Forecast | None:
    """Return what forecasts one requirement; None where no value leads to it."""
    name = _name(facts, needed)
    if needed.any_of or needed.all_of:
        parts = [_forecast_of(facts, part, belief, on) for part in needed.any_of or needed.all_of]
        known = [part for part in parts if part is not None]
        if needed.any_of and known:
            return lambda lived: soonest([part(lived) for part in known], name)
        if needed.all_of and len(known) == len(parts):
            return lambda lived: latest([part(lived) for part in known], name)
        return None
    test = facts.case.ladder.tests[needed.test]
    if test.reads.fact == "R":
        return None if belief is None else _strength_forecast(belief, needed.value, on, name)
    days = best_by_day(facts.seen(test), test)
    if not days or test.reads.fact or test.unit == "yes/no":
        return None
    values = [(one.on, one.value, one.sd) for one in days]
    better: Literal["up", "down"] = "up" if test.better == "more" else "down"
    return lambda lived: forecast_value(name, values, needed.value, better, on, lived)


def _strength_forecast(belief: Belief, target: float, on: date, name: str = "") -> Forecast:
    item = name or f"pulls {target:.2f} of body mass once"
    return lambda lived: forecast_strength(belief, target, on, lived, item)


def _name(facts: Facts, needed: Requirement) -> str:
    if needed.say:
        return needed.say
    parts = needed.any_of or needed.all_of
    if parts:
        return (" or " if needed.any_of else " and ").join(_name(facts, part) for part in parts)
    test = facts.case.ladder.tests[needed.test]
    return f"{test.name} {in_unit(needed.value, test.unit)}"


def _days_a_week(days: Sequence[date]) -> int:
    """Return the training days a week of the end of a log."""
    recent = [day for day in days if (days[-1] - day).days < USUAL_DAYS]
    weeks = max(((recent[-1] - recent[0]).days + 7) / 7, 1.0)
    return min(max(round(len(recent) / weeks), TRAINING_DAYS[0]), TRAINING_DAYS[1])
