"""Logged facts: kept once each, however often they arrive."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.records.conftest import someone

from overbar.errors import BadInput, NotFound
from overbar.planning.history import AttemptLog, BodyNote, Measurement, PainReport, SessionLog
from overbar.records import Records
from overbar.strength.sets import LoggedSet

DAY = date(2026, 4, 20)


def fives(count: int) -> list[LoggedSet]:
    return [LoggedSet(DAY, "strict_pull_up", 64.0, 0.0, 5, order=n) for n in range(count)]


def test_five_equal_sets_are_five_sets_and_come_twice_only_once(records: Records) -> None:
    assert records.add_sets("tove", fives(5), "message") == 5
    assert records.add_sets("tove", fives(5), "the same message") == 0
    assert len(records.history("tove").sets) == 5


def test_a_longer_log_of_the_same_day_adds_only_what_it_has_more(records: Records) -> None:
    records.add_sets("tove", fives(3), "at noon")
    assert records.add_sets("tove", fives(5), "in the evening") == 2


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.builds(
            LoggedSet,
            on=st.dates(date(2026, 1, 5), date(2026, 2, 1)),
            exercise=st.sampled_from(["strict_pull_up", "straight_bar_dip"]),
            body_mass_kg=st.just(64.0),
            added_kg=st.sampled_from([0.0, 2.5, -7.5]),
            reps=st.integers(0, 8),
            reps_left=st.sampled_from([None, 1.0, 2.5]),
            order=st.integers(0, 9),
        ),
        max_size=25,
    ),
    st.randoms(),
)
def test_whatever_the_order_the_same_log_twice_adds_nothing(
    records: Records, sets: list[LoggedSet], chance: object
) -> None:
    records.add_sets("tove", sets, "first")
    before = records.history("tove").sets
    chance.shuffle(sets)  # type: ignore[attr-defined]
    assert records.add_sets("tove", sets, "again") == 0
    assert records.history("tove").sets == before


def test_a_set_comes_back_as_it_was(records: Records) -> None:
    one = LoggedSet(
        DAY, "weighted_pull_up", 64.2, 5.5, 5, 1.0, 0.52, "film", True, "A", 0, 3.0, "last one ugly"
    )
    records.add_sets("tove", [one], "x")
    assert records.history("tove").sets == (one,)


def test_a_later_word_on_the_same_day_fills_in(records: Records) -> None:
    assert records.add_pain("tove", PainReport(DAY, "inner elbow", 3.0, side="right"))
    assert records.add_pain("tove", PainReport(DAY, "inner elbow", 3.0, 2.0, side="right"))
    assert not records.add_pain("tove", PainReport(DAY, "inner elbow", 3.0, 2.0, side="right"))
    assert records.history("tove").pain == (PainReport(DAY, "inner elbow", 3.0, 2.0, side="right"),)
    records.add_body("tove", BodyNote(DAY, body_mass_kg=64.2))
    records.add_body("tove", BodyNote(DAY, sleep_h=7.0))
    assert records.history("tove").body == (BodyNote(DAY, 64.2, 7.0),)


def test_a_pain_that_turned_out_calm_is_corrected_to_zero(records: Records) -> None:
    records.add_pain("tove", PainReport(DAY, "elbow", 3.0, 2.0))
    records.add_pain("tove", PainReport(DAY, "elbow", 0.0, 0.0))
    (report,) = records.history("tove").pain
    assert (report.worst, report.next_morning) == (0.0, 0.0)


def test_a_session_said_missed_after_all_is_corrected(records: Records) -> None:
    records.add_session("tove", SessionLog(DAY, "A", True, effort=7.0))
    records.add_session("tove", SessionLog(DAY, "A", False, reason="ill"))
    (session,) = records.history("tove").sessions
    assert (session.done, session.reason) == (False, "ill")


def test_everything_else_comes_back_too(records: Records) -> None:
    measurement = Measurement(DAY, "swing_high_L", 0.0, 0.02, "film", "a film")
    attempt = AttemptLog(DAY, 1, "valid", 0.2, 0.0, 0.1, 0.05, None)
    records.add_measurement("tove", measurement)
    records.add_attempt("tove", attempt)
    history = records.history("tove")
    assert history.measurements == (measurement,)
    assert history.attempts == (attempt,)


def test_a_day_is_the_last_one_seen_by_a_history_up_to_it(records: Records) -> None:
    records.add_sets("tove", [replace(one, on=date(2026, 4, 20 + n)) for n, one in enumerate(fives(3))], "x")
    assert [one.on.day for one in records.history("tove", date(2026, 4, 21)).sets] == [20, 21]


def test_nobody_is_named_with_those_there_are(records: Records) -> None:
    with pytest.raises(NotFound, match="tove"):
        records.add_sets("nobody", fives(1), "x")
    with pytest.raises(NotFound):
        records.history("nobody")


@pytest.mark.parametrize("athlete_id", ["", "Tove", "to ve", " tove"])
def test_an_id_that_no_command_could_take_is_refused(records: Records, athlete_id: str) -> None:
    with pytest.raises(BadInput, match="id"):
        records.save_athlete(someone(athlete_id))


def test_a_time_zone_that_is_none_is_refused(records: Records) -> None:
    with pytest.raises(BadInput, match="time zone"):
        records.save_athlete(someone(time_zone="Varnholm"))


def test_today_is_the_athletes_own_day(records: Records) -> None:
    """09:00 UTC on 27 April 2026 is 21:00 in Auckland and 23:00 of the day before in Honolulu."""
    assert records.today("tove") == date(2026, 4, 27)
    records.save_athlete(someone("kai", time_zone="Pacific/Honolulu"))
    assert records.today("kai") == date(2026, 4, 26)


def test_an_athlete_comes_back_as_saved(records: Records) -> None:
    changed = someone(goal="over the bar", body_mass_kg=65.0)
    records.save_athlete(changed)
    assert records.athlete("tove") == changed
    assert [one.id for one in records.athletes()] == ["tove"]
