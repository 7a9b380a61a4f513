"""Facts about tries of the skill."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

from overbar.planning.case import Case
from overbar.planning.found import MISSING, Found, number, yes
from overbar.planning.history import AttemptLog
from overbar.planning.verdict import Evidence

LAST_TRIES = 15
LAST_TRIES_DAYS = 21
PAUSE_DAYS = 13
"""So many days without a try are a pause: the count of tries without success starts again."""
HEIGHT_FALL_L = 0.05


def _say(tried: AttemptLog) -> Evidence:
    words = {"valid": "valid", "over_not_clean": "over, not clean", "failed": "not over"}
    return Evidence("attempt", tried.on, f"try {tried.n}: {words[tried.outcome]}", tried.ref)


def _ordered(case: Case) -> list[AttemptLog]:
    return sorted(case.history.attempts, key=lambda a: (a.on, a.n))


def _in_14d(case: Case) -> Found:
    since = case.on - timedelta(days=13)
    return number(sum(1 for a in case.history.attempts if a.on >= since))


def _valid_ever(case: Case) -> Found:
    valid = [a for a in _ordered(case) if a.outcome == "valid"]
    return number(len(valid), *(_say(a) for a in valid[:1]))


def _valid_film(case: Case) -> Found:
    since = case.on - timedelta(days=27)
    valid = [
        a for a in _ordered(case) if a.outcome == "valid" and a.on >= since and a.source in ("film", "coach")
    ]
    return number(len(valid), *(_say(a) for a in valid[-3:])) if case.history.attempts else MISSING


def _without_success(case: Case) -> Found:
    run: list[AttemptLog] = []
    last = case.on
    for tried in reversed(_ordered(case)):
        if tried.outcome == "valid" or (last - tried.on).days > PAUSE_DAYS:
            break
        run.append(tried)
        last = tried.on
    return number(len(run), *(_say(a) for a in run[:3]))


def _since_last(case: Case) -> Found:
    tries = _ordered(case)
    return number((case.on - tries[-1].on).days, _say(tries[-1])) if tries else MISSING


def _last_fifteen(case: Case) -> list[AttemptLog] | None:
    since = case.on - timedelta(days=LAST_TRIES_DAYS - 1)
    tries = [a for a in _ordered(case) if a.on >= since][-LAST_TRIES:]
    return tries if len(tries) == LAST_TRIES else None


def _of_fifteen(count: Callable[[list[AttemptLog]], int]) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        tries = _last_fifteen(case)
        if tries is None:
            return MISSING
        valid = sum(1 for a in tries if a.outcome == "valid")
        days = len({a.on for a in tries})
        say = f"{valid} of the last {LAST_TRIES} valid, over {days} days"
        return number(count(tries), Evidence("attempt", tries[-1].on, say))

    return fact


def _one_side_first(case: Case) -> Found:
    gap = case.ladder.skill.one_side_first_gap_s
    tries = _last_fifteen(case)
    if tries is None or gap is None:
        return MISSING
    first = [a for a in tries if a.outcome == "valid" and a.elbow_gap_s is not None and a.elbow_gap_s > gap]
    say = f"{len(first)} valid tries with elbows more than {gap:g} s apart"
    return number(len(first), Evidence("attempt", tries[-1].on, say))


def _stall(case: Case) -> Found:
    since = case.on - timedelta(days=27)
    stalls = [a for a in _ordered(case) if a.outcome == "valid" and a.on >= since and a.stall_s is not None]
    if not stalls:
        return MISSING
    worst = max(stalls, key=lambda a: a.stall_s or 0.0)
    return number(worst.stall_s, Evidence("attempt", worst.on, f"longest stall {worst.stall_s:.2f} s"))


def _last_day(case: Case) -> list[AttemptLog]:
    tries = _ordered(case)
    return [a for a in tries if a.on == tries[-1].on] if tries else []


def _tries_last_day(case: Case) -> Found:
    return number(len(_last_day(case)))


def _height_fell(case: Case) -> Found:
    peaks = [(a, a.peak_L) for a in _last_day(case) if a.peak_L is not None]
    if len(peaks) < 3 or (case.on - peaks[-1][0].on).days > 6:
        return MISSING
    best = max(peak for _, peak in peaks)
    pairs = pairwise(peaks)
    fell = [
        (a, b)
        for (a, pa), (b, pb) in pairs
        if max(pa, pb) <= best - HEIGHT_FALL_L + 1e-9 and b is not peaks[-1][0]
    ]
    said = (
        Evidence("attempt", b.on, f"tries {a.n} and {b.n} peaked 0.05 L under the best") for a, b in fell[:1]
    )
    return yes(bool(fell), *said)


FACTS: dict[str, Callable[[Case], Found]] = {
    "attempts_14d": _in_14d,
    "valid_ever": _valid_ever,
    "valid_film_28d": _valid_film,
    "tries_without_success": _without_success,
    "days_since_last_try": _since_last,
    "valid_of_15": _of_fifteen(lambda tries: sum(1 for a in tries if a.outcome == "valid")),
    "days_of_15": _of_fifteen(lambda tries: len({a.on for a in tries})),
    "one_side_first_of_15": _one_side_first,
    "best_stall_s": _stall,
    "tries_last_day": _tries_last_day,
    "height_fell": _height_fell,
}
"""Facts of this file by their name in the ladder's vocabulary."""
