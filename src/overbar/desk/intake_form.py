"""The values the intake form starts from, and the choices it offers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from overbar.athlete.kit import Bar
from overbar.athlete.person import Athlete
from overbar.desk.athlete import limit_in_words
from overbar.desk.intake import HEALTH, PATTERNS, SKILL, bands_in_words, plates_in_words
from overbar.ladder import Ladder
from overbar.units import M_PER_INCH, lb_from_kg

QUESTIONS = {
    "active_now": "Regular hard activity over the last three months?",
    "known_disease": "Known heart, metabolic or kidney disease?",
    "symptoms_now": "Chest pressure, fainting, breathlessness at small effort, racing heart, swollen ankles?",
    "earlier_elbow_or_shoulder_trouble": "Earlier injury or long trouble at elbow or shoulder?",
    "latex_allergy": "Latex allergy?",
    "pregnant_or_recent_birth": "Pregnancy, or birth in the last year?",
}
BARS = 3
EMPTY = {
    "name": "", "born": "", "sex": "unstated", "mass_unit": "kg", "length_unit": "cm", "stature": "",
    "body_mass": "", "time_zone": "UTC", "goal": "", "goal_class": "swing", "days_per_week": 3,
    "method": "", "carrier": "none", "plates": "", "backpack_litres": "", "bands": "",
    "box": False, "others": "", "skill": SKILL, "health_note": "", "limit_pattern": "", "limit_why": "",
    "limit_until": "",
}  # fmt: skip


def shown_values(athlete: Athlete, on: date) -> dict[str, Any]:
    """Return an athlete's answers as the form shows them."""
    inch = athlete.length_unit == "in"
    mass = lb_from_kg(athlete.body_mass_kg) if athlete.mass_unit == "lb" else athlete.body_mass_kg
    kit, screening = athlete.kit, athlete.screening
    words = {True: "yes", False: "no", None: ""}
    return {
        "name": athlete.name,
        "born": athlete.born.isoformat() if athlete.born else "",
        "sex": athlete.sex,
        "mass_unit": athlete.mass_unit,
        "length_unit": athlete.length_unit,
        "stature": f"{athlete.stature_m / (M_PER_INCH if inch else 0.01):.1f}".removesuffix(".0"),
        "body_mass": f"{mass:.1f}".removesuffix(".0"),
        "time_zone": athlete.time_zone,
        "goal": athlete.goal,
        "goal_class": athlete.goal_class,
        "days_per_week": athlete.days_per_week,
        "method": athlete.method,
        "carrier": kit.carrier,
        "plates": plates_in_words(kit),
        "backpack_litres": f"{kit.backpack_litres:g}" if kit.backpack_litres else "",
        "bands": bands_in_words(kit),
        "box": kit.box,
        "others": ", ".join(kit.others),
        "skill": athlete.skill,
        "bars": kit.bars,
        "health_note": screening.note,
        "limits": tuple(limit_in_words(limit, on) for limit in screening.limits),
        **{name: words[getattr(screening, name)] for name in HEALTH},
    }


BY_OTHER_ANSWERS = ("bar", "swing_bar", "low_bar", "band", "load", "box", "floor")
"""Kit the form asks for elsewhere."""


def choices(
    values: Mapping[str, Any], ladder: Ladder, skills: Sequence[tuple[str, str]] = ()
) -> dict[str, Any]:
    """Return everything the form template wants: values over the empty form, and the options.

    Parameters
    ----------
    values : mapping
        What was answered so far.
    ladder : Ladder
        Whose methods and kit are offered.
    skills : sequence of (str, str)
        Ids and names of what can be trained for.
    """
    health = dict.fromkeys(HEALTH, "")
    shown = {**EMPTY, **health, "limits": (), **values}
    bars = list(shown.get("bars") or _bars_of(values))
    shown["bars"] = [*bars, *(Bar("") for _ in range(BARS - len(bars)))]
    shown["days_per_week"] = str(shown["days_per_week"])
    return {
        "v": shown,
        "health": tuple(QUESTIONS.items()),
        "skills": tuple(skills),
        "kit_words": ", ".join(_kit_words(ladder)),
        "methods": (
            ("", f"the usual one: {ladder.methods[ladder.skill.default_method].name}"),
            *((method.id, method.name) for method in ladder.methods.values()),
        ),
        "patterns": (("", "no new limit"), *((pattern, pattern) for pattern in PATTERNS)),
    }


def _kit_words(ladder: Ladder) -> list[str]:
    """Return what the ladder's exercises need beside what the form asks for elsewhere."""
    words = {thing.replace("_", " ") for one in ladder.exercises.values() for thing in one.kit}
    return sorted(words - {word.replace("_", " ") for word in BY_OTHER_ANSWERS})


def _bars_of(form: Mapping[str, Any]) -> list[Bar]:
    return [
        Bar(
            str(form[f"bar-name-{place}"]),
            swing_allowed=form.get(f"bar-swing-{place}") == "yes",
            low=form.get(f"bar-low-{place}") == "yes",
        )
        for place in range(1, BARS + 1)
        if form.get(f"bar-name-{place}")
    ]
