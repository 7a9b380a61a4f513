"""Loads are sums of the athlete's own single plates, rounded down."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from overbar.athlete.kit import BODY_MASS_ONLY, Band, Kit, Plate, band_load, largest_load, loads, next_load
from overbar.errors import BadInput
from overbar.units import kg_from_lb

BELT = Kit("belt", (Plate(1.25), Plate(2.5), Plate(5), Plate(10)))
POUNDS = Kit("belt", tuple(Plate(kg_from_lb(lb), 2, "lb") for lb in (2.5, 5, 10)))


def test_a_belt_takes_single_plates_so_the_step_is_the_smallest_plate() -> None:
    # Common practice, no source (handbook trade.md section 2.7).
    totals = [load.added_kg for load in loads(BELT)]
    assert totals == pytest.approx([1.25 * step for step in range(16)])


def test_a_load_shows_the_plates_to_use() -> None:
    assert largest_load(BELT, 12.5).say() == "+12.5 kg (10 kg + 2.5 kg)"
    assert largest_load(POUNDS, kg_from_lb(12.5)).say("lb") == "+12.5 lb (10 lb + 2.5 lb)"


def test_what_the_plates_cannot_make_is_rounded_down() -> None:
    assert largest_load(BELT, 6.2).added_kg == pytest.approx(5.0)
    assert next_load(BELT, 5.0).added_kg == pytest.approx(6.25)
    assert next_load(BELT, 18.75) is None


def test_a_backpack_carries_half_litres_up_to_where_the_hang_tips() -> None:
    pack = Kit("backpack", backpack_litres=20)
    assert loads(pack)[1].added_kg == pytest.approx(0.5)
    assert loads(pack)[-1].added_kg == pytest.approx(15.0)


def test_a_dumbbell_between_the_feet_is_one_dumbbell() -> None:
    feet = Kit("dumbbell", (Plate(4, 2), Plate(6), Plate(8)))
    assert [load.added_kg for load in loads(feet)] == pytest.approx([0, 4, 6, 8])


def test_without_a_carrier_only_body_mass_is_possible() -> None:
    assert loads(Kit(plates=(Plate(5),))) == (BODY_MASS_ONLY,)


def test_band_help_is_the_weakest_band_that_gives_enough() -> None:
    kit = Kit(bands=(Band("thick", 30, 18), Band("thin", 12, 6)))
    assert band_load(kit, 8).pieces == ("thin",)
    assert band_load(kit, 15).pieces == ("thick",)
    assert band_load(kit, 60).pieces == ("thick",)
    assert largest_load(kit, -8).added_kg == pytest.approx(-9.0)
    assert band_load(Kit(), 8) == BODY_MASS_ONLY


def test_a_plate_without_mass_is_refused_with_its_place() -> None:
    with pytest.raises(BadInput, match=r"kit\.plates"):
        loads(Kit("belt", (Plate(0.0),)))


@given(
    st.lists(st.tuples(st.sampled_from([0.5, 1.25, 2.5, 5, 10]), st.integers(0, 3)), max_size=5),
    st.floats(0, 60),
)
def test_no_load_ever_exceeds_what_was_asked_or_what_is_there(plates: list, asked: float) -> None:
    kit = Kit("belt", tuple(Plate(mass, count) for mass, count in plates))
    load = largest_load(kit, asked)
    assert 0 <= load.added_kg <= asked + 0.006
    assert load.added_kg <= sum(mass * count for mass, count in plates) + 0.006


def test_pound_plates_add_up_exactly() -> None:
    assert largest_load(POUNDS, kg_from_lb(15)).say("lb") == "+15 lb (10 lb + 5 lb)"
