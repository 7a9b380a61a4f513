"""Ladders by version: kept whole, and an athlete stays on the one planned under until the coach moves him."""

import json
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import select, text, update
from tests.records.conftest import NOW, someone

import overbar.records.ladders as room
from overbar.errors import BadInput, NotFound
from overbar.ladder import Ladder, ladder_from_files, load_ladder
from overbar.planning import decide
from overbar.records import Records, open_records, schema
from overbar.records.backup import back_up, restore
from overbar.records.database import reading, writing
from overbar.records.forget import forget
from overbar.records.hand_over import hand_over
from overbar.settings import Settings

SHIPPED = load_ladder()


def edited(old: str = "sessions_missed_7d >= 1", new: str = "sessions_missed_7d >= 2") -> Ladder:
    """Return the shipped ladder with one text changed."""
    assert any(old in text for _, text in SHIPPED.files)
    return ladder_from_files((name, text.replace(old, new)) for name, text in SHIPPED.files)


def planned(records: Records, athlete_id: str = "tove") -> int:
    history = records.history(athlete_id, date(2026, 4, 27))
    return records.save_week(decide(history, records.ladder_for(athlete_id), date(2026, 4, 27)), NOW)


@pytest.fixture
def released(monkeypatch: pytest.MonkeyPatch) -> Iterator[Ladder]:
    """A program of a later release: the bar muscle-up it comes with has another text."""
    newer = edited()

    def later(name: str = "bar_muscle_up", path: object = None) -> Ladder:
        return newer if name == "bar_muscle_up" else load_ladder(name)

    monkeypatch.setattr(room, "load_ladder", later)
    room._READ.clear()
    yield newer
    room._READ.clear()


def test_the_ladder_a_plan_was_made_under_is_kept_whole(records: Records) -> None:
    week = records.week(planned(records))
    assert week.ladder == SHIPPED.fingerprint
    with reading(records.engine) as c:
        row = c.execute(select(schema.ladder_versions)).one()
    assert ladder_from_files((n, t) for n, t in row.files).fingerprint == SHIPPED.fingerprint
    assert (row.origin, row.kept_at, row.version) == ("shipped", NOW, SHIPPED.version)
    (move,) = records.ladder_moves("tove")
    assert (move.from_version, move.to_version, move.reason) == (
        None,
        SHIPPED.fingerprint,
        "The first plan was made under it.",
    )


def test_a_new_release_changes_no_planned_athlete(records: Records, released: Ladder) -> None:
    records.save_athlete(someone("new"))
    with writing(records.engine) as c:
        room.stay(c, "tove", SHIPPED, NOW, "", room.FIRST_PLAN)
    assert records.ladder_for("tove").fingerprint == SHIPPED.fingerprint
    assert records.ladder_for("new").fingerprint == released.fingerprint
    assert {one.fingerprint for one in records.ladder_versions("bar_muscle_up")} == {
        SHIPPED.fingerprint,
        released.fingerprint,
    }


def test_a_new_release_is_compared_with_the_version_the_athletes_are_on(
    records: Records, released: Ladder
) -> None:
    with writing(records.engine) as c:
        room.stay(c, "tove", SHIPPED, NOW, "", room.FIRST_PLAN)
    assert records.ladder_beside(released.fingerprint) == SHIPPED.fingerprint
    assert records.ladder_beside(SHIPPED.fingerprint) is None
    assert records.keep_ladder(released).origin == "shipped"


def test_moving_wants_a_reason_and_keeps_from_and_to(records: Records) -> None:
    planned(records)
    mine = records.keep_ladder(edited(), "two misses, not one", SHIPPED.fingerprint)
    assert records.ladder_for("tove").fingerprint == SHIPPED.fingerprint
    with pytest.raises(BadInput, match="reason"):
        records.move_to_ladder(["tove"], mine.version, " ")
    assert records.move_to_ladder(["tove"], mine.version, "she travels a lot") == ("tove",)
    assert records.move_to_ladder(["tove"], mine.version, "again") == ()
    last = records.ladder_moves("tove")[-1]
    assert (last.from_version, last.to_version) == (SHIPPED.fingerprint, mine.fingerprint)
    assert last.reason == "she travels a lot"
    assert records.ladder_for("tove").fingerprint == mine.fingerprint
    assert records.ladder_version(mine.version).athletes == 1
    assert records.week(planned(records)).ladder == mine.fingerprint
    assert [one.ladder for one in records.weeks("tove")] == [SHIPPED.fingerprint, mine.fingerprint]


def test_an_athlete_is_not_moved_to_another_skill(records: Records) -> None:
    with pytest.raises(BadInput, match="trains"):
        records.move_to_ladder(["tove"], load_ladder("front_lever").version, "why not")


def test_an_athlete_is_not_moved_to_a_version_without_her_method(records: Records) -> None:
    own = (*SHIPPED.files, ("mine.toml", 'leaves_out = ["method:top_set_back_off"]\n'))
    mine = records.keep_ladder(ladder_from_files(own), "one method only")
    records.save_athlete(someone(method="top_set_back_off"))
    with pytest.raises(BadInput, match="Set another method first"):
        records.move_to_ladder(["tove"], mine.version, "simpler")


def test_the_same_texts_twice_are_one_version_and_a_wrong_name_lists_those_there_are(
    records: Records,
) -> None:
    one, again = (records.keep_ladder(edited(), "first"), records.keep_ladder(edited(), "second"))
    assert one == again
    assert one.note == "first"
    with pytest.raises(NotFound, match=SHIPPED.version):
        records.ladder("nothing like it")


def test_new_athletes_start_with_the_version_the_coach_chose(records: Records) -> None:
    mine = records.keep_ladder(edited(), "for all")
    records.start_new_athletes_with(mine.version)
    records.save_athlete(someone("new"))
    assert records.ladder_for("new").fingerprint == mine.fingerprint
    planned(records, "new")
    records.start_new_athletes_with(SHIPPED.version)
    assert records.ladder_for("new").fingerprint == mine.fingerprint
    assert records.ladder_for("tove").fingerprint == SHIPPED.fingerprint


def test_each_skill_has_its_own_standing(records: Records) -> None:
    planned(records)
    records.save_athlete(someone(skill="front_lever", method=""))
    assert records.ladder_for("tove").skill.id == "front_lever"
    planned(records)
    records.save_athlete(someone())
    assert records.ladder_for("tove").skill.id == "bar_muscle_up"
    assert len(records.ladder_moves("tove")) == 2


def test_a_kept_ladder_this_program_cannot_read_is_named_and_not_replaced(records: Records) -> None:
    planned(records)
    mine = records.keep_ladder(edited(), "x")
    records.move_to_ladder(["tove"], mine.version, "try")
    room._READ.clear()
    with writing(records.engine) as c:
        broken = [[n, t.replace("sessions_missed_7d", "sessions_lost")] for n, t in edited().files]
        where = schema.ladder_versions.c.fingerprint == mine.fingerprint
        c.execute(update(schema.ladder_versions).where(where).values(files=broken))
    with pytest.raises(BadInput, match=r"cannot be read by this program.*sessions_lost"):
        records.ladder_for("tove")
    room._READ.clear()


def downgraded(records: Records, to: str) -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(schema.__file__).parent / "migrations"))
    with writing(records.engine) as c:
        config.attributes["connection"] = c
        command.downgrade(config, to)


def test_older_records_keep_their_athletes_where_they_were_planned(
    settings: Settings, records: Records
) -> None:
    records.save_athlete(someone("unplanned"))
    planned(records)
    downgraded(records, "0002")
    records.close()
    again = open_records(settings, clock=lambda: NOW)
    assert again.on_ladder("tove") == SHIPPED.fingerprint
    assert again.on_ladder("unplanned") is None
    assert again.weeks("tove")[0].ladder == SHIPPED.fingerprint
    again.close()


def test_where_the_older_program_had_another_ladder_the_move_says_that_its_text_is_lost(
    settings: Settings, records: Records
) -> None:
    week = decide(records.history("tove"), SHIPPED, date(2026, 4, 27))
    other = replace(week, verdict=replace(week.verdict, ladder_version="0-aaaa"))
    records.save_week(other, NOW)
    downgraded(records, "0002")
    records.close()
    again = open_records(settings, clock=lambda: NOW)
    (move,) = again.ladder_moves("tove")
    assert "0-aaaa" in move.reason
    assert "did not keep" in move.reason
    assert again.weeks("tove")[0].ladder == ""
    again.close()


def test_a_draft_outlives_a_new_release(records: Records, monkeypatch: pytest.MonkeyPatch) -> None:
    records.keep_ladder_draft("bar_muscle_up", SHIPPED.fingerprint, SHIPPED.files)
    newer = edited()
    monkeypatch.setattr(room, "load_ladder", lambda name="bar_muscle_up": newer)
    room._READ.clear()
    draft = records.ladder_draft("bar_muscle_up")
    assert draft is not None
    assert records.ladder_version(draft.made_from).version == SHIPPED.version
    assert records.ladder(draft.made_from).files == draft.files
    room._READ.clear()


def test_backup_and_restore_carry_versions_moves_and_drafts(records: Records, tmp_path: Path) -> None:
    planned(records)
    mine = records.keep_ladder(edited(), "two misses", SHIPPED.fingerprint)
    records.move_to_ladder(["tove"], mine.version, "travels")
    records.keep_ladder_draft("bar_muscle_up", mine.fingerprint, [("mine.toml", "[skill\n")])
    back_up(records, tmp_path / "all.zip")
    other = Settings(tmp_path / "other", tmp_path / "cache")
    restore(tmp_path / "all.zip", other)
    again = open_records(other, clock=lambda: NOW)
    assert again.ladder_versions() == records.ladder_versions()
    assert again.ladder_moves("tove") == records.ladder_moves("tove")
    assert again.ladder_draft("bar_muscle_up") == records.ladder_draft("bar_muscle_up")
    assert again.ladder_for("tove").files == mine_files(records)
    again.close()


def mine_files(records: Records) -> tuple[tuple[str, str], ...]:
    return records.ladder_for("tove").files


def test_a_backup_of_older_records_can_be_restored(records: Records, tmp_path: Path) -> None:
    planned(records)
    back_up(records, tmp_path / "all.zip")
    older = tmp_path / "older.zip"
    new = ("ladder_versions", "ladder_moves", "ladder_drafts", "ladder_trials", "journal", "body_solves")
    with zipfile.ZipFile(tmp_path / "all.zip") as full, zipfile.ZipFile(older, "w") as cut:
        manifest = json.loads(full.read("manifest.json"))
        manifest["tables_version"] = "0001"
        for table in new:
            manifest["sha256"].pop(f"tables/{table}.jsonl")
        manifest["sha256"].pop("tables/weeks.jsonl")
        for name in full.namelist():
            if name == "tables/weeks.jsonl":
                row = json.loads(full.read(name))
                row.pop("ladder")
                cut.writestr(name, json.dumps(row) + "\n")
            elif name in manifest["sha256"]:
                cut.writestr(name, full.read(name))
        cut.writestr("manifest.json", json.dumps(manifest))
    other = Settings(tmp_path / "other", tmp_path / "cache")
    restore(older, other)
    again = open_records(other, clock=lambda: NOW)
    assert again.on_ladder("tove") == SHIPPED.fingerprint
    assert again.weeks("tove")[0].ladder == SHIPPED.fingerprint
    again.close()


def test_what_is_handed_over_holds_the_ladders_texts_and_the_moves(records: Records, tmp_path: Path) -> None:
    planned(records)
    mine = records.keep_ladder(edited(), "two misses")
    records.move_to_ladder(["tove"], mine.version, "travels")
    hand_over(records, "tove", tmp_path / "tove.zip")
    with zipfile.ZipFile(tmp_path / "tove.zip") as packed:
        moves = json.loads(packed.read("ladder_moves.json"))
        assert [one["reason"] for one in moves] == ["The first plan was made under it.", "travels"]
        for ladder in (SHIPPED, edited()):
            for name, text_ in ladder.files:
                assert packed.read(f"ladders/{ladder.version}/{name}").decode() == text_


def test_forgetting_an_athlete_erases_moves_and_journal_and_keeps_the_ladders(records: Records) -> None:
    planned(records)
    records.save_athlete(replace(records.athlete("tove"), days_per_week=4))
    proof = forget(records, "tove")
    assert proof.rows["ladder_moves"] == 1
    assert proof.rows["journal"] == 2
    assert proof.left == 0
    with reading(records.engine) as c:
        assert c.execute(text("SELECT count(*) FROM ladder_versions")).scalar() == 1
