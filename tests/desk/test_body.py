"""The body model's answer on the page: in the athlete's unit, and never without its band."""

from dataclasses import replace
from datetime import date

import pytest

from overbar.athlete.person import Athlete
from overbar.desk.body import body_view
from overbar.mechanics.margins import DEFAULT_SWING_DEG
from overbar.mechanics.surrogate import read_table
from overbar.strength.sets import StrengthPoint

POINT = StrengthPoint(date(2026, 3, 25), 1.35, 1.29, 1.41, 103.0, 76.3)


def test_every_threshold_carries_its_band(athlete: Athlete) -> None:
    view = body_view(athlete, POINT, read_table(), DEFAULT_SWING_DEG)
    assert [row.name for row in view.rows] == ["From a still hang, quiet legs", "From a front swing of 15°"]
    assert all("80 %" in row.say and "1.35 ± 0.04" in row.say for row in view.rows)
    assert view.changed == ""
    assert view.caution


def test_more_strength_gives_more_margin_whatever_the_unit(athlete: Athlete) -> None:
    kilograms = body_view(athlete, POINT, read_table(), DEFAULT_SWING_DEG, belt=5)
    pounds = body_view(replace(athlete, mass_unit="lb"), POINT, read_table(), DEFAULT_SWING_DEG, belt=5)
    none = body_view(athlete, POINT, read_table(), DEFAULT_SWING_DEG, belt=0.001)
    first = [float(view.changed.split()[1].replace("−", "-")) for view in (none, pounds, kilograms)]
    assert first == sorted(first)
    # 5 kg on 76.3 kg are 0.066 of body mass; 5 lb are 0.030.
    assert first[2] - first[0] == pytest.approx(0.066, abs=0.02)
    assert first[1] - first[0] == pytest.approx(0.030, abs=0.02)


def test_what_only_explains_two_athletes_is_not_offered_as_a_lever(athlete: Athlete) -> None:
    view = body_view(athlete, POINT, read_table(), DEFAULT_SWING_DEG)
    assert view.levers
    assert not any("arm length" in lever.name for lever in view.levers)
