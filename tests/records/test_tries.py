"""Tries of all athletes move the body model's thresholds, and the outcome is kept."""

from datetime import date, timedelta

from overbar.mechanics.margins import Offset
from overbar.planning.history import AttemptLog
from overbar.records import Records
from overbar.records.tries import learn_from_tries
from overbar.strength.sets import LoggedSet


def test_no_tries_leave_the_thresholds_as_they_are(records: Records) -> None:
    learnt = learn_from_tries(records)
    assert (learnt.mean, learnt.attempts) == (0.0, 0)


def test_a_first_success_of_a_weak_athlete_moves_them_down_and_is_kept(records: Records) -> None:
    on = records.today("tove") - timedelta(days=3)
    records.add_sets("tove", [_pull_ups(on - timedelta(days=7)), _pull_ups(on - timedelta(days=2))], "test")
    records.add_attempt("tove", AttemptLog(on, 1, "failed"))
    records.add_attempt("tove", AttemptLog(on, 2, "valid"))
    learnt = learn_from_tries(records)
    assert learnt.mean < -0.02
    assert (learnt.attempts, learnt.over, learnt.athletes) == (2, 1, 1)
    kept = records.body_offset()
    assert kept is not None
    assert Offset(**kept) == learnt
    assert "2 logged attempts of 1 athlete, 1 over the bar" in learnt.say()


def _pull_ups(on: date) -> LoggedSet:
    return LoggedSet(on, "strict_pull_up", 70.0, 0.0, 8, 1)
