"""What the parts of a ladder are called when they are shown to a coach."""

from __future__ import annotations

from collections.abc import Container

KINDS_IN_ORDER: dict[str, tuple[str, str]] = {
    "rung": ("Rung", "Rungs"),
    "gate": ("Gate", "Gates"),
    "rule": ("Rule", "Rules"),
    "method": ("Method", "Methods"),
    "exercise": ("Exercise", "Exercises"),
    "fault": ("Fault", "Faults"),
    "test": ("Test", "Tests"),
    "layout": ("Layout of the week", "Layouts of the week"),
    "pain": ("Pain bands", "Pain bands"),
    "caution": ("Caution", "Cautions"),
    "flag": ("Stop-now sign", "Stop-now signs"),
    "site": ("Sore place", "Sore places"),
    "margin": ("Margin", "Margins"),
    "split": ("Strength-or-technique answer", "Strength-or-technique answers"),
    "battery": ("Line of the test day", "Test day"),
    "remember": ("Remembered number", "Remembered numbers"),
    "skill": ("Skill", "Skill"),
}
"""Kinds of entry: one, several; in the order a coach reads them."""

FIELD_WORDS: dict[str, str] = {
    "act": "does",
    "added": "added load",
    "aim": "aim",
    "all_of": "all of these",
    "always": "shown always",
    "any_of": "any of these",
    "ask": "how to ask for it",
    "assume_when_placing": "unknown does not hold a new athlete back",
    "at_body_mass": "without added load only",
    "basis": "where it comes from",
    "best_of": "reached in so many repetitions",
    "better": "which way is better",
    "calm_at": "calm at or under",
    "calm_sessions": "calm sessions before going on",
    "cause": "likely cause",
    "conditions": "shown by any one of",
    "day": "sessions",
    "days": "separate days",
    "decision": "decision",
    "default_method": "method when none is chosen",
    "do": "does",
    "dose": "usual dose in words",
    "drills": "drills",
    "ease_at": "ease from",
    "evidence": "evidence shown",
    "exercise": "exercise",
    "exercises": "exercises",
    "fault_drill": "place of the fault's drill",
    "films_needed": "of the last three usable films, in so many",
    "film": "to be filmed",
    "for_whom": "for whom",
    "from_rung": "from rung",
    "full_at": "a set is full at",
    "gate": "gate out of it",
    "gives_way": "gives way (highest first)",
    "guard": "guards health",
    "hand_lever": "share of full leverage",
    "hard": "required",
    "instead": "else",
    "item": "items",
    "kinder": "kinder variants",
    "kit": "kit needed",
    "load_kg": "added load wanted, kg",
    "load_kind": "what its load is measured in",
    "look": "what it looks like",
    "look_back_days": "looks back, days",
    "low_at": "a set is low under",
    "max_age_days": "evidence not older than, days",
    "measure": "what is measured",
    "needs": "only if",
    "next_week": "next week",
    "noise_sd": "retest noise, one sigma",
    "not_when": "not when",
    "not_with": "not with these rules",
    "number": "numbers",
    "offset": "days after Monday",
    "on": "days",
    "one_of": "only one of these counts",
    "op": "compared",
    "pattern": "loads",
    "patterns": "loads",
    "phase": "phase",
    "priority": "priority, lower first",
    "refer_after_days": "refer after, days",
    "remember": "remembers",
    "reps_high": "reps to",
    "reps_left": "reps left",
    "reps_low": "reps from",
    "rest_s": "rest, s",
    "running": "on the latest days without a worse one",
    "say": "says",
    "seen_by": "seen by",
    "set_up": "set-up",
    "sets": "sets",
    "slot": "lines",
    "start": "starts at",
    "stop_at": "stop from",
    "stops": "left out of the week",
    "swaps": "swaps for other kit",
    "take": "takes",
    "test": "test",
    "to": "by",
    "to_rung": "to rung",
    "urgent": "urgency, 0 to 3",
    "value": "needed",
    "volume": "counts towards weekly",
    "watch": "watches in the log",
    "week_reps": "reps of the whole week",
    "week_sets": "sets of the whole week",
    "when": "when",
    "why": "why",
    "window": "looks at",
    "would_change": "what would change it",
}
"""Fields in words; one that is not here is shown by its own name."""


def field_words(field: str, among: Container[str] = ("op",)) -> str:
    """Return what a field is called.

    Parameters
    ----------
    field : str
    among : container of str
        The fields beside it: a value with nothing to compare it by is an amount.

    Examples
    --------
    >>> field_words("max_age_days"), field_words("easier"), field_words("value", ("name", "value"))
    ('evidence not older than, days', 'easier', 'amount')
    """
    if field == "value" and "op" not in among:
        return "amount"
    return FIELD_WORDS.get(field, field.replace("_", " "))
