"""The desk over HTTP: every change guarded, errors in sentences, films in ranges, nothing decided unseen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from overbar.cli.serve import desk_and_sheets
from overbar.desk.filming import HELP
from overbar.desk.pages import ALL
from overbar.film.reading import Problem
from overbar.planning.history import AttemptLog, PainReport

HERE = "http://127.0.0.1:8765"


@pytest.fixture
def desk(demo: Any) -> Iterator[TestClient]:
    with TestClient(desk_and_sheets(demo), base_url=HERE, follow_redirects=False) as client:
        yield client


def token(desk: TestClient) -> dict[str, str]:
    found = re.search(r'"X-Form-Token": "([^"]+)"', desk.get("/athletes/new").text)
    assert found
    return {"X-Form-Token": found[1]}


def test_no_address_takes_a_change_without_the_form_token(desk: TestClient, demo: Any) -> None:
    sha = demo.films()[0].sha256
    posts = [
        route
        for router in ALL
        for route in router.routes
        if isinstance(route, APIRoute) and "POST" in route.methods
    ]
    assert len(posts) >= 10
    for route in posts:
        path = route.path.replace("{athlete_id}", "davit").replace("{sha}", sha)
        if path != "/access":
            answer = desk.post(
                path, data={"reason": "x", "filmed": "x", "arrival": "x"}, files={"clip": b"x"}
            )
            assert answer.status_code in (403, 422), path
    assert not [week for week in demo.weeks("davit") if week.reason == "x"]


def test_every_page_carries_the_policy_and_is_not_kept_by_caches(desk: TestClient) -> None:
    for path in ("/", "/athletes/davit", "/films", "/nowhere"):
        answer = desk.get(path)
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path", ["/athletes/nobody", "/films/0123456789abcdef", "/nowhere", "/sheet/guess/session.json"]
)
def test_what_is_not_there_is_said_in_a_sentence(desk: TestClient, path: str) -> None:
    answer = desk.get(path)
    assert answer.status_code == 404
    assert "Traceback" not in answer.text
    assert re.search(r"There is no|there is no|leads to no", answer.text)


def test_a_decision_on_a_proposal_that_has_changed_is_not_taken(desk: TestClient, demo: Any) -> None:
    page = desk.get("/athletes/davit").text
    mark = re.search(r'name="mark" value="(\w+)"', page)
    assert mark
    demo.add_pain("davit", PainReport(demo.today(), "shoulder", 6.0))
    before = len(demo.weeks("davit"))
    answer = desk.post(
        "/athletes/davit/week",
        data={"do": "accepted", "mark": mark[1]},
        headers={**token(desk), "HX-Request": "true"},
    )
    assert answer.status_code == 422
    assert "something new came in" in answer.text.lower()
    assert len(demo.weeks("davit")) == before


def test_a_week_settled_before_something_new_came_in_says_so(desk: TestClient, demo: Any) -> None:
    mark = re.search(r'name="mark" value="(\w+)"', desk.get("/athletes/davit").text)
    assert mark
    desk.post("/athletes/davit/week", data={"do": "accepted", "mark": mark[1]}, headers=token(desk))
    assert "another week would be proposed" not in desk.get("/athletes/davit").text
    demo.save_athlete(replace(demo.athlete("davit"), days_per_week=2))
    settled = desk.get("/athletes/davit").text
    assert "Settled" in settled
    assert "another week would be proposed" in settled
    mark = re.search(r'name="mark" value="(\w+)"', desk.get("/athletes/davit?live=true").text)
    assert mark
    again = {"do": "accepted", "mark": mark[1], "live": "yes"}
    assert desk.post("/athletes/davit/week", data=again, headers=token(desk)).status_code == 303
    assert "another week would be proposed" not in desk.get("/athletes/davit").text


def test_new_pain_brings_a_settled_athlete_back_to_the_top(desk: TestClient, demo: Any) -> None:
    mark = re.search(r'name="mark" value="(\w+)"', desk.get("/athletes/davit").text)
    assert mark
    desk.post("/athletes/davit/week", data={"do": "accepted", "mark": mark[1]}, headers=token(desk))
    assert demo.weeks("davit")[-1].standing == "accepted"
    demo.add_pain("davit", PainReport(demo.today(), "shoulder", 6.0, at_night=True))
    desk.app.state.desk.board.renew("davit")  # type: ignore[attr-defined]
    first = desk.get("/").text.split('class="line"')[1]
    assert "Davit Kellermoor" in first
    assert "Stop and refer" in first


def test_a_word_of_the_coach_is_kept_with_its_reason(desk: TestClient, demo: Any) -> None:
    said = {"about": "gate:G4", "choice": "met", "reason": "saw it in person"}
    assert desk.post("/athletes/bram/word", data=said, headers=token(desk)).status_code == 303
    assert demo.history("bram").coach[-1].reason == "saw it in person"
    without = desk.post("/athletes/bram/word", data=said | {"reason": " "}, headers=token(desk))
    assert without.status_code == 400
    assert "reason" in without.text


def test_films_are_served_in_ranges(desk: TestClient, demo: Any) -> None:
    sha = demo.films()[0].sha256
    answer = desk.get(f"/films/{sha}/video", headers={"Range": "bytes=0-99"})
    assert answer.status_code == 206
    assert len(answer.content) == 100
    assert desk.get(f"/films/{sha}/picture.jpg").content[:2] == b"\xff\xd8"


def test_a_film_without_consent_for_coaching_is_not_taken(desk: TestClient, demo: Any) -> None:
    known = len(demo.films())
    answer = desk.post(
        "/athletes/bram/films",
        data={"filmed": "2026-04-27T10:00"},
        files={"clip": ("clip.mp4", b"no film")},
        headers=token(desk),
    )
    assert answer.status_code == 400
    assert "coaching use" in answer.text
    assert len(demo.films()) == known


def test_a_file_that_is_no_film_is_refused_in_a_sentence(desk: TestClient, demo: Any) -> None:
    known = len(demo.films())
    answer = desk.post(
        "/athletes/bram/films",
        data={"filmed": "2026-04-27T10:00", "may_coach": "yes"},
        files={"clip": ("../../clip.mp4", b"pull-ups 5 x 5")},
        headers=token(desk),
    )
    assert answer.status_code == 400
    assert "Traceback" not in answer.text
    assert len(demo.films()) == known
    assert not list(demo.settings.records.glob("**/clip.mp4"))


def test_another_athletes_film_stands_beside_only_with_consent(desk: TestClient, demo: Any) -> None:
    mine = next(film for film in demo.films() if film.athlete_id == "davit")
    other = next(film for film in demo.films() if film.athlete_id != "davit" and not film.consent.show)
    assert desk.get(f"/films/{mine.sha256}?beside={other.sha256}").status_code == 403


def test_a_desk_with_a_token_shows_nothing_without_it(demo: Any) -> None:
    secret = "a token of a test only"
    with TestClient(
        desk_and_sheets(demo, access_token=secret), base_url=HERE, follow_redirects=False
    ) as client:
        assert client.get("/athletes/davit").headers["location"] == "/access"
        found = re.search(r'name="form_token" value="([^"]+)"', client.get("/access").text)
        assert found
        wrong = client.post("/access", data={"shown": "guess", "form_token": found[1]})
        assert wrong.status_code == 403
        right = client.post("/access", data={"shown": secret, "form_token": found[1]})
        assert right.status_code == 303
        assert client.get("/athletes/davit").status_code == 200


def test_a_film_that_cannot_be_measured_says_why_and_how_to_film_again(desk: TestClient, demo: Any) -> None:
    film = next(film for film in demo.films() if film.athlete_id == "davit")
    problem = Problem("cut_off", "The feet are out of the picture.")
    demo.save_reading(film.sha256, replace(demo.reading(film.sha256), usable=False, problems=(problem,)))
    page = desk.get(f"/films/{film.sha256}").text
    assert "The feet are out of the picture." in page
    assert HELP["cut_off"].say in page.replace("&#39;", "'")
    assert HELP["cut_off"].picture in page
    assert "Until then the plan goes by your log." in page
    assert "The feet are out of the picture." in desk.get("/films/queue").text


def test_an_athlete_whose_week_cannot_be_reckoned_stays_on_the_list(desk: TestClient, demo: Any) -> None:
    demo.save_athlete(replace(demo.athlete("davit"), method="no_such_method"))
    desk.app.state.desk.board.renew("davit")  # type: ignore[attr-defined]
    text = desk.get("/").text
    assert "Davit Kellermoor" in text


def test_consent_is_changed_on_the_films_page(desk: TestClient, demo: Any) -> None:
    film = demo.films()[0]
    given = {"may_coach": "yes", "may_show": "yes"}
    assert desk.post(f"/films/{film.sha256}/consent", data=given, headers=token(desk)).status_code == 303
    now = demo.film(film.sha256).consent
    assert (now.coach, now.keep, now.show, now.improve) == (True, False, True, False)


def test_a_deleted_film_leaves_no_picture_behind(desk: TestClient, demo: Any) -> None:
    film = demo.films()[0]
    pictures = desk.app.state.desk.pictures  # type: ignore[attr-defined]
    desk.get(f"/films/{film.sha256}/picture.jpg")
    assert [path for path in pictures.iterdir() if path.name.startswith(film.sha256)]
    assert not list(demo.settings.records.rglob("*.jpg"))
    unsure = desk.post(f"/films/{film.sha256}/delete", data={"numbers": "drop"}, headers=token(desk))
    assert unsure.status_code == 400
    desk.post(f"/films/{film.sha256}/delete", data={"numbers": "drop", "sure": "yes"}, headers=token(desk))
    assert demo.film(film.sha256).deleted_on == demo.today(film.athlete_id)
    assert not [path for path in pictures.iterdir() if path.name.startswith(film.sha256)]
    assert "deleted" in desk.get(f"/films/{film.sha256}").text


def test_the_agreed_sessions_come_as_a_calendar(desk: TestClient) -> None:
    answer = desk.get("/athletes/davit/sessions.ics")
    assert answer.headers["content-type"].startswith("text/calendar")
    # RFC 5545 section 3.4: a calendar object begins and ends so, with CRLF.
    assert answer.content.startswith(b"BEGIN:VCALENDAR\r\n")
    assert answer.content.endswith(b"END:VCALENDAR\r\n")


def test_the_body_models_answer_carries_its_band_and_its_caution(desk: TestClient) -> None:
    text = desk.get("/athletes/davit/body?swing=20&belt=5").text
    assert "80 %" in text
    assert "not a clearance to try" in text
    assert "Then: margin" in text


def test_the_forecast_is_a_range_per_item_with_what_it_assumes(desk: TestClient) -> None:
    text = desk.get("/athletes/bram/outlook").text
    assert "8 times in 10" in text
    assert "Assumes:" in text
    assert text.count('class="range decides"') == 1
    assert "not a promise" in text


def test_a_what_if_that_cannot_be_is_answered_with_a_sentence_and_the_usual_forecast(
    desk: TestClient,
) -> None:
    answer = desk.get("/athletes/bram/outlook?mass=900")
    assert answer.status_code == 422
    assert "body mass" in answer.text
    assert 'class="range decides"' in answer.text


def test_the_block_report_is_one_click_away(desk: TestClient) -> None:
    assert "/athletes/davit/report.pdf" in desk.get("/athletes/davit").text
    answer = desk.get("/athletes/davit/report.pdf")
    # ISO 32000-1 section 7.5.2: a PDF file begins with %PDF- and its version.
    assert answer.content.startswith(b"%PDF-")
    assert answer.headers["content-type"] == "application/pdf"


def test_tries_left_stand_where_tries_are_planned_and_fall_as_they_are_done(
    desk: TestClient, demo: Any
) -> None:
    on = demo.today("davit")
    assert "5 tries left today" in desk.get("/athletes/davit").text
    demo.add_attempt("davit", AttemptLog(on, 1, "failed"))
    assert "4 tries left today" in desk.get("/athletes/davit").text
    demo.add_pain("davit", PainReport(on, "inner elbow", 4.0))
    text = desk.get("/athletes/davit").text
    assert "Over for today: pain 4 of 10" in text


def test_the_next_light_week_and_tests_are_named(desk: TestClient) -> None:
    assert "Next light week from Mon 4 May" in desk.get("/athletes/davit").text


@pytest.mark.parametrize(
    "asked", ["swing=nan", "swing=inf", "swing=-90", "belt=nan", "mass=1e9", "later=9", "swing="]
)
def test_a_what_if_that_cannot_be_meant_is_answered_in_a_sentence(desk: TestClient, asked: str) -> None:
    answer = desk.get(f"/athletes/davit/body?{asked}", headers={"HX-Request": "true"})
    assert answer.status_code in (400, 422)
    assert 'role="alert"' in answer.text


def test_no_solve_is_asked_for_a_swing_that_is_none(desk: TestClient, demo: Any) -> None:
    before = demo.solves("davit")
    answer = desk.post("/athletes/davit/body/solve", data={"swing": "nan"}, headers=token(desk))
    assert answer.status_code == 400
    assert demo.solves("davit") == before


def test_a_point_on_a_frame_that_is_none_is_refused(desk: TestClient, demo: Any) -> None:
    sha = next(film.sha256 for film in demo.films() if demo.reading(film.sha256) is not None)
    answer = desk.post(
        f"/films/{sha}/corrections",
        content='{"frame": Infinity, "joint": "bar", "x": 1, "y": 1}',
        headers=token(desk) | {"Content-Type": "application/json"},
    )
    assert answer.status_code == 400


def test_a_word_of_the_coach_wants_a_choice(desk: TestClient, demo: Any) -> None:
    said = {"said": "rung", "reason": "x"}
    assert desk.post("/athletes/davit/word", data=said, headers=token(desk)).status_code == 400
    assert demo.history("davit").coach == ()
