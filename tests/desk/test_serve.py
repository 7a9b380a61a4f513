"""`overbar serve` opens the desk on this machine, and not to others without a token."""

import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import pytest

from overbar.desk.app import PASSING, clear_left_stills


def command(*more: str) -> list[str]:
    return [sys.executable, "-c", "from overbar.cli import main; main()", "serve", *more]


def test_serve_opens_the_desk_and_stops_on_request(demo_folder: Path, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    running = subprocess.Popen(
        command("--records", str(demo_folder), "--port", str(port)),
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    try:
        page = ""
        for _ in range(300):
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
                    page = answer.read().decode()
                    policy = answer.headers["Content-Security-Policy"]
                break
            except OSError:
                time.sleep(0.1)
        assert "Who needs you today" in page
        assert "script-src 'self'" in policy
    finally:
        os.killpg(running.pid, signal.SIGINT)
        assert running.wait(timeout=20) is not None


@pytest.mark.parametrize("more", [("--host", "0.0.0.0"), ("--host", "0.0.0.0", "--access-token", "short")])
def test_serve_refuses_to_be_open_to_others(tmp_path: Path, more: tuple[str, ...]) -> None:
    environment = {key: value for key, value in os.environ.items() if key != "OVERBAR_ACCESS_TOKEN"}
    done = subprocess.run(
        command("--records", str(tmp_path), *more),
        capture_output=True,
        text=True,
        env=environment,
        timeout=60,
    )
    assert done.returncode == 2
    assert "access" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(os.name != "posix", reason="only there a process can be asked after")
def test_pictures_left_by_a_killed_desk_are_erased_and_those_of_a_running_one_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    left = tmp_path / f"{PASSING}{gone.pid}-abc"
    used = tmp_path / f"{PASSING}{os.getpid()}-abc"
    for folder in (left, used):
        (folder / "pictures").mkdir(parents=True)
    clear_left_stills()
    assert not left.exists()
    assert used.exists()
