"""Log tables as people's spreadsheets really are."""

import io
from datetime import date, datetime

import openpyxl
import pytest

from overbar.errors import BadInput
from overbar.planning.history import BodyNote, PainReport, SessionLog
from overbar.records.pieces import Ground, Parsed
from overbar.records.tables import csv_sheet, decoded, parse_table, xlsx_sheets
from overbar.strength.sets import LoggedSet
from overbar.units import KG_PER_LB


def csv_of(text: str, ground: Ground) -> Parsed:
    return parse_table([csv_sheet(text, "log.csv")], lambda who: ground, "tove").get("tove", Parsed())


def xlsx_of(rows: list[list[object]], ground: Ground, merged: str = "") -> Parsed:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if merged:
        book.active.merge_cells(merged)
    raw = io.BytesIO()
    book.save(raw)
    return parse_table(xlsx_sheets(raw.getvalue(), "log.xlsx"), lambda who: ground, "tove")["tove"]


def sets(parsed: Parsed) -> list[LoggedSet]:
    return [f for one in parsed.understood for f in one.facts if isinstance(f, LoggedSet)]


def wrong(parsed: Parsed) -> list[str]:
    return [f"{one.where}: {one.why}" for one in parsed.not_understood]


SETS_CSV = """date,exercise,body_mass_kg,added_kg,reps,reps_left,first_rep_speed_mps,counted_by
2026-01-05,strict_pull_up,77.7,0,5,0,0.49,log
2026-01-05,weighted pull-up,77.7,10,3,,,film
2026-01-07,D07,77.9,-12.5,6,2,,log
"""


def test_the_table_of_sets_the_program_itself_writes_is_read(ground: Ground) -> None:
    """Its columns are those of the command that computes strength from a table."""
    parsed = csv_of(SETS_CSV, ground)
    assert wrong(parsed) == []
    assert [(s.on.day, s.exercise, s.added_kg, s.reps, s.reps_left, s.counted_by) for s in sets(parsed)] == [
        (5, "strict_pull_up", 0.0, 5, 0.0, "log"),
        (5, "weighted_pull_up", 10.0, 3, None, "film"),
        (7, "band_assisted_pull_up", -12.5, 6, 2.0, "log"),
    ]
    assert sets(parsed)[0].first_rep_speed_mps == 0.49


def test_a_wrong_cell_is_named_by_row_and_column_and_the_good_rows_are_kept(ground: Ground) -> None:
    parsed = csv_of(
        "Date;Exercise;Sets;Reps;Added (kg);RIR\n"
        "05.01.2026;Pull-ups;5;5;0;2\n"
        "06.01.2026;Pull-ups;five;5;0;2\n"
        "07.01.2026;Chin-ups;3;5;0;2\n"
        "08.01.2026;Pull-ups;3;5;2,5;1,5\n"
        "31.02.2026;Pull-ups;3;5;0;\n"
        "10.01.2026;Pull-ups;3;5;heavy;\n",
        ground,
    )
    assert [(one.on.day, one.added_kg, one.reps_left) for one in sets(parsed)][-1] == (8, 2.5, 1.5)
    assert len(sets(parsed)) == 8
    assert wrong(parsed) == [
        "row 3, column 'Sets': 'five' is no number",
        "row 4, column 'Exercise': 'Chin-ups' is no exercise of this ladder",
        "row 6, column 'Date': '31.02.2026' is no day of the calendar",
        "row 7, column 'Added (kg)': 'heavy' is no mass",
    ]


def test_pounds_stand_in_the_heading_or_in_the_cell(ground: Ground) -> None:
    parsed = csv_of(
        "date,exercise,reps,added (lb),body mass (lb)\n"
        "2026-01-05,pull up,5,22.5,172\n"
        "2026-01-06,pull up,5,10 kg,\n",
        ground,
    )
    first, second = sets(parsed)
    assert first.added_kg == pytest.approx(22.5 * KG_PER_LB, abs=1e-4)
    assert first.body_mass_kg == pytest.approx(172 * KG_PER_LB, abs=1e-4)
    assert second.added_kg == 10.0


def test_a_column_that_can_mean_two_things_is_not_guessed(ground: Ground) -> None:
    parsed = csv_of("date,exercise,reps,weight\n2026-01-05,pull up,5,10\n", ground)
    assert sets(parsed) == []
    assert wrong(parsed) == [
        "row 2, column 'weight': can be body mass or added load; head the column body_mass_kg or added_kg"
    ]


def test_a_loaded_exercise_without_a_load_is_not_taken_for_body_mass(ground: Ground) -> None:
    parsed = csv_of("date,exercise,reps,added_kg\n2026-01-05,weighted pull-up,5,\n", ground)
    assert sets(parsed) == []
    assert "no load is given" in wrong(parsed)[0]


def test_day_and_month_are_told_apart_by_the_whole_column(ground: Ground) -> None:
    rows = "date,exercise,reps\n03/04/2026,pull up,5\n{},pull up,5\n"
    assert sets(csv_of(rows.format("13/04/2026"), ground))[0].on == date(2026, 4, 3)
    assert sets(csv_of(rows.format("04/13/2026"), ground))[0].on == date(2026, 3, 4)
    assert "could be" in wrong(csv_of(rows.format("05/04/2026"), ground))[0]


def test_pain_sleep_body_mass_and_sessions_stand_in_the_same_row(ground: Ground) -> None:
    parsed = csv_of(
        "date,session,exercise,reps,bm,sleep,effort,minutes,pain,site,side,next morning\n"
        "2026-01-05,A,pull up,5 5 4,78.2,7.5,7,55,3,inner elbow,R,2\n",
        ground,
    )
    facts = [f for one in parsed.understood for f in one.facts if not isinstance(f, LoggedSet)]
    day = date(2026, 1, 5)
    assert facts == [
        PainReport(day, "inner elbow", 3.0, 2.0, side="right"),
        BodyNote(day, 78.2, 7.5),
        SessionLog(day, "A", True, 7.0, 55.0),
    ]
    assert [(s.reps, s.session, s.order) for s in sets(parsed)] == [(5, "A", 0), (5, "A", 1), (4, "A", 2)]


@pytest.mark.parametrize(
    ("reps", "expected"),
    [("5", [5]), ("5 5 4", [5, 5, 4]), ("5,5,4", [5, 5, 4]), ("5x3", [3] * 5), ("5-5-4", [5, 5, 4])],
)
def test_reps_are_written_in_many_ways(reps: str, expected: list[int], ground: Ground) -> None:
    assert [
        s.reps for s in sets(csv_of(f'date;exercise;reps\n2026-01-05;pull up;"{reps}"\n', ground))
    ] == expected


@pytest.mark.parametrize("reps", ["4.5", "many", "3-5 or so", "999", "", "5x"])
def test_reps_that_are_none_are_not_made_up(reps: str, ground: Ground) -> None:
    parsed = csv_of(f"date;exercise;reps\n2026-01-05;pull up;{reps}\n", ground)
    assert sets(parsed) == []
    assert "column 'reps'" in wrong(parsed)[0]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_any_separator_will_do(separator: str, ground: Ground) -> None:
    text = SETS_CSV.replace(",", separator)
    assert len(sets(csv_of(text, ground))) == 3


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_any_encoding_of_the_common_programs_will_do(encoding: str, ground: Ground) -> None:
    raw = "date,exercise,reps,note\n2026-01-05,pull up,5,müde\n".encode(encoding)
    (one,) = sets(csv_of(decoded(raw, "log.csv"), ground))
    assert one.note == "müde"


@pytest.mark.parametrize("raw", [b"\x00\x01\x02" * 50, b"\xff\xd8\xff\xe0" + bytes(range(256))])
def test_what_is_no_text_is_said_to_be_none(raw: bytes) -> None:
    with pytest.raises(BadInput, match="no text"):
        decoded(raw, "photo.csv")


@pytest.mark.parametrize("text", ["", "hello\nworld\n", "exercise,reps\npull up,5\n", "1,2,3\n4,5,6\n"])
def test_a_table_without_a_heading_says_what_it_wants(text: str, ground: Ground) -> None:
    with pytest.raises(BadInput, match="heading"):
        csv_of(text, ground)


def test_rows_cut_short_or_too_long_break_nothing(ground: Ground) -> None:
    parsed = csv_of('date,exercise,reps\n2026-01-05\n2026-01-05,pull up,5,6,7\n"2026-01-06,pull up', ground)
    assert [s.reps for s in sets(parsed)] == [5]


class TestWorkbooks:
    HEAD = ("Date", "Exercise", "Sets", "Reps", "Added kg")

    def test_dates_and_numbers_come_as_the_spreadsheet_keeps_them(self, ground: Ground) -> None:
        parsed = xlsx_of(
            [
                list(self.HEAD),
                [datetime(2026, 1, 5), "Pull-ups", 3, 5, 0],
                ["6.1.2026", "Pull-ups", "3", "5", "2,5"],
            ],
            ground,
        )
        assert wrong(parsed) == []
        assert [(s.on.day, s.reps, s.added_kg) for s in sets(parsed)] == [(5, 5, 0)] * 3 + [(6, 5, 2.5)] * 3

    def test_a_title_above_the_heading_is_skipped(self, ground: Ground) -> None:
        parsed = xlsx_of(
            [["Training log"], [], list(self.HEAD), [datetime(2026, 1, 5), "Pull-ups", 1, 5, 0]], ground
        )
        assert len(sets(parsed)) == 1

    def test_merged_cells_hold_for_all_their_rows(self, ground: Ground) -> None:
        rows = [list(self.HEAD), [datetime(2026, 1, 5), "Pull-ups", 3, 5, 0], [None, "Dips", 3, 8, 0]]
        parsed = xlsx_of(rows, ground, merged="A2:A3")
        assert {(s.on.day, s.exercise) for s in sets(parsed)} == {
            (5, "strict_pull_up"),
            (5, "parallel_bar_dip"),
        }

    def test_an_empty_date_is_not_filled_in_by_itself(self, ground: Ground) -> None:
        rows = [list(self.HEAD), [datetime(2026, 1, 5), "Pull-ups", 3, 5, 0], [None, "Dips", 3, 8, 0]]
        parsed = xlsx_of(rows, ground)
        assert wrong(parsed) == ["row 3, column 'Date' (A3): there is no date"]

    def test_a_formula_that_was_never_computed_is_named(self, ground: Ground) -> None:
        parsed = xlsx_of([list(self.HEAD), [datetime(2026, 1, 5), "Pull-ups", 3, "=2+3", 0]], ground)
        (one,) = wrong(parsed)
        assert "(D2)" in one
        assert "formula" in one

    def test_reps_a_spreadsheet_has_turned_into_a_date_are_named(self, ground: Ground) -> None:
        rows = [list(self.HEAD), [datetime(2026, 1, 5), "Pull-ups", None, datetime(2026, 5, 4), 0]]
        assert "turned the reps into one" in wrong(xlsx_of(rows, ground))[0]

    def test_an_error_in_a_cell_is_named(self, ground: Ground) -> None:
        book = openpyxl.Workbook()
        book.active.append(list(self.HEAD))
        book.active.append([datetime(2026, 1, 5), "Pull-ups", 3, "#REF!", 0])
        book.active["D2"].data_type = "e"
        raw = io.BytesIO()
        book.save(raw)
        parsed = parse_table(xlsx_sheets(raw.getvalue(), "x"), lambda who: ground, "tove")["tove"]
        assert "#REF!" in wrong(parsed)[0]

    @pytest.mark.parametrize("raw", [b"PK\x03\x04 broken", b"", b"not a zip"])
    def test_a_damaged_workbook_is_one_sentence(self, raw: bytes) -> None:
        with pytest.raises(BadInput, match="no workbook"):
            xlsx_sheets(raw, "log.xlsx")
