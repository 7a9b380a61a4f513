"""Joint torque curves against published points."""

from __future__ import annotations

import math

import numpy as np
import pytest

from overbar.mechanics.joint_torque import BASE, REFERENCE_KG_M, Muscles, hill, smooth_speed_curve


def static(name: str, angle_deg: float) -> float:
    """Return the isometric torque of both sides of the reference body in N m."""
    actuator = BASE[name]
    bell = math.exp(-(((math.radians(angle_deg) - actuator.best_rad) / actuator.width_rad) ** 2))
    return actuator.torque * REFERENCE_KG_M * bell


@pytest.mark.parametrize(
    ("speed", "force"), [(0.0, 1.0), (0.1, 0.6429), (0.2, 0.4444), (0.309, 0.3090), (1.0, 0.0)]
)
def test_hill_gives_the_published_points(speed: float, force: float) -> None:
    # science.md 10, case 15: Hill 1938 with a/F0 = .25
    assert float(hill(speed)) == pytest.approx(force, abs=2e-4)


def test_hill_has_its_greatest_power_where_it_should() -> None:
    # science.md 5.1: v = sqrt(k^2 + k) - k = .3090, power .0955
    v = np.linspace(0.01, 0.99, 9801)
    power = np.array([float(hill(x)) * x for x in v])
    assert v[power.argmax()] == pytest.approx(0.3090, abs=5e-4)
    assert power.max() == pytest.approx(0.0955, abs=1e-4)


def test_lengthening_is_stronger_than_holding_but_not_without_end() -> None:
    # eccentric over isometric 1.2 to 1.5 (from memory, science.md 5.2)
    assert 1.2 < float(hill(-0.5)) < 1.4
    assert 1.2 < float(smooth_speed_curve(-0.5)) < 1.7
    assert float(smooth_speed_curve(0.0)) == pytest.approx(1.0, abs=0.01)
    assert float(smooth_speed_curve(1.0)) == pytest.approx(0.0, abs=0.02)


def test_shoulder_flexion_passes_through_the_published_torques() -> None:
    # dynamic shoulder flexion strength, 26 men: 89.9 N m at 0 deg, 68.6 at 45 deg, per arm (science.md 5.2)
    assert static("shoulder_flexion", 0) / 2 == pytest.approx(89.9, rel=0.01)
    assert static("shoulder_flexion", 45) / 2 == pytest.approx(68.6, rel=0.01)


def test_elbow_flexion_over_extension_is_the_published_ratio() -> None:
    # Lategan and Krueger 2003: 1.19 +- .198
    assert static("elbow_flexion", 85) / static("elbow_extension", 80) == pytest.approx(1.19, abs=0.05)


def test_arms_get_faster_and_flatter_but_hips_stay() -> None:
    muscles = Muscles(BASE)
    assert muscles.faster(1.2).actuators["elbow_flexion"].speed_rad_s == pytest.approx(24.0)
    assert muscles.flatter(1.3).actuators["hip_flexion"] == BASE["hip_flexion"]
