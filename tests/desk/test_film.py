"""A film in words: exact counts, measured numbers with their uncertainty, one fault before all."""

from dataclasses import replace
from itertools import pairwise

from overbar.desk.film import film_view, phase_runs, player_data, verdict_line
from overbar.film.measure_names import MEASURE_NAMES
from overbar.film.measures import MEASURES
from overbar.film.reading import Measured, Problem, Reading, Rep
from overbar.ladder import Ladder


def pull_up(counted: bool, why_not: str = "") -> Rep:
    number = Measured(0.1, 0.02)
    return Rep("pull_up", 0.0, 1.0, 2.0, counted, why_not, counted, number, number, number, number)


def test_one_fault_leads_with_its_chance_and_the_moment_to_look_at(reading: Reading, ladder: Ladder) -> None:
    view = film_view(reading, ladder)
    main = [fault for fault in view.faults if fault.main]
    assert [fault.id for fault in main] == ["F06"]
    assert main[0].says == "pull after the front of the swing −0.15 ± 0.03 s, limit −0.07 s"
    assert main[0].chance == "99\u00a0%"
    assert main[0].at_s == 0.6
    assert view.limit == "technique"


def test_heights_are_told_in_hang_lengths_and_in_centimetres(reading: Reading, ladder: Ladder) -> None:
    numbers = dict(film_view(reading, ladder).rows[0].numbers)
    assert numbers["peak shoulder height"] == "+0.12 ± 0.02 L (+8 ± 1 cm)"


def test_the_film_is_told_in_one_line(reading: Reading) -> None:
    assert verdict_line(reading) == "1 try at the muscle-up: not over"
    pulls = replace(
        reading, attempts=(), reps=(pull_up(True), pull_up(True), pull_up(False, "chin below the bar"))
    )
    assert verdict_line(pulls) == "2 of 3 pull-ups counted"
    assert verdict_line(replace(reading, usable=False, problems=(Problem("dark", "too dark"),))).startswith(
        "This film"
    )


def test_events_come_in_their_order_with_their_uncertainty(reading: Reading, ladder: Ladder) -> None:
    moments = film_view(reading, ladder).moments
    assert [moment.name for moment in moments] == ["Pull begins", "Highest point"]
    assert moments[0].say == "0.60 s ± 0.02 s"


def test_phases_cover_the_film_without_a_gap(reading: Reading) -> None:
    runs = phase_runs(reading)
    assert [run["name"] for run in runs] == ["hang", "pull", "descent"]
    assert all(one["to"] == other["from"] for one, other in pairwise(runs))


def test_the_player_gets_every_frame_with_its_own_time(reading: Reading) -> None:
    data = player_data(reading)
    assert len(data["t"]) == len(data["x"]) == len(data["y"]) == reading.film.frames
    assert data["bones"]
    assert data["bar"] == {"x": 640.0, "y": 200.0, "sd": 2.0}


def test_faults_the_film_cannot_show_say_what_shows_them(reading: Reading, ladder: Ladder) -> None:
    unseen = {one.id: one.how for one in film_view(reading, ladder).unseen}
    assert "photo of the place" in unseen["F01"]
    assert unseen["F03"].startswith("a film from the front or from behind")
    assert "F26" not in unseen
    assert "F06" not in unseen


def test_every_measure_of_the_film_room_has_words() -> None:
    assert set(MEASURES) <= set(MEASURE_NAMES)
