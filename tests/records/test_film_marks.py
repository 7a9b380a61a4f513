"""What the coach adds to a reading: points, a marked length, height calibration; all kept, all taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.records.test_films import FILMED, film

import overbar.demo
from overbar.errors import BadInput
from overbar.film import rejudge
from overbar.film.calibration import calibrate
from overbar.film.reading import KnownLength, Measured, Reading, read_reading
from overbar.records import Records
from overbar.records.film_marks import KeptCalibration, reckoned
from overbar.records.forget import delete_film, forget

STORED = Path(overbar.demo.__file__).parent / "films" / "good_side_gym.reading.json"


@pytest.fixture(scope="module")
def measured() -> Reading:
    return rejudge(read_reading(STORED))


@pytest.fixture
def read(records: Records, measured: Reading, tmp_path: Path) -> str:
    row = records.add_film("tove", film(tmp_path / "a.mp4", sound=False), FILMED, "swing_high_pull")
    records.save_reading(row.sha256, measured)
    return row.sha256


def length_of(reading: Reading, metres: float) -> KnownLength:
    """Mark a hundred pixels."""
    return KnownLength(400.0, 200.0, 400.0, 300.0, metres)


def holds(high: float) -> dict[str, Measured]:
    """Three holds that all read too high by as much."""
    heights = {"chin": -0.19, "breastbone_top": -0.07, "breastbone_low": 0.18}
    return {name: Measured(value + high, 0.01) for name, value in heights.items()}


def kept(records: Records, sha: str, high: float = 0.04) -> KeptCalibration:
    times = {"chin": 1.0, "breastbone_top": 4.0, "breastbone_low": 7.0}
    return KeptCalibration(calibrate(holds(high)), records.now(), "coach", sha, times)


def peak(reading: Reading | None) -> float:
    assert reading is not None
    return max(reading.curves.shoulder_L)


def test_a_marked_length_refines_the_scale_and_is_taken_back(records: Records, read: str) -> None:
    before = records.reading(read)
    assert before is not None
    assert before.hang_length is not None
    metres = 100 * before.hang_length.m / before.hang_length.px
    scales = []
    for share in (0.97, 1.03):
        after = records.mark_length(read, length_of(before, share * metres), "Oda")
        assert after is not None
        assert after.hang_length is not None
        scales.append(after.hang_length.m)
        assert after.hang_length.sd_m < before.hang_length.sd_m
    assert 1.0 < scales[1] / scales[0] < 1.03 / 0.97
    assert records.film(read).known_length == after.known_length
    assert records.mark_length(read, None, "Oda") == before
    assert records.film(read).known_length is None


def test_a_length_that_cannot_be_meant_keeps_nothing(records: Records, read: str) -> None:
    reading = records.reading(read)
    assert reading is not None
    with pytest.raises(BadInput, match="cannot be meant"):
        records.mark_length(read, length_of(reading, 45.0), "Oda")
    assert records.film(read).known_length is None
    assert records.reading(read) == reading


def test_holds_set_every_height_of_the_athlete_right(records: Records, read: str) -> None:
    before = peak(records.reading(read))
    assert records.calibrate_heights("tove", kept(records, read), "Oda") == 1
    assert peak(records.reading(read)) == pytest.approx(before - 0.03, abs=0.02)
    assert records.calibration("tove") == kept(records, read)
    assert records.reading(read, original=True) != records.reading(read)
    records.calibrate_heights("tove", None, "Oda")
    assert records.calibration("tove") is None
    assert peak(records.reading(read)) == pytest.approx(before)


def test_a_film_read_later_goes_by_the_same_holds(
    records: Records, read: str, measured: Reading, tmp_path: Path
) -> None:
    records.calibrate_heights("tove", kept(records, read), "Oda")
    row = records.film(read)
    records.set_consent(read, replace(row.consent, coach=True))
    records.enqueue_reading(read)
    task = records.claim_reading("worker")
    assert task is not None
    assert records.finish_reading(task, measured)
    assert peak(records.reading(read)) < peak(records.reading(read, original=True))


def test_points_length_and_holds_stand_together_whatever_came_first(records: Records, read: str) -> None:
    reading = records.reading(read)
    assert reading is not None
    assert reading.hang_length is not None
    point = {"frame": 30, "joint": "left_hip", "x_px": 600.0, "y_px": 400.0}
    known = length_of(reading, 100 * reading.hang_length.m / reading.hang_length.px * 1.02)
    records.correct_reading(read, [point], "Oda")
    records.mark_length(read, known, "Oda")
    records.calibrate_heights("tove", kept(records, read), "Oda")
    assert records.corrections(read) == [point]
    assert records.reading(read) == reckoned(reading, [point], known, kept(records, read).value)
    records.calibrate_heights("tove", None, "Oda")
    records.mark_length(read, None, "Oda")
    assert records.correct_reading(read, [], "Oda") == reading


def test_holds_in_the_wrong_order_are_refused(records: Records) -> None:
    wrong = holds(0.0)
    wrong["chin"], wrong["breastbone_low"] = wrong["breastbone_low"], wrong["chin"]
    with pytest.raises(BadInput, match="cannot be"):
        calibrate(wrong)


def test_a_calibration_goes_with_the_numbers_of_the_film_it_was_made_from(
    records: Records, read: str, measured: Reading, tmp_path: Path
) -> None:
    other = records.add_film("tove", film(tmp_path / "b.mp4", sound=False, frames=24), FILMED, "")
    records.save_reading(other.sha256, measured)
    before = peak(records.reading(other.sha256))
    records.calibrate_heights("tove", kept(records, read), "Oda")
    assert peak(records.reading(other.sha256)) < before
    delete_film(records, read, keep_numbers=False)
    assert records.calibration("tove") is None
    assert peak(records.reading(other.sha256)) == pytest.approx(before)


def test_a_calibration_stays_with_numbers_that_stay(records: Records, read: str) -> None:
    records.calibrate_heights("tove", kept(records, read), "Oda")
    delete_film(records, read, keep_numbers=True)
    assert records.calibration("tove") == kept(records, read)


def test_a_forgotten_athlete_leaves_no_calibration(records: Records, read: str) -> None:
    records.calibrate_heights("tove", kept(records, read), "Oda")
    assert forget(records, "tove").left == 0


def test_an_unusable_film_keeps_the_id_of_its_problem(records: Records, read: str) -> None:
    records.set_consent(read, replace(records.film(read).consent, coach=True))
    records.enqueue_reading(read)
    task = records.claim_reading("worker")
    assert task is not None
    records.finish_reading(task, "The legs are outside the picture.", "unusable", "cut_off")
    assert records.film(read).problem == "cut_off"
