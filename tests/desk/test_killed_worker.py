"""A film's analysis that is killed starts again by itself, and the pages answer all the while."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import overbar.demo
from overbar.records import FilmConsent, open_records
from overbar.settings import read_settings

FILM = Path(overbar.demo.__file__).parent / "films" / "good_side_gym.mp4"

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are told apart by POSIX signals")


def wait_for(what: Callable[[], Any], seconds: float = 90.0) -> Any:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.1)
    pytest.fail(f"not within {seconds} s")


@pytest.fixture
def folder(demo_folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_folder, tmp_path / "records"))


def serve(folder: Path) -> tuple[subprocess.Popen[bytes], str]:
    """Start the desk as a coach does, in a process group of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "from overbar.cli import main; main()", "serve"]
    running = subprocess.Popen(
        [*command, "--records", str(folder), "--port", str(port)],
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    return running, f"http://127.0.0.1:{port}"


def workers_of(group: int) -> list[str]:
    """Return the worker processes of a process group."""
    listed = subprocess.run(
        ["ps", "-eww", "-o", "pgid=", "-o", "args="], capture_output=True, text=True, check=True
    )
    return [
        line for line in listed.stdout.splitlines() if line.split()[0] == str(group) and "spawn_main" in line
    ]


def test_a_killed_analysis_starts_again_by_itself_and_the_pages_answer_meanwhile(
    folder: Path, tmp_path: Path
) -> None:
    records = open_records(read_settings(folder))
    phone = tmp_path / "phone.mp4"
    phone.write_bytes(FILM.read_bytes() + b"\0\0\0\x08free")
    film = records.add_film("davit", phone, records.now(), consent=FilmConsent(coach=True))
    records.enqueue_reading(film.sha256)
    running, address = serve(folder)

    def page() -> str:
        with urllib.request.urlopen(f"{address}/films/{film.sha256}", timeout=10) as answer:
            return str(answer.read().decode())

    try:
        first = wait_for(lambda: next((one for one in records.underway() if one.share > 0), None))
        assert first.tries == 1
        assert "Being read" in page()
        worker = int(first.worker.split(":")[1])
        os.kill(worker, signal.SIGKILL)
        again = wait_for(lambda: next((one for one in records.underway() if one.tries == 2), None), 30)
        assert int(again.worker.split(":")[1]) != worker
        wait_for(lambda: records.film(film.sha256).status == "read")
        assert records.reading(film.sha256) is not None
        assert "Joints" in page()
    finally:
        os.killpg(running.pid, signal.SIGINT)
        running.wait(timeout=30)
        records.close()


def test_the_worker_ends_with_the_desk_even_when_that_is_killed(folder: Path) -> None:
    running, _ = serve(folder)
    try:
        wait_for(lambda: workers_of(running.pid), 60)
        running.kill()
        running.wait(timeout=10)
        wait_for(lambda: not workers_of(running.pid), 30)
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, signal.SIGKILL)
