"""Unit constants against the international agreements."""

import pytest

from overbar.units import KG_PER_LB, M_PER_INCH, STANDARD_GRAVITY, kg_from_lb, lb_from_kg, mass_in_words


def test_the_pound_the_inch_and_standard_gravity_are_the_agreed_values() -> None:
    # International yard and pound agreement 1959; 3rd CGPM 1901 (science.md section 9).
    assert KG_PER_LB == 0.45359237
    assert M_PER_INCH == 0.0254
    assert STANDARD_GRAVITY == 9.80665


@pytest.mark.parametrize(
    ("lb", "kg"), [(2.5, 1.13), (5, 2.27), (10, 4.54), (25, 11.34), (35, 15.88), (45, 20.41)]
)
def test_pound_plates_weigh_what_the_handbook_lists(lb: float, kg: float) -> None:
    # Handbook trade.md section 2.7.
    assert kg_from_lb(lb) == pytest.approx(kg, abs=0.005)
    assert lb_from_kg(kg_from_lb(lb)) == pytest.approx(lb)


def test_masses_are_written_without_needless_zeros() -> None:
    assert mass_in_words(10.0) == "10 kg"
    assert mass_in_words(kg_from_lb(12.5), "lb", signed=True) == "+12.5 lb"
