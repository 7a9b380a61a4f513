"""From a rule's sentence with places in it to words for a coach, in the athlete's units."""

from __future__ import annotations

from overbar.ladder.expression import Value
from overbar.ladder.vocabulary import pieces
from overbar.planning.facts import Facts, kit_loads
from overbar.units import mass_in_words


def fill(template: str, facts: Facts) -> str:
    """Fill a sentence.

    Parameters
    ----------
    template : str
        ``{expression}``, ``{expression:mass}``, ``{expression:load}``,
        ``{expression:percent}`` or ``{expression:.1f}`` in braces.
    facts : Facts

    Returns
    -------
    str
        A missing value reads "unknown".
    """
    out = []
    for before, expression, unit in pieces(template):
        out.append(before)
        if expression is not None:
            out.append(_written(facts.value(expression), unit, facts))
    return "".join(out)


def _written(value: Value, unit: str, facts: Facts) -> str:
    if value is None:
        return "unknown"
    if isinstance(value, str):
        return value
    number = float(value)
    if unit == "mass":
        return mass_in_words(number, facts.case.athlete.mass_unit, signed=True)
    if unit == "load":
        return _load(number, facts)
    if unit == "percent":
        return f"{100 * number:.0f} %"
    return format(number, unit or "g")


def _load(kilograms: float, facts: Facts) -> str:
    athlete = facts.case.athlete
    for load in kit_loads(athlete.kit):
        if abs(load.added_kg - kilograms) < 0.02:
            return load.say(athlete.mass_unit)
    return mass_in_words(kilograms, athlete.mass_unit, signed=True)
