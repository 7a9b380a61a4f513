"""Logs in: shown, stored once, and never more than was understood."""

from datetime import date
from pathlib import Path

import openpyxl
import pytest
from tests.records.conftest import NOW, someone
from tests.records.test_decisions import week

from overbar.errors import BadInput, NotFound
from overbar.planning.history import SessionLog
from overbar.records import Records
from overbar.records.take_in import take_in, take_in_file

MESSAGE = "Mon 20 Apr\nBW 5 5 5 4 4 RIR 1\nblorp 3 3 3\nelbow 1/10\n"


def test_what_was_understood_is_stored_and_the_rest_is_named(records: Records) -> None:
    taken = take_in(records, "tove", MESSAGE)
    assert taken.new == 7  # five sets, a session, a pain report
    assert [one.piece for one in taken.not_understood] == ["blorp", "3 3 3"]
    history = records.history("tove")
    assert [one.reps for one in history.sets] == [5, 5, 5, 4, 4]
    assert [one.worst for one in history.pain] == [1.0]


def test_the_same_message_twice_adds_nothing(records: Records) -> None:
    first = take_in(records, "tove", MESSAGE)
    before = records.history("tove")
    again = take_in(records, "tove", MESSAGE)
    assert (again.new, again.known) == (0, first.new)
    assert records.history("tove") == before


def test_trying_it_dry_stores_nothing(records: Records) -> None:
    taken = take_in(records, "tove", MESSAGE, dry=True)
    assert (taken.stored, taken.new) == (False, 0)
    assert len(taken.understood) == 3
    assert records.history("tove").sets == ()


def test_the_body_mass_of_a_set_is_the_last_one_logged(records: Records) -> None:
    take_in(records, "tove", "Mon 13 Apr\nBM 63.2 kg")
    take_in(records, "tove", "Mon 20 Apr\nBW 5 5")
    take_in(records, "tove", "Wed 7 Jan\nBW 4 4")
    assert {(one.on.month, one.body_mass_kg) for one in records.history("tove").sets} == {
        (4, 63.2),
        (1, 64.0),
    }


def test_a_session_without_a_label_takes_the_planned_one(records: Records) -> None:
    records.settle(records.save_week(week(), NOW), "accepted")
    take_in(records, "tove", "Mon 20 Apr\nBW 5 5 5")
    assert records.history("tove").sessions == (SessionLog(date(2026, 4, 20), "A", True),)


def test_a_band_of_the_kit_is_known_by_its_name(records: Records) -> None:
    take_in(records, "tove", "Mon 20 Apr\n5x5 thin blue band")
    assert {one.added_kg for one in records.history("tove").sets} == {-7.5}


def test_a_table_for_several_athletes_goes_to_each(records: Records, tmp_path: Path) -> None:
    records.save_athlete(someone("jon"))
    path = tmp_path / "log.csv"
    path.write_text(
        "date,athlete,exercise,reps\n"
        "2026-04-20,Tove Ashdown,pull up,5\n2026-04-20,jon,pull up,6\n2026-04-20,Ada,pull up,7\n"
    )
    by_athlete = {one.athlete_id: one for one in take_in_file(records, path)}
    assert [one.reps for one in records.history("tove").sets] == [5]
    assert [one.reps for one in records.history("jon").sets] == [6]
    assert "'Ada' is no athlete here" in by_athlete[""].not_understood[0].why


def test_rows_of_somebody_else_are_left_out_when_one_athlete_is_named(
    records: Records, tmp_path: Path
) -> None:
    records.save_athlete(someone("jon"))
    path = tmp_path / "log.csv"
    path.write_text("date,athlete,exercise,reps\n2026-04-20,tove,pull up,5\n2026-04-20,jon,pull up,6\n")
    (taken,) = take_in_file(records, path, "tove")
    assert len(taken.not_understood) == 1
    assert records.history("jon").sets == ()


def test_the_same_workbook_twice_adds_nothing(records: Records, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["date", "exercise", "sets", "reps"], ["2026-04-20", "pull up", 5, 5]):
        book.active.append(row)
    book.save(tmp_path / "log.xlsx")
    (first,) = take_in_file(records, tmp_path / "log.xlsx", "tove")
    (again,) = take_in_file(records, tmp_path / "log.xlsx", "tove")
    assert (first.new, again.new) == (6, 0)


def test_a_workbook_with_the_wrong_ending_is_still_a_workbook(records: Records, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["date", "exercise", "reps"], ["2026-04-20", "pull up", 5]):
        book.active.append(row)
    book.save(tmp_path / "log.xlsx")
    path = (tmp_path / "log.xlsx").rename(tmp_path / "log.csv")
    (taken,) = take_in_file(records, path, "tove")
    assert len(records.history("tove").sets) == 1
    assert taken.not_understood == ()


@pytest.mark.parametrize(
    ("name", "raw", "says"),
    [
        ("log.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 100, "no text|old kind"),
        ("log.csv", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 100, "old kind"),
        ("log.txt", b"\x00\x01\x02", "no text"),
        ("log.xlsx", b"nothing", "heading|workbook"),
    ],
)
def test_a_file_of_another_kind_is_one_sentence(
    records: Records, tmp_path: Path, name: str, raw: bytes, says: str
) -> None:
    (tmp_path / name).write_bytes(raw)
    with pytest.raises(BadInput, match=says):
        take_in_file(records, tmp_path / name, "tove")


def test_a_log_of_nobody_is_not_taken_in(records: Records, tmp_path: Path) -> None:
    (tmp_path / "log.txt").write_text("5 x 5")
    (tmp_path / "log.csv").write_text("date,exercise,reps\n2026-04-20,pull up,5\n")
    for name in ("log.txt", "log.csv"):
        with pytest.raises(BadInput, match=r"whose|athlete"):
            take_in_file(records, tmp_path / name)
    with pytest.raises(NotFound):
        take_in(records, "nobody", "5 x 5")
    with pytest.raises(BadInput, match="cannot be opened"):
        take_in_file(records, tmp_path / "missing.csv", "tove")
