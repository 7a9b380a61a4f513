"""An error says what was wrong, where, and what to do, in sentences."""

from overbar.errors import BadInput, UnusableFilm


def test_an_error_is_whole_sentences_with_its_place() -> None:
    error = BadInput("reps 'six' is not a number", "sets.csv, row 3, column reps", "Write digits.")
    assert error.say() == "sets.csv, row 3, column reps: reps 'six' is not a number. Write digits."
    assert BadInput("Nothing there.", do="Look again.").say() == "Nothing there. Look again."
    assert str(BadInput("plain")) == "plain"


def test_an_unusable_film_ends_with_its_own_exit_code() -> None:
    assert UnusableFilm("no_person", "No person is seen.").exit_code == 3
    assert BadInput("x").exit_code == 2
