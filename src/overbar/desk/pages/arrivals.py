"""What comes in: logs that are looked at before they are stored, and films."""

from __future__ import annotations

import secrets
import tempfile
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.responses import Response

from overbar.athlete.person import Athlete
from overbar.desk.app import asked_by_htmx, desk_of, fragment, page
from overbar.desk.figures import plural
from overbar.errors import BadInput, OverbarError
from overbar.records import FilmConsent
from overbar.records.take_in import TakenIn, take_in_file
from overbar.units import kg_from_lb

router = APIRouter()
KINDS = (".csv", ".tsv", ".xlsx", ".xlsm", ".txt")
KEPT_S = 24 * 3600
FILM_AT_MOST = 2_000_000_000
LOG_AT_MOST = 20_000_000
"""Bytes; a phone film of a set is under a tenth of the first (own judgement)."""
PIECE = 1 << 20


@dataclass(frozen=True)
class Understanding:
    """What a log says, and what in it nobody could say, as the page shows them."""

    arrival: str
    rows: tuple[tuple[str, str], ...]
    unclear: tuple[tuple[str, str, str], ...]


@router.get("/athletes/{athlete_id}/take-in")
def arrivals(request: Request, athlete_id: str) -> Response:
    """Show where logs and films come in."""
    return _arrivals_page(request, desk_of(request).records.athlete(athlete_id), None)


@router.post("/athletes/{athlete_id}/take-in/look")
async def look(
    request: Request,
    athlete_id: str,
    message: Annotated[str, Form()] = "",
    table: UploadFile | None = None,
) -> Response:
    """Show what is understood of a log; nothing is stored yet."""
    desk = desk_of(request)
    athlete = desk.records.athlete(athlete_id)
    _throw_out_old(desk.arrivals)
    arrival = secrets.token_hex(16)
    if table is not None and table.filename:
        suffix = Path(table.filename).suffix.lower()
        path = _made(desk.arrivals) / f"{arrival}{suffix if suffix in KINDS else '.txt'}"
        await _save(table, path, LOG_AT_MOST, "file")
    elif message.strip():
        path = _made(desk.arrivals) / f"{arrival}.txt"
        path.write_text(message, encoding="utf-8")
    else:
        raise BadInput("there is no message and no file", do="Paste a message, or choose a file.")
    try:
        taken = take_in_file(desk.records, path, athlete_id, dry=True)
    except OverbarError:
        path.unlink()
        raise
    understood = _understood(taken, path.name)
    if not asked_by_htmx(request):
        return _arrivals_page(request, athlete, understood)
    token = desk.guard.form_token
    return HTMLResponse(fragment("understood.html", understood=understood, athlete=athlete, form_token=token))


@router.post("/athletes/{athlete_id}/take-in")
def store(request: Request, athlete_id: str, arrival: Annotated[str, Form()]) -> Response:
    """Store what was understood of a log that was looked at."""
    desk = desk_of(request)
    athlete = desk.records.athlete(athlete_id)
    path = desk.arrivals / Path(arrival).name
    if not path.is_file():
        raise BadInput("this log was stored already, or is a day old", do="Give it again if it is missing.")
    taken = take_in_file(desk.records, path, athlete_id)
    path.unlink()
    desk.board.renew(athlete_id)
    new, known = sum(one.new for one in taken), sum(one.known for one in taken)
    there = f"; {plural(known, 'was', 'were')} there already" if known else ""
    return page(
        request,
        "message.html",
        heading=f"Stored for {athlete.name}",
        what=f"{plural(new, 'new entry', 'new entries')}{there}.",
        do="",
        back=f"/athletes/{athlete.id}",
        back_say=f"To {athlete.name}",
    )


@router.post("/athletes/{athlete_id}/films")
async def add_film(
    request: Request,
    athlete_id: str,
    clip: UploadFile,
    filmed: Annotated[str, Form()],
    exercise: Annotated[str, Form()] = "",
    added: Annotated[str, Form()] = "",
) -> Response:
    """Keep a film and have it read."""
    desk = desk_of(request)
    athlete = desk.records.athlete(athlete_id)
    form = await request.form()
    consent = FilmConsent(
        *(form.get(f"may_{tick}") == "yes" for tick in ("coach", "keep", "show", "improve"))
    )
    if not consent.coach:
        raise BadInput(
            "the tick for coaching use is missing", do="Without it a film can be neither read nor looked at."
        )
    added_kg = _added_kg(added, athlete)
    filmed_at = _moment(filmed, athlete)
    with tempfile.TemporaryDirectory(dir=_made(desk.arrivals)) as folder:
        path = Path(folder) / (Path(clip.filename or "film").name or "film")
        await _save(clip, path, FILM_AT_MOST, "film")
        row = desk.records.add_film(
            athlete_id, path, filmed_at, exercise=exercise, added_kg=added_kg, consent=consent
        )
    if row.status == "waiting":
        desk.records.enqueue_reading(row.sha256)
    desk.board.renew(athlete_id)
    return RedirectResponse(f"/films/{row.sha256}", 303)


def _understood(taken: tuple[TakenIn, ...], arrival: str) -> Understanding:
    return Understanding(
        arrival,
        tuple((f"line {piece.line}", piece.say) for one in taken for piece in one.understood),
        tuple(
            (piece.where or f"line {piece.line}", piece.piece, piece.why)
            for one in taken
            for piece in one.not_understood
        ),
    )


def _throw_out_old(folder: Path) -> None:
    """Forget logs that were looked at and not stored within a day."""
    for path in folder.glob("*"):
        if path.is_file() and time.time() - path.stat().st_mtime > KEPT_S:
            path.unlink(missing_ok=True)


def _arrivals_page(request: Request, athlete: Athlete, understood: Understanding | None) -> Response:
    now = desk_of(request).records.now().astimezone(ZoneInfo(athlete.time_zone))
    ladder = desk_of(request).records.ladder_for(athlete.id)
    return page(
        request,
        "take_in.html",
        athlete=athlete,
        understood=understood,
        filmed_now=now.strftime("%Y-%m-%dT%H:%M"),
        exercises=sorted(ladder.exercises.values(), key=lambda exercise: exercise.name),
    )


async def _save(upload: UploadFile, path: Path, at_most: int, what: str) -> None:
    size = 0
    with path.open("wb") as out:
        while piece := await upload.read(PIECE):
            size += len(piece)
            if size > at_most:
                raise BadInput(f"the {what} is larger than {at_most // 1_000_000} MB", do="Trim it first.")
            out.write(piece)
    if size == 0:
        raise BadInput(f"the {what} is empty", do="Choose the file again.")


def _moment(text: str, athlete: Athlete) -> datetime:
    try:
        return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(athlete.time_zone))
    except ValueError as error:
        raise BadInput(
            f"{text!r} is no date and time", "filmed", "Give year-month-day and the time."
        ) from error


def _added_kg(text: str, athlete: Athlete) -> float | None:
    text = text.strip().replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError as error:
        raise BadInput(
            f"{text!r} is no load", "added load", f"Give a number in {athlete.mass_unit}."
        ) from error
    return kg_from_lb(value) if athlete.mass_unit == "lb" else value


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder
