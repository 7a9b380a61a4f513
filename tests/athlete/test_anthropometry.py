"""Body lengths against ANSUR II (Gordon et al. 2014, NATICK/TR-15/007)."""

import pytest

from overbar.athlete.anthropometry import body_length, pull_up_travel
from overbar.errors import BadInput


def test_a_man_of_180_cm_has_the_published_lengths() -> None:
    # Handbook science.md section 4.4, example row and section 10 case 12.
    assert body_length("acromial_height", 1.80, "m").m == pytest.approx(1.4798, abs=1e-4)
    assert body_length("acromial_height", 1.80, "m").sd_m == pytest.approx(0.016, abs=5e-4)
    assert body_length("shoulder_elbow_length", 1.80, "m").m == pytest.approx(0.373, abs=5e-4)
    assert body_length("elbow_grip_length", 1.80, "m").m == pytest.approx(0.358, abs=5e-4)
    assert body_length("biacromial_breadth", 1.80, "m").m == pytest.approx(0.422, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "sex", "stature_m", "mean_mm"),
    [
        ("acromial_height", "m", 1.7562, 1440.7),
        ("biacromial_breadth", "m", 1.7562, 415.7),
        ("shoulder_elbow_length", "m", 1.7562, 363.7),
        ("forearm_hand_length", "m", 1.7562, 480.2),
        ("acromial_height", "f", 1.6285, 1335.1),
        ("biacromial_breadth", "f", 1.6285, 365.3),
        ("shoulder_elbow_length", "f", 1.6285, 334.3),
        ("forearm_hand_length", "f", 1.6285, 439.9),
        ("span", "f", 1.6285, 1660.3),
        ("trochanter_height", "m", 1.7562, 900.9),
    ],
)
def test_a_regression_passes_through_the_published_means(
    name: str, sex: str, stature_m: float, mean_mm: float
) -> None:
    # Science.md section 10 case 12; 0.35 mm allows for the printed rounding of the slopes.
    assert body_length(name, stature_m, sex).m * 1000 == pytest.approx(mean_mm, abs=0.35)


def test_chin_to_grip_is_the_travel_of_one_strict_pull_up() -> None:
    # Science.md section 10 case 13: .349 H men, .340 H women; 0.614 and 0.553 m.
    assert pull_up_travel(1.7562, "m").m == pytest.approx(0.614, abs=0.001)
    assert pull_up_travel(1.6285, "f").m == pytest.approx(0.553, abs=0.001)
    assert pull_up_travel(1.7562, "m").sd_m == pytest.approx(0.0495, abs=0.0005)


def test_an_unstated_sex_lies_between_and_is_less_certain() -> None:
    low, mid, high = (body_length("acromial_height", 1.7, sex) for sex in ("f", "unstated", "m"))
    assert min(low.m, high.m) <= mid.m <= max(low.m, high.m)
    assert mid.sd_m >= min(low.sd_m, high.sd_m)


@pytest.mark.parametrize("stature", [178, 0.9, 0.0])
def test_a_stature_in_the_wrong_unit_is_refused_with_a_hint(stature: float) -> None:
    with pytest.raises(BadInput, match="in metres"):
        body_length("span", stature)
