"""The film store: each film once, by the hash it arrived with, without sound, place or device.

What is kept is the picture alone: the video stream is copied, not encoded anew,
so frames, times and rotation are the same.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import fsspec
from sqlalchemy import Connection, Row, insert, select, update

from overbar.errors import BadInput, NotFound, UnusableFilm
from overbar.film.reading import KnownLength
from overbar.records import schema
from overbar.records.written import from_plain

KEEP_AFTER_REVIEW = timedelta(days=90)
"""How long a raw film is kept after review without the second tick (own judgement, handbook trade.md 5.7)."""
CONTAINERS = {"vp8": ("webm",), "vp9": ("webm", "mp4")}
"""Where the pictures of a codec are kept, best first."""
OTHER_CONTAINERS = ("mp4", "matroska")
SUFFIXES = {"webm": ".webm", "matroska": ".mkv", "mp4": ".mp4"}
BLOCK = 1 << 20


@dataclass(frozen=True)
class FilmConsent:
    """The athlete's four separate ticks for one film; none is ticked beforehand.

    Attributes
    ----------
    coach : bool
        Use for coaching: without it the film is not read.
    keep : bool
        Keep it beyond 90 days after review.
    show : bool
        Show this film to other people.
    improve : bool
        Use it to improve the measuring.
    """

    coach: bool = False
    keep: bool = False
    show: bool = False
    improve: bool = False


NO_CONSENT = FilmConsent()


@dataclass(frozen=True)
class FilmRow:
    """A film as the records know it.

    Attributes
    ----------
    sha256 : str
        SHA-256 of the file as it arrived.
    athlete_id, name : str
        Whose it is, and its file name.
    filmed_at : datetime.datetime
        When it was filmed, UTC.
    exercise, view : str
        Exercise id and view the athlete gave, or "".
    added_kg : float or None
        Added load of the set filmed, kg; None when not said.
    status : {"waiting", "reading", "read", "unusable", "failed"}
    why : str
        The reason when it could not be used.
    consent : FilmConsent
    first_seen_at, reviewed_at : datetime.datetime or None
        When it arrived, and when the coach settled what it shows.
    keep_until : datetime.date or None
        Last day it is kept; None with the tick to keep it longer, or before review.
    deleted_on : datetime.date or None
        Day the film itself was erased; its numbers may remain.
    size_bytes : int
    problem : str
        Id of the film room's problem when it could not be used, or "".
    known_length : KnownLength or None
        A length the coach marked in its first picture.
    """

    sha256: str
    athlete_id: str
    name: str
    filmed_at: datetime
    exercise: str
    view: str
    added_kg: float | None
    status: str
    why: str
    consent: FilmConsent
    first_seen_at: datetime
    reviewed_at: datetime | None
    keep_until: date | None
    deleted_on: date | None
    size_bytes: int
    stored_as: str
    problem: str = ""
    known_length: KnownLength | None = None


class FilmStore:
    """A place for film files: a folder, or any fsspec address.

    Parameters
    ----------
    address : str
        A folder or an address such as ``s3://bucket/films``.
    local : pathlib.Path
        Folder for local copies when the store is elsewhere.
    """

    def __init__(self, address: str, local: Path) -> None:
        self.files, self.root = fsspec.core.url_to_fs(address)
        self.is_local = "file" in self.files.protocol
        self.local = local

    def put(self, path: Path, stored_as: str) -> None:
        """Keep a file under a name; a half-written file is never seen under it."""
        target = f"{self.root}/{stored_as}"
        self.files.makedirs(target.rsplit("/", 1)[0], exist_ok=True)
        if self.is_local:
            part = Path(f"{target}.part")
            shutil.copyfile(path, part)
            part.replace(target)
        else:
            self.files.put_file(str(path), target)

    def get(self, stored_as: str) -> Path:
        """Return a local path to a kept file."""
        target = f"{self.root}/{stored_as}"
        if self.is_local:
            path = Path(target)
        else:
            path = self.local / stored_as
            if not path.exists() and self.files.exists(target):
                path.parent.mkdir(parents=True, exist_ok=True)
                part = path.with_name(path.name + ".part")
                self.files.get_file(target, str(part))
                part.replace(path)
        if not path.exists():
            raise NotFound(f"the film file {stored_as} is not in the store", do="Restore it from a backup.")
        return path

    def remove(self, stored_as: str) -> bool:
        """Erase a kept file and any local copy; say whether there was one."""
        target = f"{self.root}/{stored_as}"
        there = bool(self.files.exists(target))
        if there:
            self.files.rm_file(target)
        (self.local / stored_as).unlink(missing_ok=True)
        return there

    def names(self) -> list[str]:
        """List every kept file."""
        if not self.files.exists(self.root):
            return []
        found = self.files.find(self.root)
        return sorted(str(name)[len(str(self.root)) :].lstrip("/") for name in found)


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, read in blocks."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(BLOCK):
                digest.update(block)
    except OSError as error:
        raise NotFound(
            f"the film cannot be opened: {error.strerror}", str(path), "Check the file's name."
        ) from error
    return digest.hexdigest()


def known_film(connection: Connection, sha: str, athlete_id: str) -> FilmRow | None:
    """Return the film when it is kept already.

    Raises
    ------
    BadInput
        It is kept for somebody else.
    """
    row = connection.execute(select(schema.films).where(schema.films.c.sha256 == sha)).one_or_none()
    if row is not None and row.athlete_id != athlete_id:
        raise BadInput(
            "this film is already kept for another athlete",
            row.name,
            "Ask which of the two it shows, and delete it there first.",
        )
    return None if row is None else film_row(row)


def keep_picture(store: FilmStore, path: Path, sha: str) -> tuple[str, int]:
    """Put the bare picture of a film into the store; return its name there and its size in bytes."""
    with tempfile.TemporaryDirectory() as folder:
        bare = strip(path, Path(folder))
        stored_as = f"{sha[:2]}/{sha}{bare.suffix}"
        store.put(bare, stored_as)
        return stored_as, bare.stat().st_size


def add_film(
    connection: Connection, athlete_id: str, sha: str, row: dict[str, Any], consent: FilmConsent
) -> FilmRow:
    """Keep the row of a film whose picture is in the store; the same film again changes nothing."""
    known = known_film(connection, sha, athlete_id)
    if known is not None:
        return known
    values = row | {"sha256": sha, "athlete_id": athlete_id, "status": "waiting", "why": ""}
    connection.execute(insert(schema.films).values(values | _consent_columns(consent)))
    return film_with(connection, sha)


def strip(path: Path, folder: Path) -> Path:
    """Copy the picture of a film without sound, subtitles, chapters, place or device.

    The encoded pictures are copied as they are, with their presentation times and
    the rotation flag.

    Raises
    ------
    UnusableFilm
        The file holds no readable film.
    """
    import av

    problem: Exception | None = None
    try:
        with av.open(str(path)) as source:
            if not source.streams.video:
                raise UnusableFilm("not_a_film", f"{path.name} has no picture.", "Send the film itself.")
            codec = source.streams.video[0].codec_context.name
        for container in CONTAINERS.get(codec, OTHER_CONTAINERS):
            target = folder / f"bare{SUFFIXES[container]}"
            try:
                if _copy_picture(path, target, container):
                    return target
            except (av.error.FFmpegError, ValueError) as error:
                problem = error
    except av.error.FFmpegError as error:
        raise UnusableFilm(
            "not_a_film", f"{path.name} cannot be opened as a film.", "Send the original file from the phone."
        ) from error
    raise UnusableFilm(
        "not_a_film", f"{path.name} holds no readable pictures.", "Film it again or send the original."
    ) from problem


def _copy_picture(path: Path, target: Path, container: str) -> int:
    """Copy the encoded pictures that can be read; a film that breaks off is kept up to there."""
    import av

    with av.open(str(path)) as source, av.open(str(target), "w", format=container) as bare:
        stream = source.streams.video[0]
        copy = bare.add_stream_from_template(stream)
        copy.metadata.clear()
        packets = _packets(source, stream)
        for packet in packets:
            packet.stream = copy
            bare.mux(packet)
    return len(packets)


def _packets(source: Any, stream: Any) -> list[Any]:
    """The encoded pictures up to where the film breaks off, each with a decoding time.

    Matroska keeps no decoding times, so the first few come without; any that lie
    before the first known one will do.
    """
    import av

    packets = []
    coming = source.demux(stream)
    while True:
        try:
            packet = next(coming)
        except (StopIteration, av.error.InvalidDataError):
            break
        if packet.size:
            packets.append(packet)
    known = next((i for i, packet in enumerate(packets) if packet.dts is not None), None)
    if known is None:
        return [packet for packet in packets if packet.pts is not None]
    step = max(1, packets[known].duration or 1)
    for i in range(known):
        packets[i].dts = packets[known].dts - (known - i) * step
    return [packet for packet in packets if packet.dts is not None]


def set_consent(connection: Connection, sha: str, consent: FilmConsent) -> FilmRow:
    """Keep the ticks; taking back the tick to keep it longer starts the clock of review again."""
    film = film_with(connection, sha)
    keep_until = None
    if film.reviewed_at is not None and not consent.keep:
        keep_until = film.reviewed_at.date() + KEEP_AFTER_REVIEW
    values = _consent_columns(consent) | {"keep_until": keep_until}
    connection.execute(update(schema.films).where(schema.films.c.sha256 == sha).values(values))
    return film_with(connection, sha)


def mark_reviewed(connection: Connection, sha: str, at: datetime) -> FilmRow:
    """Note that the coach has settled what a film shows, which starts its 90 days."""
    film = film_with(connection, sha)
    keep_until = None if film.consent.keep else at.date() + KEEP_AFTER_REVIEW
    connection.execute(
        update(schema.films).where(schema.films.c.sha256 == sha).values(reviewed_at=at, keep_until=keep_until)
    )
    return film_with(connection, sha)


def films_of(connection: Connection, athlete_id: str | None, until: datetime | None = None) -> list[FilmRow]:
    """Return the films of an athlete (or of all), oldest first."""
    table = schema.films
    query = select(table).order_by(table.c.filmed_at, table.c.sha256)
    if athlete_id is not None:
        query = query.where(table.c.athlete_id == athlete_id)
    if until is not None:
        query = query.where(table.c.filmed_at <= until)
    return [film_row(row) for row in connection.execute(query)]


def film_with(connection: Connection, sha: str) -> FilmRow:
    """Return one film by its hash, or by the beginning of it when that names one film only."""
    table = schema.films
    query = select(table).where(table.c.sha256.startswith(sha, autoescape=True)).limit(2)
    found = connection.execute(query).all()
    if len(found) != 1 or len(sha) < 8:
        raise NotFound(f"there is no film {sha[:16]!r}")
    return film_row(found[0])


def film_row(row: Row[Any]) -> FilmRow:
    """Build a FilmRow from a row of the table."""
    consent = FilmConsent(row.may_coach, row.may_keep, row.may_show, row.may_improve)
    return FilmRow(
        sha256=row.sha256,
        athlete_id=row.athlete_id,
        name=row.name,
        filmed_at=row.filmed_at,
        exercise=row.exercise,
        view=row.view,
        added_kg=row.added_kg,
        status=row.status,
        why=row.why,
        consent=consent,
        first_seen_at=row.first_seen_at,
        reviewed_at=row.reviewed_at,
        keep_until=row.keep_until,
        deleted_on=row.deleted_on,
        size_bytes=row.size_bytes,
        stored_as=row.stored_as,
        problem=row.problem,
        known_length=from_plain(KnownLength, row.known_length) if row.known_length else None,
    )


def _consent_columns(consent: FilmConsent) -> dict[str, bool]:
    return {
        "may_coach": consent.coach,
        "may_keep": consent.keep,
        "may_show": consent.show,
        "may_improve": consent.improve,
    }
