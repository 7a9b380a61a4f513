"""An athlete's link opens that athlete's sheet and nothing else."""

import pytest

from overbar.errors import NotFound
from overbar.sheet.link import Links


def test_a_link_leads_back_to_its_athlete() -> None:
    links = Links("a key")
    path = links.address("wilma")
    assert links.athlete_id(path.removeprefix("/sheet/")) == "wilma"
    assert links.address("wilma") == path


def test_a_guessed_or_foreign_link_leads_nowhere() -> None:
    link = Links("a key").address("wilma").removeprefix("/sheet/")
    for wrong in (
        "wilma",
        link[:-1],
        link[:-1] + ("A" if link[-1] != "A" else "B"),
        Links("another").address("wilma"),
    ):
        with pytest.raises(NotFound):
            Links("a key").athlete_id(wrong)
