"""The reply: what I saw with one number, what to do next time, what changes this week."""

from dataclasses import replace

from overbar.desk.filming import HELP
from overbar.desk.reply import reply
from overbar.film.reading import Measured, Problem, Reading, Rep
from overbar.ladder import Ladder


def test_three_sentences_each_with_its_part(reading: Reading, ladder: Ladder) -> None:
    saw, cue, drill = reply(reading, ladder, "Wilma").split("\n")
    assert saw == "Wilma, your shoulders reached 8 ± 1 cm over the bar and what held it back was: early pull."
    assert cue == "Next time: wait until you float in front, then pull."
    assert ladder.exercises["count_and_pull"].name.lower() in drill.lower()


def test_a_film_without_a_fault_changes_nothing(reading: Reading, ladder: Ladder) -> None:
    good = replace(reading, faults=(), main_fault=None, cue="", drill="")
    assert reply(good, ladder).split("\n")[-1] == "Nothing changes in the plan this week."


def test_pull_ups_are_counted_and_the_standard_is_said(reading: Reading, ladder: Ladder) -> None:
    number = Measured(0.1, 0.02)
    full = Rep("pull_up", 0, 1, 2, True, "", True, number, number, number, number)
    short = replace(full, counted=False, why_not="chin 4 ± 1 cm under the bar", chin_over_bar=False)
    pulls = replace(reading, attempts=(), reps=(full, full, full, short, short))
    first = reply(pulls, ladder).split("\n")[0]
    assert first == "I counted 3 strict pull-ups of 5; the others do not count: chin 4 ± 1 cm under the bar."


def test_a_film_that_cannot_be_measured_asks_for_one_new_one(reading: Reading, ladder: Ladder) -> None:
    dark = replace(reading, usable=False, problems=(Problem("cut_off", "The feet are out of the picture."),))
    text = reply(dark, ladder)
    assert "feet are out of the picture" in text
    assert HELP["cut_off"].say in text
