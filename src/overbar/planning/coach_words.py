"""What a word of the coach may be about, and the dates the coach gives in place of the forecast's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from overbar.errors import BadInput
from overbar.ladder.form import Ladder
from overbar.planning.apply import LEAVE_OUT
from overbar.planning.case import said_on
from overbar.planning.gates import item_key
from overbar.planning.history import TAKEN_BACK, CoachWord, History

FIRST_REP = "first_rep"
"""What ``forecast:first_rep`` is about: the first valid rep."""
FIXED = {
    "answer": ("limit",),
    "place": ("checked",),
    "adult": ("present",),
    "flag": ("settled",),
}
"""Kinds of words that are about one thing only."""
KINDS = ("rule", "gate", "item", "rung", "fault", "exercise", *FIXED, "forecast")
"""What a word can be about."""


@dataclass(frozen=True)
class CoachDate:
    """A date, or a range, the coach gives for an item of a gate or for the first valid rep.

    Attributes
    ----------
    about : str
        ``forecast:G4:swing_high_L+R`` or ``forecast:first_rep``.
    early, late : datetime.date
        The same day when the coach named one day.
    reason : str
    said_on : datetime.date
    """

    about: str
    early: date
    late: date
    reason: str
    said_on: date


def check_word(word: CoachWord, ladder: Ladder) -> None:
    """Refuse a word about something this ladder does not have.

    Raises
    ------
    BadInput
        With what there is. A word that takes another back is never refused.
    """
    kind, _, rest = word.about.partition(":")
    if kind not in KINDS:
        raise BadInput(f"a word about {word.about!r}", do=f"A word can be about: {', '.join(KINDS)}.")
    if word.choice == TAKEN_BACK:
        return
    _known(kind.replace("_", " "), rest, _named(kind, ladder))
    if kind == "exercise" and word.choice != "ignore":
        _known("exercise", word.choice, (LEAVE_OUT, *ladder.exercises))
    elif kind == "answer":
        _known("answer", word.choice, dict.fromkeys(branch.answer for branch in ladder.splits))
    elif kind == "forecast":
        dates_of(word)


def _named(kind: str, ladder: Ladder) -> Iterable[str]:
    """Return what a word of a kind can name."""
    items = [f"{gate.id}:{item_key(one)}" for gate in ladder.gates.values() for one in gate.item]
    methods = ladder.methods.values()
    return {
        **FIXED,
        "rung": ladder.rungs,
        "gate": ladder.gates,
        "item": items,
        "fault": ladder.faults,
        "exercise": ladder.exercises,
        "rule": [*ladder.rules, *(rule.id for method in methods for rule in method.rule)],
        "forecast": [FIRST_REP, *items],
    }[kind]


def _known(what: str, name: str, known: Iterable[str]) -> None:
    names = list(known)
    if name not in names:
        raise BadInput(f"there is no {what} {name!r} here", do=f"There are: {', '.join(names)}.")


def dates_of(word: CoachWord) -> CoachDate:
    """Read the coach's dates: one ISO 8601 day, or two with a slash between them.

    Raises
    ------
    BadInput
        No such days, or the first after the second.
    """
    first, _, last = word.choice.partition("/")
    try:
        early, late = date.fromisoformat(first), date.fromisoformat(last or first)
    except ValueError as error:
        raise BadInput(
            f"{word.choice!r} is no day and no range of days", word.about, "Write 2026-06-01/2026-07-15."
        ) from error
    if late < early:
        raise BadInput(f"{early} comes after {late}", word.about, "Give the earlier day first.")
    return CoachDate(word.about, early, late, word.reason, said_on(word))


def coach_dates(history: History, on: date) -> dict[str, CoachDate]:
    """Return the coach's own dates that hold on a day, by what they are about."""
    newest: dict[str, CoachWord] = {}
    for word in sorted(history.coach, key=lambda one: one.said_at):
        if word.about.startswith("forecast:") and said_on(word) <= on:
            newest[word.about] = word
    return {about: dates_of(word) for about, word in newest.items() if word.choice != TAKEN_BACK}
