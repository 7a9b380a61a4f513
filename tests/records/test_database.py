"""The database: made from nothing, brought up to date, and never half-opened."""

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import insert, inspect, select, text
from sqlalchemy.dialects import postgresql
from sqlalchemy.exc import IntegrityError, StatementError
from sqlalchemy.schema import CreateTable

from overbar.errors import BadInput, NotFound
from overbar.records import Records, open_records, schema
from overbar.records.database import FILE_NAME, open_engine, reading, writing
from overbar.records.migrations import NEWEST, VERSIONS
from overbar.settings import Settings, read_settings


def test_records_are_made_from_an_empty_folder(settings: Settings) -> None:
    with reading(open_engine(settings)) as connection:
        tables = set(inspect(connection).get_table_names())
        assert set(schema.metadata.tables) <= tables
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == NEWEST


def test_the_steps_lead_exactly_to_the_tables_of_the_program(settings: Settings) -> None:
    with reading(open_engine(settings)) as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, schema.metadata) == []


def test_the_steps_can_be_taken_back_and_forth(settings: Settings) -> None:
    engine = open_engine(settings)
    config = Config()
    config.set_main_option("script_location", str(Path(schema.__file__).parent / "migrations"))
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "base")
        assert not set(schema.metadata.tables) & set(inspect(connection).get_table_names())
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, VERSIONS[-1])
        assert set(schema.metadata.tables) <= set(inspect(connection).get_table_names())


def test_the_tables_can_be_made_on_a_server_too() -> None:
    """No server runs here: the tables are only put into PostgreSQL's words, which refuses what it lacks."""
    for table in schema.metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=postgresql.dialect()))


def test_only_the_coach_can_open_the_folder(settings: Settings) -> None:
    open_engine(settings).dispose()
    assert settings.records.stat().st_mode & 0o077 == 0


def test_sqlite_writes_ahead_and_keeps_its_references(settings: Settings) -> None:
    with reading(open_engine(settings)) as connection:
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
        assert connection.execute(text("PRAGMA busy_timeout")).scalar() > 1000


def test_nothing_can_be_logged_for_nobody(records: Records) -> None:
    row = {"athlete_id": "nobody", "on": date(2026, 1, 5), "body_mass_kg": 70.0}
    with pytest.raises(IntegrityError, match="FOREIGN KEY"), writing(records.engine) as connection:
        connection.execute(insert(schema.body).values(row))


def test_a_moment_is_kept_in_utc_and_comes_back_with_its_zone(records: Records) -> None:
    at = datetime(2026, 4, 27, 23, 30, tzinfo=timezone(timedelta(hours=12)))
    with writing(records.engine) as connection:
        connection.execute(insert(schema.deletions).values(at=at, what="x", proof="y"))
    with reading(records.engine) as connection:
        back = connection.execute(select(schema.deletions.c.at)).scalar_one()
    assert back == at
    assert back.tzinfo is UTC


def test_a_moment_without_a_zone_is_refused(records: Records) -> None:
    row = {"at": datetime(2026, 4, 27), "what": "x", "proof": "y"}
    with pytest.raises(StatementError, match="no time zone"), writing(records.engine) as connection:
        connection.execute(insert(schema.deletions).values(row))


def test_records_of_a_newer_program_are_left_alone(settings: Settings) -> None:
    engine = open_engine(settings)
    with writing(engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(BadInput, match="9999"):
        open_engine(settings)


def test_a_file_that_is_no_database_is_named_and_not_touched(settings: Settings) -> None:
    settings.records.mkdir(parents=True)
    file = settings.records / FILE_NAME
    file.write_bytes(b"not a database at all" * 100)
    before = file.read_bytes()
    with pytest.raises(BadInput, match="no records can be read"):
        open_engine(settings)
    assert file.read_bytes() == before


def test_a_mistyped_folder_is_an_error_not_new_records(settings: Settings) -> None:
    with pytest.raises(NotFound, match="no records here"):
        open_records(settings, make=False)
    assert not settings.records.exists()
    open_records(settings).close()
    open_records(settings, make=False).close()


def test_a_mistyped_address_makes_no_file(settings: Settings, tmp_path: Path) -> None:
    named = replace(settings, database=f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}")
    with pytest.raises(NotFound):
        open_records(named, make=False)
    assert not (tmp_path / "elsewhere.sqlite3").exists()
    empty = tmp_path / "empty.sqlite3"
    sqlite3.connect(empty).close()
    with pytest.raises(NotFound):
        open_records(replace(settings, database=f"sqlite:///{empty}"), make=False)


def test_the_film_store_is_a_setting(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OVERBAR_FILMS", str(settings.records / "elsewhere"))
    kept = open_records(replace(settings, films=read_settings().films))
    assert kept.film_store.root.endswith("elsewhere")
    kept.close()


@pytest.mark.parametrize("url", ["nonsense", "nosuchserver://x/y"])
def test_a_wrong_address_is_one_sentence(settings: Settings, url: str) -> None:
    with pytest.raises(BadInput, match="cannot be opened"):
        open_engine(Settings(settings.records, settings.cache, url))


def test_a_password_is_never_shown(settings: Settings) -> None:
    with pytest.raises(BadInput) as error:
        open_engine(Settings(settings.records, settings.cache, "nosuchserver://u:secret@x/y"))
    assert "secret" not in error.value.say()


def test_many_writers_take_turns(settings: Settings) -> None:
    open_records(settings).close()

    def write(n: int) -> None:
        kept = open_records(settings)
        with writing(kept.engine) as connection:
            connection.execute(insert(schema.deletions).values(at=kept.now(), what=str(n), proof=""))
        kept.close()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(write, range(40)))
    with sqlite3.connect(settings.records / FILE_NAME) as raw:
        assert raw.execute("SELECT count(*) FROM deletions").fetchone() == (40,)
