"""Days as people write them."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overbar.records.days import day_order, in_words, read_day

TODAY = date(2026, 4, 27)


@pytest.mark.parametrize(
    ("text", "on"),
    [
        ("2026-01-05", date(2026, 1, 5)),
        ("2026-01-05T18:05:00+02:00", date(2026, 1, 5)),
        ("5.1.2026", date(2026, 1, 5)),
        ("5.1.", date(2026, 1, 5)),
        ("13/2/2026", date(2026, 2, 13)),
        ("2/13/26", date(2026, 2, 13)),
        ("Mon 5 Jan", date(2026, 1, 5)),
        ("Sunday, 26 April", date(2026, 4, 26)),
        ("January 5th, 2026", date(2026, 1, 5)),
        ("Monday", date(2026, 4, 27)),
        ("tue", date(2026, 4, 21)),
        ("yesterday", date(2026, 4, 26)),
    ],
)
def test_a_day_is_read_in_the_forms_people_use(text: str, on: date) -> None:
    day = read_day(text, TODAY)
    assert day is not None
    assert (day.on, day.length) == (on, len(text))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("3/5", "could be 3 May or 5 March"),
        ("31.2.2026", "no day of the calendar"),
        ("2027-01-01", "lies ahead"),
        ("3 May", "write the year"),
        ("1/1/1901", "twenty years"),
    ],
)
def test_a_day_that_can_be_misread_is_not_guessed(text: str, why: str) -> None:
    day = read_day(text, TODAY)
    assert day is not None
    assert day.on is None
    assert why in day.why


@pytest.mark.parametrize("text", ["5 x 5", "5 5 5", "5/5/5", "pull-ups", "Jan 5 x 3", "monkey bars", ""])
def test_sets_and_words_are_not_taken_for_days(text: str) -> None:
    assert read_day(text, TODAY) is None


def test_a_whole_column_tells_the_order_of_day_and_month() -> None:
    assert day_order(["03/05/2026", "13/04/2026"]) is True
    assert day_order(["03/05/2026", "04/13/2026"]) is False
    assert day_order(["03/05/2026"]) is None
    assert day_order(["13/04/2026", "04/13/2026"]) is None


@given(st.dates(date(2007, 1, 1), TODAY))
def test_what_is_written_in_words_is_read_back_the_same(on: date) -> None:
    day = read_day(in_words(on), TODAY)
    assert day is not None
    assert day.on == on
