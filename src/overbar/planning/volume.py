"""Facts about the sets done: weekly volume, named watches of a method, strength over weeks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from statistics import median

from overbar.ladder.form import Watch
from overbar.planning.attendance import body_mass
from overbar.planning.case import Case
from overbar.planning.found import MISSING, Found, number
from overbar.planning.verdict import Evidence
from overbar.strength.sets import LoggedSet, StrengthPoint
from overbar.units import mass_in_words

STRENGTH_GOOD_DAYS = 28
WEEKS_BEFORE = 4
DROP_SHARE = 0.05
DROP_DAYS = 49
LATELY_WEEKS = 3
EPLEY = 30.0
"""Epley 1985: one-repetition maximum = mass x (1 + reps / 30)."""


# --- strength -------------------------------------------------------------


def newest_strength(case: Case) -> StrengthPoint | None:
    """The newest estimate that is young enough to speak of."""
    if not case.strength or (case.on - case.strength[-1].on).days > STRENGTH_GOOD_DAYS:
        return None
    return case.strength[-1]


def say_strength(point: StrengthPoint) -> str:
    """Write an estimate with its interval."""
    interval = f"{point.interval:.0%} interval {point.R_low:.2f}-{point.R_high:.2f}"
    return f"estimate {point.R:.2f} of body mass, {interval}"


def _strength(field: str) -> Callable[[Case], Found]:
    def fact(case: Case) -> Found:
        point = newest_strength(case)
        if point is None:
            return MISSING
        return number(getattr(point, field), Evidence("strength", point.on, say_strength(point)))

    return fact


def _strength_age(case: Case) -> Found:
    return number((case.on - case.strength[-1].on).days) if case.strength else MISSING


def _rise_4w(case: Case) -> Found:
    """Mean of the last week's estimates against those four weeks before."""

    def around(weeks_ago: int) -> list[StrengthPoint]:
        end = case.on - timedelta(days=7 * weeks_ago)
        return [p for p in case.strength if end - timedelta(days=7) < p.on <= end]

    new = next((points for weeks in (0, 1) if (points := around(weeks))), None)
    old = next((points for weeks in (4, 5, 3) if (points := around(weeks))), None)
    if not new or not old:
        return MISSING
    before, after = mean([p.one_rm_kg for p in old]), mean([p.one_rm_kg for p in new])
    change = 100.0 * (after - before) / before
    said = (
        Evidence("strength", old[-1].on, say_strength(old[-1])),
        Evidence("strength", new[-1].on, say_strength(new[-1])),
    )
    return number(change, *said)


def _points(case: Case) -> Found:
    since = case.on - timedelta(days=27)
    return number(len({p.on for p in case.strength if p.on >= since}))


def _test_sets(case: Case, days: int) -> list[LoggedSet]:
    since = case.on - timedelta(days=days - 1)
    exercises = case.ladder.exercises
    tests = [name for name in case.sets_of if name in exercises and exercises[name].strength_test]
    return [one for name in tests for one in case.sets_of[name] if one.on >= since and one.reps > 0]


def mean(values: Sequence[float]) -> float:
    """Arithmetic mean of at least one value."""
    return sum(values) / len(values)


def _top_drop(case: Case) -> Found:
    """Strength days running whose best judged set lies 5 % under the three-week median."""
    days: dict[date, float] = {}
    for one in _test_sets(case, DROP_DAYS):
        if one.reps_left is None and not one.failed:
            continue
        week = (case.last_day - one.on).days // 7
        if 0 <= week < len(case.deload) and case.deload[week]:
            continue
        reps = one.reps + (one.reps_left or 0.0)
        days[one.on] = max(days.get(one.on, 0.0), one.system_mass_kg * (1 + reps / EPLEY))
    if len(days) < 4:
        return MISSING
    ordered = sorted(days)
    run: list[Evidence] = []
    for index in range(len(ordered) - 1, 0, -1):
        day = ordered[index]
        before = [days[d] for d in ordered[:index] if (day - d).days <= 21]
        if len(before) < 2 or days[day] > (1 - DROP_SHARE) * median(before):
            break
        drop = 100 * (1 - days[day] / median(before))
        run.append(Evidence("set", day, f"best set {drop:.0f} % under the median of three weeks"))
    return number(len(run), *reversed(run))


def _reps_left(case: Case) -> Found:
    left = [s.reps_left for s in _test_sets(case, 28) if s.reps_left is not None]
    if len(left) < 6:
        return MISSING
    say = f"{mean(left):.1f} reps left on average in {len(left)} sets, as said"
    return number(mean(left), Evidence("set", case.on, say))


# --- volume ---------------------------------------------------------------


def _reps_7d(case: Case) -> Found:
    if not case.weeks_of_sets[0]:
        return MISSING
    reps = case.pull_reps[0]
    return number(reps, Evidence("set", case.last_day, f"{reps} pulling reps in seven days"))


def _reps_mean(case: Case) -> Found:
    weeks = case.accustomed[:3]
    if len(weeks) < 3:
        return MISSING
    listed = ", ".join(f"{used} planned, {done} done" if used > done else f"{done}" for used, done in weeks)
    say = f"pulling reps of the last three weeks trained as usual: {listed}"
    return number(mean([used for used, _ in weeks]), Evidence("set", case.last_day, say))


def _reps_lately(case: Case) -> Found:
    """Most pulling reps of any of the last three weeks.

    On days that were trained what was planned counts where less was done, as in
    :attr:`Case.accustomed`; days that were missed count as what they were.
    """
    if not case.history.weeks and not case.history.sets:
        return MISSING
    used = case.used_to[:LATELY_WEEKS]
    say = "pulling reps of the last three weeks: " + ", ".join(f"{reps:.0f}" for reps in used)
    return number(max(used), Evidence("set", case.last_day, say))


def _added_last(case: Case) -> Found:
    """Heaviest added load of the newest week in which anything was pulled; help counts as none."""
    exercises = case.ladder.exercises
    for week in case.weeks_of_sets:
        pulls = [s for s in week if s.exercise in exercises and exercises[s.exercise].volume == "pull"]
        if pulls:
            heaviest = max(pulls, key=lambda s: (s.added_kg, s.on))
            return number(max(heaviest.added_kg, 0.0), *_say_days([heaviest], case.athlete.mass_unit))
    return MISSING


# --- watches --------------------------------------------------------------


def watched(case: Case, watch: Watch, week: int | None = None) -> tuple[LoggedSet, ...]:
    """Return the sets a watch looks at: of the judged week, or of one week back from it."""
    index = case.judged if week is None else week
    if index is None:
        return ()
    sets = [
        one for one in case.weeks_of_sets[index] if one.exercise in watch.exercises and _carries(one, watch)
    ]
    if not sets:
        return ()
    if watch.window == "exposure":
        last = max(one.on for one in sets)
        sets = [one for one in sets if one.on == last]
    if watch.pick == "top":
        sets = [max(sets, key=lambda s: (s.added_kg, s.reps, s.reps_left or 0.0, s.on))]
    return tuple(sets)


def _carries(one: LoggedSet, watch: Watch) -> bool:
    some = one.added_kg > 0.01
    none = abs(one.added_kg) <= 0.01
    return {"any": some or none, "some": some, "none": none}[watch.added]


def watch_fact(case: Case, watch: Watch, field: str) -> Found:
    """Return one field of a watch; missing when nothing was done."""
    if field == "low_run":
        return _low_run(case, watch)
    if field == "most_before":
        return _most_before(case, watch)
    sets = watched(case, watch)
    if not sets:
        return MISSING
    reps = [one.reps for one in sets]
    load = _usual_load(sets)
    at_load = [one for one in sets if abs(one.added_kg - load) <= 0.01]
    values: dict[str, float | None] = {
        "sets": len(sets),
        "reps": sum(reps),
        "full": sum(1 for r in reps if r >= watch.full_at),
        "least": min(reps),
        "most": max(reps),
        "typical": float(round(mean(reps))),
        "added_kg": load,
        "body_mass_kg": at_load[-1].body_mass_kg,
        "reps_left": sets[-1].reps_left,
        "added_share": load / at_load[-1].body_mass_kg,
        "days_ago": (case.on - sets[-1].on).days,
    }
    return number(values[field], *_say_days(sets, case.athlete.mass_unit))


def _usual_load(sets: Sequence[LoggedSet]) -> float:
    reps: dict[float, int] = defaultdict(int)
    for one in sets:
        reps[round(one.added_kg, 2)] += one.reps
    return max(reps, key=lambda load: (reps[load], load))


def _say_days(sets: Sequence[LoggedSet], unit: str) -> tuple[Evidence, ...]:
    by_day: dict[tuple[date, float], list[LoggedSet]] = defaultdict(list)
    for one in sets:
        by_day[(one.on, round(one.added_kg, 2))].append(one)
    said = []
    for (day, added), of_day in sorted(by_day.items(), key=lambda item: item[0]):
        load = mass_in_words(added, unit, signed=True) if abs(added) > 0.01 else "body mass"
        reps = " ".join(str(one.reps) for one in of_day)
        left = of_day[-1].reps_left
        said.append(
            Evidence("set", day, f"{load}: {reps}" + (f", {left:g} left" if left is not None else ""))
        )
    return tuple(said)


def _low_run(case: Case, watch: Watch) -> Found:
    run: list[Evidence] = []
    known = False
    for week, (trained, deload) in enumerate(zip(case.trained, case.deload, strict=True)):
        if not trained or deload:
            continue
        sets = watched(case, watch, week)
        if not sets:
            continue
        known = True
        if max(one.reps for one in sets) >= watch.low_at:
            break
        run.extend(_say_days(sets, case.athlete.mass_unit))
    return number(len(run), *reversed(run)) if known else MISSING


def _most_before(case: Case, watch: Watch) -> Found:
    if case.judged is None:
        return MISSING
    weeks = range(case.judged + 1, len(case.weeks_of_sets))
    earlier = [w for w in weeks if case.trained[w] and not case.deload[w]][:WEEKS_BEFORE]
    sets = [one for week in earlier for one in watched(case, watch, week)]
    if not sets:
        return MISSING
    best = max(sets, key=lambda one: (one.reps, one.on))
    return number(best.reps, *_say_days([best], case.athlete.mass_unit))


FACTS: dict[str, Callable[[Case], Found]] = {
    "R": _strength("R"),
    "R_low": _strength("R_low"),
    "R_high": _strength("R_high"),
    "R_age_days": _strength_age,
    "strength_rise_4w_pct": _rise_4w,
    "strength_points_4w": _points,
    "top_drop_run": _top_drop,
    "reps_left_28d": _reps_left,
    "pull_reps_7d": _reps_7d,
    "pull_reps_mean_3w": _reps_mean,
    "pull_reps_lately": _reps_lately,
    "pull_added_last_kg": _added_last,
}
"""Facts of this file by their name in the ladder's vocabulary."""


def reps_possible(case: Case, added_kg: float) -> float | None:
    """Reps the estimate allows at an added load (Epley), or None without an estimate."""
    point = newest_strength(case)
    mass = body_mass(case).value
    if point is None or not isinstance(mass, float):
        return None
    return EPLEY * (point.R * mass / max(1.0, mass + added_kg) - 1)
