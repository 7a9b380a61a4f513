"""Reading SETS.csv: good rows are kept, wrong ones named by row and column."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overbar.errors import BadInput, NotFound
from overbar.strength import estimate
from overbar.strength.csv_sets import parse_sets, read_sets_csv

HEAD = "date,exercise,body_mass_kg,added_kg,reps,reps_left,first_rep_speed_mps,counted_by\n"


def test_a_row_is_read_as_written():
    read = parse_sets(HEAD + "2026-03-02,pull-up,79.5,-12,4,1,0.52,film\n")
    done = read.sets[0]
    assert (done.on, done.body_mass_kg, done.added_kg, done.reps) == (date(2026, 3, 2), 79.5, -12.0, 4)
    assert (done.reps_left, done.first_rep_speed_mps, done.counted_by) == (1.0, 0.52, "film")


def test_what_is_not_said_is_not_zero_and_zero_is_not_missing():
    nothing, zero = parse_sets(HEAD + "2026-03-02,pull-up,80,0,5,,,\n2026-03-02,pull-up,80,0,0,0,,\n").sets
    assert nothing.reps_left is None
    assert nothing.first_rep_speed_mps is None
    assert zero.reps == 0
    assert zero.reps_left == 0.0


@pytest.mark.parametrize(
    ("row", "column", "word"),
    [
        ("02.03.2026,pull-up,80,0,5,,,", "date", "02.03.2026"),
        ("2026-03-02,,80,0,5,,,", "exercise", "empty"),
        ("2026-03-02,pull-up,,0,5,,,", "body_mass_kg", "empty"),
        ("2026-03-02,pull-up,eighty,0,5,,,", "body_mass_kg", "eighty"),
        ("2026-03-02,pull-up,8,0,5,,,", "body_mass_kg", "25 to 300"),
        ("2026-03-02,pull-up,80,0,-1,,,", "reps", "-1"),
        ("2026-03-02,pull-up,80,0,4.5,,,", "reps", "whole"),
        ("2026-03-02,pull-up,80,0,5,,52,", "first_rep_speed_mps", "m/s"),
        ("2026-03-02,pull-up,80,0,5,nan,,", "reps_left", "nan"),
        ("2026-03-02,pull-up,80,-79,5,,,", "added_kg", "79"),
        ("2026-03-02,pull-up,80,0,5,,,guess", "counted_by", "guess"),
        ("2026-03-02,pull-up,80,0,5,,,log,more", "", "columns"),
    ],
)
def test_a_wrong_row_is_named_and_the_good_ones_are_kept(row, column, word):
    good = "2026-03-01,pull-up,80,0,5,,,\n"
    read = parse_sets(HEAD + good + row + "\n" + good)
    assert len(read.sets) == 2
    assert [(w.row, w.column) for w in read.wrong] == [(3, column)]
    assert word in read.wrong[0].say


def test_pounds_stand_in_for_kilograms():
    read = parse_sets("date,exercise,body_mass_lb,added_lb,reps\n2026-03-02,pull-up,176.37,10,5\n")
    assert read.sets[0].body_mass_kg == pytest.approx(80.0, abs=0.01)
    assert read.sets[0].added_kg == pytest.approx(4.536, abs=0.001)


def test_a_table_with_semicolons_and_decimal_commas_is_read():
    read = parse_sets("date;exercise;body_mass_kg;added_kg;reps\n2026-03-02;pull-up;79,5;2,5;5\n")
    assert (read.sets[0].body_mass_kg, read.sets[0].added_kg) == (79.5, 2.5)


def test_a_mark_at_the_start_of_the_file_and_empty_lines_do_no_harm(tmp_path):
    path = tmp_path / "sets.csv"
    path.write_text("\ufeff" + HEAD + "\n2026-03-02,pull-up,80,0,5,,,\n\n", encoding="utf-8")
    assert len(read_sets_csv(path).sets) == 1


def test_a_missing_column_is_named():
    with pytest.raises(BadInput, match="reps"):
        parse_sets("date,exercise,body_mass_kg,added_kg\n2026-03-02,pull-up,80,0\n")


def test_an_empty_file_a_film_and_no_file_are_a_sentence_each(tmp_path):
    with pytest.raises(BadInput, match="empty"):
        parse_sets("")
    (tmp_path / "film.csv").write_bytes(b"\x00\x00\x00\x18ftypmp42\xff\xfe\xa0")
    with pytest.raises(BadInput):
        read_sets_csv(tmp_path / "film.csv")
    with pytest.raises(NotFound):
        read_sets_csv(tmp_path / "none.csv")


ROWS = [
    "2026-03-02,pull-up,80,0,6,1,0.5,log",
    "2026-03-02,pull-up,80,0,5,,,log",
    "2026-03-02,pull-up,80,0,5,,,log",
    "2026-03-02,pull-up,80,0,4,0,,log",
    "2026-03-06,pull-up,80.4,5,4,1,,log",
    "2026-03-06,pull-up,80.4,0,5,,,log",
    "2026-03-09,pull-up,79.8,0,7,0,0.55,film",
]


@settings(max_examples=20, deadline=None)
@given(st.permutations(ROWS))
def test_the_order_of_the_rows_of_a_file_changes_nothing(rows):
    usual = estimate(parse_sets(HEAD + "\n".join(ROWS)).sets, "m")
    assert estimate(parse_sets(HEAD + "\n".join(rows)).sets, "m") == usual
