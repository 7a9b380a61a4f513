"""A week as JSON."""

import json
from datetime import timedelta

from tests.planning.people import MONDAY, SUNDAY, history, no_pain, sessions, strong, week_of_sets

from overbar.ladder import load_ladder
from overbar.planning import decide, json_of


def written():
    rows = history(
        sets=week_of_sets(MONDAY, [[5, 5, 5, 5], [5, 5, 5], [5, 5, 5]]),
        sessions=sessions(MONDAY),
        pain=no_pain(MONDAY),
    )
    return json_of(decide(rows, load_ladder(), SUNDAY, strong(SUNDAY, 1.19)))


def test_it_is_plain_json_with_its_schema():
    out = json.loads(json.dumps(written(), allow_nan=False))
    assert out["schema"] == "overbar.week/1"
    assert out["verdict"]["decision"] == "add_load"
    assert out["verdict"]["week_starts"] == (MONDAY + timedelta(days=7)).isoformat()
    assert out["state"]["loaded_kg"] == 2.5


def test_every_rule_has_its_evidence_with_dates():
    rule = next(r for r in written()["verdict"]["rules"] if r["id"] == "WB-FIRST")
    assert rule["evidence"][0]["on"] == MONDAY.isoformat()
    assert rule["basis"] == "common practice"


def test_loads_name_their_plates_and_the_gate_its_weakest_item():
    out = written()
    slots = [slot for session in out["sessions"] for slot in session["slots"]]
    heavy = next(slot for slot in slots if slot["exercise"] == "weighted_pull_up")
    assert heavy["load"] == {"added_kg": 2.5, "pieces": ["2.5 kg"], "say": "+2.5 kg (2.5 kg)"}
    assert out["verdict"]["gate"]["weakest"]["test"] == "R"
