"""Tries left today and this week, and what ends them before their number."""

from datetime import timedelta

from tests.planning.people import MONDAY, athlete, history, ready_for_tries, strong, week_of_sets

from overbar.athlete.kit import Load
from overbar.ladder import load_ladder
from overbar.planning import decide
from overbar.planning.history import AttemptLog, PainReport
from overbar.planning.tries_left import tries_left
from overbar.planning.verdict import PlannedSession, PlannedSlot, Week

LADDER = load_ladder()
FRIDAY = MONDAY + timedelta(days=4)


def planned():
    """Five tries on Monday and five on Friday."""
    before = MONDAY - timedelta(days=1)
    verdict = decide(
        history(
            sets=week_of_sets(MONDAY - timedelta(weeks=1), [[5, 5]] * 3),
            measurements=ready_for_tries(before),
        ),
        LADDER,
        before,
        strong(before, 1.4),
    ).verdict
    tries = PlannedSlot("muscle_up", "Muscle-up", 5, 1, 1, Load(0.0))
    stop = LADDER.cautions["five_tries"].say
    days = (("A", MONDAY), ("C", FRIDAY))
    return Week(verdict, tuple(PlannedSession(label, on, "", (tries,), (stop,)) for label, on in days))


def attempt(n, on=MONDAY, outcome="failed", **more):
    return AttemptLog(on, n, outcome, **more)


def left(*attempts, on=MONDAY, **rows):
    return tries_left(history(athlete(), attempts=attempts, **rows), LADDER, planned(), on)


def test_done_tries_are_taken_off_today_and_the_week():
    # handbook trade.md 2.5 ATT-1: at most 5 a session, 2 sessions a week
    found = left(attempt(1), attempt(2))
    assert (found.left_today, found.left_week) == (3, 8)
    assert found.next_on == FRIDAY


def test_more_tries_than_planned_leave_none_never_fewer():
    found = left(*(attempt(n) for n in range(1, 8)))
    assert found.left_today == 0


def test_a_day_without_planned_tries_has_none_left_today():
    found = left(on=MONDAY + timedelta(days=2))
    assert (found.left_today, found.left_week) == (0, 10)


def test_tries_of_the_week_before_do_not_count():
    assert left(attempt(1, MONDAY - timedelta(days=3))).done_week == 0


def test_two_in_a_row_clearly_lower_end_the_day():
    # handbook trade.md 2.5 ATT-STOP: two in a row peak 0.05 L under the best of the day
    found = left(attempt(1, peak_L=0.20), attempt(2, peak_L=0.14), attempt(3, peak_L=0.13))
    assert found.stop
    assert found.left_today == 0


def test_one_arm_first_twice_ends_the_day():
    found = left(*(attempt(n, outcome="over_not_clean", elbow_gap_s=0.2) for n in (1, 2)))
    assert "one arm" in found.stop


def test_pain_of_today_ends_the_tries():
    assert "pain 4" in left(pain=(PainReport(MONDAY, "inner elbow", 4),)).stop
    assert not left(pain=(PainReport(MONDAY, "inner elbow", 1),)).stop


def test_the_ladders_stop_lines_stand_beside_the_numbers():
    assert any("two in a row" in say for say in left().stop_lines)


def test_a_skill_without_tries_has_none():
    ladder = load_ladder("front_lever")
    assert tries_left(history(athlete(skill="front_lever")), ladder, planned(), MONDAY) is None
