"""What planning takes from a reading, and how films and logs of one day stand beside each other."""

from dataclasses import replace
from datetime import date

import pytest

from overbar.film.reading import (
    Attempt,
    Curves,
    Film,
    FoundFault,
    HangLength,
    Joints,
    Measured,
    Reading,
    Rep,
    Swing,
    View,
)
from overbar.planning.history import AttemptLog
from overbar.records.findings import FilmedSet, findings, with_filmed_set, with_filmed_tries
from overbar.records.written import from_plain, to_plain
from overbar.strength.sets import LoggedSet

DAY = date(2026, 4, 20)
NO_JOINTS = Joints((), (), (), (), ())
NO_CURVES = Curves((), (), (), (), (), (), (), ())


def rep(
    kind: str = "pull_up", counted: bool = True, peak: float = -0.1, sd: float = 0.02, at: float = 0.0
) -> Rep:
    m = Measured
    return Rep(
        kind, at, at + 1, at + 2, counted, "", counted, m(peak, sd), m(0, 0.02), m(0.5, 0.04), m(0.9, 0.05)
    )


def attempt(outcome: str = "failed", at: float = 0.0, **measures: float) -> Attempt:
    return Attempt(at, at + 5, outcome, "swing", {name: Measured(v, 0.02) for name, v in measures.items()})


def a_reading(**more: object) -> Reading:
    values: dict[str, object] = {
        "film": Film("a.mp4", "f" * 64, 64, 48, 60, 2.0, False, 0),
        "stature_m": 1.7,
        "mass_kg": 64.0,
        "view": View("side", "left"),
        "usable": True,
        "problems": (),
        "bar": None,
        "hang_length": HangLength(100, 0.65, 0.01),
        "swing": None,
        "events": (),
        "reps": (),
        "attempts": (),
        "faults": (),
        "main_fault": None,
        "cue": "",
        "drill": "",
        "next_week": "",
        "limit": "",
        "margins": "",
        "joints": NO_JOINTS,
        "curves": NO_CURVES,
    }
    return Reading(**(values | more))  # type: ignore[arg-type]


def values_of(reading: Reading, exercise: str) -> dict[str, tuple[float, float | None]]:
    return {m.test: (m.value, m.sd) for m in findings(reading, DAY, "f" * 64, exercise).measurements}


def test_the_best_high_pull_is_the_height_of_the_day_with_its_uncertainty() -> None:
    reading = a_reading(reps=(rep("high_pull", peak=-0.05), rep("high_pull", peak=0.01, sd=0.03)))
    assert values_of(reading, "strict_high_pull") == {"strict_high_L": (0.01, 0.03)}
    assert values_of(reading, "swing_high_pull") == {"swing_high_L": (0.01, 0.03)}


def test_without_a_name_the_swing_tells_which_height_it_is() -> None:
    swing = Swing(None, Measured(0.8, 0.05))
    assert "swing_high_L" in values_of(a_reading(reps=(rep("high_pull"),), swing=swing), "")
    assert "strict_high_L" in values_of(a_reading(reps=(rep("high_pull"),)), "")


def test_a_drill_is_no_height_test() -> None:
    reading = a_reading(reps=(rep("high_pull"),), attempts=(attempt(peak_shoulder_L=0.1),))
    assert values_of(reading, "count_and_pull") == {}


def test_a_pull_that_looks_like_a_try_in_a_film_of_high_pulls_is_a_high_pull() -> None:
    reading = a_reading(attempts=(attempt(peak_shoulder_L=0.12),))
    found = findings(reading, DAY, "f" * 64, "swing_high_pull")
    assert found.attempts == ()
    assert [(m.test, m.value) for m in found.measurements] == [("swing_high_L", 0.12)]


def test_a_try_keeps_its_measures_and_the_main_fault_that_lies_in_it() -> None:
    fault = FoundFault("F06", "Early pull", 6.0, "pull_after_front_s", -0.1, 0.02, -0.07, 0.9, 1)
    reading = a_reading(
        attempts=(attempt("valid", stall_s=0.0), attempt("failed", at=5.5, peak_shoulder_L=0.1)),
        faults=(fault,),
        main_fault="F06",
    )
    first, second = findings(reading, DAY, "f" * 64, "muscle_up").attempts
    assert (first.outcome, first.stall_s, first.peak_L, first.fault) == ("valid", 0.0, None, None)
    assert (second.n, second.outcome, second.peak_L, second.fault) == (2, "failed", 0.1, "F06")


def test_an_unusable_film_says_that_and_no_more() -> None:
    found = findings(a_reading(usable=False, reps=(rep(),)), DAY, "f" * 64, "strict_pull_up")
    assert not found.film.usable
    assert (found.measurements, found.attempts, found.filmed_set) == ((), (), None)


def test_a_lowering_is_timed_between_the_two_heights_of_the_test() -> None:
    """Test T9: seconds between +0.4 and -0.1 L (handbook trade.md 1.3). 0.5 L at 0.125 L/s are 4 s."""
    t = tuple(n / 30 for n in range(240))
    curves = replace(
        NO_CURVES, t_s=t, shoulder_L=tuple(0.6 - 0.125 * at for at in t), shoulder_sd_L=(0.02,) * 240
    )
    lowering = replace(rep("negative"), from_s=0.0, top_s=0.0, to_s=8.0)
    value, sd = values_of(a_reading(curves=curves, reps=(lowering,)), "muscle_up_negative")["negative_s"]
    assert value == pytest.approx(4.0, abs=1e-3)
    assert sd == pytest.approx((2 * (1 / 30**2 / 12 + (0.02 / 0.125) ** 2)) ** 0.5, abs=1e-3)


def test_a_lowering_that_stops_half_way_has_no_time() -> None:
    t = tuple(n / 30 for n in range(60))
    curves = replace(
        NO_CURVES, t_s=t, shoulder_L=tuple(0.6 - 0.1 * at for at in t), shoulder_sd_L=(0.02,) * 60
    )
    assert "negative_s" not in values_of(a_reading(curves=curves, reps=(rep("negative"),)), "")


def test_findings_survive_being_written_down() -> None:
    reading = a_reading(reps=(rep(), rep("high_pull")), attempts=(attempt(peak_shoulder_L=0.1),))
    found = findings(reading, DAY, "f" * 64, "")
    assert from_plain(type(found), to_plain(found)) == found


class TestSetsOnFilm:
    def log(self, *reps: int) -> tuple[LoggedSet, ...]:
        return tuple(LoggedSet(DAY, "strict_pull_up", 64, 0, n, order=i) for i, n in enumerate(reps))

    def test_a_set_on_film_takes_the_place_of_the_logged_one_it_shows(self) -> None:
        """Three counted of five: a rep out of range is not a rep (handbook trade.md F20)."""
        filmed = FilmedSet(reps=3, seen=5, first_rep_speed_mps=0.5, failed=True)
        sets = with_filmed_set(self.log(7, 5, 4), filmed, DAY, "strict_pull_up", 64, 0.0)
        assert [(one.reps, one.counted_by) for one in sets] == [(7, "log"), (3, "film"), (4, "log")]
        assert sets[1].first_rep_speed_mps == 0.5

    def test_a_set_nobody_logged_is_added_when_its_load_is_known(self) -> None:
        filmed = FilmedSet(3, 5, None, True)
        (added,) = with_filmed_set((), filmed, DAY, "strict_pull_up", 64, None)
        assert (added.reps, added.counted_by, added.added_kg) == (3, "film", 0.0)
        assert with_filmed_set((), filmed, DAY, "weighted_pull_up", 64, None) == ()
        (loaded,) = with_filmed_set((), filmed, DAY, "weighted_pull_up", 64, 5.0)
        assert loaded.added_kg == 5.0

    def test_sets_of_other_days_and_loads_stay(self) -> None:
        other = (replace(self.log(5)[0], on=date(2026, 4, 21)), replace(self.log(5)[0], added_kg=10.0))
        sets = with_filmed_set(other, FilmedSet(3, 5, None, True), DAY, "strict_pull_up", 64, 0.0)
        assert sets[:2] == other


def test_tries_on_film_take_the_place_of_the_logged_tries_they_show() -> None:
    logged = tuple(AttemptLog(DAY, n, out) for n, out in enumerate(("failed", "over_not_clean", "valid"), 1))  # type: ignore[arg-type]
    film = (AttemptLog(DAY, 1, "over_not_clean", source="film"), AttemptLog(DAY, 1, "valid", source="film"))
    merged = with_filmed_tries(logged, film)
    assert [(one.n, one.outcome, one.source) for one in merged] == [
        (1, "failed", "log"),
        (2, "over_not_clean", "film"),
        (3, "valid", "film"),
    ]


def test_a_try_on_film_that_nobody_logged_is_one_more() -> None:
    film = (AttemptLog(DAY, 1, "failed", source="film"),)
    assert [one.n for one in with_filmed_tries((), film)] == [1]
    both = with_filmed_tries((AttemptLog(DAY, 1, "valid"),), (*film, *film))
    assert [(one.n, one.source) for one in both] == [(1, "film"), (2, "film")]
