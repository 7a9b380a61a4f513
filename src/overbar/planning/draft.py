"""The week while it is being made: lines that rules may still change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from overbar.athlete.kit import Kit
from overbar.ladder.form import Exercise, LayoutDay, SlotForm
from overbar.planning.facts import Facts, kit_loads
from overbar.planning.words import fill

EVERY_DAY = ("A", "B", "C")
ALWAYS_THERE = ("bar", "floor", "stick", "marker")
SPELLINGS = {
    "parallel_bars": ("parallel bars", "dip bars", "dip station", "dips", "parallettes"),
    "handles": ("handles", "neutral handles", "rings", "neutral grip"),
    "rack": ("rack", "squat rack", "power rack"),
    "machine": ("machine", "pulldown", "lat pulldown", "cable"),
    "rings": ("rings", "gym rings"),
    "low_bar": ("low bar", "barbell in rack", "smith machine"),
    "scales": ("scales", "bathroom scales"),
    "wall": ("wall",),
}
"""What people write in the free part of the kit."""


@dataclass
class Line:
    """One line of a session being made."""

    form: SlotForm
    exercise: Exercise
    sets: int
    reps_low: int
    reps_high: int
    seconds: float | None
    load_kg: float
    rest_s: float
    reps_left: float | None
    note: str
    week_reps: float | None = None
    rules: list[str] = field(default_factory=list)

    @property
    def reps(self) -> int:
        """Reps at most."""
        return self.sets * self.reps_high


@dataclass
class Session:
    """One session being made."""

    day: LayoutDay
    on: date
    lines: list[Line] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def draft(facts: Facts, heavy_days: int | None) -> list[Session]:
    """Lay the rung's and the method's lines over the athlete's days."""
    layouts = facts.case.ladder.layouts
    days = min(layouts, key=lambda n: (abs(n - facts.case.athlete.days_per_week), n))
    start = facts.case.week_starts
    sessions = [Session(day, start + timedelta(days=day.offset)) for day in layouts[days].day]
    budget = [s for s in sessions if s.day.budget]
    if heavy_days is not None and heavy_days < len(budget):
        budget = [budget[0], budget[-1]][:heavy_days]
    turn = 0
    for form in (*facts.case.method.slot, *facts.rung.slot):
        if (form.rungs and facts.rung.id not in form.rungs) or not facts.holds(form.when):
            continue
        exercise = _exercise(facts, form)
        if exercise is None:
            continue
        if form.week_sets is not None:
            sets = round(facts.amount(form.week_sets, 0))
            for number, session in enumerate(budget):
                share = sets // len(budget) + ((number - turn) % len(budget) < sets % len(budget))
                if share > 0:
                    session.lines.append(make_line(facts, form, exercise, share))
            turn += sets % len(budget)
        else:
            for session in sessions:
                if _takes(session.day, form, exercise):
                    session.lines.append(
                        make_line(
                            facts, form, exercise, max(0, round(facts.amount(form.sets, exercise.sets)))
                        )
                    )
    for session in sessions:
        session.lines = [line for line in session.lines if line.sets > 0]
    return sessions


def _exercise(facts: Facts, form: SlotForm) -> Exercise | None:
    if form.fault_drill:
        return None
    exercises = facts.case.ladder.exercises
    if form.needs is not None and not facts.holds(form.needs):
        return exercises[form.instead] if form.instead else None
    return exercises[form.exercise]


def _takes(day: LayoutDay, form: SlotForm, exercise: Exercise) -> bool:
    for take in day.take:
        if take.day not in (form.on or EVERY_DAY):
            continue
        if take.strands and exercise.strand not in take.strands:
            continue
        if exercise.strand in take.without or (take.main and not form.main):
            continue
        return True
    return False


def make_line(facts: Facts, form: SlotForm, exercise: Exercise, sets: int) -> Line:
    """Work a line out: its reps, seconds, load wanted and words."""
    low = round(facts.amount(form.reps_low, exercise.reps[0]))
    high = max(
        low, round(facts.amount(form.reps_high, max(low, exercise.reps[1] if form.reps_low is None else low)))
    )
    seconds = facts.amount(form.seconds, exercise.seconds or 0.0) or None
    return Line(
        form=form,
        exercise=exercise,
        sets=sets,
        reps_low=low,
        reps_high=high,
        seconds=seconds,
        load_kg=facts.amount(form.load_kg, 0.0),
        rest_s=form.rest_s or exercise.rest_s,
        reps_left=form.reps_left,
        note=fill(form.note, facts) if form.note else "",
        week_reps=facts.amount(form.week_reps, 0.0) if form.week_reps is not None else None,
    )


# --- what the kit allows --------------------------------------------------


def can_do(facts: Facts, exercise: Exercise) -> bool:
    """Say whether the athlete's kit has all an exercise needs.

    A kit that is not described is taken as a plain bar with what any room has; bands,
    plates and swings need to be written down first.
    """
    kit = facts.case.athlete.kit
    return all(_has(facts, kit, thing) for thing in exercise.kit)


def _has(facts: Facts, kit: Kit, thing: str) -> bool:
    if thing in ALWAYS_THERE:
        return True
    if thing == "swing_bar":
        return kit.swing_allowed
    if thing == "band":
        return facts.look("has_band") == 1
    if thing == "load":
        return len(kit_loads(kit)) > 1
    if kit == Kit() or not kit.bars:
        return True
    if thing == "box":
        return kit.box or any("box" in other.casefold() for other in kit.others)
    if thing == "low_bar" and any(bar.low for bar in kit.bars):
        return True
    spelt = (thing, thing.replace("_", " "), *SPELLINGS.get(thing, ()))
    return any(name in other.casefold() for other in kit.others for name in spelt)


def fitting(
    facts: Facts,
    exercise: Exercise,
    ruled_out: Iterable[str],
    kinder: bool = False,
    seen: tuple[str, ...] = (),
) -> Exercise | None:
    """Return the exercise, or the first of its swaps that kit and ruled-out patterns allow."""
    banned = set(ruled_out)
    exercises = facts.case.ladder.exercises
    allowed = exercise.pattern not in banned and not ("all" in banned and exercise.pattern != "care")
    if not kinder and allowed and can_do(facts, exercise):
        return exercise
    for name in exercise.kinder if kinder else exercise.swaps:
        if name in seen:
            continue
        found = fitting(facts, exercises[name], banned, seen=(*seen, exercise.id))
        if found is not None:
            return found
    return exercise if kinder and allowed and can_do(facts, exercise) else None
