"""Strength or technique: told as margins, each with its uncertainty."""

from __future__ import annotations

from overbar.athlete.person import Athlete
from overbar.ladder.form import MarginForm, Split
from overbar.planning.facts import Facts
from overbar.planning.verdict import Margin
from overbar.units import KG_PER_LB, M_PER_INCH

UNKNOWN = "unknown"


def margins(facts: Facts) -> tuple[Margin, ...]:
    """Compute the ladder's margins that evidence allows; positive is room, negative is short."""
    return tuple(m for form in facts.case.ladder.margins if (m := _margin(facts, form)) is not None)


def _margin(facts: Facts, form: MarginForm) -> Margin | None:
    value = facts.value(form.value)
    if not isinstance(value, int | float):
        return None
    sd = facts.value(form.sd) if form.sd is not None else None
    spread = float(sd) if isinstance(sd, int | float) else None
    per = facts.value(form.per) if form.per is not None else None
    word = "short" if value < -1e-9 else "in hand"
    size = abs(float(value))
    digits = f"{size:.2f}" if size < 10 and form.unit != "reps" else f"{size:.0f}"
    text = f"{form.name}: {digits}{f' ± {spread:.2f}' if spread else ''} {form.unit} {word}"
    if isinstance(per, int | float) and form.per_unit:
        other, unit = _in_units(size * float(per), form.per_unit, facts.case.history.athlete)
        text += f" (about {other:.{1 if other < 2 else 0}f} {unit})"
    return Margin(form.name, float(value), spread, form.unit, text)


def _in_units(value: float, unit: str, athlete: Athlete) -> tuple[float, str]:
    """Return kg or cm in the athlete's own unit."""
    if unit == "kg" and athlete.mass_unit == "lb":
        return value / KG_PER_LB, "lb"
    if unit == "cm" and athlete.length_unit == "in":
        return value / 100 / M_PER_INCH, "in"
    return value, unit


def split(facts: Facts) -> Split | None:
    """Return the first branch of the strength-or-technique answer that is known to hold.

    The coach's word (``answer:limit``) outranks it.
    """
    word = facts.case.word("answer:limit")
    if word is not None:
        said = next((one for one in facts.case.ladder.splits if one.answer == word.choice), None)
        if said is not None:
            return said
    return next((branch for branch in facts.case.ladder.splits if facts.holds(branch.when)), None)
