"""The ladder's pages over HTTP: drafts are kept slips and all, versions move nobody, reasons are kept."""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from overbar.cli.serve import desk_and_sheets
from overbar.ladder import load_ladder, shipped

HERE = "http://127.0.0.1:8765"
SHIPPED = load_ladder()
V = SHIPPED.version


@pytest.fixture
def desk(demo: Any) -> Iterator[TestClient]:
    with TestClient(desk_and_sheets(demo), base_url=HERE, follow_redirects=False) as client:
        found = re.search(r'"X-Form-Token": "([^"]+)"', client.get("/athletes/new").text)
        assert found
        client.headers["X-Form-Token"] = found[1]
        yield client


def field(text: str, name: str) -> str:
    found = re.search(rf'name="{re.escape(name)}"[^>]* value="([^"]*)"', text)
    assert found, name
    return html.unescape(found[1])


def mark(desk: TestClient, kind: str, key: str) -> str:
    return field(desk.get(f"/ladder/{V}/entry", params={"kind": kind, "key": key}).text, "mark")


def typed(desk: TestClient, kind: str, key: str, **values: str) -> Any:
    form = {f"f:{path}": said for path, said in values.items()}
    form |= {"kind": kind, "key": key, "mark": mark(desk, kind, key)}
    return desk.post(f"/ladder/{V}/entry", data=form, headers={"HX-Request": "true"})


def saved(desk: TestClient, note: str = "shorter") -> str:
    typed(desk, "gate", "G4", **{"item/1/value": "4"})
    answer = desk.post(f"/ladder/{V}/save", data={"note": note})
    assert answer.status_code == 303
    return str(answer.headers["location"]).rpartition("/")[2]


@pytest.mark.parametrize("skill", shipped())
def test_every_skills_ladder_is_drawn_with_its_rungs_gates_and_strands(desk: TestClient, skill: str) -> None:
    text = html.unescape(desk.get("/ladder", params={"skill": skill}).text)
    ladder = load_ladder(skill)
    for rung in ladder.rungs.values():
        assert rung.name in text
    for gate in ladder.gates.values():
        assert gate.name in text
        assert all(item.say in text for item in gate.item)
    for kind, key in (
        ("rung", next(iter(ladder.rungs))),
        ("rule", "PAIN-5"),
        ("fault", next(iter(ladder.faults), "")),
    ):
        if key:
            assert (
                desk.get(f"/ladder/{ladder.version}/entry", params={"kind": kind, "key": key}).status_code
                == 200
            )


def test_every_rule_shows_its_numbers_its_ground_and_why(desk: TestClient) -> None:
    text = html.unescape(desk.get("/ladder").text)
    for rule in SHIPPED.rules.values():
        assert rule.basis in text
        assert rule.why in text
        assert " ".join(rule.when.text.split()) in text


def test_a_changed_number_is_kept_in_a_draft_and_changes_nobodys_plan(desk: TestClient, demo: Any) -> None:
    answer = typed(desk, "gate", "G4", **{"item/1/value": "4"})
    assert "Fits" in answer.text
    assert demo.ladder_draft("bar_muscle_up").made_from == SHIPPED.fingerprint
    assert demo.ladder_for("davit").fingerprint == SHIPPED.fingerprint
    shown = desk.get(f"/ladder/{V}").text
    assert "needed: 3, now 4" in shown
    assert (
        field(desk.get(f"/ladder/{V}/entry", params={"kind": "gate", "key": "G4"}).text, "f:item/1/value")
        == "4"
    )


def test_a_slip_is_answered_in_place_and_what_was_typed_is_kept(desk: TestClient, demo: Any) -> None:
    answer = typed(desk, "rule", "MISS-1", when="sessions_lost >= 1")
    text = html.unescape(answer.text)
    assert "'sessions_lost' is not there" in text
    assert "Correct the name" in text
    assert "shared/rules.toml, line" in text
    again = desk.get(f"/ladder/{V}/entry", params={"kind": "rule", "key": "MISS-1"}).text
    assert field(again, "f:when") == "sessions_lost >= 1"
    assert desk.post(f"/ladder/{V}/save", data={"note": "x"}).status_code == 400
    assert [one.origin for one in demo.ladder_versions("bar_muscle_up")] == ["shipped"]
    assert "To the entry" in desk.get(f"/ladder/{V}").text


def test_text_that_is_no_toml_is_kept_as_typed_with_the_line_named(desk: TestClient) -> None:
    page = desk.get(f"/ladder/{V}/text", params={"file": 2}).text
    text = dict(SHIPPED.files)["shared/rules.toml"] + "\n[[rule\n"
    form = {"file": "2", "mark": field(page, "mark"), "text": text}
    answer = desk.post(f"/ladder/{V}/text", data=form, headers={"HX-Request": "true"})
    assert "not TOML" in answer.text
    assert f"line {len(text.splitlines())}" in answer.text
    assert "[[rule\n" in html.unescape(desk.get(f"/ladder/{V}/text", params={"file": 2}).text)
    assert desk.get(f"/ladder/{V}").status_code == 200


def test_an_entry_is_taken_out_and_what_still_speaks_of_it_is_named(desk: TestClient) -> None:
    form = {"kind": "rule", "key": "D-S", "mark": mark(desk, "rule", "D-S"), "block": ""}
    answer = desk.post(f"/ladder/{V}/block", data=form, headers={"HX-Request": "true"})
    assert "'D-S' is not there" in html.unescape(answer.text)


def test_a_change_from_another_window_is_not_overwritten(desk: TestClient) -> None:
    old = mark(desk, "gate", "G4")
    typed(desk, "gate", "G4", **{"item/1/value": "4"})
    form = {"kind": "gate", "key": "G4", "mark": old, "f:item/1/value": "5"}
    answer = desk.post(f"/ladder/{V}/entry", data=form, headers={"HX-Request": "true"})
    assert answer.status_code == 400
    assert "another window" in answer.text


def test_saving_wants_a_note_makes_a_version_and_moves_nobody(desk: TestClient, demo: Any) -> None:
    typed(desk, "gate", "G4", **{"item/1/value": "4"})
    assert desk.post(f"/ladder/{V}/save", data={"note": " "}).status_code == 400
    version = saved(desk, "four seconds")
    kept = demo.ladder_version(version)
    assert (kept.note, kept.made_from, kept.athletes) == ("four seconds", SHIPPED.fingerprint, 0)
    assert demo.ladder_draft("bar_muscle_up") is None
    assert demo.ladder_for("davit").fingerprint == SHIPPED.fingerprint
    assert "needed: 3, now 4" in desk.get(f"/ladder/{version}").text
    packed = zipfile.ZipFile(io.BytesIO(desk.get(f"/ladder/{version}/texts.zip").content))
    assert {name: packed.read(name).decode() for name in packed.namelist()} == dict(
        demo.ladder(version).files
    )


def test_changing_it_back_leaves_no_draft(desk: TestClient, demo: Any) -> None:
    typed(desk, "gate", "G4", **{"item/1/value": "4"})
    assert "nothing is changed" in typed(desk, "gate", "G4", **{"item/1/value": "3"}).text
    assert demo.ladder_draft("bar_muscle_up") is None


def test_only_one_version_is_changed_at_a_time_and_a_draft_can_be_thrown_away(
    desk: TestClient, demo: Any
) -> None:
    version = saved(desk)
    typed(desk, "gate", "G4", **{"item/1/value": "2"})
    page = desk.get(f"/ladder/{version}/entry", params={"kind": "gate", "key": "G4"}).text
    form = {"kind": "gate", "key": "G4", "mark": field(page, "mark"), "f:item/1/value": "9"}
    answer = desk.post(f"/ladder/{version}/entry", data=form, headers={"HX-Request": "true"})
    assert answer.status_code == 400
    assert V in answer.text
    desk.post(f"/ladder/{V}/discard")
    assert demo.ladder_draft("bar_muscle_up") is None


def test_athletes_are_moved_with_a_reason_and_planned_under_it(desk: TestClient, demo: Any) -> None:
    version = saved(desk)
    assert desk.post(f"/ladder/{version}/move", data={"reason": "x"}).status_code == 400
    assert desk.post(f"/ladder/{version}/move", data={"athlete": ["davit"], "reason": ""}).status_code == 400
    done = desk.post(
        f"/ladder/{version}/move", data={"athlete": ["davit", "ines"], "reason": "stalls in the turn"}
    )
    assert done.status_code == 303
    assert {key: demo.ladder_for(key).version for key in ("davit", "ines", "bram")} == {
        "davit": version,
        "ines": version,
        "bram": V,
    }
    assert demo.ladder_moves("davit")[-1].reason == "stalls in the turn"
    desk.post(f"/ladder/{version}/start")
    assert demo.ladder_of_skill("bar_muscle_up").version == version
    shown = html.unescape(desk.get("/athletes/davit").text)
    assert version in shown
    assert "stalls in the turn" in shown
    assert "needed: 3, now 4" in shown


def test_what_is_not_there_is_said_in_a_sentence(desk: TestClient) -> None:
    for path in (
        "/ladder/9-nothing",
        f"/ladder/{V}/entry?kind=gate&key=G99",
        "/ladder?skill=juggling",
        f"/ladder/{V}/try/future",
    ):
        answer = desk.get(path)
        assert answer.status_code == 404, path
        assert "there is no" in answer.text.lower()


@pytest.mark.parametrize("skill", [one for one in shipped() if one != "bar_muscle_up"])
def test_an_athlete_of_another_skill_is_taken_in_planned_and_moved_by_the_same_pages(
    desk: TestClient, demo: Any, skill: str
) -> None:
    answers = {
        "name": "Flo Ashdown", "sex": "f", "born": "1992-03-04", "mass_unit": "kg", "length_unit": "cm",
        "stature": "170", "body_mass": "64", "time_zone": "Europe/Oslo", "days_per_week": "3",
        "skill": skill, "carrier": "none", "others": "rings, parallel bars, wall, scales",
        "bar-name-1": "rig", "bar-swing-1": "yes", "active_now": "yes", "known_disease": "no",
        "symptoms_now": "no", "earlier_elbow_or_shoulder_trouble": "no", "latex_allergy": "no",
        "pregnant_or_recent_birth": "no",
    }  # fmt: skip
    assert desk.post("/athletes/new", data=answers).status_code == 303
    flo = demo.athlete("flo")
    assert (flo.skill, flo.kit.others) == (skill, ("rings", "parallel bars", "wall", "scales"))
    ladder = load_ladder(skill)
    text = html.unescape(desk.get("/athletes/flo").text)
    assert next(iter(ladder.rungs.values())).name in text
    assert "not medical care" in text
    mark_ = re.search(r'name="mark" value="([^"]+)"', text)
    assert mark_
    assert desk.post("/athletes/flo/week", data={"do": "accepted", "mark": mark_[1]}).status_code == 303
    assert demo.on_ladder("flo") == ladder.fingerprint
    assert "Strict ring muscle-up" in html.unescape(desk.get("/athletes/flo/settings").text)
    for path in ("/athletes/flo/take-in", "/athletes/flo/films", "/athletes/flo/curves.json", "/"):
        assert desk.get(path).status_code == 200, path
    assert desk.post(f"/ladder/{V}/move", data={"athlete": "flo", "reason": "x"}).status_code == 400


@pytest.mark.parametrize("text", ["a = " + "[" * 20_000, "a = " + "9" * 10_000])
def test_text_that_cannot_be_read_at_all_shuts_no_page(desk: TestClient, text: str) -> None:
    page = desk.get(f"/ladder/{V}/text", params={"file": 2}).text
    form = {"file": "2", "mark": field(page, "mark"), "text": text}
    answer = desk.post(f"/ladder/{V}/text", data=form, headers={"HX-Request": "true"})
    assert "not a ladder" in answer.text
    assert desk.get(f"/ladder/{V}").status_code == 200
    assert desk.get(f"/ladder/{V}/text", params={"file": 2}).status_code == 200


def test_a_file_that_is_no_number_is_said_in_a_sentence(desk: TestClient) -> None:
    assert desk.post(f"/ladder/{V}/text", data={"file": "\u00b2"}).status_code == 404
