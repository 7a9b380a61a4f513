"""Verdict and week per athlete: 25, 1,000 and (extrapolated) 10,000 athletes, processor time.

Each athlete has 104 weeks of logs (24 sets, 3 sessions, 3 pain answers and 10 body notes a week),
dated tests and a year of earlier decisions, the methods in turn. Strength estimates are handed in,
as records do; a second line shows what estimating from all sets costs beside it (what it costs
from what the records keep is in bench_strength.py). The aim is 5 ms
an athlete and 10,000 athletes in a minute on two cores.
"""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date, timedelta

from overbar.athlete.kit import Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Screening
from overbar.ladder import load_ladder
from overbar.planning import decide, past_week, replay, strength_of
from overbar.planning.history import BodyNote, History, Measurement, PainReport, SessionLog
from overbar.strength.sets import LoggedSet, StrengthPoint

START = date(2024, 3, 4)
WEEKS = 104
ON = START + timedelta(days=7 * WEEKS - 1)
AIM_MS = 5.0
CORES = 2


def person(number: int) -> Athlete:
    """One of many, alike but for body mass, days and method."""
    kit = Kit(
        "belt",
        tuple(Plate(mass, 2) for mass in (1.25, 2.5, 5, 10, 20)),
        bars=(Bar("rig", True, False, 2.5, START), Bar("low", False, True)),
        box=True,
    )
    clear = Screening(START, True, False, False, False, False, False)
    return Athlete(
        f"a{number}",
        f"Athlete {number}",
        "fm"[number % 2],
        date(1985 + number % 20, 5, 1),
        1.60 + number % 30 / 100,
        58.0 + number % 45,
        START,
        days_per_week=2 + number % 3,
        method=("weekly_budget", "top_set_back_off")[number % 2],
        kit=kit,
        screening=clear,
    )


def two_years(number: int) -> History:
    """Two years of one athlete's logs."""
    who = person(number)
    body = who.body_mass_kg
    sets, sessions, pain, notes = [], [], [], []
    for week in range(WEEKS):
        monday = START + timedelta(days=7 * week)
        added = 2.5 * (week // 12)
        for place, day in enumerate((0, 2, 4)):
            on = monday + timedelta(days=day)
            for order in range(8):
                load = added if order < 3 else 0.0
                exercise = "weighted_pull_up" if load else "strict_pull_up"
                reps = 4 + (number + week + order) % 2
                sets.append(LoggedSet(on, exercise, body, load, reps, 2.0, session="ABC"[place], order=order))
            sessions.append(SessionLog(on, "ABC"[place], True, 7, 60))
            pain.append(PainReport(on, "", 0, 0))
        notes += [BodyNote(monday + timedelta(days=d), body if d < 3 else None, 7.2) for d in range(7)]
    tests = {
        "strict_high_L": 0.02,
        "swing_high_L": 0.1,
        "straight_bar_dips": 9,
        "support_s": 30,
        "negative_s": 2,
    }
    shown = [
        Measurement(ON - timedelta(days=d), test, value) for test, value in tests.items() for d in (3, 5)
    ]
    return History(who, tuple(sets), tuple(sessions), tuple(notes), tuple(pain), tuple(shown))


def strength(history: History) -> tuple[StrengthPoint, ...]:
    """Twice a week, rising."""
    body = history.athlete.body_mass_kg
    days = [START + timedelta(days=7 * week + day) for week in range(WEEKS) for day in (0, 4)]
    values = [1.17 + 0.2 * n / len(days) for n in range(len(days))]
    return tuple(
        StrengthPoint(d, R, R - 0.05, R + 0.05, R * body, body) for d, R in zip(days, values, strict=True)
    )


def main() -> None:
    """Print the figures."""
    ladder = load_ladder()
    athletes = [(rows, strength(rows)) for rows in (two_years(n) for n in range(25))]
    for rows, points in athletes[:3]:
        decide(rows, ladder, ON, points)
    first = [decide(rows, ladder, ON - timedelta(days=7), points) for rows, points in athletes]
    athletes = [
        (replace(rows, weeks=(past_week(week),)), points)
        for (rows, points), week in zip(athletes, first, strict=True)
    ]

    began = time.process_time()
    rounds = 8
    for _ in range(rounds):
        for rows, points in athletes:
            decide(rows, ladder, ON, points)
    each_ms = 1000 * (time.process_time() - began) / (rounds * len(athletes))

    began = time.process_time()
    for rows, _ in athletes[:3]:
        strength_of(rows, ladder, ON)
    estimate_ms = 1000 * (time.process_time() - began) / 3

    began = time.process_time()
    replay(athletes[0][0], ladder, until=ON, chained=True, strength=athletes[0][1])
    replay_ms = 1000 * (time.process_time() - began) / WEEKS

    sets = len(athletes[0][0].sets)
    print(f"two years of logs, {sets} sets an athlete, estimates handed in")
    print(
        f"  verdict and week   {each_ms:6.2f} ms an athlete, {each_ms / AIM_MS:.2f} of {AIM_MS:g} ms aimed at"
    )
    print(f"  25 athletes        {each_ms * 25 / 1000:6.2f} s")
    many_s = each_ms * 10_000 / 1000
    print(
        f"  10,000 athletes    {many_s:6.0f} s on one core, {many_s / CORES:.0f} s on {CORES} (extrapolated)"
    )
    print(
        f"  replay             {replay_ms:6.2f} ms a past week   ({replay_ms / each_ms:.2f} of one decision)"
    )
    print(f"  estimating from all sets {estimate_ms:.0f} ms, {estimate_ms / each_ms:.0f} times a decision")


if __name__ == "__main__":
    main()
