"""Every decision of the program a coach can overrule in one action, and the words that hold now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.desk.figures import day
from overbar.desk.outlook import own_in_words
from overbar.ladder import Ladder
from overbar.planning.apply import LEAVE_OUT, may_stand_for
from overbar.planning.coach_words import dates_of
from overbar.planning.history import TAKEN_BACK, CoachWord, History
from overbar.planning.rules import APPLY, may_be_made_to_fire
from overbar.planning.verdict import Verdict, Week

SETTABLE = ("return", "recovery", "progress", "plan")
"""Phases of rules that can be made to fire: safety and the caps speak for themselves."""
FOR_THE_WEEK = ("rule",)
"""Words about these hold for the week planned; others until they are taken back."""


@dataclass(frozen=True)
class Choice:
    """One thing that can be overruled: what the form sends, and in words."""

    key: str
    say: str


@dataclass(frozen=True)
class Standing:
    """A word that holds now."""

    about: str
    say: str
    reason: str
    when: str


def choices(week: Week, ladder: Ladder, history: History) -> tuple[tuple[str, tuple[Choice, ...]], ...]:
    """Return what can be overruled, group by group."""
    verdict = week.verdict
    groups = (
        ("Rung", _rungs(verdict, ladder)),
        (f"Gate: {verdict.gate.name}" if verdict.gate else "Gate", _items(verdict)),
        ("Fault of the week", _faults(verdict, ladder)),
        ("What to work on", _answers(verdict, ladder)),
        ("Rules", _rules(verdict, ladder, history)),
        ("Exercises, every week", _exercises(week, ladder)),
        ("Place and people", _others(verdict)),
    )
    return tuple((name, found) for name, items in groups if (found := tuple(items)))


def _rungs(verdict: Verdict, ladder: Ladder) -> Iterator[Choice]:
    for rung in ladder.rungs.values():
        if rung.id != verdict.rung:
            yield Choice(f"rung:{rung.id}|set", f"Put on: {rung.name}")


def _items(verdict: Verdict) -> Iterator[Choice]:
    gate = verdict.gate
    for item in gate.items if gate else ():
        about = f"item:{gate.id}:{item.key}" if gate and item.key else ""
        if about and item.met is not True:
            yield Choice(f"{about}|met", f"Count as shown: {item.say}")
        if about and item.met is not False:
            yield Choice(f"{about}|not_met", f"Count as not shown: {item.say}")


def _faults(verdict: Verdict, ladder: Ladder) -> Iterator[Choice]:
    for fault in ladder.faults.values():
        if fault.id == verdict.fault:
            yield Choice(f"fault:{fault.id}|ignore", f"Set aside: {fault.name}")
        else:
            yield Choice(f"fault:{fault.id}|met", f"Work on: {fault.name}")


def _answers(verdict: Verdict, ladder: Ladder) -> Iterator[Choice]:
    for answer in dict.fromkeys(branch.answer for branch in ladder.splits):
        if answer != verdict.strength_or_technique:
            yield Choice(f"answer:limit|{answer}", f"Next to work on: {answer}")


def _rules(verdict: Verdict, ladder: Ladder, history: History) -> Iterator[Choice]:
    fired = {rule.id for rule in verdict.rules}
    method = history.athlete.method
    rules = ladder.all_rules(method if method in ladder.methods else ladder.skill.default_method)
    for rule in rules:
        if rule.id in fired or rule.phase not in SETTABLE or not may_be_made_to_fire(rule):
            continue
        if not rule.rungs or verdict.rung in rule.rungs:
            yield Choice(f"rule:{rule.id}|{APPLY}", f"Let it count this week: {rule.name}")


def _exercises(week: Week, ladder: Ladder) -> Iterator[Choice]:
    planned = dict.fromkeys(slot.exercise for session in week.sessions for slot in session.slots)
    for exercise in (ladder.exercises[one] for one in planned if one in ladder.exercises):
        yield Choice(f"exercise:{exercise.id}|{LEAVE_OUT}", f"Leave out: {exercise.name}")
        for other in may_stand_for(exercise, ladder.exercises):
            name = ladder.exercises[other].name
            yield Choice(f"exercise:{exercise.id}|{other}", f"{exercise.name}: instead {name.lower()}")


def _others(verdict: Verdict) -> Iterator[Choice]:
    yield Choice("place:checked|met", "Bar, fixings and floor are checked")
    yield Choice("place:checked|not_met", "Bar or floor is not safe")
    yield Choice("adult:present|met", "An adult is on the spot")
    if verdict.urgent == 3:
        yield Choice("flag:settled|met", "The stop-now sign was looked at by someone who may, and is settled")


def until(about: str, week_starts: date, today: date, ladder: Ladder) -> date | None:
    """Return the last day a word holds; None until it is taken back.

    A word on a rule is for the week planned; one on an item of a gate lasts as long as
    evidence for it would.
    """
    kind, _, rest = about.partition(":")
    if kind in FOR_THE_WEEK:
        return week_starts
    if kind == "item":
        tests = [ladder.tests[one] for one in rest.partition(":")[2].split("+") if one in ladder.tests]
        days = min((test.max_age_days for test in tests), default=14)
        return today + timedelta(days=days)
    return None


def in_force(history: History, ladder: Ladder, on: date) -> tuple[Standing, ...]:
    """Return the coach's words that hold on a day, newest first."""
    newest: dict[str, CoachWord] = {}
    for word in history.coach:
        if word.until is None or word.until >= on:
            newest.pop(word.about, None)
            newest[word.about] = word
    return tuple(
        Standing(word.about, word_in_words(word, ladder), word.reason, day(word.said_at.date(), on))
        for word in reversed(newest.values())
        if word.choice not in (TAKEN_BACK, "none")
    )


def word_in_words(word: CoachWord, ladder: Ladder) -> str:
    """Return what a word of the coach settles, with names for ids."""
    kind, _, rest = word.about.partition(":")
    shown = {"met": "counts as shown", "not_met": "counts as not shown", "ignore": "set aside"}
    said = shown.get(word.choice, word.choice.replace("_", " "))
    if kind == "rung":
        return f"on the rung {_name(ladder.rungs, rest)}"
    if kind == "gate":
        return f"{_name(ladder.gates, rest)} {'is met' if word.choice == 'met' else 'is not met'}"
    if kind == "item":
        gate, _, tests = rest.partition(":")
        names = " and ".join(_name(ladder.tests, one) for one in tests.split("+"))
        return f"{_name(ladder.gates, gate)}: {names} {said}"
    if kind == "rule":
        rules = {rule.id: rule for rule in ladder.rules.values()}
        rules |= {rule.id: rule for method in ladder.methods.values() for rule in method.rule}
        return f"{_name(rules, rest)}: {'counts this week' if word.choice == APPLY else 'set aside'}"
    if kind == "fault":
        name = _name(ladder.faults, rest)
        return f"work on {name.lower()}" if word.choice == "met" else f"{name} set aside"
    if kind == "exercise":
        name = _name(ladder.exercises, rest)
        if word.choice == LEAVE_OUT:
            return f"{name} left out"
        return f"{_name(ladder.exercises, word.choice)} in place of {name.lower()}"
    if kind == "answer":
        return f"next to work on: {word.choice}"
    if kind == "forecast":
        gate, _, tests = rest.partition(":")
        names = " and ".join(_name(ladder.tests, one) for one in tests.split("+"))
        what = f"{_name(ladder.gates, gate)}, {names}" if tests else "first valid rep"
        return f"date of {what}: {own_in_words(dates_of(word))}"
    return f"{rest} ({kind}) {said}"


def _name(table: object, key: str) -> str:
    found = table.get(key) if hasattr(table, "get") else None
    return str(found.name) if found is not None else key
