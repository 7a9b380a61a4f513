"""The intake form: what a new athlete answers, and what is changed later (kit, method, limits).

Questions follow the trade (handbook trade.md 5.1); nothing here is a medical
judgement: the answers decide whether a doctor is asked first, by the published
preparticipation logic in :mod:`overbar.athlete.screening`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from overbar.athlete.kit import Band, Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Limit, Screening
from overbar.units import M_PER_INCH, kg_from_lb

PLATE = re.compile(
    r"^(?P<mass>\d+(?:[.,]\d+)?)\s*(?P<unit>kg|lbs?|pounds?)?\s*(?:[x×*]\s*(?P<count>\d+))?$", re.I
)
BAND = re.compile(
    r"^(?P<name>[^:]+):\s*(?P<hang>\d+(?:[.,]\d+)?)\s*(?:kg)?\s*(?:/|to|,)\s*(?P<chin>\d+(?:[.,]\d+)?)\s*(?:kg)?$",
    re.I,
)
PATTERNS = ("swing", "speed", "negative", "transition", "push", "pull", "attempt", "all")
ANSWERS = {"yes": True, "no": False, "": None}
HEALTH = (
    "active_now",
    "known_disease",
    "symptoms_now",
    "earlier_elbow_or_shoulder_trouble",
    "latex_allergy",
    "pregnant_or_recent_birth",
)
SKILL = "bar_muscle_up"
"""What an athlete trains for when nothing else was chosen."""
YOUNGEST = 14
"""Not offered below (own judgement, handbook trade.md 5.6)."""


@dataclass(frozen=True)
class Answered:
    """An athlete from a form, or what is wrong with it by field."""

    athlete: Athlete | None
    wrong: dict[str, str]


class _Form:
    """Reads one form; collects what is wrong instead of stopping at the first."""

    def __init__(self, form: Mapping[str, str]) -> None:
        self.form = form
        self.wrong: dict[str, str] = {}

    def text(self, name: str, needed: str = "") -> str:
        value = self.form.get(name, "").strip()
        if needed and not value:
            self.wrong[name] = needed
        return value

    def number(self, name: str, low: float, high: float, what: str, needed: bool = True) -> float | None:
        text = self.form.get(name, "").strip().replace(",", ".")
        if not text:
            if needed:
                self.wrong[name] = f"Give {what}."
            return None
        try:
            value = float(text)
        except ValueError:
            self.wrong[name] = f"{text!r} is no number: give {what}."
            return None
        if not low <= value <= high:
            self.wrong[name] = f"{value:g} is outside {low:g} to {high:g}: give {what}."
            return None
        return value

    def day(self, name: str, needed: bool = False) -> date | None:
        text = self.form.get(name, "").strip()
        if not text:
            if needed:
                self.wrong[name] = "Give a date."
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.wrong[name] = f"{text!r} is no date: give year-month-day."
            return None


def athlete_from_form(
    form: Mapping[str, str], today: date, taken: Iterable[str] = (), before: Athlete | None = None
) -> Answered:
    """Build an athlete from intake or settings answers.

    Parameters
    ----------
    form : mapping of str to str
        Field names of the form.
    today : datetime.date
        Day of the answers.
    taken : iterable of str
        Athlete ids that exist already.
    before : Athlete or None
        The athlete being changed; keeps id, first day and what the form does not ask.
    """
    read = _Form(form)
    name = read.text("name", "Give a name.")
    unit = form.get("mass_unit", "kg")
    span = form.get("length_unit", "cm")
    metre = M_PER_INCH if span == "in" else 0.01
    low_cm, high_cm = round(1.3 / metre), round(2.2 / metre)
    stature = read.number("stature", low_cm, high_cm, f"stature in {span}, {low_cm} to {high_cm}")
    heavy = (66, 450) if unit == "lb" else (30, 200)
    mass = read.number("body_mass", *heavy, f"body mass in {unit}, {heavy[0]} to {heavy[1]}")
    days = read.number("days_per_week", 2, 4, "2, 3 or 4 days a week")
    born = read.day("born")
    if born is not None:
        age = today.year - born.year - ((today.month, today.day) < (born.month, born.day))
        if age < YOUNGEST:
            read.wrong["born"] = (
                f"Under {YOUNGEST} this is not offered: a local gym club with supervision is the place."
            )
        elif age > 100:
            read.wrong["born"] = f"{born.isoformat()} is more than 100 years ago."
    kit = _kit(read, unit, metre, before.kit if before else Kit())
    screening = _screening(read, today, before.screening if before else Screening())
    if read.wrong or stature is None or mass is None or days is None:
        return Answered(None, read.wrong)
    values: dict[str, Any] = {
        "name": name,
        "sex": form.get("sex", "unstated"),
        "born": born,
        "stature_m": round(stature * metre, 4),
        "body_mass_kg": round(kg_from_lb(mass) if unit == "lb" else mass, 3),
        "days_per_week": int(days),
        "skill": form.get("skill") or (before.skill if before else SKILL),
        "method": form.get("method", ""),
        "goal_class": form.get("goal_class", "swing"),
        "mass_unit": unit,
        "length_unit": span,
        "time_zone": form.get("time_zone", "").strip() or "UTC",
        "goal": read.text("goal"),
        "kit": kit,
        "screening": screening,
    }
    if before is not None:
        return Answered(replace(before, **values), {})
    return Answered(Athlete(id=short_id(name, taken), joined=today, **values), {})


def short_id(name: str, taken: Iterable[str]) -> str:
    """Return a short key from a name that nobody has yet.

    Examples
    --------
    >>> short_id("Ines Farrowgate", ["ines"]), short_id("Zoë", [])
    ('ines-farrowgate', 'zoe')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain) or ["athlete"]
    there = set(taken) | {"new"}
    tries = [words[0], "-".join(words), *(f"{'-'.join(words)}-{n}" for n in range(2, 10_000))]
    return next(word for word in tries if word not in there)


def plates_in_words(kit: Kit) -> str:
    """Write plates as the form takes them."""
    from overbar.units import mass_in_words

    return ", ".join(
        mass_in_words(plate.mass_kg, plate.unit) + (f" x{plate.count}" if plate.count > 1 else "")
        for plate in kit.plates
    )


def bands_in_words(kit: Kit) -> str:
    """Write bands as the form takes them, one a line: name: kg at hang / kg at chin."""
    return "\n".join(
        f"{band.name}: {band.help_at_hang_kg:g} / {band.help_at_chin_kg:g}" for band in kit.bands
    )


def _kit(read: _Form, unit: str, metre: float, before: Kit) -> Kit:
    plates = []
    for piece in re.split(r"[;\n]|,\s+|,(?!\d)", read.text("plates")):
        piece = piece.strip().rstrip(",")
        if not piece:
            continue
        found = PLATE.match(piece)
        if not found:
            read.wrong["plates"] = f"{piece!r} is no plate: write for example 10 kg x2, 2.5 kg."
            continue
        pounds = (found["unit"] or unit).lower()[0] == "l" or (found["unit"] or "").lower().startswith("p")
        value = float(found["mass"].replace(",", "."))
        if not 0 < value <= 100:
            read.wrong["plates"] = f"{piece!r}: a plate weighs more than 0 and at most 100."
            continue
        plates.append(
            Plate(kg_from_lb(value) if pounds else value, int(found["count"] or 1), "lb" if pounds else "kg")
        )
    bands = []
    for line in read.text("bands").splitlines():
        found = BAND.match(line.strip())
        if line.strip() and not found:
            read.wrong["bands"] = (
                f"{line.strip()!r}: write name, then kg of help at hang / at chin, such as green: 22 / 12."
            )
        elif found:
            bands.append(
                Band(
                    found["name"].strip(),
                    float(found["hang"].replace(",", ".")),
                    float(found["chin"].replace(",", ".")),
                )
            )
    litres = read.number("backpack_litres", 0, 60, "litres, 0 to 60", needed=False) or 0.0
    return replace(
        before,
        carrier=read.form.get("carrier", "none"),  # type: ignore[arg-type]
        plates=tuple(plates),
        backpack_litres=litres,
        bands=tuple(bands),
        bars=_bars(read.form, before.bars),
        box=read.form.get("box") == "yes",
        others=_others(read.form, before.others),
    )


def _others(form: Mapping[str, str], before: tuple[str, ...]) -> tuple[str, ...]:
    """Return the other kit there is, as the ladder calls it; a form that does not ask keeps it."""
    if "others" not in form:
        return before
    words = (" ".join(re.split(r"[\s_]+", piece)).strip().lower() for piece in form["others"].split(","))
    return tuple(dict.fromkeys(word for word in words if word))


def _bars(form: Mapping[str, str], before: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return the bars of the form: ``bar-name-N`` with ``bar-swing-N`` and ``bar-low-N`` ticks."""
    known = {bar.name: bar for bar in before}
    bars = []
    for place in range(1, 5):
        name = form.get(f"bar-name-{place}", "").strip()
        if name:
            old = known.get(name, Bar(name))
            bars.append(
                replace(
                    old,
                    swing_allowed=form.get(f"bar-swing-{place}") == "yes",
                    low=form.get(f"bar-low-{place}") == "yes",
                )
            )
    return tuple(bars)


def _screening(read: _Form, today: date, before: Screening) -> Screening:
    form = read.form
    answers = {name: ANSWERS.get(form.get(name, "")) for name in HEALTH}
    limits = [limit for n, limit in enumerate(before.limits) if form.get(f"lift-{n}") != "yes"]
    pattern, why = form.get("limit_pattern", ""), form.get("limit_why", "").strip()
    until = read.day("limit_until")
    if pattern and not why:
        read.wrong["limit_why"] = "Say why, so that it is still clear in week five."
    elif pattern in PATTERNS:
        limits.append(Limit(pattern, why, until))
    same = all(getattr(before, name) == value for name, value in answers.items())
    return replace(
        before,
        answered_on=before.answered_on if same and before.answered_on else today,
        limits=tuple(limits),
        note=form.get("health_note", before.note).strip(),
        **answers,
    )
