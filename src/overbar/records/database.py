"""Opening the database: SQLite in the records folder, or any server by URL, brought up to date."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, NoSuchModuleError

from overbar.errors import BadInput, NotFound
from overbar.settings import Settings

FILE_NAME = "overbar.sqlite3"
BUSY_TIMEOUT_MS = 15_000
"""How long a writer waits for another one (own judgement: longer than any single write here)."""


def open_engine(settings: Settings, make: bool = True) -> Engine:
    """Open the database and bring its tables up to date.

    Parameters
    ----------
    settings : Settings
    make : bool
        Make the tables where there are none; else that is an error.

    Raises
    ------
    BadInput
        The address is not a database's, the file is no database, or a newer
        version of the program made it.
    NotFound
        There are no records, and none are to be made.
    """
    if settings.database is None:
        if not make and not (settings.records / FILE_NAME).is_file():
            raise _no_records(str(settings.records))
        settings.records.mkdir(mode=0o700, parents=True, exist_ok=True)
    url = settings.database or f"sqlite:///{settings.records / FILE_NAME}"
    try:
        engine = create_engine(url)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise BadInput(
            f"the database address {make_safe(url)!r} cannot be opened: {error}",
            do="Give an address such as postgresql+psycopg://user@host/overbar, or none for a file.",
        ) from error
    if engine.dialect.name == "sqlite":
        _as_sqlite(engine)
    try:
        if not make and not _has_records(engine):
            engine.dispose()
            raise _no_records(make_safe(url))
        _migrate(engine)
    except DatabaseError as error:
        engine.dispose()
        raise BadInput(
            f"no records can be read: {error.orig}",
            where=make_safe(url),
            do="Check the address, or restore the records from a backup.",
        ) from error
    return engine


def make_safe(url: str) -> str:
    """Return a database address without its password."""
    try:
        return make_url(url).render_as_string(hide_password=True)
    except ArgumentError:
        return "(not an address)"


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that reads one consistent state."""
    with engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection that writes all or nothing, taking its turn among writers from the start."""
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        yield connection


def _as_sqlite(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def on_connect(raw: Any, record: Any) -> None:
        raw.isolation_level = None  # the driver's own BEGIN would come too late to take turns
        for pragma in (
            "journal_mode=WAL",
            "foreign_keys=ON",
            f"busy_timeout={BUSY_TIMEOUT_MS}",
            "synchronous=NORMAL",
            "secure_delete=ON",
        ):
            raw.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _has_records(engine: Engine) -> bool:
    """Say whether a database holds records; a file that is not there is not made by asking."""
    if engine.dialect.name == "sqlite" and engine.url.database not in (None, "", ":memory:"):
        path = Path(str(engine.url.database))
        if not path.is_file():
            return False
    with reading(engine) as connection:
        return inspect(connection).has_table("alembic_version")


def _no_records(where: str) -> NotFound:
    return NotFound(
        "there are no records here",
        where,
        "Check --records or --database; new records are made by overbar serve, demo or restore.",
    )


def _migrate(engine: Engine) -> None:
    from overbar.records.migrations import NEWEST, VERSIONS

    with reading(engine) as connection:
        known = inspect(connection).has_table("alembic_version")
        at = connection.execute(text("SELECT version_num FROM alembic_version")).scalar() if known else None
    if at == NEWEST:
        return
    if at is not None and at not in VERSIONS:
        raise BadInput(
            f"the records are of version {at}, which this program does not know (it knows up to {NEWEST})",
            do="Use the newer version of the program that made them.",
        )
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
