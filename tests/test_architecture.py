"""The shape of the program: one direction of imports, a pure core, honest set-up files."""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "overbar"
PURE = ("athlete", "ladder", "strength", "mechanics", "film", "planning")


def test_imports_point_only_down_the_map() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("room", PURE)
def test_the_pure_core_reads_no_clock(room: str) -> None:
    clocks = {"now", "utcnow", "today", "time", "perf_counter", "monotonic"}
    for path in sorted((SOURCE / room).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                owner = node.func.value
                name = owner.id if isinstance(owner, ast.Name) else getattr(owner, "attr", "")
                reads = node.func.attr in clocks and name in ("datetime", "date", "time")
                assert not reads, f"{path.name}:{node.lineno} reads the clock"


@pytest.mark.parametrize("room", [*PURE, "records", "desk", "cli"])
def test_every_room_says_what_it_is_for(room: str) -> None:
    text = ast.get_docstring(ast.parse((SOURCE / room / "__init__.py").read_text(encoding="utf-8")))
    assert text
    assert len(text.splitlines()) >= 3


def test_the_lock_pins_by_hash_and_names_no_registry() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    pins = [line for line in lock.splitlines() if re.match(r"^[A-Za-z0-9]", line)]
    assert len(pins) > 50
    assert all("==" in line and line.rstrip().endswith("\\") for line in pins)
    assert not re.search(r"https?://|--index-url|--find-links", lock)


def test_help_names_every_command_of_the_design() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "overbar", "--help"],
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "120"},
    )
    assert done.returncode == 0, done.stderr
    commands = (
        "demo serve film strength week body forecast dry-run report calendar "
        "take-in backup restore hand-over forget"
    )
    for command in commands.split():
        assert command in done.stdout
