"""Rules: which fire, on what evidence, and what they ask to be done to the week."""

from __future__ import annotations

from dataclasses import dataclass

from overbar.ladder.form import Action, Rule
from overbar.planning.case import said_on
from overbar.planning.facts import Facts
from overbar.planning.verdict import Evidence, FiredRule
from overbar.planning.words import fill


@dataclass(frozen=True)
class Wanted:
    """One action of a rule that fired, with the amount worked out when it fired."""

    action: Action
    rule: str
    amount: float | None
    say: str


@dataclass(frozen=True)
class Fired:
    """A rule that fired, as shown and as it acts."""

    rule: Rule
    shown: FiredRule
    wanted: tuple[Wanted, ...]


def fire(facts: Facts, phases: tuple[str, ...]) -> list[Fired]:
    """Try the rules of some phases in order; remembered numbers change as they fire.

    A rule fires only when its condition is known to be true. Of the rules that share
    ``one_of`` the first that fires keeps the others from firing. A rule the coach has
    overruled is shown but does nothing.
    """
    case = facts.case
    fired: list[Fired] = []
    taken: set[str] = set()
    for rule in case.ladder.all_rules(case.method.id):
        if rule.phase not in phases or (rule.rungs and facts.rung.id not in rule.rungs):
            continue
        if rule.one_of in taken or any(facts.fired.get(other) for other in rule.not_with):
            continue
        word = case.word(f"rule:{rule.id}")
        made = word is not None and word.choice == APPLY and may_be_made_to_fire(rule)
        if not made and not facts.holds(rule.when):
            continue
        evidence = facts.evidence(rule.evidence or rule.when.names, (g for _, g in rule.when.asked))
        if made and word is not None:
            evidence = (Evidence("coach", word.said_at.date(), word.reason or "the coach's word"), *evidence)
        ignored = _overruled(facts, rule, max((e.on for e in evidence), default=None))
        held = case.rung_held if any(action.act == "climb" for action in rule.do) else None
        if held is not None and held.about == f"rung:{facts.rung.id}":
            ignored = True
            evidence = (Evidence("coach", held.said_at.date(), held.reason or "kept here"), *evidence)
        wanted = () if ignored else tuple(_want(facts, rule, action) for action in rule.do)
        shown = FiredRule(
            id=rule.id,
            say=fill(rule.say, facts),
            evidence=evidence,
            basis=rule.basis,
            why=rule.why,
            would_change=fill(rule.would_change, facts),
            ignored=ignored,
        )
        if not ignored:
            facts.fired[rule.id] = True
            if rule.one_of:
                taken.add(rule.one_of)
        fired.append(Fired(rule, shown, wanted))
    return fired


APPLY = "apply"
"""The choice of a word that makes a rule fire."""


def may_be_made_to_fire(rule: Rule) -> bool:
    """Say whether the coach's word can make a rule fire.

    A rule that changes the rung cannot: the rung and its gate have words of their own.
    """
    return not any(action.act in ("climb", "step_down") for action in rule.do)


def _want(facts: Facts, rule: Rule, action: Action) -> Wanted:
    amount = None
    if action.to is not None:
        value = facts.value(action.to)
        amount = float(value) if isinstance(value, int | float) else None
        if action.act == "set" and amount is not None:
            facts.remembered[action.name] = amount
    return Wanted(action, rule.id, amount, fill(action.say, facts) if action.say else "")


def _overruled(facts: Facts, rule: Rule, newest: object) -> bool:
    """Whether the coach has set the rule aside; a guard only for what was known by then."""
    word = facts.case.word(f"rule:{rule.id}")
    if word is None or word.choice != "ignore":
        return False
    if rule.guard and newest is not None:
        return bool(newest <= said_on(word))  # type: ignore[operator]
    return True
