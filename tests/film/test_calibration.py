"""Three held heights set an athlete's own heights right."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overbar.errors import BadInput
from overbar.film import recalibrate
from overbar.film.calibration import HOLD_HEIGHTS, calibrate, holds_of
from overbar.film.reading import Measured, Reading


def holds(offset: float) -> dict[str, Measured]:
    return {name: Measured(height + offset, 0.024) for name, height in HOLD_HEIGHTS.items()}


def test_shoulders_read_too_high_by_the_same_everywhere_are_brought_down_by_that(pull_ups):
    reading, _ = pull_ups
    calibrated = recalibrate(reading, calibrate(holds(0.05)))
    before, after = reading.reps[0].peak_shoulder_L, calibrated.reps[0].peak_shoulder_L
    assert after.value == pytest.approx(before.value - 0.037, abs=0.01)
    # Holds are read with the errors of every film: heights get right on the whole, not surer.
    assert after.sd == pytest.approx(before.sd, abs=0.003)
    # The hang stays the hang: it is one hang length under the bar by definition.
    assert min(calibrated.curves.shoulder_L) == pytest.approx(min(reading.curves.shoulder_L), abs=0.01)


def test_taking_a_calibration_back_gives_the_old_heights(pull_ups):
    reading, _ = pull_ups
    back = recalibrate(recalibrate(reading, calibrate(holds(0.05))), None)
    assert back.reps[0].peak_shoulder_L.value == pytest.approx(
        recalibrate(reading, None).reps[0].peak_shoulder_L.value
    )


def test_a_threshold_means_the_part_of_the_body_at_the_bar():
    # An athlete with a long neck reads the chin hold lower than the table and the chest hold as the table.
    told = calibrate({"chin": Measured(-0.24, 0.02), "breastbone_low": Measured(0.18, 0.02)})
    chin, chest = (one.too_high_L.value for one in told.holds)
    assert -0.05 < chin < 2 * chest < 0.0


def test_one_hold_read_askew_is_not_believed_whole():
    # As read on a rendered film of three holds whose joints stood at the heights of the table.
    read = {"chin": -0.155, "breastbone_top": -0.126, "breastbone_low": 0.148}
    told = calibrate({name: Measured(height, 0.024) for name, height in read.items()})
    right = [one.read_L - one.too_high_L.value for one in told.holds]
    raw = [abs(height - HOLD_HEIGHTS[name]) for name, height in read.items()]
    left = [abs(height - HOLD_HEIGHTS[name]) for height, name in zip(right, read, strict=True)]
    assert right == sorted(right)
    assert all(0 < after < before for after, before in zip(left, raw, strict=True))
    assert all(0.015 < one.too_high_L.sd < 0.025 for one in told.holds)


@pytest.mark.parametrize(
    "read",
    [
        {},
        {"nose": Measured(0.0, 0.02)},
        {"chin": Measured(0.10, 0.02)},
        {"chin": Measured(-0.05, 0.02), "breastbone_top": Measured(-0.15, 0.02)},
    ],
)
def test_holds_that_cannot_be_are_refused(read):
    with pytest.raises(BadInput):
        calibrate(read)


def held(reading: Reading, heights: list[float]) -> Reading:
    """Return a reading whose curve rests at these heights for a second and a half each."""
    rest, way, rate = 45, 20, 30
    shoulder = [-1.0] * 30
    for height in heights:
        shoulder += list(np.linspace(shoulder[-1], height, way)) + [height] * rest
    shoulder += list(np.linspace(shoulder[-1], -1.0, way))
    rise = np.gradient(shoulder) * rate * 0.68
    curves = replace(
        reading.curves,
        t_s=tuple(np.arange(len(shoulder)) / rate),
        shoulder_L=tuple(shoulder),
        shoulder_sd_L=tuple(np.full(len(shoulder), 0.02)),
        rise_mps=tuple(rise),
    )
    return replace(reading, curves=curves)


@pytest.mark.xdist_group("films")
def test_the_three_holds_of_a_film_are_found_where_they_were_held(pull_ups):
    found = holds_of(held(pull_ups[0], [-0.15, -0.03, 0.2]))
    assert [hold.height_L.value for hold in found] == pytest.approx([-0.15, -0.03, 0.2], abs=0.005)


@pytest.mark.xdist_group("films")
def test_quick_pull_ups_hold_nothing(pull_ups):
    assert holds_of(pull_ups[0]) == ()


@pytest.mark.xdist_group("films")
def test_a_calibrated_reading_survives_its_json(pull_ups):
    made = recalibrate(pull_ups[0], calibrate(holds(0.02)))
    assert Reading.from_json(made.to_json()) == made
