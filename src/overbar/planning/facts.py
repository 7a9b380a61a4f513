"""All facts of one decision by name: what the ladder's conditions and sentences read."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from functools import lru_cache

from overbar.athlete.kit import Kit, Load, loads
from overbar.ladder.expression import Expression, Value
from overbar.ladder.form import Rung, Test
from overbar.planning import attendance, pain, tries, volume
from overbar.planning.case import Case
from overbar.planning.found import MISSING, Found, number, yes
from overbar.planning.rise import rise_over
from overbar.planning.shown import Seen, best_by_day, seen
from overbar.planning.verdict import Evidence, GateState
from overbar.strength.retest import Rise

HISTORY = {**attendance.FACTS, **pain.FACTS, **tries.FACTS, **volume.FACTS}
"""Facts computed from the history alone."""
MOST_EVIDENCE = 8
RISE_DAYS = 14


class Facts:
    """Looks facts up, each computed once; rules change what is remembered as they fire.

    Attributes
    ----------
    case : Case
    rung : Rung
        The rung the week is planned for; climbing changes it.
    remembered : dict
        Numbers carried from week to week, as they stand now.
    before : dict
        The same as last week left them.
    fired : dict
        Rules that fired in this decision, by id.
    gates : dict
        States of the gates that have been looked at, by id.
    """

    def __init__(self, case: Case, rung: Rung) -> None:
        self.case = case
        self.rung = rung
        self.fired: dict[str, bool] = {}
        self.gates: dict[str, GateState] = {}
        self.planned: dict[str, float] = {}
        self._found: dict[str, Found] = {}
        self._seen: dict[str, tuple[Seen, ...]] = {}
        self._rises: dict[float, Rise | None] = {}
        self._amounts = {amount.name: amount.value for amount in case.method.amount}
        self._watches = {watch.name: watch for watch in case.method.watch}
        self.questions: dict[str, Callable[..., Value]] = {
            "weeks_running": self._weeks_running,
            "weeks_since": self._weeks_since,
            "fired": lambda rule: 1.0 if self.fired.get(str(rule)) else 0.0,
            "gate_is_open": self._gate_is_open,
            "gate_lacks": self._gate_lacks,
            "kit_at_most": self._kit_at_most,
            "kit_above": self._kit_above,
            "rise_at_most": self._rise_at_most,
        }
        self.before: dict[str, float] = dict(case.last_week.state) if case.last_week else {}
        self.remembered: dict[str, float] = {}
        for known in (*case.ladder.remember.values(), *case.method.remember):
            if known.name not in self.before:
                start = self.value(known.start)
                self.before[known.name] = float(start) if isinstance(start, int | float) else 0.0
            self.remembered[known.name] = self.before[known.name]

    # --- looking up -------------------------------------------------------

    def value(self, expression: Expression) -> Value:
        """Compute an expression; None when what it needs is missing."""
        return expression.value(self.look, self.questions)

    def amount(self, expression: Expression | None, otherwise: float) -> float:
        """Compute a number, with a value to take when it is not given or not known."""
        value = None if expression is None else self.value(expression)
        return float(value) if isinstance(value, int | float) else otherwise

    def amount_of(self, name: str, otherwise: float = 0.0) -> float:
        """Return a fact as a number, with a value to take when it is missing."""
        value = self.look(name)
        return float(value) if isinstance(value, int | float) else otherwise

    def holds(self, expression: Expression | None) -> bool:
        """Say whether a condition is known to be true; no condition holds always."""
        return expression is None or bool(self.value(expression))

    def look(self, name: str) -> Value:
        """Return a fact's value, or None when it is missing."""
        if name in self.remembered:
            return self.remembered[name]
        if name in self._amounts:
            return self.value(self._amounts[name])
        return self.found(name).value

    def found(self, name: str) -> Found:
        """Return a fact with its evidence."""
        if name in self.planned:
            return number(self.planned[name])
        if name in ("gate_open",):
            return self._gate_open()
        held = self._found.get(name)
        if held is None:
            held = self._found[name] = self._compute(name)
        return held

    def _compute(self, name: str) -> Found:
        if name in HISTORY:
            return HISTORY[name](self.case)
        if name in OWN:
            return OWN[name](self)
        head, _, rest = name.partition(".")
        if head == "was":
            return number(self.before.get(rest))
        if head == "rung":
            return number(self.rung.number.get(rest))
        if head == "method":
            return number(self.case.method.number.get(rest))
        if head == "test":
            test, _, field = rest.partition(".")
            return self._test(self.case.ladder.tests[test], field)
        if head in self._watches:
            return volume.watch_fact(self.case, self._watches[head], rest)
        return MISSING

    def on_rung(self, rung: Rung) -> None:
        """Plan for another rung from here on."""
        self.rung = rung
        self._found = {name: found for name, found in self._found.items() if not name.startswith("rung.")}

    def evidence(self, names: Iterable[str], gates: Iterable[str] = ()) -> tuple[Evidence, ...]:
        """Gather the evidence behind facts, newest last, without repeats."""
        gathered: dict[Evidence, None] = {}
        for name in names:
            inner = self._amounts.get(name)
            for one in self.evidence(inner.names) if inner is not None else self._evidence_of(name):
                gathered[one] = None
        for gate in gates:
            if gate in self.gates:
                for item in self.gates[gate].items:
                    gathered.update(dict.fromkeys(item.evidence[:2]))
        newest = sorted(gathered, key=lambda e: e.on)[-MOST_EVIDENCE:]
        return tuple(newest)

    def _evidence_of(self, name: str) -> tuple[Evidence, ...]:
        if name in self.remembered or name.startswith(("rung.", "method.")):
            return ()
        if name.startswith("was."):
            week = self.case.last_week
            if week is None:
                return ()
            return self._remembered_as(name[4:], week.starts)
        return self.found(name).evidence

    def _remembered_as(self, name: str, on: date) -> tuple[Evidence, ...]:
        value = self.before.get(name, 0.0)
        known = {r.name: r.say for r in (*self.case.ladder.remember.values(), *self.case.method.remember)}
        if not value or not known.get(name):
            return ()
        return (Evidence("plan", on, f"from that week's plan: {known[name]}, {value:g}"),)

    # --- tests ------------------------------------------------------------

    def seen(self, test: Test) -> tuple[Seen, ...]:
        """Every value of a test, oldest first."""
        held = self._seen.get(test.id)
        if held is None:
            held = self._seen[test.id] = seen(self.case, test, self.found)
        return held

    def recent(self, test: Test, max_age_days: int | None = None) -> tuple[Seen, ...]:
        """Best value of each day that is young enough, oldest first."""
        age = max_age_days or test.max_age_days
        since = self.case.on - timedelta(days=age)
        return best_by_day((one for one in self.seen(test) if one.on >= since), test)

    def _test(self, test: Test, field: str) -> Found:
        days = self.recent(test)
        if field == "days":
            return number(len(days))
        if field == "rise":
            return self._rise(test)
        if not days:
            return MISSING
        better = 1 if test.better == "more" else -1
        best = max(days, key=lambda one: (better * one.value, one.on))
        if field == "sd":
            return number(best.sd)
        if field == "age":
            return number((self.case.on - days[-1].on).days)
        return number(best.value, best.evidence)

    def _rise(self, test: Test) -> Found:
        def span(weeks_ago: int) -> list[Seen]:
            end = self.case.on - timedelta(days=7 * weeks_ago)
            start = end - timedelta(days=RISE_DAYS)
            return [one for one in self.seen(test) if start < one.on <= end]

        new, old = span(0), span(4)
        if not new or not old:
            return MISSING
        better = 1 if test.better == "more" else -1
        after = max(new, key=lambda one: better * one.value)
        before = max(old, key=lambda one: better * one.value)
        return number(after.value - before.value, before.evidence, after.evidence)

    # --- memory, gates, kit -----------------------------------------------

    def _weeks_running(self, rule: Value) -> Value:
        run = 0
        for week in reversed(self.case.history.weeks):
            if rule in week.rules:
                run += 1
            elif not week.deload:
                break
        return float(run)

    def _weeks_since(self, rule: Value) -> Value:
        weeks = [week.starts for week in self.case.history.weeks if rule in week.rules]
        return (self.case.week_starts - weeks[-1]).days / 7 if weeks else None

    def _gate_is_open(self, gate: Value) -> Value:
        from overbar.planning.gates import gate_state

        return 1.0 if gate_state(self, str(gate)).open else 0.0

    def _gate_lacks(self, gate: Value) -> Value:
        self._gate_is_open(gate)
        lacking = [item for item in self.gates[str(gate)].items if item.hard and item.met is not True]
        return "; ".join(f"{item.say} ({item.shortfall_say})" for item in lacking) or "nothing"

    def _gate_open(self) -> Found:
        gate = self.rung.gate
        if not gate:
            return yes(False)
        opened = self._gate_is_open(gate)
        return Found(opened, tuple(e for item in self.gates[gate].items for e in item.evidence[:2]))

    def rise(self, weeks: float) -> Rise | None:
        """Return how much strength rose over so many weeks, worked out once."""
        if weeks not in self._rises:
            self._rises[weeks] = rise_over(self.case, weeks)
        return self._rises[weeks]

    def _rise_at_most(self, weeks: Value, chance: Value) -> Value:
        if not isinstance(weeks, float) or not isinstance(chance, float):
            return None
        rise = self.rise(weeks)
        return None if rise is None else 100 * rise.at_most(chance)

    def _kit_at_most(self, kilograms: Value) -> Value:
        if not isinstance(kilograms, float):
            return None
        return [load for load in kit_loads(self.case.athlete.kit) if load.added_kg <= kilograms + 0.005][
            -1
        ].added_kg

    def _kit_above(self, kilograms: Value) -> Value:
        if not isinstance(kilograms, float):
            return None
        heavier = (x.added_kg for x in kit_loads(self.case.athlete.kit) if x.added_kg > kilograms + 0.005)
        return next(heavier, None)


@lru_cache(maxsize=4096)
def kit_loads(kit: Kit) -> tuple[Load, ...]:
    """Every added load a kit can make, lightest first (:func:`overbar.athlete.kit.loads`, kept)."""
    return loads(kit)


def _film_unusable(facts: Facts) -> Found:
    films = facts.case.history.films
    if not films:
        return MISSING
    last = films[-1]
    said = Evidence("film", last.on, "measured" if last.usable else "could not be measured", last.ref)
    return yes(not last.usable and (facts.case.on - last.on).days <= 13, said)


def _films(facts: Facts) -> Found:
    since = facts.case.on - timedelta(days=27)
    return number(sum(1 for film in facts.case.history.films if film.usable and film.on >= since))


def _anything(facts: Facts) -> Found:
    history = facts.case.history
    return yes(bool(history.sets or history.measurements or history.attempts))


def _rise_8w(facts: Facts) -> Found:
    rise = facts.rise(8.0)
    if rise is None:
        return MISSING
    low, high = 100 * rise.low, 100 * rise.high
    say = f"strength {100 * rise.share:+.1f} % since {rise.since:%d %b} (90 %: {low:+.1f} to {high:+.1f} %)"
    return number(100 * rise.share, Evidence("strength", rise.until, say))


OWN = {
    "strength_rise_8w_pct": _rise_8w,
    "last_film_unusable": _film_unusable,
    "films_28d": _films,
    "anything_logged": _anything,
}
"""Facts that need other facts."""
