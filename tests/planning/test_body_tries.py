"""What an athlete's tries tell the body model."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from overbar.athlete.person import Athlete
from overbar.mechanics.margins import DEFAULT_SWING_DEG, UNSEEN_SWING_SD_DEG
from overbar.planning.body_tries import (
    SEEN_SWING_SD_DEG,
    STRENGTH_HOLDS,
    body_tries,
    own_swing,
    person_at,
)
from overbar.planning.history import AttemptLog, History, Measurement
from overbar.strength.sets import StrengthPoint

ATHLETE = Athlete("wilma", "Wilma Tarn", "f", date(1991, 5, 1), 1.70, 64.5, date(2025, 12, 1))
DAY = date(2026, 3, 2)
POINTS = (
    StrengthPoint(DAY, 1.40, 1.34, 1.46, 90.0, 64.0),
    StrengthPoint(DAY + timedelta(days=7), 1.44, 1.38, 1.50, 92.0, 63.9),
)


def history(*attempts: AttemptLog, athlete: Athlete = ATHLETE) -> History:
    return History(athlete=athlete, attempts=attempts)


def test_a_try_is_told_with_the_strength_and_body_mass_of_its_day() -> None:
    told = body_tries(history(AttemptLog(DAY + timedelta(days=3), 1, "valid")), POINTS)
    assert [(one.who, one.over) for one in told] == [("wilma", True)]
    person = told[0].person
    assert (person.R, person.mass_kg, person.sex, person.stature_m) == (1.40, 64.0, "f", 1.70)
    # A 90 % interval of 0.12 is 1.645 standard deviations either way.
    assert person.R_sd == pytest.approx(0.06 / 1.645)


def test_a_filmed_swing_stands_for_the_next_tries_no_film_shows() -> None:
    tries = (
        AttemptLog(DAY, 1, "failed"),
        AttemptLog(DAY, 2, "failed", source="film", swing_deg=22.0),
        AttemptLog(DAY, 3, "valid"),
    )
    told = body_tries(history(*tries), POINTS)
    assert [one.swing_deg for one in told] == [DEFAULT_SWING_DEG, 22.0, 22.0]
    assert [one.swing_sd_deg for one in told] == [
        UNSEEN_SWING_SD_DEG,
        SEEN_SWING_SD_DEG,
        UNSEEN_SWING_SD_DEG,
    ]
    assert own_swing(history(*tries)) == 22.0


def test_a_way_over_that_is_not_the_movement_says_nothing() -> None:
    assert body_tries(history(AttemptLog(DAY, 1, "over_not_clean")), POINTS) == ()


def test_a_try_without_a_strength_of_its_time_says_nothing() -> None:
    before = AttemptLog(DAY - timedelta(days=1), 1, "failed")
    long_after = AttemptLog(POINTS[-1].on + STRENGTH_HOLDS + timedelta(days=1), 1, "failed")
    assert body_tries(history(before, long_after), POINTS) == ()
    assert body_tries(history(AttemptLog(DAY, 1, "failed")), ()) == ()


def test_tries_of_another_skill_say_nothing_of_the_muscle_up() -> None:
    lever = replace(ATHLETE, skill="front_lever")
    assert body_tries(history(AttemptLog(DAY, 1, "valid"), athlete=lever), POINTS) == ()


def test_a_swing_bigger_than_the_table_counts_as_its_biggest() -> None:
    told = body_tries(history(AttemptLog(DAY, 1, "failed", swing_deg=60.0)), POINTS)
    assert told[0].swing_deg == 35.0


def test_the_fastest_filmed_first_rep_tells_the_joints_speed() -> None:
    def speed(*seen: Measurement) -> float:
        return person_at(History(athlete=ATHLETE, measurements=seen), POINTS[0]).speed

    # Beckham et al. 2018: 12 reps (R 1.40 by Epley) go with 0.73 m/s, see speed_from_first_rep.
    assert speed(Measurement(DAY, "first_rep_mps", 0.73, 0.05, "film")) == pytest.approx(1.0, abs=0.01)
    fast = Measurement(DAY - timedelta(days=20), "first_rep_mps", 0.76, 0.05, "film")
    slow = Measurement(DAY, "first_rep_mps", 0.69, 0.05, "film")
    assert speed(fast, slow) == speed(fast) > 1.05
    assert speed(slow) < 0.95
    assert speed(replace(fast, source="log")) == 1.0
    assert speed(replace(fast, on=DAY - timedelta(days=120))) == 1.0


def test_dips_can_only_show_a_press_stronger_than_usual() -> None:
    def dip(reps: float) -> float | None:
        seen = (Measurement(DAY, "straight_bar_dips", reps, None, "log"),)
        return person_at(History(athlete=ATHLETE, measurements=seen), POINTS[0]).dip_over_pull

    assert dip(5) is None
    # Epley, twenty taken as ten: 1.333 of body mass; the usual press has 0.99 x 1.40 = 1.386.
    assert dip(20) is None
    weak = StrengthPoint(DAY, 1.20, 1.14, 1.26, 76.8, 64.0)
    seen = (Measurement(DAY, "straight_bar_dips", 10, None, "log"),)
    strong = person_at(History(athlete=ATHLETE, measurements=seen), weak).dip_over_pull
    assert strong == pytest.approx((1 + 10 / 30) / 1.20)
