"""The muscle-up as an optimal control problem: what every answer must respect, and what the trade knows."""

from __future__ import annotations

import math

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.mechanics.collocation import LEAST_VIOLATION
from overbar.mechanics.dynamics import SHOWN, parameters
from overbar.mechanics.muscle_up import (
    HAND_FORCE_CAP_BW,
    VARIANTS,
    Attempt,
    MuscleUp,
    easiest_muscle_up,
    figure,
    shaped,
)
from overbar.mechanics.segments import Body, body_of

MUSCLES = VARIANTS[0].muscles


def test_the_search_converges_and_breaks_no_constraint(swung: MuscleUp) -> None:
    assert swung.converged, swung.said
    assert swung.solution.violation < LEAST_VIOLATION


def test_the_hands_never_carry_more_than_the_cap_nor_push_up_from_below(swung: MuscleUp) -> None:
    assert swung.peak_hand_force_bw <= HAND_FORCE_CAP_BW + 1e-3
    assert swung.solution.row("force_y").min() >= -1e-4


def test_the_bar_never_passes_through_the_body(swung: MuscleUp) -> None:
    for name in SHOWN:
        if name.startswith("clear"):
            assert swung.solution.row(name).min() >= -1e-4


def test_it_starts_at_rest_in_the_front_swing_and_ends_in_the_support(swung: MuscleUp) -> None:
    found = swung.solution
    assert found.v[:, 0] == pytest.approx(np.zeros(5), abs=1e-6)
    lean = math.degrees(math.atan2(found.row("centre_x")[0], -found.row("centre_y")[0]))
    assert lean == pytest.approx(20.0, abs=1.0)
    assert found.row("shoulder_y")[-1] > 0.55  # straight arms over the bar
    assert math.degrees(found.row("elbow")[-1]) <= 10.01
    assert np.abs(found.v[:, -1]).max() <= 0.0501


def test_one_swing_and_no_wind_up(swung: MuscleUp) -> None:
    assert swung.pull_after_s < swung.shoulder_over_s < swung.turned_s < swung.support_s
    assert swung.shoulder_over_s <= 1.06
    height = swung.solution.row("shoulder_y")
    over = int(np.argmax(height >= -1e-9))
    assert height[over:].min() >= -1e-3


def test_a_mass_of_45_or_120_kg_is_the_same_problem() -> None:
    # dimensional analysis: the parameter vector of the solver does not change at all
    light, heavy = (parameters(body_of(1.75, m, "m"), MUSCLES) for m in (45.0, 120.0))
    assert np.array_equal(light, heavy)


@pytest.mark.parametrize(("stature", "sex"), [(1.50, "f"), (2.00, "m")])
def test_the_smallest_and_the_tallest_converge_or_say_so(swung: MuscleUp, stature: float, sex: str) -> None:
    body = body_of(stature, 75.0, sex)
    up = easiest_muscle_up(body, Attempt(20.0, leg_drive=True), like=(swung.solution,), starts=0)
    assert up.converged or up.said
    if up.converged:
        assert 1.2 < up.least_R < 2.2


def test_a_bigger_swing_needs_less(man: Body, swung: MuscleUp) -> None:
    bigger = easiest_muscle_up(man, Attempt(30.0, leg_drive=True), like=(swung.solution,), starts=0)
    assert bigger.converged
    assert bigger.least_R < swung.least_R - 0.05


def test_quiet_legs_from_a_still_hang_need_more_than_a_swing(man: Body, swung: MuscleUp) -> None:
    still = easiest_muscle_up(man, Attempt(), starts=1)
    assert still.converged, still.said
    assert still.least_R > swung.least_R + 0.1
    assert np.abs(still.solution.row("hip_speed")).max() <= 1.5001
    assert still.solution.row("shoulder_speed_y").min() >= -0.0501


def test_the_figure_keeps_the_body_whole(man: Body, swung: MuscleUp) -> None:
    path = figure(swung.solution, man)
    elbow, shoulder = (np.array(path[name]) for name in ("elbow", "shoulder"))
    arm = np.hypot(*(shoulder - elbow).T) * man.hang_length_m
    assert arm == pytest.approx(np.full(len(arm), man.length_m[1]), abs=1e-3)
    assert len(path["t_s"]) == len(path["hip"])


def test_the_variants_differ_in_what_they_say_they_do(man: Body) -> None:
    assert shaped(man, VARIANTS[2]).length_m[0] < man.length_m[0]
    assert len({v.id for v in VARIANTS}) == len(VARIANTS)
    assert all(v.why for v in VARIANTS)


def test_an_attempt_that_cannot_be_meant_is_refused() -> None:
    with pytest.raises(BadInput, match="60 degrees"):
        Attempt(60.0)
    with pytest.raises(BadInput, match="pause"):
        Attempt(20.0, pause_s=2.0)
    with pytest.raises(BadInput, match="pull start"):
        Attempt(20.0, pull_after_s=3.0)
