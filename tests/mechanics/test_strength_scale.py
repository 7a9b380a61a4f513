"""The model's pull-up and dip against what people do."""

from __future__ import annotations

import pytest

from overbar.mechanics.muscle_up import VARIANTS
from overbar.mechanics.segments import Body
from overbar.mechanics.strength_scale import (
    STEADY_SPEED_MPS,
    arm_strength,
    greatest_dip,
    greatest_pull_up,
    lively_pull_up,
)

MUSCLES = VARIANTS[0].muscles


@pytest.fixture(scope="module")
def strength(man: Body) -> float:
    """Arm strength of a man whose pull-up maximum is 1.40."""
    return arm_strength(man, MUSCLES, 1.40)


def test_the_strength_found_is_the_one_whose_maximum_is_R(man: Body, strength: float) -> None:
    again = greatest_pull_up(man, MUSCLES, strength)
    assert again.converged
    assert pytest.approx(1.40, abs=2e-3) == again.R


def test_the_maximal_pull_up_is_slow_and_quiet(man: Body, strength: float) -> None:
    # mean speed at the maximum .20 +- .05 m/s (Sanchez-Moreno et al. 2017, from memory)
    slow = greatest_pull_up(man, MUSCLES, strength)
    assert slow.mean_speed_mps == pytest.approx(0.20, abs=0.05)
    assert slow.solution.row("shoulder_speed_y").max() <= STEADY_SPEED_MPS + 1e-4
    assert slow.peak_hand_force_bw <= 1.3 + 1e-3


def test_more_strength_lifts_more_by_a_straight_line(man: Body) -> None:
    # without the speed cap the optimum drops and catches itself, and this fails
    loads = [greatest_pull_up(man, MUSCLES, s).R for s in (0.9, 1.1, 1.3)]
    assert loads[1] - loads[0] == pytest.approx(loads[2] - loads[1], rel=0.15)


def test_the_fastest_pull_up_agrees_with_the_published_line(man: Body, strength: float) -> None:
    # Beckham et al. 2018: reps = -6.661 + 25.556 x mean speed; 12 reps by Epley at R 1.40 -> .73 m/s
    fast = lively_pull_up(man, MUSCLES, strength)
    assert fast.converged
    assert fast.mean_speed_mps == pytest.approx((30 * 0.40 + 6.661) / 25.556, abs=0.06)


def test_the_published_hand_force_lies_between_the_smoothest_and_the_fastest(
    man: Body, strength: float
) -> None:
    # Emerson et al. 2014: 1.51 body weights, unassisted sets of 25 men, who neither glide nor race
    smooth = lively_pull_up(man, MUSCLES, strength, seconds=0.88)
    fast = lively_pull_up(man, MUSCLES, strength)
    assert smooth.converged
    assert smooth.peak_hand_force_bw < 1.51 < fast.peak_hand_force_bw
    assert fast.peak_hand_force_bw < 2.3


def test_the_dip_maximum_is_about_the_pull_up_maximum(man: Body, strength: float) -> None:
    # parallel bars 1.11 x pull-up (Coyne et al. 2015); the straight bar is the harder one (common practice)
    dip = greatest_dip(man, MUSCLES, strength)
    assert dip.converged
    assert 0.9 < dip.R / 1.40 < 1.11
    trunk = dip.solution.q[2]
    assert trunk.min() > -0.9  # upright enough to be called a dip
