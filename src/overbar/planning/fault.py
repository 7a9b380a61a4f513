"""The one fault of the week: seen often enough, the most urgent, with a drill this athlete can do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from overbar.ladder.expression import parse
from overbar.ladder.form import Action, Exercise, Fault, Rule
from overbar.planning.facts import Facts
from overbar.planning.history import TAKEN_BACK, FilmFinding
from overbar.planning.rules import Fired, Wanted
from overbar.planning.verdict import Evidence, FiredRule

LAST_FILMS = 3
FILM_DAYS = 42
LIKELY = 0.5
"""A fault counts as seen in a film from this chance on."""
SESSIONS_A_CUE = 2
"""A cue is kept for at least so many sessions before it changes (handbook trade.md 3.4)."""


@dataclass(frozen=True)
class Named:
    """The fault that counts, and what it rests on."""

    fault: Fault
    evidence: tuple[Evidence, ...]


def one_fault(facts: Facts) -> Named | None:
    """Choose the fault.

    A fault counts when it is in as many of the last three usable films as its entry
    asks for (two of three as a rule), of those whose view can show it: a film from the
    side neither shows nor clears an elbow that turns over late. The lowest priority
    number wins, then the higher chance. The coach may name one (``fault:F13`` "met") or set one aside
    ("ignore", "not_met"). A cue that has had fewer than two sessions stays.
    """
    case = facts.case
    since = case.on - timedelta(days=FILM_DAYS)
    usable = [film for film in case.history.films if film.usable and film.on >= since]
    chosen, aside = _coach(facts)
    if chosen is not None:
        return chosen
    counted: list[tuple[int, float, str, Named]] = []
    for fault in case.ladder.faults.values():
        if fault.id in aside:
            continue
        films = [film for film in usable if fault.shown_from(film.view)][-LAST_FILMS:]
        shows = [(film, chance) for film in films if (chance := _chance(film, fault.id)) >= LIKELY]
        if len(shows) >= min(fault.films_needed, LAST_FILMS):
            evidence = tuple(
                Evidence("film", film.on, f"{fault.name.lower()}, chance {chance:.0%}", film.ref)
                for film, chance in shows
            )
            chance = max(chance for _, chance in shows)
            counted.append((fault.priority, -chance, fault.id, Named(fault, evidence)))
    if not counted:
        return None
    kept = _cue_too_young(facts, [named for _, _, _, named in counted])
    return kept or min(counted, key=lambda each: each[:3])[3]


def _coach(facts: Facts) -> tuple[Named | None, set[str]]:
    aside: set[str] = set()
    chosen = None
    faults = facts.case.ladder.faults
    for word in facts.case.history.coach:
        if word.until is not None and word.until < facts.case.on:
            continue
        kind, _, name = word.about.partition(":")
        if kind != "fault" or name not in faults:
            continue
        if word.choice in ("ignore", "not_met"):
            aside.add(name)
            if chosen is not None and chosen.fault.id == name:
                chosen = None
        elif word.choice == "met":
            aside.discard(name)
            evidence = Evidence("coach", word.said_at.date(), word.reason or "named by the coach")
            chosen = Named(faults[name], (evidence,))
        elif word.choice == TAKEN_BACK:
            aside.discard(name)
            if chosen is not None and chosen.fault.id == name:
                chosen = None
    return chosen, aside


def _chance(film: FilmFinding, fault: str) -> float:
    chance = dict(film.faults).get(fault, 0.0)
    return max(chance, 1.0) if film.main_fault == fault else chance


def _cue_too_young(facts: Facts, counted: list[Named]) -> Named | None:
    week = facts.case.last_week
    if week is None or week.fault is None:
        return None
    done = {s.on for s in facts.case.history.sessions if s.done and s.on >= week.starts}
    done |= {one.on for one in facts.case.history.sets if one.on >= week.starts}
    if len(done) >= SESSIONS_A_CUE:
        return None
    return next((named for named in counted if named.fault.id == week.fault), None)


def as_rule(named: Named) -> Fired:
    """Write the named fault as a rule that fired, with what it leaves out of the week."""
    fault = named.fault
    without = f" No {' and '.join(fault.stops)} work this week." if fault.stops else ""
    say = f"{fault.name}: {fault.look}. {fault.cue} Next week: {fault.next_week}.{without}"
    shown = FiredRule(
        fault.id,
        say,
        named.evidence,
        fault.basis,
        fault.why,
        "Not seen in two of the last three usable films.",
    )
    rule = Rule(
        id=fault.id, name=fault.name, phase="plan", when=parse("1"), say=say, basis=fault.basis, why=fault.why
    )
    wanted = (Wanted(Action(act="drop", patterns=fault.stops), fault.id, None, ""),) if fault.stops else ()
    return Fired(rule, shown, wanted)


def drill_for(facts: Facts, fault: Fault, can: object) -> Exercise | None:
    """Return the first drill of a fault that ``can`` accepts."""
    exercises = facts.case.ladder.exercises
    return next((exercises[d] for d in fault.drills if callable(can) and can(exercises[d])), None)
