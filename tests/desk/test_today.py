"""The day: pain before all else, then what waits for a decision, the fine ones out of the way."""

from dataclasses import replace
from datetime import date

from overbar.athlete.person import Athlete
from overbar.desk.today import day_line, the_day
from overbar.planning.verdict import Evidence, FiredRule, Week

TODAY = date(2026, 3, 27)


def urgent(week: Week, level: int, headline: str = "", seen: date = TODAY) -> Week:
    rule = FiredRule("X", headline, (Evidence("pain", seen, headline),), "own judgement", "")
    return replace(week, verdict=replace(week.verdict, urgent=level, headline=headline, rules=(rule,)))


def test_pain_and_warning_signs_come_before_everything(athlete: Athlete, week: Week) -> None:
    lines = [
        day_line(athlete, urgent(week, 1, "add load"), "", TODAY),
        day_line(athlete, urgent(week, 2, "no log for 8 days"), "", TODAY),
        day_line(athlete, urgent(week, 3, "inner elbow 5 of 10"), "", TODAY),
        day_line(athlete, urgent(week, 1, "hold"), "accepted", TODAY),
    ]
    day = the_day(lines, TODAY)
    assert [heap.id for heap in day.pressing] == ["stop", "talk", "decide"]
    assert day.sentence == "1 to stop and refer, 1 to talk to, 1 week to decide; 1 fine."
    assert [line.reason for line in day.fine] == ["Hold"]


def test_within_a_heap_the_oldest_waits_first(athlete: Athlete, week: Week) -> None:
    older = day_line(athlete, urgent(week, 3, "older", date(2026, 3, 20)), "", TODAY)
    newer = day_line(athlete, urgent(week, 3, "newer", date(2026, 3, 26)), "", TODAY)
    assert [line.reason for line in the_day([newer, older], TODAY).pressing[0].lines] == ["Older", "Newer"]
    assert older.since == "7 days ago"


def test_a_settled_week_still_stands_under_pain(athlete: Athlete, week: Week) -> None:
    line = day_line(athlete, urgent(week, 3, "night pain"), "changed", TODAY)
    assert line.level == "stop"
    assert line.standing == "changed by you"


def test_a_referral_is_the_reason_that_is_shown(athlete: Athlete, week: Week) -> None:
    referred = urgent(week, 3, "elbow")
    referred = replace(
        referred, verdict=replace(referred.verdict, referral="See a physiotherapist within days.")
    )
    assert day_line(athlete, referred, "", TODAY).reason == "See a physiotherapist within days."


def test_the_next_week_is_due_from_the_friday_before_it(athlete: Athlete, week: Week) -> None:
    tuesday, friday = date(2026, 3, 24), date(2026, 3, 27)
    assert week.verdict.week_starts == date(2026, 3, 30)
    assert day_line(athlete, week, "", tuesday, running=True).level == "fine"
    assert day_line(athlete, week, "", friday, running=True).level == "decide"
    assert day_line(athlete, week, "", tuesday, running=False).level == "decide"


def test_an_empty_day_says_so() -> None:
    assert the_day([], TODAY).sentence == "No athlete in the records yet."
