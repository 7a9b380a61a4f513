"""The desk answers its own pages only, and asks for a token when others can reach it."""

from pathlib import Path

import pytest
from fastapi import Depends, FastAPI, Request
from fastapi.testclient import TestClient

from overbar.desk.guard import HEADERS, Guard, desk_key, guarded_host
from overbar.errors import BadInput


def small_desk(guard: Guard) -> TestClient:
    app = FastAPI()

    async def checks(request: Request) -> None:
        guard.check_host(request)
        guard.check_same_origin(request)
        await guard.check_form_token(request)

    @app.post("/change", dependencies=[Depends(checks)])
    def change() -> str:
        return "done"

    return TestClient(app, base_url="http://127.0.0.1:8765")


@pytest.fixture
def guard() -> Guard:
    return Guard("a key of a test")


def test_a_change_from_the_desks_own_page_is_taken(guard: Guard) -> None:
    headers = {
        "X-Form-Token": guard.form_token,
        "Origin": "http://127.0.0.1:8765",
        "Sec-Fetch-Site": "same-origin",
    }
    assert small_desk(guard).post("/change", headers=headers).status_code == 200
    assert small_desk(guard).post("/change", data={"form_token": guard.form_token}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
    ],
)
def test_a_change_from_another_sites_page_is_refused(guard: Guard, headers: dict[str, str]) -> None:
    answer = small_desk(guard).post("/change", headers={"X-Form-Token": guard.form_token, **headers})
    assert answer.status_code == 403


def test_a_change_without_the_form_token_is_refused(guard: Guard) -> None:
    assert small_desk(guard).post("/change").status_code == 403
    assert small_desk(guard).post("/change", data={"form_token": guard.form_token + "x"}).status_code == 403


def test_a_foreign_name_that_leads_here_is_refused(guard: Guard) -> None:
    headers = {"X-Form-Token": guard.form_token, "Host": "elsewhere.example"}
    assert small_desk(guard).post("/change", headers=headers).status_code == 400


def test_a_desk_that_others_can_reach_wants_a_good_token() -> None:
    with pytest.raises(BadInput, match="access-token"):
        guarded_host("0.0.0.0", None)
    with pytest.raises(BadInput, match="too easy"):
        guarded_host("0.0.0.0", "short")
    assert guarded_host("127.0.0.1", None) == guarded_host("localhost", None)
    assert "*" in guarded_host("0.0.0.0", "sixteen letters or more")


def test_the_policy_lets_only_the_desks_own_scripts_run() -> None:
    policy = HEADERS["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_the_desks_key_is_made_once_and_kept_private(tmp_path: Path) -> None:
    key = desk_key(tmp_path / "records")
    assert len(key) >= 32
    assert desk_key(tmp_path / "records") == key
    assert (tmp_path / "records" / "desk.key").stat().st_mode & 0o077 == 0
