"""Strength or technique, told as margins (handbook trade.md 3.3)."""

from dataclasses import replace

import pytest
from tests.planning.people import SUNDAY, history, seen, strong

from overbar.ladder import load_ladder
from overbar.planning import decide

LADDER = load_ladder()


def verdict(R=None, **tests):
    points = strong(SUNDAY, R) if R else ()
    return decide(history(measurements=seen(SUNDAY, **tests)), LADDER, SUNDAY, points).verdict


@pytest.mark.parametrize(
    ("R", "tests", "answer"),
    [
        (1.25, {"swing_high_L": 0.05}, "strength"),
        (1.35, {"swing_high_L": 0.05, "strict_high_L": -0.03}, "speed"),
        (1.35, {"swing_high_L": 0.05, "strict_high_L": 0.02, "first_rep_mps": 0.5}, "speed"),
        (1.35, {"swing_high_L": 0.06, "strict_high_L": 0.03, "first_rep_mps": 0.7}, "technique"),
        (1.35, {"swing_high_L": 0.12, "strict_high_L": 0.03, "first_rep_mps": 0.7}, "both just short"),
        (1.40, {"swing_high_L": 0.20, "negative_s": 1.0, "deep_dips": 5}, "strength over the bar"),
        (1.40, {"swing_high_L": 0.20, "negative_s": 4.0, "deep_dips": 5}, "technique"),
        (1.20, {}, "strength"),
        (1.40, {}, "unknown"),
        (None, {}, "unknown"),
    ],
)
def test_the_answer_follows_the_order_of_the_trade(R, tests, answer):
    assert verdict(R, **tests).strength_or_technique == answer


def test_each_margin_carries_its_uncertainty_and_its_size_in_the_coachs_units():
    told = {m.name: m for m in verdict(1.30, swing_high_L=0.14).margins}
    height = told["height with swing"]
    assert height.value == pytest.approx(-0.04)
    assert height.sd == pytest.approx(0.02)
    assert height.say == "height with swing: 0.04 ± 0.02 L short (about 3 cm)"  # 0.04 x 0.375 x 179 cm
    strength = told["pulling strength"]
    assert strength.value == pytest.approx(-0.07)
    assert strength.sd == pytest.approx(0.1 / 3.29)
    assert "about 5 kg" in strength.say


def test_an_athlete_in_pounds_and_inches_reads_margins_so():
    rows = history(measurements=seen(SUNDAY, swing_high_L=0.14))
    imperial = replace(rows, athlete=replace(rows.athlete, mass_unit="lb", length_unit="in"))
    told = {m.name: m.say for m in decide(imperial, LADDER, SUNDAY, strong(SUNDAY, 1.30)).verdict.margins}
    assert "(about 1.1 in)" in told["height with swing"]  # 2.7 cm
    assert "about 12 lb" in told["pulling strength"]


def test_what_was_not_measured_has_no_margin():
    assert {m.name for m in verdict(1.30).margins} == {"pulling strength"}
