"""Facts about pain: which places are sore now, how sore, and what they rule out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from overbar.ladder.form import Ladder, Site
from overbar.planning.case import Case, said_on
from overbar.planning.found import MISSING, Found, number
from overbar.planning.history import TAKEN_BACK, CoachWord, PainReport
from overbar.planning.verdict import Evidence

EVERYTHING = ("all",)
NOT_NAMED = "a place not named"
RED_FLAG_DAYS = 183


@dataclass(frozen=True)
class SorePlace:
    """One place that hurts or has hurt.

    Attributes
    ----------
    name : str
        In words.
    grade : str
        "stop", "ease" or "returning" (calmed after having been one of them).
    level : float
        Worst score that still counts, 0 to 10.
    patterns : tuple of str
        Loading patterns it rules out; ("all",) for a place the ladder does not know.
    add : str
        Exercise id of care work for it, or "".
    evidence : tuple of Evidence
        Its reports, oldest first.
    last_sore : datetime.date
        Day of the last report over the calm line.
    """

    name: str
    grade: str
    level: float
    patterns: tuple[str, ...]
    add: str
    evidence: tuple[Evidence, ...]
    last_sore: date


def site_named(ladder: Ladder, text: str) -> Site | None:
    """Find a place by what people call it; sides and case do not matter."""
    plain = text.casefold().replace("_", " ").replace("-", " ").split()
    words = " ".join(word for word in plain if word not in ("left", "right", "l", "r"))
    for site in ladder.sites.values():
        if words in (site.id.replace("_", " "), site.name, *site.aliases):
            return site
    return None


def sore_places(case: Case) -> tuple[SorePlace, ...]:
    """Grade every place with a report in the look-back span, sorest first.

    A place has calmed when its last reports, as many as the ladder asks for, are at or
    under the calm line in the session and the next morning. An unanswered next morning
    is not calm; a calm report that names no place speaks of all of them. Until then the
    worst score since it last was calm counts.
    """
    bands = case.ladder.pain
    since = case.on - timedelta(days=bands.look_back_days)
    by_place: dict[str, list[PainReport]] = defaultdict(list)
    everywhere = []
    for report in case.history.pain:
        if report.on < since:
            continue
        called = report.site.strip()
        if not called and _calm(report, bands.calm_at):
            everywhere.append(report)
            continue
        site = site_named(case.ladder, called)
        by_place[site.id if site else called.casefold() or NOT_NAMED].append(report)
    for reports in by_place.values():
        reports.extend(everywhere)
        reports.sort(key=lambda r: (r.on, _level(r)))
    graded = (_graded(case, place, reports) for place, reports in by_place.items())
    return tuple(sorted((g for g in graded if g), key=lambda p: (-p.level, p.name)))


def _graded(case: Case, place: str, reports: list[PainReport]) -> SorePlace | None:
    bands = case.ladder.pain
    calm = [_calm(report, bands.calm_at) for report in reports]
    tail = 0
    for is_calm in reversed(calm):
        if not is_calm:
            break
        tail += 1
    calmed = tail >= bands.calm_sessions
    start = _last_calm_before(calm, len(reports) - tail, bands.calm_sessions)
    spell = reports[start : len(reports) - tail] if calmed else reports[start:]
    if not spell:
        return None
    level = max(_level(report) for report in spell)
    sore = [r for r in spell if _level(r) >= bands.ease_at or r.at_night or _woke_worse(r)]
    if not sore:
        return None
    days = (sore[-1].on - sore[0].on).days
    night = any(report.at_night for report in spell)
    if calmed:
        grade = "returning"
    elif level >= bands.stop_at or night or days >= bands.refer_after_days:
        grade = "stop"
    else:
        grade = "ease"
    site = case.ladder.sites.get(place)
    return SorePlace(
        name=site.name if site else place,
        grade=grade,
        level=level,
        patterns=site.patterns if site else EVERYTHING,
        add=site.add if site else "",
        evidence=tuple(_say(site.name if site else place, report) for report in reports[-6:]),
        last_sore=sore[-1].on,
    )


def _last_calm_before(calm: list[bool], end: int, needed: int) -> int:
    run = 0
    for index in range(end - 1, -1, -1):
        run = run + 1 if calm[index] else 0
        if run >= needed:
            return index + needed
    return 0


def _level(report: PainReport) -> float:
    return max(report.worst, report.next_morning or 0.0)


def _woke_worse(report: PainReport) -> bool:
    return (
        report.next_morning is not None
        and report.next_morning > max(report.worst, 0.0)
        and report.next_morning > 1
    )


def _calm(report: PainReport, at: float) -> bool:
    answered = report.next_morning is not None
    return answered and _level(report) <= at and not report.at_night and not _woke_worse(report)


def _say(place: str, report: PainReport) -> Evidence:
    morning = "not answered" if report.next_morning is None else f"{report.next_morning:g}"
    night = ", awake at night" if report.at_night else ""
    return Evidence("pain", report.on, f"{place} {report.worst:g} of 10, next morning {morning}{night}")


def _of_grade(grade: str) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        places = [place for place in sore_places(case) if place.grade == grade]
        return number(len(places), *(e for place in places for e in place.evidence))

    return fact


def _sore_days_ago(case: Case) -> Found:
    returning = [place for place in sore_places(case) if place.grade == "returning"]
    if not returning:
        return MISSING
    last = max(place.last_sore for place in returning)
    return number((case.on - last).days, *returning[0].evidence)


def _level_now(case: Case) -> Found:
    active = [place for place in sore_places(case) if place.grade != "returning"]
    if active:
        return number(active[0].level, *active[0].evidence)
    recent = [r for r in case.history.pain if r.on >= case.on - timedelta(days=13)]
    if not recent:
        return MISSING
    worst = max(recent, key=_level)
    return number(_level(worst), _say(worst.site or "no place", worst))


def _fortnight(case: Case) -> Found:
    recent = [r for r in case.history.pain if r.on >= case.on - timedelta(days=13)]
    worst = max(recent, key=lambda r: (_level(r), r.on), default=None)
    days = len({r.on for r in recent})
    if worst is None or (days < 2 and _level(worst) <= case.ladder.pain.calm_at):
        return MISSING
    say = f"worst {_level(worst):g} of 10 in {days} reports over 14 days"
    return number(_level(worst), Evidence("pain", recent[-1].on, say))


def _reports(days: int) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        since = case.on - timedelta(days=days - 1)
        return number(len({r.on for r in case.history.pain if r.on >= since}))

    return fact


def red_flags(case: Case) -> list[tuple[str, PainReport]]:
    """Stop-now signs the coach has not settled in writing since, newest last."""
    words = [w for w in case.history.coach if w.about == "flag:settled"]
    words = [w for n, w in enumerate(words) if w.choice != TAKEN_BACK and not _taken_back(words[n + 1 :])]
    settled = max((said_on(w) for w in words), default=None)
    since = case.on - timedelta(days=RED_FLAG_DAYS)
    return [
        (flag, report)
        for report in case.history.pain
        if report.on >= since and (settled is None or report.on > settled)
        for flag in report.flags
    ]


def _taken_back(later: list[CoachWord]) -> bool:
    return bool(later) and later[0].choice == TAKEN_BACK


def _flag_words(case: Case) -> Found:
    flags = case.ladder.flags
    said = dict.fromkeys(flags[f].say if f in flags else f for f, _ in red_flags(case))
    return Found("; ".join(said) or None)


def _flag_see(case: Case) -> Found:
    flags = case.ladder.flags
    said = dict.fromkeys(
        f"{flags[f].see} {flags[f].within}" if f in flags else "a doctor today" for f, _ in red_flags(case)
    )
    return Found("; ".join(said) or None)


def _flag_count(case: Case) -> Found:
    found = red_flags(case)
    flags = case.ladder.flags
    said = (Evidence("pain", r.on, flags[f].say if f in flags else f) for f, r in found)
    return number(len(found), *said)


FACTS: dict[str, Callable[[Case], Found]] = {
    "pain_level": _level_now,
    "pain_stop": _of_grade("stop"),
    "pain_ease": _of_grade("ease"),
    "pain_returning": _of_grade("returning"),
    "sore_days_ago": _sore_days_ago,
    "pain_sites": lambda case: Found(
        ", ".join(p.name for p in sore_places(case) if p.grade != "returning") or None
    ),
    "pain_14d": _fortnight,
    "pain_reports_14d": _reports(14),
    "pain_asked_7d": _reports(7),
    "red_flags": _flag_count,
    "red_flag_words": _flag_words,
    "red_flag_see": _flag_see,
}
"""Facts of this file by their name in the ladder's vocabulary."""
