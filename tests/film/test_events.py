"""The moments of a film and their uncertainty, on motions drawn by formula."""

from __future__ import annotations

import numpy as np
import pytest

from overbar.film.events import find_events
from overbar.film.mount import first_swing_elbow
from overbar.film.phases import Phases, Turn, find_phases
from overbar.film.reps import find_reps

from .test_measures import SIDE, motion


def up_into_a_support(sway: float) -> np.ndarray:
    """Return the shoulders of a try: hang, up in a second, and a support that sways up for two more."""
    t = np.arange(0, 5, 1 / 30)
    up = np.interp(t, [2.0, 3.0], [-1.0, 0.95])
    return up + sway * np.clip((t - 3.0) / 2.0, 0.0, 1.0)


def test_the_top_of_a_support_is_known_no_better_than_the_support_is_flat():
    t = np.arange(0, 5, 1 / 30)
    made = motion(t, shoulder=up_into_a_support(0.01))
    peak = next(event for event in find_events(made, find_phases(made, SIDE)) if event.kind == "peak")
    assert peak.at_s > 4.5
    assert abs(peak.at_s - 3.0) < 2 * peak.sd_s


def test_the_top_of_a_short_pull_is_known_to_a_few_frames():
    t = np.arange(0, 5, 1 / 30)
    made = motion(t, shoulder=-1.0 + 0.9 * np.exp(-(((t - 2.5) / 0.3) ** 2)))
    peak = next(event for event in find_events(made, find_phases(made, SIDE)) if event.kind == "peak")
    assert peak.at_s == pytest.approx(2.5, abs=0.05)
    assert peak.sd_s < 0.1


def test_the_mean_speed_of_a_muscle_up_does_not_hang_on_how_the_support_sways():
    t = np.arange(0, 5, 1 / 30)
    speeds = []
    for sway in (0.0, 0.02, -0.02):
        made = motion(t, shoulder=up_into_a_support(sway))
        (rep,) = find_reps(made, SIDE, find_phases(made, SIDE))
        assert rep.kind == "muscle_up"
        speeds.append(rep.mean_speed_mps.value)
    assert speeds == pytest.approx([1.95 * 0.68] * 3, abs=0.08)


def test_an_athlete_carried_far_by_taking_the_bar_still_has_a_first_swing():
    t = np.arange(0, 4, 1 / 30)
    jumped = np.interp(t, [0.0, 1.0, 2.0], [1.4, -0.05, 0.06])
    made = motion(t, body_x=jumped, elbow_deg=np.full(len(t), 120.0))
    whole = np.ones(len(t), bool)
    turned = int(np.searchsorted(t, 2.0))
    phases = Phases(whole, whole, (), (Turn(turned, 1, 0.06),), ("hang",) * len(t))
    elbow, at_s = first_swing_elbow(made, SIDE, phases)
    assert elbow.value == pytest.approx(120.0)
    assert at_s == pytest.approx(1.1, abs=0.1)
