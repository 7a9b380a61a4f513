"""Facts about showing up, sleep, effort and body mass."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from statistics import median

from overbar.athlete.kit import loads
from overbar.athlete.screening import allowance
from overbar.planning.case import Case
from overbar.planning.found import MISSING, Found, number, yes
from overbar.planning.verdict import Evidence

HANG_SHARE = 0.375
"""Shoulder to bar over stature in a hang: 0.36-0.39 (handbook trade.md, own judgement)."""
PLACE_GOOD_DAYS = 366
"""A bar approved on a photo stays so for a year (own judgement)."""
FAST_LOSS_PCT_WEEK = 0.7


def body_mass(case: Case) -> Found:
    """Median of the last fortnight's notes, else the newest set's, else intake, kg."""
    since = case.on - timedelta(days=13)
    notes = [n for n in case.history.body if n.on >= since and n.body_mass_kg is not None]
    if notes:
        middle = median(n.body_mass_kg for n in notes if n.body_mass_kg is not None)
        say = f"body mass {middle:.1f} kg, median of {len(notes)}"
        return number(middle, Evidence("body", notes[-1].on, say))
    if case.history.sets:
        last = case.history.sets[-1]
        say = f"body mass {last.body_mass_kg:.1f} kg in the set log"
        return number(last.body_mass_kg, Evidence("body", last.on, say))
    athlete = case.athlete
    say = f"body mass {athlete.body_mass_kg:.1f} kg at intake"
    return number(athlete.body_mass_kg, Evidence("body", athlete.joined, say))


def _age(case: Case) -> Found:
    return number(case.athlete.age_on(case.on))


def _hang(case: Case) -> Found:
    return number(case.athlete.hang_length_m or HANG_SHARE * case.athlete.stature_m)


def _bmi(case: Case) -> Found:
    mass = body_mass(case)
    assert isinstance(mass.value, float)
    return number(mass.value / case.athlete.stature_m**2, *mass.evidence)


def _screening(clearance: str) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        answer = allowance(case.athlete.screening, case.on)
        day = case.athlete.screening.answered_on or case.athlete.joined
        return yes(answer.clearance == clearance, Evidence("coach", min(day, case.on), answer.why))

    return fact


def _limits(case: Case) -> Found:
    limits = [limit for limit in case.athlete.screening.limits if limit.holds_on(case.on)]
    day = case.athlete.screening.answered_on or case.athlete.joined
    said = (Evidence("coach", min(day, case.on), f"{limit.pattern}: {limit.why}") for limit in limits)
    return number(len(limits), *said)


def _limit_words(case: Case) -> Found:
    limits = [limit for limit in case.athlete.screening.limits if limit.holds_on(case.on)]
    return Found("; ".join(f"{limit.pattern} ({limit.why})" for limit in limits) or None)


def _place(case: Case) -> Found:
    since = case.on - timedelta(days=PLACE_GOOD_DAYS)
    seen = [
        Evidence("coach", bar.photo_checked_on, f"photo of {bar.name} approved")
        for bar in case.athlete.kit.bars
        if bar.photo_checked_on is not None and since <= bar.photo_checked_on <= case.on
    ]
    word = case.word("place:checked")
    if word is not None and word.choice == "not_met":
        seen = [one for one in seen if one.on > word.said_at.date()]
        if not seen:
            return yes(False, Evidence("coach", word.said_at.date(), word.reason or "place refused"))
    elif word is not None and word.said_at.date() >= since:
        seen.append(Evidence("coach", word.said_at.date(), word.reason or "place checked"))
    return yes(True, *seen) if seen else MISSING


def _adult(case: Case) -> Found:
    word = case.word("adult:present")
    if word is None or word.choice == "not_met":
        return MISSING
    return yes(True, Evidence("coach", word.said_at.date(), word.reason))


def active_days(case: Case) -> list[date]:
    """Days with a set, a session done or a try, oldest first."""
    history = case.history
    days = {one.on for one in history.sets} | {s.on for s in history.sessions if s.done}
    return sorted(days | {a.on for a in history.attempts})


def _days_off(case: Case) -> Found:
    days = active_days(case)
    if not days:
        return MISSING
    return number((case.on - days[-1]).days, Evidence("session", days[-1], "last training day logged"))


def _planned(case: Case, days: int) -> tuple[int, int, list[Evidence]]:
    """Sessions planned and done in a span, with the missed ones as evidence."""
    since = case.last_day - timedelta(days=days - 1)
    logged = [s for s in case.history.sessions if since <= s.on <= case.last_day]
    done_days = {s.on for s in logged if s.done} | {
        one.on for one in case.history.sets if since <= one.on <= case.last_day
    }
    missed = [s for s in logged if not s.done and s.on not in done_days]
    said = [Evidence("session", s.on, f"session {s.label} missed{_because(s.reason)}") for s in missed]
    return len(done_days) + len(missed), len(done_days), said


def _because(reason: str) -> str:
    return f" ({reason})" if reason else ""


def _done_7d(case: Case) -> Found:
    _, done, _ = _planned(case, 7)
    return number(done)


def _planned_7d(case: Case) -> Found:
    planned, _, _ = _planned(case, 7)
    return number(max(planned, case.athlete.days_per_week) if case.last_week else planned)


def _missed_7d(case: Case) -> Found:
    """Missed as logged; with a plan, also days that were neither done nor explained."""
    planned, done, said = _planned(case, 7)
    if case.last_week is None and not case.history.sessions:
        return MISSING
    whole_week = case.on >= case.week_starts - timedelta(days=1)
    short = case.athlete.days_per_week - done if case.last_week and whole_week else 0
    return number(max(planned - done, short, 0), *said)


def _attendance(days: int) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        if case.last_week is None and not case.history.sessions:
            return MISSING
        planned, done, said = _planned(case, days)
        asked = case.athlete.days_per_week * days // 7 if len(case.history.weeks) >= days // 7 else planned
        planned = max(planned, asked)
        if not planned:
            return MISSING
        say = f"{done} of {planned} sessions done in {days // 7} weeks"
        return number(100.0 * done / planned, *said, Evidence("session", case.last_day, say))

    return fact


def _loading_weeks(case: Case) -> Found:
    count = 0
    for trained, deload, days in zip(case.trained, case.deload, case.days_trained, strict=True):
        if deload or days == 0:
            break
        count += trained
    if not case.history.sets and not case.history.sessions:
        return MISSING
    say = f"{count} trained weeks in a row since a deload or a week off"
    return number(count, Evidence("session", case.last_day, say))


def _last_deload(case: Case) -> Found:
    week = case.last_week
    if week is None:
        return yes(False)
    said = Evidence("plan", week.starts, "planned as a deload" if week.deload else "no deload")
    return yes(week.deload and case.days_trained[0] > 0, said)


def _overruled(case: Case) -> Found:
    week = case.last_week
    if week is None or not week.overruled:
        return yes(False)
    return yes(True, Evidence("coach", week.starts, week.overruled))


def _ill(case: Case) -> Found:
    words = ("ill", "illness", "sick", "fever", "flu", "stomach")
    days = [
        s.on
        for s in case.history.sessions
        if not s.done
        and any(word in words for word in s.reason.casefold().replace(",", " ").split())
        and (case.on - s.on).days <= 21
    ]
    if not days:
        return MISSING
    return number((case.on - days[-1]).days, Evidence("session", days[-1], "session missed ill"))


def _sleep(days: int, least: int) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        since = case.on - timedelta(days=days - 1)
        hours = [n.sleep_h for n in case.history.body if n.on >= since and n.sleep_h is not None]
        if len(hours) < least:
            return MISSING
        mean = sum(hours) / len(hours)
        return number(mean, Evidence("body", case.on, f"sleep {mean:.1f} h, mean of {len(hours)} nights"))

    return fact


def _hard_sessions(case: Case) -> Found:
    since = case.last_day - timedelta(days=6)
    efforts = [s for s in case.history.sessions if s.done and s.on >= since and s.effort is not None]
    if not efforts:
        return MISSING
    hard = [s for s in efforts if s.effort is not None and s.effort >= 9]
    return number(len(hard), *(Evidence("session", s.on, f"effort {s.effort:g} of 10") for s in hard))


def mass_trend(case: Case, back: int = 0) -> float | None:
    """Change of body mass, % a week, from the median of one week to the median three weeks before."""

    def week(weeks_ago: int) -> float | None:
        end = case.on - timedelta(days=7 * weeks_ago)
        start = end - timedelta(days=7)
        masses = [
            n.body_mass_kg for n in case.history.body if start < n.on <= end and n.body_mass_kg is not None
        ]
        return median(masses) if len(masses) >= 2 else None

    new, old = week(back), week(back + 1)
    return None if new is None or old is None else 100.0 * (new - old) / old


def _mass_change(case: Case) -> Found:
    changes = [change for back in range(3) if (change := mass_trend(case, back)) is not None]
    if not changes:
        return MISSING
    mean = sum(changes) / len(changes)
    return number(
        mean, Evidence("body", case.on, f"body mass {mean:+.1f} % a week over {len(changes)} weeks")
    )


def _fast_loss(case: Case) -> Found:
    runs = 0
    for back in range(2):
        change = mass_trend(case, back)
        if change is None or change > -FAST_LOSS_PCT_WEEK:
            break
        runs += 1
    known = mass_trend(case) is not None
    return number(runs, *_mass_change(case).evidence) if known else MISSING


FACTS: dict[str, Callable[[Case], Found]] = {
    "body_mass_kg": body_mass,
    "hang_length_m": _hang,
    "stature_m": lambda case: number(case.athlete.stature_m),
    "age": _age,
    "days_per_week": lambda case: number(case.athlete.days_per_week),
    "bmi": _bmi,
    "earlier_trouble": lambda case: yes(case.athlete.screening.earlier_elbow_or_shoulder_trouble),
    "must_clear_first": _screening("clear_first"),
    "must_clear_before_hard": _screening("clear_before_hard"),
    "screening_missing": _screening("not_answered"),
    "days_since_screening": lambda case: number(
        (case.on - case.athlete.screening.answered_on).days if case.athlete.screening.answered_on else None
    ),
    "limits_now": _limits,
    "limit_words": _limit_words,
    "has_loads": lambda case: yes(len(loads(case.athlete.kit)) > 1),
    "has_band": lambda case: yes(bool(case.athlete.kit.bands) and not case.athlete.screening.latex_allergy),
    "swing_allowed": lambda case: yes(case.athlete.kit.swing_allowed),
    "kit_known": lambda case: yes(case.athlete.kit != type(case.athlete.kit)()),
    "place_checked": _place,
    "adult_present": _adult,
    "days_off": _days_off,
    "weeks_planned": lambda case: number(len(case.history.weeks)),
    "sessions_planned_7d": _planned_7d,
    "sessions_done_7d": _done_7d,
    "sessions_missed_7d": _missed_7d,
    "attendance_21d_pct": _attendance(21),
    "attendance_28d_pct": _attendance(28),
    "loading_weeks": _loading_weeks,
    "last_week_deload": _last_deload,
    "last_week_overruled": _overruled,
    "ill_days_ago": _ill,
    "sleep_7d_h": _sleep(7, 3),
    "sleep_28d_h": _sleep(28, 6),
    "hard_sessions_7d": _hard_sessions,
    "mass_change_pct_week": _mass_change,
    "loses_fast_weeks": _fast_loss,
}
"""Facts of this file by their name in the ladder's vocabulary."""
