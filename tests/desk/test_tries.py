"""Tries left and the next light week, in words."""

from __future__ import annotations

from datetime import date

from overbar.desk.tries import light_week_in_words, tries_box
from overbar.planning.light_week import LightWeek
from overbar.planning.tries_left import TriesLeft

MONDAY = date(2026, 4, 27)


def test_tries_left_today_and_this_week_are_told_with_the_next_day() -> None:
    box = tries_box(TriesLeft(5, 2, 10, 2, date(2026, 5, 1), "", ("End when …",)), MONDAY)
    assert box is not None
    assert box.today == "3 tries left today: 2 of 5 done. Next: Fri 1 May."
    assert box.week == "This week: 8 left, 2 of 10 done."


def test_a_stop_leaves_none_and_says_why() -> None:
    box = tries_box(TriesLeft(5, 2, 10, 2, None, "pain 4 of 10 was logged today", ()), MONDAY)
    assert box is not None
    assert box.today.startswith("0 tries left today")
    assert box.stop == "Over for today: pain 4 of 10 was logged today."


def test_without_tries_there_is_nothing_to_say() -> None:
    assert tries_box(None, MONDAY) is None


def test_the_light_week_says_what_it_assumes() -> None:
    said = light_week_in_words(LightWeek(date(2026, 5, 4), False, date(2026, 5, 11), "D-S"), MONDAY)
    assert said == (
        "Next light week from Mon 4 May, if every week until then is trained; next tests Mon 11 May."
    )
    assert light_week_in_words(LightWeek(None, False, None, ""), MONDAY) == ""
