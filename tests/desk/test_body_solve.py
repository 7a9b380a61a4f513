"""A full solve on the page: how far it is, its answer beside the table's, and whether that still holds."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from overbar.desk.body_solve import solve_view
from overbar.desk.figures import measured
from overbar.mechanics.asked import asked_of
from overbar.mechanics.margins import Person, answer
from overbar.mechanics.surrogate import read_table, reference_of
from overbar.records.solves import Solve

NOW = datetime(2026, 3, 27, 12, 0, tzinfo=UTC)
PERSON = Person(1.70, 64.5, 1.35, 0.036, sex="f")
RUNNING = Solve(
    1,
    asked_of(PERSON, 20.0),
    "running",
    NOW,
    NOW - timedelta(seconds=20),
    None,
    0.4,
    "loose hands",
    1,
    "",
    None,
)


def shown(newest: Solve | None, answered: Solve | None, person: Person = PERSON) -> Any:
    return solve_view(newest, answered, person, read_table(), None, date(2026, 3, 27), "UTC", NOW, 20.0)


def solved(R_more: float = 0.0) -> Solve:
    """A solve whose every variant needs so much more than the table says."""
    found = answer(read_table(), PERSON, 20.0)
    data = found.to_json(reference_of(read_table(), 20.0))
    data["by_variant"] = {
        start: {variant: R + R_more for variant, R in each.items()}
        for start, each in data["by_variant"].items()
    }
    return replace(RUNNING, state="done", done_at=NOW, answer=json.loads(json.dumps(data)))


def test_before_the_first_one_the_page_says_what_it_would_do() -> None:
    view = shown(None, None)
    assert not view.under_way
    assert "in the background" in view.say
    assert view.rows == ()


def test_a_running_one_says_how_far_it_is_and_how_long_it_takes_yet() -> None:
    view = shown(RUNNING, None)
    assert view.under_way
    assert view.share == 0.4
    # 20 s for 40 per cent leave 30 s.
    assert "loose hands, about 30 s left" in view.say
    assert "started again" in shown(replace(RUNNING, tries=2), None).say


def test_a_failed_one_says_why_and_the_last_answer_stays() -> None:
    view = shown(replace(RUNNING, state="failed", why="It stopped several times."), solved())
    assert "stopped several times" in view.say
    assert view.rows


def test_the_answer_stands_beside_the_tables_with_the_difference() -> None:
    view = shown(solved(0.07), solved(0.07))
    # as many digits as the table's error against full solves allows
    assert [row.difference for row in view.rows] == [measured(0.07, read_table().solve_rms, signed=True)] * 2
    assert all("80 %" in row.solved for row in view.rows)
    assert json.loads(view.drawn)["model"]["hip"]
    assert "today" in view.of


def test_a_search_that_ended_clearly_above_the_table_is_said_to_have_missed_an_easier_way() -> None:
    assert all(row.missed for row in shown(solved(0.07), solved(0.07)).rows)
    assert not any(row.missed for row in shown(solved(0.01), solved(0.01)).rows)
    assert not any(row.missed for row in shown(solved(-0.07), solved(-0.07)).rows)


def test_a_stronger_athlete_keeps_the_answer_and_other_lengths_lose_it() -> None:
    stronger = shown(solved(), solved(), replace(PERSON, R=1.44))
    assert "today's R of 1.44" in stronger.of
    heavier = shown(solved(), solved(), replace(PERSON, mass_kg=69.0))
    assert "solve again" not in heavier.of
    taller = shown(solved(), solved(), replace(PERSON, stature_m=1.74))
    assert "solve again" in taller.of
