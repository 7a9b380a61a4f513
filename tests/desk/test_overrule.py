"""Every decision on an athlete's page can be overruled in one action; the reason is kept and replayed."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient

from overbar.cli.serve import desk_and_sheets
from overbar.desk.overrule import choices, in_force
from overbar.desk.proposal import propose
from overbar.desk.week import changed_week, what_changed
from overbar.errors import BadInput
from overbar.records.past import replay_athlete

HERE = "http://127.0.0.1:8765"


@pytest.fixture
def desk(demo: Any) -> Iterator[TestClient]:
    with TestClient(desk_and_sheets(demo), base_url=HERE, follow_redirects=False) as client:
        found = re.search(r'"X-Form-Token": "([^"]+)"', client.get("/athletes/new").text)
        assert found
        client.headers["X-Form-Token"] = found[1]
        yield client


def offered(demo: Any, athlete: str = "davit") -> dict[str, list[str]]:
    proposal = propose(demo, athlete)
    found = choices(proposal.week, proposal.ladder, proposal.history)
    return {group: [one.key for one in items] for group, items in found}


def say(desk: TestClient, said: str, athlete: str = "davit", reason: str = "I saw it") -> None:
    answer = desk.post(f"/athletes/{athlete}/word", data={"said": said, "reason": reason})
    assert answer.status_code == 303, html.unescape(answer.text)


def test_rung_gate_item_fault_answer_rule_exercise_place_each_have_a_choice(demo: Any) -> None:
    found = offered(demo)
    kinds = {key.partition(":")[0] for keys in found.values() for key in keys}
    assert {"rung", "item", "fault", "rule", "exercise", "place", "adult"} <= kinds
    assert any(key == "rule:D-S|apply" for keys in found.values() for key in keys)
    assert not any("CLIMB" in key for keys in found.values() for key in keys)


def test_every_choice_the_page_offers_is_taken_and_shown_with_its_reason(desk: TestClient, demo: Any) -> None:
    for group, keys in offered(demo).items():
        say(desk, keys[0], reason=f"because of {group}")
        proposal = propose(demo, "davit")
        held = in_force(proposal.history, proposal.ladder, proposal.on)
        about = keys[0].partition("|")[0]
        assert any(one.about == about and one.reason == f"because of {group}" for one in held), group
        assert f"because of {group}" in html.unescape(desk.get("/athletes/davit").text)


def test_the_rung_a_lighter_week_and_an_exercise_change_the_proposal(desk: TestClient, demo: Any) -> None:
    say(desk, "rung:S2|set")
    assert propose(demo, "davit").week.verdict.rung == "S2"
    say(desk, "rule:D-S|apply")
    assert propose(demo, "davit").week.deload
    keys = offered(demo)["Exercises, every week"]
    out = next(key for key in keys if key.endswith("|leave_out"))
    say(desk, out)
    gone = out.removeprefix("exercise:").removesuffix("|leave_out")
    planned = {slot.exercise for s in propose(demo, "davit").week.sessions for slot in s.slots}
    assert gone not in planned
    desk.post(
        "/athletes/davit/word",
        data={"about": f"exercise:{gone}", "choice": "taken_back", "reason": "taken back"},
    )
    planned = {slot.exercise for s in propose(demo, "davit").week.sessions for slot in s.slots}
    assert gone in planned


def test_a_word_without_a_reason_or_about_nothing_known_is_not_taken(desk: TestClient, demo: Any) -> None:
    before = demo.history("davit").coach
    for data in (
        {"said": "rung:S2|set", "reason": " "},
        {"said": "weather:sun|met", "reason": "x"},
        {"said": "", "reason": "x"},
    ):
        assert desk.post("/athletes/davit/word", data=data).status_code == 400
    assert demo.history("davit").coach == before


def test_a_word_is_kept_and_the_replayed_decision_follows_it(desk: TestClient, demo: Any) -> None:
    say(desk, "rung:S2|set", reason="one step back")
    page = desk.get("/athletes/davit").text
    mark = re.search(r'name="mark" value="([^"]+)"', page)
    assert mark
    answer = desk.post("/athletes/davit/week", data={"do": "accepted", "mark": mark[1]})
    assert answer.status_code == 303
    again = replay_athlete(demo, "davit", weeks=1)
    assert again.weeks[0].now.verdict.rung == "S2"
    assert again.weeks[0].differs == ()
    assert again.weeks[0].now == demo.latest_week("davit").week


def test_an_exercise_is_changed_for_one_week_only_to_what_loads_the_same(demo: Any) -> None:
    proposal = propose(demo, "davit")
    week, ladder = proposal.week, proposal.ladder
    slot = week.sessions[0].slots[0]
    from overbar.planning.apply import may_stand_for

    other = may_stand_for(ladder.exercises[slot.exercise], ladder.exercises)[0]
    changed = changed_week(week, proposal.athlete, {"exercise-0-0": other}, ladder)
    assert changed.sessions[0].slots[0].exercise == other
    said = what_changed(week, changed)
    assert any(ladder.exercises[other].name in one and "comes in" in one for one in said)
    usual = may_stand_for(ladder.exercises[slot.exercise], ladder.exercises)
    wrong = next(key for key in ladder.exercises if key not in (*usual, slot.exercise))
    with pytest.raises(BadInput):
        changed_week(week, proposal.athlete, {"exercise-0-0": wrong}, ladder)


def test_an_items_word_lasts_as_long_as_evidence_would(demo: Any) -> None:
    from overbar.desk.overrule import until

    ladder, today = demo.ladder_for("davit"), date(2026, 4, 27)
    assert until("item:G4:deep_dips", date(2026, 5, 4), today, ladder) == date(2026, 5, 11)
    assert until("rule:D-S", date(2026, 5, 4), today, ladder) == date(2026, 5, 4)
    assert until("exercise:dead_hang", date(2026, 5, 4), today, ladder) is None


def test_the_coach_gives_a_date_of_his_own_and_it_stands_beside_the_forecast(
    desk: TestClient, demo: Any
) -> None:
    given = {"about": "forecast:first_rep", "early": "2026-08-01", "late": "2026-09-15", "reason": "new job"}
    assert desk.post("/athletes/bram/word", data=given).status_code == 303
    page = html.unescape(desk.get("/athletes/bram/outlook").text)
    assert "First valid rep, your date: 1 Aug to 15 Sep 2026" in page
    assert "new job" in page
    assert demo.history("bram").coach[-1].choice == "2026-08-01/2026-09-15"
    turned = desk.post("/athletes/bram/word", data=given | {"late": "2026-07-01"})
    assert turned.status_code == 400


def test_a_word_about_an_unknown_rung_or_exercise_is_refused_with_the_known_ones(desk: TestClient) -> None:
    for said, known in (("rung:S9|set", "S7"), ("exercise:nothing|leave_out", "dead_hang")):
        answer = desk.post("/athletes/davit/word", data={"said": said, "reason": "why not"})
        assert answer.status_code == 400
        assert known in html.unescape(answer.text)
