"""A shortfall is seen as a length: the value, its band and the threshold lie in their order."""

from hypothesis import given
from hypothesis import strategies as st

from overbar.desk.gauge import SPAN, gauge, gauge_of_item
from overbar.planning.verdict import GateItem

numbers = st.floats(-50, 50, allow_nan=False)


@given(numbers, st.floats(0, 20), numbers)
def test_every_mark_is_on_the_line_and_in_order(value: float, sd: float, needs: float) -> None:
    marks = gauge(value, value - sd, value + sd, needs, "")
    for mark in (marks.value, marks.low, marks.high, marks.needs):
        assert 0 <= mark <= SPAN
    assert marks.low <= marks.value <= marks.high
    if value < needs - 1e-6:
        assert marks.value <= marks.needs


def test_zero_is_a_height_like_any_other() -> None:
    item = GateItem(
        "top of the breastbone at the bar",
        "strict_high_L",
        True,
        False,
        0.0,
        0.02,
        0.06,
        "L",
        0.06,
        "4 cm short",
    )
    assert gauge_of_item(item) is not None


def test_a_question_with_yes_or_no_has_no_line() -> None:
    assert (
        gauge_of_item(GateItem("skin whole", "skin", True, True, 1.0, None, 1.0, "yes/no", None, "")) is None
    )
    assert gauge_of_item(GateItem("dips", "dips", True, None, None, None, 5.0, "reps", None, "")) is None
