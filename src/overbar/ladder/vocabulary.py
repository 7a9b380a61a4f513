"""The words a ladder may use: facts, questions, and fields of watches and tests.

The engine of :mod:`overbar.planning` gives each of them a value; nothing here knows a
skill, a rung, a rule or a method.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from overbar.ladder.expression import Expression, parse

FACTS: dict[str, str] = {
    # the athlete
    "body_mass_kg": "body mass: median of the last fortnight's notes, else the last set's, else intake, kg",
    "hang_length_m": "shoulder to bar with straight arms, own measure or 0.375 of stature, m",
    "stature_m": "stature, m",
    "age": "full years; missing when the birth date is",
    "days_per_week": "training days the athlete offers",
    "bmi": "body mass over stature squared, kg/m2",
    "earlier_trouble": "1 after earlier elbow or shoulder trouble, 0 when denied, missing when not asked",
    "must_clear_first": "1 when screening asks for a doctor before any training",
    "must_clear_before_hard": "1 when screening asks for a doctor before hard work",
    "screening_missing": "1 when the health questions are not all answered",
    "days_since_screening": "days since the health questions were answered",
    "has_loads": "1 when the kit can add load",
    "has_band": "1 when a measured band may be used",
    "swing_allowed": "1 when a full-height bar allows a swing",
    "kit_known": "1 when any of the kit is described",
    "place_checked": "1 when a photo of the place was approved within a year",
    "adult_present": "1 when the coach has written that an adult is on the spot",
    # strength
    "R": "estimated one-repetition maximum as system mass over body mass, newest within 28 days",
    "R_low": "lower end of its 90 % interval",
    "R_high": "upper end of its 90 % interval",
    "R_age_days": "days since the sets it rests on",
    "strength_rise_4w_pct": "change of the estimate over four weeks, %",
    "strength_rise_8w_pct": "rise of strength over eight weeks as seen from today, %",
    "strength_points_4w": "days with an estimate in four weeks",
    "top_drop_run": "strength days in a row, newest first, 5 % or more under the median of three weeks",
    "reps_left_28d": "mean reps left as said over four weeks of pulling sets; missing under six",
    # attendance
    "days_off": "days since the last session or logged set",
    "weeks_planned": "earlier weekly decisions",
    "sessions_planned_7d": "sessions planned in the last seven days",
    "sessions_done_7d": "of them done (training days when nothing was planned)",
    "sessions_missed_7d": "of them missed",
    "attendance_21d_pct": "share of planned sessions done in three weeks, %",
    "attendance_28d_pct": "share of planned sessions done in four weeks, %",
    "loading_weeks": "trained weeks in a row since the last deload or empty week",
    "last_week_overruled": "1 when the coach changed or refused the last planned week",
    "limits_now": "things screening has ruled out today",
    "limit_words": "those limits in words",
    "last_week_deload": "1 when the last planned week was a deload",
    "ill_days_ago": "days since a session was missed ill; missing when none in three weeks",
    "sleep_7d_h": "mean sleep of the last seven days, h; missing under three notes",
    "sleep_28d_h": "mean sleep of four weeks, h; missing under six notes",
    "hard_sessions_7d": "sessions of effort 9 or 10 in seven days",
    # body
    "mass_change_pct_week": "trend of body mass over three weeks, % a week",
    "loses_fast_weeks": "weeks in a row, of the last two, with more than 0.7 % lost",
    # pain
    "pain_level": "worst of session and next morning at the sorest place that has not calmed",
    "pain_stop": "places at or above the stop line, waking at night, or sore too long",
    "pain_ease": "places between the ease and the stop line",
    "pain_returning": "places that have calmed after being eased or stopped",
    "sore_days_ago": "days since the last score over the calm line at a place that has calmed",
    "pain_sites": "every sore place in words",
    "pain_14d": "worst score in 14 days; missing when calm but reported on fewer than two days",
    "pain_reports_14d": "days with a pain report in 14 days",
    "pain_asked_7d": "days with a pain report in seven days",
    "red_flags": "stop-now signs not yet settled by the coach",
    "red_flag_words": "those signs in words",
    "red_flag_see": "whom to see for them",
    # volume
    "pull_reps_7d": "pulling reps of the last seven days",
    "pull_reps_lately": "most pulling reps of the last three weeks: done, or planned for the days trained",
    "pull_added_last_kg": "heaviest added load of the newest week in which anything was pulled, kg",
    "pull_reps_mean_3w": "mean weekly pulling reps, planned or done, of three usual weeks; else missing",
    # attempts
    "attempts_14d": "tries in 14 days",
    "valid_ever": "valid reps so far",
    "valid_film_28d": "valid reps on film, or seen by the coach, in 28 days",
    "tries_without_success": "tries since the last valid rep or the last pause for it",
    "days_since_last_try": "days since the last try",
    "valid_of_15": "valid among the last 15 tries within 21 days; missing under 15",
    "days_of_15": "days those 15 were spread over",
    "one_side_first_of_15": "tries among them with one elbow first",
    "best_stall_s": "longest stall among the valid reps of 28 days, s; missing when not measured",
    "tries_last_day": "tries on the last day of tries",
    "height_fell": "1 when two tries in a row of the last day peaked 0.05 L under its best",
    # films
    "last_film_unusable": "1 when the newest film could not be read",
    "films_28d": "usable films in four weeks",
    # memory
    "anything_logged": "1 when any set, test or try is known",
    "gate_open": "1 when the gate out of the rung is open on evidence",
    # the plan being built
    "planned_pull_reps": "pulling reps of the week as planned so far",
    "planned_hard_sets": "pulling sets of the week planned with four or fewer reps left, from the estimate",
}
"""Fact names and what they mean; a fact without evidence is missing, never zero."""

WATCH_FIELDS: dict[str, str] = {
    "sets": "number of sets",
    "reps": "reps of all of them",
    "full": "sets with at least the full number of reps",
    "least": "fewest reps in a set",
    "most": "most reps in a set",
    "most_before": "most reps in a set in the four trained weeks before the one looked at",
    "typical": "reps in a set, rounded mean",
    "added_kg": "the added load most reps were done with, kg",
    "body_mass_kg": "body mass on that day, kg",
    "reps_left": "reps left in the last of them, as said; missing when not said",
    "added_share": "that load over the body mass of the day",
    "low_run": "trained weeks in a row, newest first, whose best set was under the low line",
    "days_ago": "days since the newest of them",
}
TEST_FIELDS: dict[str, str] = {
    "days": "separate days with evidence young enough",
    "rise": "best of the last 14 days less best of the 14 days four weeks before",
    "sd": "one-sigma uncertainty of the best value",
    "age": "days since the newest evidence",
}

QUESTIONS: dict[str, tuple[str, str]] = {
    "weeks_running": ("rule", "weeks in a row, newest first, deloads left out, in which the rule fired"),
    "fired": ("rule", "1 when the rule has fired in this decision"),
    "weeks_since": ("rule", "weeks since the rule last fired; missing when never"),
    "gate_is_open": ("gate", "1 when the gate is open on evidence young enough"),
    "gate_lacks": ("gate", "hard items of the gate that are not shown, in words"),
    "kit_at_most": ("", "heaviest added load the kit can make that is not above so many kg"),
    "rise_at_most": (
        "",
        "(weeks, chance): with this chance strength rose by no more than so many % over so many weeks",
    ),
    "kit_above": ("", "lightest added load the kit can make above so many kg; missing when there is none"),
}
"""Questions a ladder may put, what the text in quotes names, and what they mean."""
VALUES = {"rise_at_most": 2}
"""How many values a question wants in its brackets, where it is not one."""

_PLACE = re.compile(r"\{([^{}:]+)(?::([^{}]*))?\}")


def places(template: str) -> Iterator[Expression]:
    """Yield the expressions in a template's braces."""
    return (expression for _, expression, _ in pieces(template) if expression is not None)


@lru_cache(maxsize=4096)
def _pieces(template: str) -> tuple[tuple[str, Expression | None, str], ...]:
    out: list[tuple[str, Expression | None, str]] = []
    at = 0
    for match in _PLACE.finditer(template):
        out.append((template[at : match.start()], parse(match.group(1)), match.group(2) or ""))
        at = match.end()
    out.append((template[at:], None, ""))
    return tuple(out)


def pieces(template: str) -> tuple[tuple[str, Expression | None, str], ...]:
    """Split a template into (text before, expression or None, unit) pieces.

    Examples
    --------
    >>> [(before, unit) for before, _, unit in pieces("add {step_kg:mass} now")]
    [('add ', 'mass'), (' now', '')]
    """
    return _pieces(template)
