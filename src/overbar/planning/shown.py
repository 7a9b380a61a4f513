"""Dated evidence for the ladder's tests: measured on film, logged, or seen by the coach."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.ladder.form import Test
from overbar.planning.case import Case
from overbar.planning.found import Found
from overbar.planning.verdict import Evidence

FactOf = Callable[[str], Found]


@dataclass(frozen=True)
class Seen:
    """One value of a test on one day."""

    on: date
    value: float
    sd: float | None
    source: str
    evidence: Evidence


def seen(case: Case, test: Test, fact_of: FactOf) -> tuple[Seen, ...]:
    """Collect every value of a test, oldest first.

    Parameters
    ----------
    case : Case
    test : Test
        Its ``reads`` says where values come from beside measurements that name it.
    fact_of : callable
        Gives an engine fact by name.

    Returns
    -------
    tuple of Seen
        One per measurement, logged day, try or fact; empty when there is no evidence.
    """
    names = {test.id, *test.aliases}
    found = [
        Seen(m.on, m.value, m.sd if m.sd is not None else test.noise_sd, m.source,
             Evidence("film" if m.source == "film" else "test", m.on, _say(test, m.value, m.sd), m.ref))
        for m in case.history.measurements
        if m.test in names
    ]  # fmt: skip
    found.extend(_logged(case, test))
    if test.reads.attempt:
        for tried in case.history.attempts:
            value = getattr(tried, test.reads.attempt, None)
            if value is not None:
                evidence = Evidence(
                    "attempt", tried.on, f"try {tried.n}: {_say(test, value, None)}", tried.ref
                )
                found.append(Seen(tried.on, value, test.noise_sd, tried.source, evidence))
    if test.reads.fact:
        fact = fact_of(test.reads.fact)
        if isinstance(fact.value, float):
            newest = max((e.on for e in fact.evidence), default=case.on)
            evidence = (
                fact.evidence[-1] if fact.evidence else Evidence("log", newest, _say(test, fact.value, None))
            )
            found.append(Seen(newest, fact.value, None, "coach", evidence))
    return tuple(sorted(found, key=lambda one: (one.on, one.value)))


def _logged(case: Case, test: Test) -> Iterable[Seen]:
    reads = test.reads
    if not reads.exercises:
        return
    days: dict[date, list[tuple[float, int, str]]] = defaultdict(list)
    horizon = case.on - timedelta(days=max(test.max_age_days, 60))
    for one in (one for name in reads.exercises for one in case.sets_of.get(name, ())):
        if one.on < horizon:
            continue
        if reads.at_body_mass and abs(one.added_kg) > 0.01:
            continue
        value = {
            "reps": float(one.reps),
            "seconds": one.seconds,
            "speed": one.first_rep_speed_mps,
            "added_share": one.added_kg / one.body_mass_kg,
        }[reads.take]
        if value is not None and (reads.take == "reps" or one.reps > 0 or reads.take == "seconds"):
            days[one.on].append((value, max(1, one.reps), one.counted_by))
    for day, values in days.items():
        values.sort(reverse=True)
        left = reads.best_of
        for value, reps, counted_by in values:
            left -= reps if reads.best_of > 1 else 1
            if left <= 0:
                say = f"{_say(test, value, None)} in the log"
                yield Seen(day, value, test.noise_sd, counted_by, Evidence("set", day, say))
                break


def _say(test: Test, value: float, sd: float | None) -> str:
    return f"{test.name} {in_unit(value, test.unit, sd)}"


def in_unit(value: float, unit: str, sd: float | None = None) -> str:
    """Write a value of a test with its unit and, when known, its one-sigma uncertainty.

    Examples
    --------
    >>> in_unit(0.176, "L", 0.02)
    '+0.18 ± 0.02 L'
    >>> in_unit(5, "reps")
    '5 reps'
    """
    if unit == "yes/no":
        return "yes" if value >= 0.5 else "no"
    if unit == "L":
        digits = f"{value:+.2f}"
    elif unit in ("R", "m/s"):
        digits = f"{value:.2f}"
    else:
        digits = f"{value:.1f}".rstrip("0").rstrip(".")
    spread = f" ± {sd:.2g}" if sd else ""
    name = {"R": "of body mass", "of 10": "of 10"}.get(unit, unit)
    return f"{digits}{spread} {name}".strip()


def best_by_day(values: Iterable[Seen], test: Test) -> tuple[Seen, ...]:
    """Keep the best value of each day, oldest day first."""
    better = 1 if test.better == "more" else -1
    days: dict[date, Seen] = {}
    for one in values:
        held = days.get(one.on)
        if held is None or better * one.value > better * held.value:
            days[one.on] = one
    return tuple(days[day] for day in sorted(days))
