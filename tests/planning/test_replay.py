"""Replay: the same history gives the same decisions, always; a changed ladder shows what it would alter."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.planning.demo_cases import cases, lived, monday

from overbar.ladder import load_ladder
from overbar.planning import decide, past_week, replay
from overbar.planning.history import PainReport

LADDER = load_ladder()


@pytest.fixture(scope="module")
def told():
    """Davit's sixteen weeks with the decisions made at the time."""
    name, past = "Davit Kellermoor", ()
    weeks = cases()[name]
    for number in range(1, len(weeks) + 1):
        rows, points = lived(name, weeks[:number], past)
        past += (past_week(decide(rows, LADDER, monday(number) + timedelta(days=6), points)),)
    rows, points = lived(name, weeks, past)
    return rows, points


def test_all_past_weeks_come_out_the_same(told):
    rows, points = told
    again = replay(rows, LADDER, strength=points)
    assert len(again) == len(rows.weeks)
    assert [r.starts for r in again] == [w.starts for w in rows.weeks]
    assert all(r.differs == () for r in again)


def test_twice_is_once(told):
    rows, points = told
    assert replay(rows, LADDER, strength=points) == replay(rows, LADDER, strength=points)
    assert replay(rows, LADDER, strength=points, chained=True) == replay(
        rows, LADDER, strength=points, chained=True
    )


def test_chained_from_the_start_it_is_the_same_too(told):
    rows, points = told
    assert all(r.differs == () for r in replay(rows, LADDER, strength=points, chained=True))


def test_what_is_logged_later_changes_no_earlier_decision(told):
    rows, points = told
    late = PainReport(rows.weeks[-1].starts + timedelta(days=1), "elbow", 7, 7)
    again = replay(replace(rows, pain=(*rows.pain, late)), LADDER, strength=points)
    assert all(r.differs == () for r in again)


def test_a_changed_ladder_shows_what_it_would_have_decided(told, tmp_path):
    rows, points = told
    path = tmp_path / "mine.toml"
    path.write_text('takes = ["bar_muscle_up"]\nleaves_out = ["rule:D-S"]\n', encoding="utf-8")
    again = replay(rows, load_ladder(path=path), strength=points)
    changed = [r for r in again if r.differs]
    assert changed
    assert any("no longer fires: D-S" in text for r in changed for text in r.differs)
    assert any("a lighter week then" in r.differs for r in changed)


def test_it_says_how_far_it_is(told):
    rows, points = told
    heard = []
    replay(rows, LADDER, strength=points, progress=lambda share, doing: heard.append(share))
    assert heard[0] == 0
    assert heard[-1] == 1
    assert heard == sorted(heard)
