"""The full solve of an athlete's own body: asked for, under way, or its answer beside the table's."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime

from overbar.desk.body import STARTS, band_in_words
from overbar.desk.figures import ago, local_day, measured, number, seconds, sentence
from overbar.mechanics.asked import person_of, same_body
from overbar.mechanics.margins import Offset, Person, answer, answer_from
from overbar.mechanics.surrogate import Table
from overbar.records.solves import Solve

USUAL_S = 40
"""About how long a full solve takes on one core, s (measured: 20 to 35 of processor time)."""
LEAST_SHARE = 0.05
"""Share done from which the time left can be told."""
SHOWN_CHANGE_R = 0.005


MISSED_FROM = 3.0
"""A full solve so many times the table's error above the table has likely ended in a poorer way over: the
table goes through the easiest ways of many neighbours (own judgement)."""


@dataclass(frozen=True)
class SolveRow:
    """One way to begin: the full solve, the table, and their difference."""

    name: str
    solved: str
    table: str
    difference: str
    missed: bool


@dataclass(frozen=True)
class SolveView:
    """What the page shows of it.

    Attributes
    ----------
    under_way : bool
    say : str
        How far it is, what came of it, or what it would do.
    share : float or None
        How much is done while it is under way.
    rows : tuple of SolveRow
        The newest answer.
    of : str
        What body and strength that answer is for, and whether that still holds.
    peak : str
        The model's hand force and timing.
    drawn : str
        The moving figure as JSON, "" without one.
    swing : str
        Swing that the button solves for, degrees.
    """

    under_way: bool
    say: str
    share: float | None
    rows: tuple[SolveRow, ...]
    of: str
    peak: str
    drawn: str
    swing: str


def solve_view(
    newest: Solve | None,
    answered: Solve | None,
    person: Person | None,
    table: Table,
    offset: Offset | None,
    on: date,
    time_zone: str,
    now: datetime,
    swing_deg: float,
) -> SolveView:
    """Return what the page says of an athlete's full solves.

    Parameters
    ----------
    newest, answered : Solve or None
        The one asked for last, and the last one with an answer.
    person : Person or None
        The athlete as of today; None without a known strength.
    offset : Offset or None
        How far logged attempts have moved the thresholds.
    on : datetime.date
        Today.
    now : datetime.datetime
        The real moment, for the time left.
    swing_deg : float
        Swing that the next solve would be for.
    """
    under_way = newest is not None and newest.under_way
    rows: tuple[SolveRow, ...] = ()
    of = peak = drawn = ""
    if answered is not None and answered.answer is not None and person is not None:
        rows = _rows(answered, person, table, offset)
        of = _of(answered, person, on, time_zone)
        peak = _peak(answered)
        drawn = json.dumps(_drawn(answered))
    return SolveView(
        under_way=under_way,
        say=_say(newest, now),
        share=newest.share if newest is not None and under_way else None,
        rows=rows,
        of=of,
        peak=peak,
        drawn=drawn,
        swing=f"{swing_deg:g}",
    )


def _say(newest: Solve | None, now: datetime) -> str:
    if newest is None:
        return (
            "The answer above is read from a table of solved bodies. The full solve finds the easiest way "
            f"over for these very measures, in the background, in about {seconds(USUAL_S)}."
        )
    if newest.state == "waiting":
        return "The full solve waits for its turn."
    if newest.state == "running":
        again = " It was stopped and has been started again." if newest.tries > 1 else ""
        return f"Being solved: {newest.doing}{_left(newest, now)}.{again}"
    return newest.why


def _left(newest: Solve, now: datetime) -> str:
    if newest.began_at is None or newest.share < LEAST_SHARE:
        return ""
    left = (now - newest.began_at).total_seconds() * (1 - newest.share) / newest.share
    return f", about {seconds(max(5, round(left / 5) * 5))} left"


def _rows(answered: Solve, person: Person, table: Table, offset: Offset | None) -> tuple[SolveRow, ...]:
    assert answered.answer is not None
    swing = float(answered.asked["swing_deg"])
    told = answer(table, person_of(answered.asked), swing, offset)
    each = answered.answer["by_variant"]
    solved = answer_from(table, person, swing, each, offset)
    rows = []
    for key, name in STARTS.items():
        # The same variants on both sides, so that the difference is the body's and not theirs.
        like = [told.by_variant[key][variant] for variant in each[key]]
        table_says = sum(like) / len(like)
        solved_says = sum(each[key].values()) / len(each[key])
        own = f", margin {band_in_words(solved.margin[key], signed=True)}"
        rows.append(
            SolveRow(
                name=name if key == "still" else f"{name} of {swing:g}°",
                solved=f"{band_in_words(solved.needs[key])}{own}",
                table=number(told.needs[key].value, 2),
                difference=measured(solved_says - table_says, table.solve_rms, signed=True),
                missed=solved_says - table_says > MISSED_FROM * table.solve_rms,
            )
        )
    return tuple(rows)


def _of(answered: Solve, person: Person, on: date, time_zone: str) -> str:
    assert answered.done_at is not None
    was = person_of(answered.asked)
    day = ago(local_day(answered.done_at, time_zone), on)
    text = f"Solved {day} for {was.stature_m:.2f} m, {was.mass_kg:.1f} kg and R {was.R:.2f}"
    if not same_body(was, person):
        return f"{text}. The measures have changed since: solve again."
    if abs(was.R - person.R) > SHOWN_CHANGE_R:
        return f"{text}; the margins are for today's R of {person.R:.2f}. What is needed does not hang on it."
    return f"{text}."


def _peak(answered: Solve) -> str:
    data = answered.answer or {}
    timing = data["timing_s"]
    text = (
        f"On this path the hands carry {data['peak_hand_force_bw']:.1f} body weights at most; pull "
        f"{timing['pull']:.1f} s after the start, shoulders at the bar at {timing['shoulder_over']:.1f} s, "
        f"support at {timing['support']:.1f} s: the model's easiest way, for order and timing."
    )
    return sentence(f"{text} {data['said']}".strip())


def _drawn(answered: Solve) -> dict[str, object]:
    figure = dict((answered.answer or {})["figure"])
    return {"t": figure.pop("t_s"), "model": figure}
