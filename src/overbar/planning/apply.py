"""What fired rules do to the drafted week: take out, swap, scale, load, cap."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from overbar.ladder.form import Action, Exercise, SlotForm
from overbar.planning.draft import Line, Session, fitting, make_line
from overbar.planning.facts import Facts
from overbar.planning.pain import sore_places
from overbar.planning.rules import Wanted
from overbar.planning.volume import reps_possible

HARD_REPS_LEFT = 4
"""A set with this many reps left or fewer is a hard one (own judgement, handbook trade.md V-CAP)."""
TESTED_PATTERNS = ("pull", "speed", "push", "attempt", "negative", "hang")
"""Work the tests of a test day stand in for."""
STRIP = -100.0
"""A change of load by so many per cent takes all added load off."""
LEAVE_OUT = "leave_out"
"""The choice of a word that takes an exercise out of the weeks."""
LOADED_PATTERNS = ("pull", "push", "row", "negative")


def patterns_of(facts: Facts, action: Action) -> set[str]:
    """Patterns an action is about, sore places and screening limits included."""
    patterns = set(action.patterns)
    if action.of == "limited":
        limits = facts.case.athlete.screening.limits
        patterns.update(limit.pattern for limit in limits if limit.holds_on(facts.case.on))
    elif action.of:
        places = [place for place in sore_places(facts.case) if place.grade == action.of]
        patterns.update(pattern for place in places for pattern in place.patterns)
    return patterns


def ruled_out(facts: Facts, wanted: Iterable[Wanted]) -> set[str]:
    """Patterns no line of the whole week may have."""
    out: set[str] = set()
    for one in wanted:
        if one.action.act == "drop" and _on(one) and not one.action.on and not one.action.exercises:
            out |= patterns_of(facts, one.action)
    return out


def _on(one: Wanted) -> bool:
    return one.action.to is None or bool(one.amount)


def apply(facts: Facts, sessions: list[Session], wanted: Sequence[Wanted]) -> None:
    """Do everything rules ask, in their order, to the drafted week."""
    banned = ruled_out(facts, wanted)
    _as_the_coach_says(facts, sessions)
    for one in wanted:
        if one.action.act == "test":
            _test_day(facts, sessions, banned)
    _fit_to_kit(facts, sessions, banned)
    for one in wanted:
        act = one.action.act
        if act == "drop" and _on(one):
            _drop(facts, sessions, one)
        elif act == "swap" and _on(one):
            _swap(facts, sessions, one, banned)
        elif act == "scale_sets" and one.amount is not None:
            _scale(facts, sessions, one, one.amount)
        elif act == "fewer_sets" and one.amount is not None:
            _fewer(facts, sessions, one, round(one.amount))
        elif act == "change_load" and one.amount is not None:
            _change_load(facts, sessions, one, one.amount)
        elif act == "keep_reps_left" and one.amount is not None:
            _keep_left(facts, sessions, one, one.amount)
        elif act == "add":
            _add_care(facts, sessions, one, banned)
        elif act == "note" and _on(one):
            _note(facts, sessions, one)
    for session in sessions:
        session.lines = [line for line in session.lines if line.sets > 0]
        session.lines.sort(key=lambda line: line.form.place)


def _chosen(facts: Facts, sessions: Sequence[Session], one: Wanted) -> Iterator[tuple[Session, Line]]:
    """Lines an action is about; all of them when it names nothing."""
    action = one.action
    patterns = patterns_of(facts, action)
    if action.of and not patterns:
        return
    named = bool(patterns or action.slots or action.exercises or action.strands)
    for session in sessions:
        if action.on and session.day.label not in action.on:
            continue
        for line in session.lines:
            exercise = line.exercise
            if (
                not named
                or exercise.pattern in patterns
                or ("all" in patterns and exercise.pattern != "care")
                or line.form.name in action.slots
                or exercise.id in action.exercises
                or exercise.strand in action.strands
            ) and (not action.loaded or line.load_kg > 0):
                yield session, line


def _mark(line: Line, rule: str) -> None:
    if rule not in line.rules:
        line.rules.append(rule)


def _drop(facts: Facts, sessions: list[Session], one: Wanted) -> None:
    gone = {id(line) for _, line in _chosen(facts, sessions, one)}
    for session in sessions:
        session.lines = [line for line in session.lines if id(line) not in gone]


def _swap(facts: Facts, sessions: list[Session], one: Wanted, banned: set[str]) -> None:
    for _, line in list(_chosen(facts, sessions, one)):
        other = fitting(facts, line.exercise, banned, kinder=True)
        if other is not None and other.id != line.exercise.id:
            same_kind = (
                other.load_kind == line.exercise.load_kind or other.volume == line.exercise.volume != ""
            )
            line.note = f"In place of {line.exercise.name.lower()}: {other.do}."
            line.exercise = other
            line.load_kg = min(line.load_kg, 0.0)
            line.week_reps = None
            if not same_kind:
                line.reps_low, line.reps_high = other.reps
                line.seconds = other.seconds
            _mark(line, one.rule)


def may_stand_for(exercise: Exercise, exercises: Mapping[str, Exercise]) -> tuple[str, ...]:
    """Return what the coach may put in an exercise's place: its variants, and what loads the same.

    Nothing else, so that no word puts a swing or a try where none is due.
    """
    same = (one.id for one in exercises.values() if one.pattern == exercise.pattern)
    others = dict.fromkeys((*exercise.swaps, *exercise.kinder, *same))
    return tuple(one for one in others if one != exercise.id)


def _as_the_coach_says(facts: Facts, sessions: list[Session]) -> None:
    """Leave out or exchange the exercises the coach has spoken on (``exercise:ID``)."""
    exercises = facts.case.ladder.exercises
    for session in sessions:
        kept = []
        for line in session.lines:
            about = f"exercise:{line.exercise.id}"
            word = facts.case.word(about)
            if word is not None and word.choice == LEAVE_OUT:
                continue
            if word is not None and word.choice in may_stand_for(line.exercise, exercises):
                _become(line, exercises[word.choice])
                line.note = f"Your coach: {word.reason}"
                _mark(line, about)
            kept.append(line)
        session.lines = kept


def _fit_to_kit(facts: Facts, sessions: list[Session], banned: set[str]) -> None:
    for session in sessions:
        kept = []
        for line in session.lines:
            found = fitting(facts, line.exercise, banned)
            if found is None:
                continue
            if found.id != line.exercise.id:
                _become(line, found)
            kept.append(line)
        session.lines = kept


def _become(line: Line, found: Exercise) -> None:
    line.note = f"In place of {line.exercise.name.lower()}." if line.exercise.kit else line.note
    line.exercise = found
    line.seconds = found.seconds
    line.reps_low, line.reps_high = found.reps
    line.load_kg = line.load_kg if found.load_kind in ("system_mass", "assistance") else 0.0
    _mark(line, "kit")


def _scale(facts: Facts, sessions: list[Session], one: Wanted, share: float) -> None:
    chosen = [line for _, line in _chosen(facts, sessions, one) if line.exercise.pattern != "care"]
    groups: dict[str, list[Line]] = {}
    for line in chosen:
        groups.setdefault(line.form.name, []).append(line)
    for lines in groups.values():
        if lines[0].form.week_sets is not None:
            left = int(sum(line.sets for line in lines) * share + 0.5)
            for number, line in enumerate(lines):
                line.sets = left // len(lines) + (number < left % len(lines))
        else:
            for line in lines:
                line.sets = max(1, int(line.sets * share + 0.5))
        for line in lines:
            if line.week_reps is not None:
                line.week_reps *= share
            _mark(line, one.rule)


def _fewer(facts: Facts, sessions: list[Session], one: Wanted, less: int) -> None:
    """Take sets off every line chosen, or off the whole week; below zero they are added to the first."""
    if one.action.in_all and less > 0:
        _fewer_in_all(facts, sessions, one, less)
        return
    for session in sessions:
        lines = [line for s, line in _chosen(facts, [session], one) if line.exercise.volume or less < 0]
        if not lines:
            continue
        if less < 0:
            if session is sessions[0]:
                lines[0].sets -= less
                _mark(lines[0], one.rule)
            continue
        for line in lines:
            line.sets = max(1, line.sets - less) if line.sets > 1 else line.sets
            line.week_reps = None
            _mark(line, one.rule)


def _fewer_in_all(facts: Facts, sessions: list[Session], one: Wanted, less: int) -> None:
    """Take so many sets off the week, from the longest line of those that give way first."""
    lines = [line for _, line in _chosen(facts, sessions, one) if line.exercise.volume]
    for _ in range(less):
        able = [line for line in lines if line.sets > 1]
        if not able:
            return
        longest = max(able, key=lambda line: (line.form.gives_way, line.sets))
        longest.sets -= 1
        longest.week_reps = None
        _mark(longest, one.rule)


def _change_load(facts: Facts, sessions: list[Session], one: Wanted, percent: float) -> None:
    if percent == 0:
        return
    mass = facts.amount_of("body_mass_kg")
    for _, line in _chosen(facts, sessions, one):
        if line.exercise.pattern not in LOADED_PATTERNS:
            continue
        if percent <= STRIP:
            line.load_kg = min(line.load_kg, 0.0)
        elif line.load_kg > 0:
            wanted = (mass + line.load_kg) * (1 + percent / 100) - mass
            line.load_kg = max(0.0, wanted)
        elif line.reps_high > 1 and line.exercise.volume:
            line.reps_low, line.reps_high = max(1, line.reps_low - 1), line.reps_high - 1
        _mark(line, one.rule)


def _keep_left(facts: Facts, sessions: list[Session], one: Wanted, least: float) -> None:
    for _, line in _chosen(facts, sessions, one):
        if line.reps_high > 0 and line.exercise.volume:
            line.reps_left = max(line.reps_left or 0.0, least)


def _add_care(facts: Facts, sessions: list[Session], one: Wanted, banned: set[str]) -> None:
    exercises = facts.case.ladder.exercises
    ids = [p.add for p in sore_places(facts.case) if p.add and p.grade == one.action.of]
    if one.action.exercise:
        ids.append(one.action.exercise)
    for name in dict.fromkeys(ids):
        exercise = exercises[name]
        if fitting(facts, exercise, banned) is not exercise:
            continue
        for session in sessions:
            if not any(line.exercise.id == name for line in session.lines):
                line = make_line(
                    facts, SlotForm(name="care", exercise=name, place=85), exercise, exercise.sets
                )
                _mark(line, one.rule)
                session.lines.append(line)


def _note(facts: Facts, sessions: list[Session], one: Wanted) -> None:
    """Write a word beside the lines an action names, or, when it names none, into every session."""
    action = one.action
    if action.slots or action.patterns or action.exercises:
        for _, line in _chosen(facts, sessions, one):
            line.note = f"{line.note} {one.say}".strip()
            _mark(line, one.rule)
    else:
        for session in sessions:
            session.notes.append(one.say)


def _test_day(facts: Facts, sessions: list[Session], banned: set[str]) -> None:
    """Make the first session the test day: tests in place of pull, speed, push and tries."""
    if not sessions:
        return
    first = sessions[0]
    first.lines = [
        line for line in first.lines if line.form.test_day or line.exercise.pattern not in TESTED_PATTERNS
    ]
    for form in facts.case.ladder.battery:
        exercise = facts.case.ladder.exercises[form.exercise]
        if (form.rungs and facts.rung.id not in form.rungs) or not facts.holds(form.when):
            continue
        if fitting(facts, exercise, banned) is exercise:
            line = make_line(facts, form, exercise, max(1, round(facts.amount(form.sets, exercise.sets))))
            _mark(line, "test")
            first.lines.append(line)


# --- caps -----------------------------------------------------------------


def pull_lines(sessions: Iterable[Session]) -> list[Line]:
    """Lines that count as pulling volume."""
    return [line for session in sessions for line in session.lines if line.exercise.volume == "pull"]


def reps_planned(lines: Iterable[Line]) -> float:
    """Reps a week's lines come to: at most, or the total a line is stopped at."""
    at_most: dict[str, float] = {}
    stopped_at: dict[str, float] = {}
    for line in lines:
        at_most[line.form.name] = at_most.get(line.form.name, 0.0) + line.reps
        stopped_at[line.form.name] = line.week_reps if line.week_reps is not None else float("inf")
    return sum(min(reps, stopped_at[name]) for name, reps in at_most.items())


def is_hard(facts: Facts, line: Line) -> bool:
    """Say whether a line's sets end with four or fewer reps left, by the estimate."""
    possible = reps_possible(facts.case, line.load_kg)
    return possible is None or possible - line.reps_high <= HARD_REPS_LEFT


def count(facts: Facts, sessions: Sequence[Session]) -> None:
    """Tell the facts what the week holds so far."""
    lines = pull_lines(sessions)
    facts.planned = {
        "planned_pull_reps": reps_planned(lines),
        "planned_hard_sets": float(sum(line.sets for line in lines if is_hard(facts, line))),
    }


def cap(facts: Facts, sessions: Sequence[Session], wanted: Sequence[Wanted]) -> None:
    """Hold the week under its caps: shorter sets first, then fewer of those that give way first."""
    for one in wanted:
        if one.amount is None:
            continue
        if one.action.act == "limit_reps":
            _limit_reps(sessions, one.amount, one.rule)
        elif one.action.act == "limit_hard_sets":
            _limit_hard(facts, sessions, one.amount, one.rule)
    at_most: dict[str, int] = {}
    for line in pull_lines(sessions):
        at_most[line.form.name] = at_most.get(line.form.name, 0) + line.reps
    for line in pull_lines(sessions):
        if line.week_reps is not None and at_most[line.form.name] <= line.week_reps:
            line.week_reps = None
    for session in sessions:
        session.lines = [line for line in session.lines if line.sets > 0]


def _limit_reps(sessions: Sequence[Session], most: float, rule: str) -> None:
    """Shorten, then thin out, the lines that give way first before any other is touched."""
    lines = pull_lines(sessions)
    for turn in sorted({line.form.gives_way for line in lines}, reverse=True):
        group = [line for line in lines if line.form.gives_way == turn]
        for line in group:
            while line.reps_high > line.reps_low and reps_planned(lines) > most:
                line.reps_high -= 1
                _mark(line, rule)
        while reps_planned(lines) > most and any(line.sets > 0 for line in group):
            longest = max(group, key=lambda line: line.sets)
            longest.sets -= 1
            _mark(longest, rule)


def _limit_hard(facts: Facts, sessions: Sequence[Session], most: float, rule: str) -> None:
    lines = [line for line in pull_lines(sessions) if is_hard(facts, line)]
    while sum(x.sets for x in lines) > most:
        able = [line for line in lines if line.sets > 0]
        if not able:
            return
        first = max(line.form.gives_way for line in able)
        line = max((x for x in able if x.form.gives_way == first), key=lambda x: x.sets)
        line.sets -= 1
        _mark(line, rule)
