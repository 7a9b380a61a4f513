"""The whole out and in, one athlete's share out, and erasing with proof."""

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.records.conftest import NOW, someone
from tests.records.test_decisions import week
from tests.records.test_films import FILMED, film
from tests.records.test_findings import a_reading, rep

from overbar.errors import BadInput, NotFound, OverbarError
from overbar.planning.history import BodyNote, CoachWord, Measurement, PainReport, SessionLog
from overbar.records import FilmConsent, House, Records, open_records
from overbar.records.backup import back_up, restore
from overbar.records.database import FILE_NAME
from overbar.records.forget import delete_film, erase_due, films_due, forget
from overbar.records.hand_over import hand_over
from overbar.records.take_in import take_in, take_in_file
from overbar.settings import Settings


@pytest.fixture
def full(records: Records, tmp_path: Path) -> Records:
    records.set_house(House("Ilse Farthing", "The Loft"))
    records.save_athlete(someone("jon"))
    for athlete_id in ("tove", "jon"):
        take_in(records, athlete_id, "Mon 20 Apr\nBW 5 5 5 RIR 1\n+2 kg x 3\nmuscle-up 1 of 3")
        records.add_pain(athlete_id, PainReport(date(2026, 4, 20), "elbow", 2.0, flags=("pop",)))
        records.add_body(athlete_id, BodyNote(date(2026, 4, 20), 64.0, 7.5))
        records.add_session(athlete_id, SessionLog(date(2026, 4, 21), "B", False, reason="=ill"))
        records.add_measurement(athlete_id, Measurement(date(2026, 4, 20), "swing_high_L", 0.0, 0.02, "film"))
    records.settle(records.save_week(week(), NOW), "changed", "less", week(added=2.5))
    records.say("tove", CoachWord(datetime(2026, 4, 21, tzinfo=UTC), "gate:G3", "met", "seen"))
    row = records.add_film("tove", film(tmp_path / "a.mp4"), FILMED, consent=FilmConsent(coach=True))
    records.save_reading(row.sha256, a_reading(reps=(rep(),)))
    records.correct_reading(row.sha256, {"bar": 1}, "coach", a_reading(reps=(rep(), rep())))
    return records


def test_a_backup_restores_everything_as_it_was(full: Records, tmp_path: Path) -> None:
    counts = back_up(full, tmp_path / "all.zip")
    other = Settings(tmp_path / "elsewhere", tmp_path / "cache")
    assert restore(tmp_path / "all.zip", other) == counts
    again = open_records(other, clock=lambda: NOW)
    for athlete in full.athletes():
        assert again.history(athlete.id) == full.history(athlete.id)
        assert again.weeks(athlete.id) == full.weeks(athlete.id)
    assert again.house() == full.house()
    (one,) = full.films()
    assert again.films() == [one]
    assert again.film_file(one.sha256).read_bytes() == full.film_file(one.sha256).read_bytes()
    assert again.reading(one.sha256) == full.reading(one.sha256)
    assert again.reading(one.sha256, original=True) == full.reading(one.sha256, original=True)
    take_in(again, "tove", "Mon 20 Apr\nBW 5 5 5 RIR 1")
    assert len(again.history("tove").sets) == len(full.history("tove").sets)
    again.close()


def test_a_backup_is_never_restored_over_records(full: Records, tmp_path: Path) -> None:
    back_up(full, tmp_path / "all.zip")
    with pytest.raises(BadInput, match="already"):
        restore(tmp_path / "all.zip", full.settings)


def test_a_damaged_backup_changes_nothing(full: Records, tmp_path: Path) -> None:
    back_up(full, tmp_path / "all.zip")
    whole = (tmp_path / "all.zip").read_bytes()
    other = Settings(tmp_path / "elsewhere", tmp_path / "cache")
    for name, raw in (("cut", whole[: len(whole) // 2]), ("text", b"hello"), ("empty", b"")):
        (tmp_path / name).write_bytes(raw)
        with pytest.raises(BadInput):
            restore(tmp_path / name, other)
    with zipfile.ZipFile(tmp_path / "all.zip") as source, zipfile.ZipFile(tmp_path / "changed", "w") as out:
        for name in source.namelist():
            raw = source.read(name)
            out.writestr(
                name, raw.replace(b'"reps": 5', b'"reps": 9') if name.endswith("sets.jsonl") else raw
            )
    with pytest.raises(BadInput, match=r"sets\.jsonl is damaged"):
        restore(tmp_path / "changed", other)
    assert not (other.records / FILE_NAME).exists()


def test_what_is_handed_over_is_one_athletes_alone_and_can_be_taken_in_again(
    full: Records, tmp_path: Path
) -> None:
    names = hand_over(full, "jon", tmp_path / "jon.zip")
    assert {"READ ME.txt", "sets.csv", "pain.csv", "weeks.json"} <= set(names)
    with zipfile.ZipFile(tmp_path / "jon.zip") as packed:
        everything = b"".join(packed.read(name) for name in names)
        assert b"tove" not in everything.lower()
        rows = list(csv.DictReader(io.StringIO(packed.read("sets.csv").decode())))
        (tmp_path / "sets.csv").write_bytes(packed.read("sets.csv"))
        assert b"'=ill" in packed.read("sessions.csv")  # no spreadsheet runs it as a formula
    assert (rows[0]["date"], rows[0]["reps"]) == ("2026-04-20", "5")
    (taken,) = take_in_file(full, tmp_path / "sets.csv", "jon")
    assert taken.not_understood == ()
    assert len(full.history("jon").sets) == len(rows)


def test_films_and_readings_are_handed_over_too(full: Records, tmp_path: Path) -> None:
    names = hand_over(full, "tove", tmp_path / "tove.zip")
    assert any(name.startswith("films/") for name in names)
    with zipfile.ZipFile(tmp_path / "tove.zip") as packed:
        (reading,) = (name for name in names if name.startswith("readings/"))
        assert json.loads(packed.read(reading))["schema"] == "overbar.reading/1"


def test_a_forgotten_athlete_leaves_no_trace_in_the_records(full: Records) -> None:
    (one,) = full.films("tove")
    path = full.film_file(one.sha256)
    others = full.history("jon")
    proof = forget(full, "tove")
    assert proof.left == 0
    assert proof.rows["athletes"] == 1
    assert proof.rows["readings"] == 1
    assert proof.rows["sets"] == 4
    assert proof.films == 1
    assert not path.exists()
    raw = (full.settings.records / FILE_NAME).read_bytes()
    assert b"Tove" not in raw
    assert full.history("jon") == others
    with pytest.raises(NotFound):
        full.athlete("tove")
    with pytest.raises(NotFound):
        forget(full, "tove")


def test_a_deleted_film_keeps_its_numbers_only_when_the_athlete_says_so(
    full: Records, tmp_path: Path
) -> None:
    (one,) = full.films("tove")
    deleted = delete_film(full, one.sha256, keep_numbers=True)
    assert deleted.deleted_on == date(2026, 4, 27)
    assert full.reading(one.sha256) is not None
    with pytest.raises(NotFound, match="deleted"):
        full.film_file(one.sha256)
    delete_film(full, one.sha256, keep_numbers=False)
    assert full.reading(one.sha256) is None
    back_up(full, tmp_path / "all.zip")  # a deleted film does not hinder a backup


def test_films_whose_time_is_over_are_named(full: Records) -> None:
    """90 days after review (own judgement, handbook trade.md 5.7)."""
    (one,) = full.films("tove")
    assert films_due(full, date(2027, 1, 1)) == []
    full.mark_reviewed(one.sha256)
    assert films_due(full, date(2026, 7, 26)) == []
    assert [film.sha256 for film in films_due(full, date(2026, 7, 27))] == [one.sha256]


def test_a_film_whose_time_is_over_is_erased_and_its_numbers_stay(full: Records) -> None:
    (one,) = full.films("tove")
    full.mark_reviewed(one.sha256)
    later = open_records(full.settings, clock=lambda: datetime(2026, 7, 28, tzinfo=UTC))
    assert erase_due(later) == 1
    assert erase_due(later) == 0
    assert later.film_store.names() == []
    assert later.reading(one.sha256) is not None
    later.close()


def test_what_a_forgotten_athletes_tries_taught_is_forgotten_too(full: Records) -> None:
    full.set_body_offset({"mean": 0.1, "sd": 0.1, "prior_sd": 0.2, "attempts": 3, "over": 1, "athletes": 1})
    forget(full, "tove")
    assert full.body_offset() is None


def test_a_name_left_in_a_note_on_somebody_else_is_found_and_said(full: Records) -> None:
    full.say("jon", CoachWord(datetime(2026, 4, 21, tzinfo=UTC), "gate:G3", "met", "as Tove Ashdown did"))
    with pytest.raises(OverbarError) as found:
        forget(full, "tove")
    assert "note on somebody else" in found.value.do


def test_a_name_that_is_part_of_another_word_hinders_no_erasing(full: Records) -> None:
    full.save_athlete(replace(full.athlete("tove"), name="Bo"))
    full.say("jon", CoachWord(datetime(2026, 4, 21, tzinfo=UTC), "gate:G3", "met", "Both; Boris saw it"))
    assert forget(full, "tove").left == 0


def test_a_short_name_left_in_a_note_on_somebody_else_is_found_among_longer_words(full: Records) -> None:
    full.save_athlete(replace(full.athlete("tove"), name="Bo"))
    full.say("jon", CoachWord(datetime(2026, 4, 21, tzinfo=UTC), "gate:G3", "met", "Both elbows, as Bo did"))
    with pytest.raises(OverbarError, match="trace"):
        forget(full, "tove")


def test_a_film_deleted_with_its_numbers_leaves_none_in_the_journal(full: Records) -> None:
    (one,) = full.films("tove")
    assert any(entry.key == one.sha256 for entry in full.journal("tove"))
    delete_film(full, one.sha256, keep_numbers=False)
    assert not any(entry.key == one.sha256 for entry in full.journal("tove"))
    assert full.history("tove", known_at=NOW).films == ()


def test_what_is_handed_over_holds_earlier_words_and_no_other_athletes(full: Records, tmp_path: Path) -> None:
    for athlete_id in ("tove", "jon"):
        full.add_session(
            athlete_id, SessionLog(date(2026, 4, 21), "B", False, reason=f"{athlete_id} was late")
        )
    hand_over(full, "tove", tmp_path / "tove.zip")
    with zipfile.ZipFile(tmp_path / "tove.zip") as packed:
        journal = packed.read("journal.json").decode()
        read_me = packed.read("READ ME.txt").decode()
        names = packed.namelist()
    assert "=ill" in journal  # the word before it was corrected
    assert "tove was late" in journal
    assert "jon" not in journal
    assert all(name in read_me for name in names if "/" not in name and name != "READ ME.txt")
