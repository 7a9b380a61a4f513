"""Filming help: every problem the film room can name has one sentence and one picture of its own."""

from __future__ import annotations

import ast
from pathlib import Path
from xml.etree import ElementTree

import pytest

import overbar.desk
import overbar.film
from overbar.desk.filming import HELP, SAID_ONLY, USUAL, help_for

STATIC = Path(overbar.desk.__file__).parent / "static"
ROOMS = (Path(overbar.film.__file__).parent, Path(overbar.film.__file__).parents[1] / "records")


def named_problems() -> set[str]:
    """Return every problem id that the film room or the film store writes."""
    found = set()
    for room in ROOMS:
        for path in room.glob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("UnusableFilm", "Problem"):
                    first = node.args[0] if node.args else None
                    if isinstance(first, ast.Constant) and isinstance(first.value, str):
                        found.add(first.value)
    return found


def test_every_problem_has_its_help() -> None:
    named = named_problems()
    assert {"cut_off", "no_person", "not_a_film", "oblique", "two_people"} <= named
    assert named - SAID_ONLY <= set(HELP)
    assert not SAID_ONLY & set(HELP)


@pytest.mark.parametrize("one", sorted({*HELP.values(), USUAL}, key=lambda one: one.picture))
def test_it_is_one_sentence_and_a_picture_that_is_there(one: object) -> None:
    assert isinstance(one, type(USUAL))
    assert one.say.endswith(".")
    assert one.say.count(". ") == 0
    root = ElementTree.parse(STATIC / one.picture).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert one.seen


def test_different_troubles_are_shown_by_different_pictures() -> None:
    asked = ("no_person", "cut_off", "dark", "no_bar_hang", "camera_moves", "oblique", "two_people")
    assert len({HELP[problem].picture for problem in asked}) == len(asked)


def test_no_picture_lies_unused() -> None:
    drawn = {f"filming/{path.name}" for path in (STATIC / "filming").glob("*.svg")}
    assert drawn == {one.picture for one in (*HELP.values(), USUAL)}


def test_the_first_known_problem_counts_else_how_to_film_in_general() -> None:
    assert help_for(["something new", "cut_off"]) == HELP["cut_off"]
    assert help_for([]) == USUAL
