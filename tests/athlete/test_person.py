"""Age is counted in full years."""

from datetime import date

from overbar.athlete.person import Athlete


def test_a_birthday_counts_on_its_day() -> None:
    athlete = Athlete("a", "A", "f", date(1990, 6, 15), 1.66, 61, date(2026, 1, 5))
    assert athlete.age_on(date(2026, 6, 14)) == 35
    assert athlete.age_on(date(2026, 6, 15)) == 36
