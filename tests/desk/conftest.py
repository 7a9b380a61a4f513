"""An invented athlete with a proposed week, the demo's records, and a desk in a real browser."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from overbar.athlete.kit import Band, Bar, Kit, Load, Plate
from overbar.athlete.person import Athlete
from overbar.planning.verdict import (
    Evidence,
    FiredRule,
    GateItem,
    GateState,
    PlannedSession,
    PlannedSlot,
    Verdict,
    Week,
)

TODAY = date(2026, 3, 27)
FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def athlete() -> Athlete:
    kit = Kit(
        "belt",
        (Plate(10, 2), Plate(5), Plate(2.5, 2), Plate(1.25, 2)),
        bands=(Band("green", 22, 12),),
        bars=(Bar("rig", swing_allowed=True),),
    )
    return Athlete("wilma", "Wilma Tarn", "f", date(1991, 5, 1), 1.70, 64.5, date(2025, 12, 1), kit=kit)


@pytest.fixture(scope="session")
def week() -> Week:
    on = date(2026, 3, 25)
    rule = FiredRule(
        "L-UP1",
        "Five reps with one in reserve: 1.25 kg more.",
        (Evidence("set", on, "+12.5 kg × 5, 1 left"), Evidence("film", on, "peak +0.14 ± 0.02 L", "ab" * 32)),
        "own judgement",
        "A step that small holds the reps.",
    )
    items = (
        GateItem("deep dips", "deep_dips", True, True, 6, None, 5, "reps", None, ""),
        GateItem("skin whole", "skin", True, None, None, None, None, "yes/no", None, ""),
        GateItem("swing high pull", "swing_high_L", True, False, 0.14, 0.02, 0.18, "L", 0.04, "3 cm short"),
        GateItem("pull start in time", "pull_window", False, False, 2, None, 3, "reps", 1, "1 short"),
    )
    verdict = Verdict(
        athlete_id="wilma",
        on=TODAY,
        week_starts=date(2026, 3, 30),
        rung="S3",
        rung_name="Height and transition",
        decision="add_load",
        headline="Add 1.25 kg to the top set.",
        urgent=1,
        rules=(rule,),
        gate=GateState("G4", "Attempt gate", "S3", "S4", False, items),
        strength=None,
    )
    heavy = PlannedSlot(
        "weighted_pull_up",
        "Weighted pull-up",
        1,
        3,
        5,
        Load(13.75, ("10 kg", "2.5 kg", "1.25 kg")),
        rest_s=180,
        reps_left=1,
    )
    hold = PlannedSlot("dead_hang", "Dead hang", 3, 0, 0, Load(0.0), seconds=20, rest_s=60)
    session = PlannedSession("A", date(2026, 3, 30), "Heavy", (heavy, hold), ("Stop at 5 of 10.",))
    return Week(verdict, (session,))


@pytest.fixture(scope="session")
def ladder() -> Any:
    from overbar.ladder import load_ladder

    return load_ladder()


@pytest.fixture(scope="session")
def reading() -> Any:
    """Return a made-up reading of an early pull: 60 frames, a bar at (640, 200), hang length 160 px."""
    from overbar.film import reading as r

    names = (
        "left_shoulder",
        "right_shoulder",
        "left_elbow",
        "left_wrist",
        "left_hip",
        "left_knee",
        "left_ankle",
    )
    below = (160.0, 160.0, 80.0, 10.0, 330.0, 450.0, 560.0)
    t = tuple(i / 30 for i in range(60))
    rise = [max(0.0, 1 - abs(at - 1.2) / 0.6) * 180 for at in t]
    height = tuple(up / 160 - 1 for up in rise)
    joints = r.Joints(
        names,
        t,
        tuple(tuple(640.0 for _ in names) for _ in t),
        tuple(tuple(200 + b - up * (b > 20) for b in below) for up in rise),
        tuple(tuple(4.0 for _ in names) for _ in t),
    )
    phase = tuple("hang" if at < 0.6 else "pull" if at < 1.2 else "descent" for at in t)
    nil = tuple(0.0 for _ in t)
    curves = r.Curves(
        t, height, tuple(0.02 for _ in t), tuple(h + 0.19 for h in height), nil, nil, nil, phase
    )
    measures = {"peak_shoulder_L": r.Measured(0.125, 0.02), "pull_after_front_s": r.Measured(-0.15, 0.03)}
    early = ("F06", "Early pull", 0.6, "pull_after_front_s", -0.15, 0.03, -0.07, 0.997, 1)
    low = ("F04", "Low pull", 1.2, "peak_shoulder_L", 0.125, 0.02, 0.18, 0.93, 2)
    return r.Reading(
        film=r.Film("early.mp4", "0" * 64, 1280, 720, 60, 2.0, False, 0),
        stature_m=1.70,
        mass_kg=64.5,
        view=r.View("side", "right"),
        usable=True,
        problems=(),
        bar=r.BarPoint(640.0, 200.0, 2.0),
        hang_length=r.HangLength(160.0, 0.62, 0.015),
        swing=r.Swing(r.Measured(2.2, 0.03), r.Measured(0.8, 0.03)),
        events=(r.Event("peak", 1.2, 0.02), r.Event("pull_start", 0.6, 0.02)),
        reps=(),
        attempts=(r.Attempt(0.0, 1.9, "failed", "swing", measures),),
        faults=(r.FoundFault(*early), r.FoundFault(*low)),
        main_fault="F06",
        cue="Wait until you float in front, then pull.",
        drill="count_and_pull",
        next_week="",
        limit="technique",
        margins="",
        joints=joints,
        curves=curves,
    )


def chromium() -> str:
    """Return the browser the tests drive, or fail with what to do."""
    named = os.environ.get("OVERBAR_CHROMIUM", "")
    for name in (
        named,
        "chromium",
        "chromium-browser",
        "google-chrome",
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
    ):
        found = shutil.which(name) if name else None
        if found:
            return found
    pytest.fail(
        "The browser tests need Chromium: run 'make browser', or set OVERBAR_CHROMIUM to one that is here."
    )


@dataclass(frozen=True)
class Served:
    """A desk that answers, with the records behind it."""

    url: str
    records: Any


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the demo's records once."""
    from overbar.demo import build_demo

    folder = tmp_path_factory.mktemp("demo") / "records"
    build_demo(folder)
    return folder


@pytest.fixture
def demo(demo_folder: Path, tmp_path: Path) -> Iterator[Any]:
    """Return the demo's records, fresh for each test."""
    from overbar.records import open_records
    from overbar.settings import read_settings

    folder = tmp_path / "records"
    shutil.copytree(demo_folder, folder)
    records = open_records(read_settings(folder))
    yield records
    records.close()


@pytest.fixture
def served(demo: Any) -> Iterator[Served]:
    """Serve the demo on a free port of this machine."""
    import uvicorn

    from overbar.cli.serve import desk_and_sheets

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(
            desk_and_sheets(demo), host="127.0.0.1", port=port, log_level="error", timeout_graceful_shutdown=1
        )
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    for _ in range(200):
        if server.started:
            break
        time.sleep(0.05)
    yield Served(f"http://127.0.0.1:{port}", demo)
    server.should_exit = True
    thread.join(timeout=10)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Return a real Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """Return a page of a desktop's size; anything a page complains of fails the test.

    The browser notes a refused change (400, 422) as a complaint too; that is the page's own answer.
    """
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    made = context.new_page()
    made.set_default_timeout(15_000)
    wrong: list[str] = []
    made.on("pageerror", lambda error: wrong.append(str(error)))
    made.on(
        "console",
        lambda said: (
            wrong.append(said.text)
            if said.type == "error" and not any(code in said.text for code in ("400", "422"))
            else None
        ),
    )
    made.wrong = wrong
    yield made
    context.close()
    assert not wrong, wrong


@pytest.fixture
def until(page: Any) -> Any:
    """Return a wait for something to be true on the page.

    The desk's content policy forbids evaluating text, and with it the browser
    driver's own waiting.
    """

    def wait(expression: str, seconds: float = 15.0) -> None:
        for _ in range(int(seconds / 0.05)):
            if page.evaluate(expression):
                return
            page.wait_for_timeout(50)
        pytest.fail(f"after {seconds} s not true: {expression}")

    return wait
