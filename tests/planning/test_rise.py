"""How much strength rose over some weeks, seen from today: like the whole log read again, and honest."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.planning.people import SUNDAY, history
from tests.planning.test_rules import FLAT, RISING, lived

from overbar.ladder import load_ladder
from overbar.planning import strength_of
from overbar.planning.case import make_case
from overbar.planning.rise import rise_over
from overbar.strength.retest import rise_between

LADDER = load_ladder()


def case_of(rises, **rows):
    rows = history(**(lived(*rises) | rows))
    return make_case(rows, LADDER, SUNDAY, strength_of(rows, LADDER, SUNDAY))


@pytest.mark.parametrize("rises", [FLAT, RISING])
def test_it_agrees_with_reading_the_whole_log_again(rises):
    case = case_of(rises)
    short = rise_over(case, 8)
    whole = rise_between(case.history.sets, short.since, sex="m")
    assert (short.since, short.until) == (whole.since, whole.until)
    # less is known of the athlete's own curve; a spread wider by less than a half
    assert abs(short.share - whole.share) < 0.012
    assert whole.high - whole.low < short.high - short.low < 1.5 * (whole.high - whole.low)


def test_the_share_not_exceeded_grows_with_the_chance_asked():
    rise = rise_over(case_of(FLAT), 8)
    low, middle, high = (rise.at_most(chance) for chance in (0.05, 0.5, 0.95))
    assert low < rise.at_most(0.3) < middle < rise.at_most(0.7) < high
    assert (low, high) == pytest.approx((rise.low, rise.high), abs=1e-4)
    assert middle == pytest.approx(rise.share, abs=0.001)


def test_a_log_with_a_hole_where_the_weeks_begin_tells_no_rise():
    rows = lived(*RISING)
    start = SUNDAY - timedelta(weeks=8)
    rows["sets"] = tuple(s for s in rows["sets"] if not start - timedelta(days=20) < s.on <= start)
    assert rise_over(case_of(RISING, sets=rows["sets"]), 8) is None
    assert rise_over(case_of(RISING[:5]), 8) is None


def test_the_order_of_rows_changes_nothing():
    rows = history(**lived(*FLAT))
    mixed = replace(rows, sets=tuple(reversed(rows.sets)))
    one, other = (
        rise_over(make_case(each, LADDER, SUNDAY, strength_of(each, LADDER, SUNDAY)), 8)
        for each in (rows, mixed)
    )
    assert one == other
