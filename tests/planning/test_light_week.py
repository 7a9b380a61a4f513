"""The next light week and the next test day, by the ladder's own rules."""

from datetime import timedelta

from tests.planning.people import MONDAY, SUNDAY, athlete, history, sessions, strong, week_of_sets

from overbar.ladder import load_ladder
from overbar.planning import decide
from overbar.planning.history import PastWeek
from overbar.planning.light_week import next_light_week

LADDER = load_ladder()


def trained(count, who=None, **rows):
    """So many trained weeks up to Sunday."""
    mondays = [MONDAY - timedelta(weeks=back) for back in range(count)]
    done = tuple(one for monday in mondays for one in week_of_sets(monday, [[5, 5, 5]] * 3, left=2))
    kept = tuple(one for monday in mondays for one in sessions(monday))
    return history(who, **({"sets": done, "sessions": kept} | rows))


def look(past):
    points = strong(SUNDAY, 1.28)
    week = decide(past, LADDER, SUNDAY, points)
    return week, next_light_week(past, LADDER, SUNDAY, week, points)


def test_it_is_due_after_five_loading_weeks():
    # handbook trade.md 2.5 D-S: after 5 loading weeks, 4 from 40 years
    week, light = look(trained(2))
    assert light.starts == week.verdict.week_starts + timedelta(weeks=3)
    assert not light.this_one
    assert light.rule == "D-S"


def test_from_forty_it_comes_a_week_sooner():
    older = athlete(born=athlete().born.replace(year=1980))
    younger = look(trained(2))[1]
    assert look(trained(2, older))[1].starts == younger.starts - timedelta(weeks=1)


def test_when_it_is_now_it_is_the_week_planned_and_tests_follow():
    week, light = look(trained(5))
    assert week.deload
    assert light.this_one
    assert light.starts == week.verdict.week_starts
    assert week.verdict.week_starts + timedelta(weeks=1) <= light.tests_on
    assert light.tests_on < week.verdict.week_starts + timedelta(weeks=2)


def test_after_a_light_week_the_first_session_is_the_test_day():
    past = trained(3, weeks=(PastWeek(MONDAY, "S2", "deload", deload=True),))
    week, light = look(past)
    assert any(rule.id == "D-TEST" for rule in week.verdict.rules)
    assert light.tests_on == week.sessions[0].on
