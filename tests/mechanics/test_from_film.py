"""Hand force and paths from filmed joints, against animated motions whose bar force is known."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.mechanics.from_film import JOINTS, beside_model, centre_of_mass, hand_force
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import Table, nearest_path

DATA = Path(__file__).parent / "data"
FILMS = ("good_muscle_up", "stalled_muscle_up", "pull_ups")


def film(name: str) -> dict[str, Any]:
    data = json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))
    joints = {key: np.array(value) for key, value in data["joints"].items()}
    return {**data, "t_s": np.array(data["t_s"]), "joints": joints, "force_bw": np.array(data["force_bw"])}


@pytest.mark.parametrize("name", FILMS)
def test_the_force_agrees_with_the_known_one(name: str) -> None:
    one = film(name)
    got = hand_force(one["t_s"], one["joints"], body_of(one["stature_m"], 75.0, "m"), sex="m")
    miss = got.y_bw[5:-5] - one["force_bw"][5:-5, 1]
    assert np.sqrt(np.mean(miss**2)) < 0.09
    true_peak = np.hypot(*one["force_bw"][5:-5].T).max()
    assert got.peak_bw[0] == pytest.approx(true_peak, abs=2 * got.peak_bw[1])


@pytest.mark.parametrize("name", FILMS)
def test_the_stated_uncertainty_of_the_peak_is_honest_with_a_centimetre_of_joint_noise(name: str) -> None:
    one = film(name)
    rng = np.random.default_rng(3)
    true_peak = np.hypot(*one["force_bw"][5:-5].T).max()
    miss, all_z = [], []
    for _ in range(30):
        noisy = {key: value + rng.normal(0, 0.01, value.shape) for key, value in one["joints"].items()}
        got = hand_force(one["t_s"], noisy, body_of(one["stature_m"], 75.0, "m"), sex="m", joint_sd_m=0.01)
        miss.append((got.peak_bw[0] - true_peak) / got.peak_bw[1])
        all_z += list(((got.y_bw - one["force_bw"][:, 1]) / got.sd_bw)[5:-5])
    assert np.mean(np.abs(miss) < 2) > 0.95
    assert abs(np.mean(miss)) < 0.9  # neither low nor high by much
    # Away from the peaks the force changes less than the estimate allows for: it is wide there.
    assert np.mean(np.abs(all_z) < 2) > 0.98


@pytest.mark.parametrize("name", FILMS)
def test_with_good_joints_the_greatest_force_reads_neither_low_nor_high(name: str) -> None:
    one = film(name)
    got = hand_force(
        one["t_s"], one["joints"], body_of(one["stature_m"], 75.0, "m"), sex="m", joint_sd_m=0.0005
    )
    inside = slice(5, -5)
    true_peak = np.hypot(*one["force_bw"][inside].T).max()
    assert np.hypot(got.x_bw, got.y_bw)[inside].max() == pytest.approx(true_peak, abs=0.10)
    assert np.sqrt(np.mean((got.y_bw - one["force_bw"][:, 1])[inside] ** 2)) < 0.045


def test_the_centre_of_mass_agrees_with_the_films() -> None:
    one = film("good_muscle_up")
    own = centre_of_mass(one["joints"], body_of(one["stature_m"], 75.0, "m"), "m")
    assert np.sqrt(np.mean(np.sum((own - np.array(one["centre_m"])) ** 2, axis=1))) < 0.02


def test_a_still_body_hangs_with_its_weight_whatever_the_frame_times() -> None:
    rng = np.random.default_rng(0)
    t = np.cumsum(rng.uniform(0.02, 0.05, 60))
    joints = {name: np.tile([0.0, -0.3 * i], (60, 1)) for i, name in enumerate(JOINTS)}
    got = hand_force(t, joints, body_of(1.75, 75.0))
    assert got.y_bw == pytest.approx(np.ones(60), abs=1e-6)
    assert got.lost == ()


def test_a_body_in_free_fall_presses_nothing() -> None:
    # physics: exact for a parabola, at 9.80665 m/s^2
    t = np.arange(40) / 60
    joints = {
        name: np.column_stack([0 * t, -0.3 * i - 0.5 * 9.80665 * t**2]) for i, name in enumerate(JOINTS)
    }
    assert hand_force(t, joints, body_of(1.75, 75.0)).y_bw == pytest.approx(np.zeros(40), abs=1e-6)


def test_a_loss_of_pressure_in_the_turn_over_is_found_and_said() -> None:
    t = np.arange(90) / 30
    rise = -0.5 + 0.8 / (1 + np.exp(-(t - 1.5) * 10))  # a hard rise that must be let go in the turn-over
    joints = {name: np.column_stack([0 * t, rise - 0.1 * i]) for i, name in enumerate(JOINTS)}
    got = hand_force(t, joints, body_of(1.75, 75.0))
    assert got.lost
    assert "lost in the turn-over" in got.say()
    start, end, least = got.lost[0]
    assert 1.4 < start <= end < 2.0
    assert least < 0.35


def test_the_athletes_path_lies_beside_the_models(table: Table) -> None:
    one = film("good_muscle_up")
    L = -one["joints"]["shoulder"][:, 1].min()
    figure = nearest_path(table, 20.0, 1.75, "m").figure
    got = beside_model(one["t_s"], one["joints"], L, figure)
    at_bar = int(np.argmin(np.abs(got.t_s)))
    assert got.own["shoulder"][at_bar, 1] == pytest.approx(0.0, abs=0.1)
    assert got.model["shoulder"][at_bar, 1] == pytest.approx(0.0, abs=0.1)
    assert 0 < got.gap_L["shoulder"] < 0.5
    assert got.widest[2] >= max(got.gap_L.values())


def test_joints_that_do_not_fit_the_times_are_refused_by_name() -> None:
    one = film("good_muscle_up")
    short = {**one["joints"], "hip": one["joints"]["hip"][:-1]}
    with pytest.raises(BadInput, match="hip"):
        hand_force(one["t_s"], short, body_of(1.75, 75.0))
    with pytest.raises(BadInput, match="knee"):
        hand_force(one["t_s"], {k: v for k, v in one["joints"].items() if k != "knee"}, body_of(1.75, 75.0))
