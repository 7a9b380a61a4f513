"""When the next light week is due by the ladder's own rules, and the test day after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.ladder.form import Ladder
from overbar.planning.case import make_case
from overbar.planning.facts import Facts
from overbar.planning.history import History
from overbar.planning.verdict import Week
from overbar.strength.sets import StrengthPoint

COUNTED = "loading_weeks"
"""The fact that grows by one with every trained week; rules that read it say when a light week is due."""
LOOK_WEEKS = 12
"""So far ahead a light week is looked for (own judgement: twice the longest usual block)."""


@dataclass(frozen=True)
class LightWeek:
    """The next light week and the next test day.

    Attributes
    ----------
    starts : datetime.date or None
        Monday of the light week, if every week until then is trained; None when no rule asks for one.
    this_one : bool
        It is the week just planned.
    tests_on : datetime.date or None
        Day of the next tests: the first session after the light week, or of the week just
        planned when that follows one.
    rule : str
        Id of the rule that asks for it.
    """

    starts: date | None
    this_one: bool
    tests_on: date | None
    rule: str


def next_light_week(
    history: History, ladder: Ladder, on: date, week: Week, strength: Sequence[StrengthPoint]
) -> LightWeek:
    """Return when the next light week and the next test day are due.

    Parameters
    ----------
    history : History
    ladder : Ladder
    on : datetime.date
        Day of the decision.
    week : Week
        As decided on that day.
    strength : sequence of StrengthPoint
        The estimates it was decided with.
    """
    planned = week.verdict.week_starts
    first = (week.sessions[0].on - planned) if week.sessions else timedelta(0)
    starts, rule = (planned, "") if week.deload else _due(history, ladder, on, week, strength)
    if week.deload:
        rule = next((fired.id for fired in week.verdict.rules if _acts(ladder, fired.id, "deload")), "")
    testing = any(_acts(ladder, fired.id, "test") for fired in week.verdict.rules if not fired.ignored)
    tested = any(action.act == "test" for each in ladder.rules.values() for action in each.do)
    tests_on = planned + first if testing else None
    if tests_on is None and starts is not None and tested:
        tests_on = starts + timedelta(weeks=1) + first
    return LightWeek(starts, week.deload, tests_on, rule)


def _due(
    history: History, ladder: Ladder, on: date, week: Week, strength: Sequence[StrengthPoint]
) -> tuple[date | None, str]:
    """Return the Monday on which a rule that counts trained weeks first asks for a light week, and its id."""
    case = make_case(history, ladder, on, strength)
    rung = ladder.rungs[week.verdict.rung]
    facts = Facts(case, rung)
    counted = facts.look(COUNTED)
    rules = [
        rule
        for rule in ladder.all_rules(case.method.id)
        if any(action.act == "deload" for action in rule.do)
        and COUNTED in rule.when.names
        and (not rule.rungs or rung.id in rule.rungs)
    ]
    for ahead in range(1, LOOK_WEEKS + 1):
        later = Facts(case, rung)
        later.planned[COUNTED] = (float(counted) if isinstance(counted, int | float) else 0.0) + ahead
        for rule in rules:
            if later.holds(rule.when):
                return week.verdict.week_starts + timedelta(weeks=ahead), rule.id
    return None, ""


def _acts(ladder: Ladder, rule_id: str, act: str) -> bool:
    rule = ladder.rules.get(rule_id)
    return rule is not None and any(action.act == act for action in rule.do)
