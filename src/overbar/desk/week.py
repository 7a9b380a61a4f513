"""The proposed week as the coach decides on it: sessions in words, changes back into a week."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from overbar.athlete.kit import Load, loads
from overbar.athlete.person import Athlete
from overbar.desk.figures import day, seconds
from overbar.errors import BadInput
from overbar.ladder import Ladder
from overbar.planning import json_of
from overbar.planning.apply import may_stand_for
from overbar.planning.verdict import PlannedSlot, Week

SETS_AT_MOST = 20
REPS_AT_MOST = 30
"""A change beyond these is read as a slip of the finger (own judgement)."""


@dataclass(frozen=True)
class SlotRow:
    """One line of a session in words, and the numbers a change starts from."""

    key: str
    name: str
    dose: str
    load: str
    details: tuple[str, ...]
    note: str
    swaps: tuple[str, ...]
    why: str
    film: bool
    sets: int
    reps_low: int
    reps_high: int
    load_choice: str
    exercises: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class SessionCard:
    """One session as the page shows it."""

    label: str
    title: str
    when: str
    slots: tuple[SlotRow, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class WeekCards:
    """The sessions, and the cautions that belong to every one of them, said once."""

    sessions: tuple[SessionCard, ...]
    always: tuple[str, ...]


@dataclass(frozen=True)
class LoadChoice:
    """A load of the athlete's own kit, as an option of the change form."""

    key: str
    say: str


def fingerprint(week: Week) -> str:
    """Return a short mark of a proposal, so that a decision is about what was on the page.

    The day it was reckoned on is left out: the same proposal a day later is the same.
    """
    undated = replace(week, verdict=replace(week.verdict, on=week.verdict.week_starts))
    text = json.dumps(json_of(undated), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def week_cards(week: Week, athlete: Athlete, ladder: Ladder, on: date) -> WeekCards:
    """Return the sessions in words, loads in the athlete's unit."""
    shared = [set(session.cautions) for session in week.sessions]
    everywhere = set.intersection(*shared) if len(shared) > 1 else set()
    always = tuple(say for say in week.sessions[0].cautions if say in everywhere) if everywhere else ()
    cards = tuple(
        SessionCard(
            label=session.label,
            title=session.title,
            when=day(session.on, on),
            slots=tuple(
                _slot_row(slot, f"{number}-{place}", athlete, ladder)
                for place, slot in enumerate(session.slots)
            ),
            cautions=tuple(say for say in session.cautions if say not in everywhere),
        )
        for number, session in enumerate(week.sessions)
    )
    return WeekCards(cards, always)


def session_lines(week: Week, athlete: Athlete) -> tuple[str, ...]:
    """Return each session in one line, for a week that was decided before."""
    return tuple(
        f"{session.label}: " + "; ".join(_in_one_line(slot, athlete.mass_unit) for slot in session.slots)
        for session in week.sessions
    )


def _in_one_line(slot: PlannedSlot, unit: str) -> str:
    load = f" {slot.load.say(unit)}" if slot.load.pieces else ""
    return f"{slot.name} {dose(slot)}{load}"


def dose(slot: PlannedSlot) -> str:
    """Write sets and reps, or sets and seconds.

    Examples
    --------
    >>> dose(PlannedSlot("dead_hang", "Dead hang", 3, 0, 0, Load(0.0), seconds=20))
    '3 × 20 s'
    >>> dose(PlannedSlot("weighted_pull_up", "Weighted pull-up", 1, 3, 5, Load(10.0)))
    '1 × 3–5'
    """
    if slot.reps_high <= 0:
        return f"{slot.sets} × {seconds(slot.seconds)}" if slot.seconds else f"{slot.sets} ×"
    reps = str(slot.reps_high) if slot.reps_low == slot.reps_high else f"{slot.reps_low}–{slot.reps_high}"
    down = f", {seconds(slot.seconds)} each" if slot.seconds else ""
    return f"{slot.sets} × {reps}{down}"


def load_choices(athlete: Athlete) -> tuple[LoadChoice, ...]:
    """Return every load the athlete's kit can make, bands included, most help first."""
    return tuple(LoadChoice(_load_key(load), load.say(athlete.mass_unit)) for load in _all_loads(athlete))


def changed_week(week: Week, athlete: Athlete, form: Mapping[str, str], ladder: Ladder | None = None) -> Week:
    """Return the week with the coach's numbers in place of the proposed ones.

    Parameters
    ----------
    week : Week
        The proposal.
    athlete : Athlete
        Whose kit the loads must come from.
    form : mapping
        ``sets-S-N``, ``low-S-N``, ``high-S-N``, ``load-S-N`` and ``exercise-S-N`` for
        slot N of session S; what is not given stays as proposed.
    ladder : Ladder, optional
        Gives the exercises that may stand for a planned one.

    Raises
    ------
    BadInput
        A number out of range, or a load the kit cannot make.
    """
    by_key = {_load_key(load): load for load in _all_loads(athlete)}
    sessions = []
    for number, session in enumerate(week.sessions):
        slots = tuple(
            _exchanged(
                _changed_slot(
                    slot, f"{number}-{place}", f"session {session.label}, {slot.name}", by_key, form
                ),
                form.get(f"exercise-{number}-{place}", ""),
                ladder,
            )
            for place, slot in enumerate(session.slots)
        )
        kept = tuple(slot for slot in slots if slot.sets > 0)
        sessions.append(replace(session, slots=kept))
    return replace(week, sessions=tuple(sessions))


def what_changed(before: Week, after: Week) -> tuple[str, ...]:
    """Return every difference between two weeks' sessions in words."""
    said = []
    for old, new in zip(before.sessions, after.sessions, strict=True):
        kept = {slot.exercise: slot for slot in new.slots}
        planned = {slot.exercise for slot in old.slots}
        said += [
            f"{old.label}: {slot.name} {dose(slot)} {slot.load.say()} comes in"
            for slot in new.slots
            if slot.exercise not in planned
        ]
        for slot in old.slots:
            other = kept.get(slot.exercise)
            if other is None:
                said.append(f"{old.label}: {slot.name} left out")
            elif (dose(slot), slot.load) != (dose(other), other.load):
                said.append(
                    f"{old.label}: {slot.name} {dose(slot)} {slot.load.say()} becomes "
                    f"{dose(other)} {other.load.say()}"
                )
    return tuple(said)


def _changed_slot(
    slot: PlannedSlot, key: str, where: str, by_key: dict[str, Load], form: Mapping[str, str]
) -> PlannedSlot:
    sets = _whole(form, f"sets-{key}", slot.sets, SETS_AT_MOST, where, "sets")
    low = _whole(form, f"low-{key}", slot.reps_low, REPS_AT_MOST, where, "reps")
    high = _whole(form, f"high-{key}", slot.reps_high, REPS_AT_MOST, where, "reps")
    if low > high:
        raise BadInput(f"{low} to {high} reps", where, "Give the smaller number first.")
    chosen = form.get(f"load-{key}", "")
    load = slot.load
    if chosen and chosen != _load_key(slot.load):
        if chosen not in by_key:
            raise BadInput(f"the load {chosen!r}", where, "Choose a load this athlete's kit can make.")
        load = by_key[chosen]
    return replace(slot, sets=sets, reps_low=low, reps_high=high, load=load)


def _exchanged(slot: PlannedSlot, exercise: str, ladder: Ladder | None) -> PlannedSlot:
    """Return the line with another exercise in its place; sets, reps and load stay the coach's."""
    if not exercise or exercise == slot.exercise or ladder is None:
        return slot
    planned = ladder.exercises.get(slot.exercise)
    if planned is None or exercise not in may_stand_for(planned, ladder.exercises):
        raise BadInput(
            f"the exercise {exercise!r} in place of {slot.name.lower()}",
            do="Choose one of its variants, or one that loads the same.",
        )
    other = ladder.exercises[exercise]
    return replace(
        slot, exercise=other.id, name=other.name, note=other.do, strand=other.strand, seconds=other.seconds
    )


def _whole(form: Mapping[str, str], name: str, default: int, at_most: int, where: str, what: str) -> int:
    given = form.get(name, "").strip()
    if not given:
        return default
    if not given.isdigit() or int(given) > at_most:
        raise BadInput(f"{given!r} {what}", where, f"Give a whole number from 0 to {at_most}.")
    return int(given)


def _all_loads(athlete: Athlete) -> list[Load]:
    bands = sorted(athlete.kit.bands, key=lambda band: -band.help_at_mid_pull_kg)
    return [*(Load(-band.help_at_mid_pull_kg, (band.name,)) for band in bands), *loads(athlete.kit)]


def _load_key(load: Load) -> str:
    return f"{load.added_kg:.2f}"


def _slot_row(slot: PlannedSlot, key: str, athlete: Athlete, ladder: Ladder) -> SlotRow:
    details = [f"rest {seconds(slot.rest_s)}"]
    if slot.reps_left is not None:
        details.insert(0, f"keep {slot.reps_left:g} in reserve")
    exercise = ladder.exercises.get(slot.exercise)
    loaded = exercise is None or exercise.load_kind in ("system_mass", "assistance")
    names = [ladder.exercises[swap].name for swap in slot.swaps if swap in ladder.exercises]
    return SlotRow(
        key=key,
        name=slot.name,
        dose=dose(slot),
        load=slot.load.say(athlete.mass_unit) if loaded or slot.load.pieces else "",
        details=tuple(details),
        note=slot.note,
        swaps=tuple(names),
        why=slot.why,
        film=slot.film,
        sets=slot.sets,
        reps_low=slot.reps_low,
        reps_high=slot.reps_high,
        load_choice=_load_key(slot.load),
        exercises=tuple(
            (one, ladder.exercises[one].name) for one in may_stand_for(exercise, ladder.exercises)
        )
        if exercise
        else (),
    )
