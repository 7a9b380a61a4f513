"""Looking ahead: each gate item its own range, the latest decides, and what would move it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from tests.planning.people import MONDAY, SUNDAY, athlete, history, seen, sleep, strong, week_of_sets

from overbar.ladder import load_ladder
from overbar.planning.outlook import look_ahead, look_ahead_on_sets, usual_habits
from overbar.strength.sets import LoggedSet

LADDER = load_ladder()


def rising(weeks=8):
    """Ten weeks of a height that rises by 0.0125 L a week towards +0.18 L, and R about 1.25."""
    rows = ()
    for week in range(weeks):
        rows += seen(
            SUNDAY - timedelta(weeks=weeks - 1 - week, days=2),
            swing_high_L=-0.02 + 0.0125 * week,
            strict_high_L=-0.05 + 0.005 * week,
        )
    return rows


def sets(weeks=8):
    done = ()
    for week in range(weeks):
        done += week_of_sets(MONDAY - timedelta(weeks=weeks - 1 - week), [[5, 5, 5]] * 3, 5.0, left=2)
    return done


def ahead(**changes):
    rows = {"sets": sets(), "measurements": rising()} | changes
    return look_ahead(history(rows.pop("who", None), **rows), LADDER, SUNDAY, strong(SUNDAY, 1.28))


def test_the_latest_item_of_a_gate_decides_when_all_of_it_is_there():
    gate = ahead().look()[-1]
    assert len(gate.items) >= 1
    decides = gate.decides
    assert decides is not None
    assert decides.likely == max(item.likely or date.max for item in gate.items)
    assert gate.all_of_it.likely is None or gate.all_of_it.likely >= decides.likely


def test_items_no_trend_leads_to_are_named_apart_never_dated():
    gate = ahead().look()[-1]
    named = [item.item for item in gate.items]
    assert any("skin" in name for name in gate.unknown)
    assert not any("skin" in name for name in named)


def test_fewer_days_and_a_missed_fortnight_come_later_more_days_sooner():
    look = ahead()
    usual = look.look()[-1].all_of_it.likely
    by_name = {one.name: one.gates[-1].all_of_it.likely for one in look.what_ifs()}
    assert by_name["days a week down to 2"] > usual
    assert by_name["the next fortnight missed"] > usual
    assert by_name["days a week up to 4"] < usual
    assert by_name["6 h of sleep"] > usual
    assert by_name["one more light week now"] > usual


def test_a_lower_body_mass_brings_strength_sooner_and_leaves_height_where_it_is():
    weak = week_of_sets(MONDAY, [[4, 3, 3]] * 3, left=0)
    look = ahead(sets=weak)
    lighter = replace(look.usual, body_mass_change=-0.03)
    moved = {
        now.item: (now.likely, then.likely)
        for gate, changed in zip(look.look(), look.look(lighter), strict=True)
        for now, then in zip(gate.items, changed.items, strict=True)
    }
    strength = next(dates for item, dates in moved.items() if "1.32 of body mass" in item)
    height = next(dates for item, dates in moved.items() if "breastbone" in item)
    assert strength[1] < strength[0]
    assert height[1] == height[0]


def test_the_same_history_looks_ahead_the_same_whatever_the_order_of_its_rows():
    assert ahead().look() == ahead(sets=sets()[::-1], measurements=rising()[::-1]).look()


def test_rows_after_the_day_change_nothing():
    later = seen(SUNDAY + timedelta(days=3), swing_high_L=0.4)
    assert ahead(measurements=(*rising(), *later)).look() == ahead().look()


def test_sleep_and_days_so_far_are_what_is_assumed():
    who = athlete(days_per_week=2)
    habits = usual_habits(history(who, body=sleep(SUNDAY - timedelta(days=6), 6.3)), SUNDAY)
    assert (habits.days_a_week, habits.sleep_h) == (2, 6.3)


def test_sets_alone_give_the_strength_items_of_the_ladder():
    done = [LoggedSet(MONDAY + timedelta(weeks=w), "strict_pull_up", 78, 0, 8, 1.0) for w in range(4)]
    look = look_ahead_on_sets(done, "m", LADDER)
    assert look.on == done[-1].on
    assert look.usual.days_a_week == 1
    likely = [item.likely for gate in look.look() for item in gate.items]
    assert likely == sorted(likely)


@pytest.mark.parametrize("skill", ["front_lever", "wall_handstand_push_up", "strict_ring_muscle_up"])
def test_other_skills_are_looked_ahead_to_by_the_same_function(skill):
    ladder = load_ladder(skill)
    gates = look_ahead(history(athlete(skill=skill), sets=sets()), ladder, SUNDAY).look()
    assert gates
    assert all(gate.id in ladder.gates for gate in gates)
