"""The three invented athletes of the demo, week by week, as the handbook's rule code made them.

Their weeks were planned under top_set_back_off (handbook trade.md section 7.4). Only pull-up
sets and tries were simulated there; what the other gate items need (support, hang, skin, place,
safe descent) is shown here as the coach lines say it was.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from overbar.athlete.kit import Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Screening
from overbar.planning.history import (
    AttemptLog,
    BodyNote,
    History,
    Measurement,
    PainReport,
    PastWeek,
    SessionLog,
)
from overbar.strength.sets import LoggedSet, StrengthPoint
from overbar.units import kg_from_lb

FIRST_MONDAY = date(2026, 1, 5)
DAYS = {"A": 0, "B": 2, "C": 4}
BARS = (Bar("rig", True, False, 2.4, date(2026, 1, 5)), Bar("low bar", False, True))
GYM = ("parallel bars", "handles")
POUND_PLATES = tuple(Plate(kg_from_lb(mass), 2, "lb") for mass in (2.5, 5, 10, 25, 45))
STARTING_BEST = {"Davit Kellermoor": 5, "Ines Farrowgate": 7, "Bram Oystergaard": 5}
SUPPORT_FROM_WEEK = 4
GRINDING = {("Bram Oystergaard", 7), ("Bram Oystergaard", 8)}
"""Weeks of night shifts, sessions logged as hard: the second sign beside short sleep."""


def screened(trouble: bool) -> Screening:
    return Screening(date(2026, 1, 4), True, False, False, trouble, False, False)


WHO = {
    "Davit Kellermoor": Athlete(
        "davit", "Davit Kellermoor", "m", date(1994, 5, 1), 1.79, 78.0, FIRST_MONDAY,
        method="top_set_back_off", screening=screened(False),
        kit=Kit("belt", tuple(Plate(m, 2) for m in (1.25, 2.5, 5, 10, 20)), bars=BARS, box=True, others=GYM),
    ),
    "Ines Farrowgate": Athlete(
        "ines", "Ines Farrowgate", "f", date(1989, 5, 1), 1.66, 61.0, FIRST_MONDAY,
        method="top_set_back_off", screening=screened(True),
        kit=Kit("backpack", (), 15.0, bars=BARS, box=True, others=("handles",)),
    ),
    "Bram Oystergaard": Athlete(
        "bram", "Bram Oystergaard", "m", date(1978, 5, 1), 1.84, 95.6, FIRST_MONDAY,
        method="top_set_back_off", screening=screened(True), mass_unit="lb",
        kit=Kit("belt", POUND_PLATES, bars=BARS, box=True, others=GYM),
    ),
}  # fmt: skip


def cases() -> dict[str, list[dict[str, Any]]]:
    """Weeks by athlete."""
    path = Path(__file__).with_name("demo_cases.json")
    return {case["name"]: case["weeks"] for case in json.loads(path.read_text(encoding="utf-8"))}


def monday(week: int) -> date:
    return FIRST_MONDAY + timedelta(days=7 * (week - 1))


def lived(
    name: str, weeks: list[dict[str, Any]], planned: tuple[PastWeek, ...]
) -> tuple[History, tuple[StrengthPoint, ...]]:
    """History and the handbook's own strength estimates up to the last of the weeks."""
    sets: list[LoggedSet] = []
    sessions: list[SessionLog] = []
    body: list[BodyNote] = []
    pain: list[PainReport] = []
    shown = [Measurement(FIRST_MONDAY, "strict_pull_ups", STARTING_BEST[name], 1.0, "film")]
    tries: list[AttemptLog] = []
    points: list[StrengthPoint] = []
    for week in weeks:
        start = monday(week["week"])
        done = "ABC"[: week["done"]]
        effort = 9 if (name, week["week"]) in GRINDING else 7
        sessions += [SessionLog(start + timedelta(days=DAYS[d]), d, d in done, effort) for d in "ABC"]
        for number, (day, load, mass, reps, left) in enumerate(week["sets"]):
            exercise = "weighted_pull_up" if load > 0 else "strict_pull_up"
            for place, count in enumerate(reps):
                last = place == len(reps) - 1
                on = start + timedelta(days=DAYS[day])
                sets.append(
                    LoggedSet(
                        on,
                        exercise,
                        mass,
                        load,
                        count,
                        left if last else None,
                        session=day,
                        order=10 * number + place,
                    )
                )
        body += [BodyNote(start + timedelta(days=2 * n), mass, None) for n, mass in enumerate(week["body"])]
        body += [BodyNote(start + timedelta(days=n), None, week["sleep"]) for n in range(7)]
        pain += [
            PainReport(
                start + timedelta(days=DAYS[d]), week["site"] or "", week["pain"] or 0, week["morning"] or 0
            )
            for d in done
        ]
        for test, value in (("strict_high_L", week["strict"]), ("swing_high_L", week["swing"])):
            if value is not None:
                shown += [Measurement(start + timedelta(days=d), test, value, 0.02, "film") for d in (2, 4)]
        others = {
            "straight_bar_dips": week["dips"], "deep_dips": max(0, week["dips"] - 5),
            "negative_s": week["negative"], "support_s": 25 if week["week"] >= SUPPORT_FROM_WEEK else 10,
            "hang_s": 45, "skin_whole": 1, "safe_descent": 1,
        }  # fmt: skip
        if done:
            shown += [
                Measurement(start + timedelta(days=3), test, value, None, "film")
                for test, value in others.items()
            ]
        tries += [
            AttemptLog(start + timedelta(days=DAYS[day]), n, outcome, peak, elbow_gap_s=gap, source="film")
            for day, n, outcome, peak, gap in week["tries"]
        ]
        if week["sets"]:
            mass = week["body"][1]
            points.append(
                StrengthPoint(
                    start + timedelta(days=4),
                    week["R"],
                    week["R"] - 0.05,
                    week["R"] + 0.05,
                    week["R"] * mass,
                    mass,
                )
            )
    rows = History(
        WHO[name],
        tuple(sets),
        tuple(sessions),
        tuple(body),
        tuple(pain),
        tuple(shown),
        tuple(tries),
        (),
        planned,
    )
    return rows, tuple(points)
