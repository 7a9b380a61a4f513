"""The whole of the records out into one file, and back in.

A backup is a ZIP of open formats: one JSON-lines file a table, the films as they
are kept, and a manifest with the SHA-256 of every part. It does not depend on the
kind of database, so that a file can become a server and the other way round.
"""

from __future__ import annotations

import base64
import hashlib
import json
import tempfile
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, Date, LargeBinary, Table, func, insert, select

from overbar import __version__
from overbar.errors import BadInput
from overbar.progress import Progress, silent
from overbar.records import schema
from overbar.records.database import reading, writing
from overbar.records.films import BLOCK, sha256_of
from overbar.records.ladders import adopt
from overbar.records.migrations import NEWEST, VERSIONS
from overbar.records.store import Records, open_records
from overbar.settings import Settings

SCHEMA = "overbar.backup/1"
MANIFEST = "manifest.json"
ROWS_AT_ONCE = 500


def back_up(records: Records, out: Path, progress: Progress = silent) -> dict[str, int]:
    """Write everything into one file.

    Parameters
    ----------
    records : Records
    out : pathlib.Path
        The file to write; it appears whole or not at all.
    progress : callable

    Returns
    -------
    dict of str to int
        Rows of each table, and ``films``.
    """
    part = out.with_name(out.name + ".part")
    sums: dict[str, str] = {}
    counts: dict[str, int] = {}
    try:
        part.touch(mode=0o600)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as packed:
            with reading(records.engine) as connection:
                for table in schema.metadata.sorted_tables:
                    name = f"tables/{table.name}.jsonl"
                    with packed.open(name, "w", force_zip64=True) as file:
                        sums[name], counts[table.name] = _write_rows(connection, table, file)
                kept = [row.stored_as for row in connection.execute(_kept_films())]
            for done, stored_as in enumerate(kept):
                progress(done / len(kept), f"film {done + 1} of {len(kept)}")
                name = f"films/{stored_as}"
                path = records.film_store.get(stored_as)
                packed.write(path, name, zipfile.ZIP_STORED)
                sums[name] = sha256_of(path)
            counts["films"] = len(kept)
            manifest = {
                "schema": SCHEMA,
                "made_by": f"overbar {__version__}",
                "made_at": records.now().isoformat(),
                "tables_version": NEWEST,
                "sha256": sums,
            }
            packed.writestr(MANIFEST, json.dumps(manifest, indent=1))
        part.replace(out)
    finally:
        part.unlink(missing_ok=True)
    progress(1.0, "written")
    return counts


def restore(backup: Path, settings: Settings, progress: Progress = silent) -> dict[str, int]:
    """Bring a backup back into records that hold nothing yet; one of an older program is brought up to date.

    Raises
    ------
    BadInput
        The file is no backup, is damaged or of another version, or the records
        hold something already. Nothing is changed then.
    """
    try:
        packed = zipfile.ZipFile(backup)
    except (OSError, zipfile.BadZipFile) as error:
        raise BadInput("is no backup that can be opened.", str(backup), "Check the name.") from error
    with packed:
        manifest = _checked_manifest(packed, backup, progress)
        records = open_records(settings)
        try:
            with writing(records.engine) as connection:
                for table in schema.metadata.sorted_tables:
                    if connection.execute(select(func.count()).select_from(table)).scalar():
                        raise BadInput(
                            "there are records already.",
                            str(settings.records),
                            "Restore into a folder or database of its own.",
                        )
                counts = {
                    table.name: _read_rows(connection, packed, table)
                    for table in schema.metadata.sorted_tables
                }
                if manifest["tables_version"] != NEWEST:
                    adopt(connection)
                films = [name for name in manifest["sha256"] if name.startswith("films/")]
                for done, name in enumerate(films):
                    progress(done / len(films), f"film {done + 1} of {len(films)}")
                    _unpack_film(records, packed, name)
        finally:
            records.close()
    progress(1.0, "restored")
    return counts | {"films": len(films)}


def _kept_films() -> Any:
    return select(schema.films.c.stored_as).where(schema.films.c.deleted_on.is_(None))


def _write_rows(connection: Connection, table: Table, file: IO[bytes]) -> tuple[str, int]:
    digest, count = hashlib.sha256(), 0
    result = connection.execute(select(table).order_by(*table.primary_key))
    for rows in result.mappings().partitions(ROWS_AT_ONCE):
        for row in rows:
            line = json.dumps({name: _plain(value) for name, value in row.items()}).encode() + b"\n"
            digest.update(line)
            file.write(line)
            count += 1
    return digest.hexdigest(), count


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, bytes):
        return base64.b64encode(value).decode()
    return value


def _read_rows(connection: Connection, packed: zipfile.ZipFile, table: Table) -> int:
    count = 0
    if f"tables/{table.name}.jsonl" not in packed.namelist():
        return count  # an older program made the backup
    for rows in _batches(packed, f"tables/{table.name}.jsonl"):
        connection.execute(insert(table), [{n: _value(table, n, v) for n, v in row.items()} for row in rows])
        count += len(rows)
    return count


def _batches(packed: zipfile.ZipFile, name: str) -> Iterator[list[dict[str, Any]]]:
    batch: list[dict[str, Any]] = []
    with packed.open(name) as file:
        for line in file:
            batch.append(json.loads(line))
            if len(batch) == ROWS_AT_ONCE:
                yield batch
                batch = []
    if batch:
        yield batch


def _value(table: Table, name: str, value: Any) -> Any:
    kind = table.c[name].type
    if value is None:
        return None
    if isinstance(kind, schema.Moment):
        return datetime.fromisoformat(value)
    if isinstance(kind, Date):
        return date.fromisoformat(value)
    if isinstance(kind, LargeBinary):
        return base64.b64decode(value)
    return value


def _checked_manifest(packed: zipfile.ZipFile, backup: Path, progress: Progress) -> dict[str, Any]:
    try:
        manifest: dict[str, Any] = json.loads(packed.read(MANIFEST))
        sums: dict[str, str] = manifest["sha256"]
        version = manifest["tables_version"]
    except (KeyError, ValueError, zipfile.BadZipFile) as error:
        raise BadInput("is no backup of this program.", str(backup)) from error
    if manifest.get("schema") != SCHEMA or version not in VERSIONS:
        raise BadInput(
            f"holds tables of version {version}, this program has {NEWEST}.",
            str(backup),
            f"Restore it with the program that made it ({manifest.get('made_by', 'unknown')}).",
        )
    for done, (name, expected) in enumerate(sums.items()):
        progress(done / len(sums), f"checking {name}")
        digest = hashlib.sha256()
        try:
            with packed.open(name) as file:
                while block := file.read(BLOCK):
                    digest.update(block)
        except (KeyError, OSError, zipfile.BadZipFile, EOFError) as error:
            raise BadInput(f"{name} is damaged or missing.", str(backup), "Use another backup.") from error
        if digest.hexdigest() != expected:
            raise BadInput(f"{name} is damaged.", str(backup), "Use another backup.")
    return manifest


def _unpack_film(records: Records, packed: zipfile.ZipFile, name: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "film"
        with packed.open(name) as source, path.open("wb") as target:
            while block := source.read(BLOCK):
                target.write(block)
        records.film_store.put(path, name.removeprefix("films/"))
