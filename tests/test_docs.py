"""The documents are checked against the program, so that neither drifts."""

import re
from pathlib import Path

import pytest

from overbar.cli import PANELS
from overbar.ladder import load_ladder

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("command", [command for commands in PANELS.values() for command in commands])
def test_the_readme_says_what_every_command_does(command: str) -> None:
    assert re.search(rf"`(overbar )?{command}[ `]", README)


def test_the_readme_starts_with_the_job_in_one_paragraph() -> None:
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# Overbar"
    assert "muscle-up" in paragraph
    assert "coach" in paragraph


def test_every_rule_gate_and_fault_stands_in_the_ladder_page() -> None:
    ladder = load_ladder("bar_muscle_up")
    page = (ROOT / "docs" / "ladder.md").read_text(encoding="utf-8")
    for entry in (*ladder.rules, *ladder.gates, *ladder.faults):
        assert re.search(rf"(?<![\w-]){re.escape(entry)}(?![\w-])", page), f"{entry} is not in docs/ladder.md"


@pytest.mark.parametrize(
    "page", [Path("README.md"), Path("CONTRIBUTING.md"), *sorted((ROOT / "docs").glob("*.md"))]
)
def test_links_and_pictures_lead_somewhere(page: Path) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        if not target.startswith("http"):
            assert (ROOT / page).parent.joinpath(target).exists(), f"{page} points to {target}"
