"""Films: what waits, what was read, one film with its numbers, a point put right."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Body, HTTPException, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse
from starlette.responses import Response

from overbar.athlete.person import Athlete
from overbar.desk.app import Desk, asked_by_htmx, desk_of, fragment, page
from overbar.desk.figures import day, local_day
from overbar.desk.film import EVENT_NAMES, film_view, player_data, verdict_line
from overbar.desk.pictures import kept_still, playable, throw_out
from overbar.desk.proposal import ladder_named
from overbar.desk.reply import reply
from overbar.errors import BadInput, NotFound
from overbar.film.reading import Reading
from overbar.records import FilmConsent, FilmRow
from overbar.records.forget import delete_film

router = APIRouter()
ON_A_PAGE = 24
KEPT_BY_BROWSER = {"Cache-Control": "private, max-age=600"}
ASK_AGAIN = (
    "Film once more: side-on, phone upright on a stand at chest height, four to six metres away, "
    "whole body and bar in the picture with a hand's width to spare, 60 frames a second, no zoom."
)


@dataclass(frozen=True)
class FilmLine:
    """One film in a list."""

    sha256: str
    athlete: str
    when: str
    exercise: str
    say: str
    fault: str
    chance: str
    seen: bool


@dataclass(frozen=True)
class QueueLine:
    """One film that waits, is being read, or could not be read."""

    sha256: str
    athlete: str
    when: str
    exercise: str
    status: str
    say: str
    share: float | None


def film_line(desk: Desk, film: FilmRow, athlete: Athlete) -> FilmLine:
    """Return a film's line from its reading."""
    reading = desk.records.reading(film.sha256)
    main = next((f for f in reading.faults if f.id == reading.main_fault), None) if reading else None
    return FilmLine(
        sha256=film.sha256,
        athlete=athlete.name,
        when=_when(desk, film, athlete),
        exercise=_exercise(film, athlete),
        say=verdict_line(reading) if reading else film.why,
        fault=main.name if main else "",
        chance=f"{round(min(max(main.chance, 0.01), 0.99) * 100)}\u00a0%" if main else "",
        seen=film.reviewed_at is not None,
    )


def queue_lines(desk: Desk) -> list[QueueLine]:
    """Return the films that are not read, those being read first."""
    underway = {doing.film_sha256: doing for doing in desk.records.underway()}
    athletes: dict[str, Athlete] = {}
    lines = []
    for film in desk.records.films():
        if film.status in ("waiting", "reading") or (
            film.status in ("failed", "unusable") and film.reviewed_at is None and film.deleted_on is None
        ):
            athlete = _known(desk, film.athlete_id, athletes)
            doing = underway.get(film.sha256)
            say, share = _state(film, doing)
            lines.append(
                QueueLine(
                    film.sha256,
                    athlete.name,
                    _when(desk, film, athlete),
                    _exercise(film, athlete),
                    film.status,
                    say,
                    share,
                )
            )
    order = ("reading", "waiting", "failed", "unusable")
    return sorted(lines, key=lambda line: order.index(line.status))


def unseen_lines(desk: Desk) -> list[QueueLine]:
    """Return the films that were read and that the coach has not looked at, oldest first."""
    athletes: dict[str, Athlete] = {}
    lines = []
    for film in desk.records.films():
        if film.status == "read" and film.reviewed_at is None and film.deleted_on is None:
            athlete = _known(desk, film.athlete_id, athletes)
            when, exercise = _when(desk, film, athlete), _exercise(film, athlete)
            lines.append(QueueLine(film.sha256, athlete.name, when, exercise, "read", "", None))
    return lines


@router.get("/films")
def all_films(request: Request, start: int = 0) -> Response:
    """List the newest films of everybody."""
    return _list(request, None, start)


@router.get("/athletes/{athlete_id}/films")
def films_of_athlete(request: Request, athlete_id: str, start: int = 0) -> Response:
    """List an athlete's films, newest first."""
    return _list(request, desk_of(request).records.athlete(athlete_id), start)


@router.get("/films/queue")
def queue(request: Request) -> Response:
    """Return the films that are not read, as a part of a page."""
    return HTMLResponse(fragment("film_queue.html", queue=queue_lines(desk_of(request))))


@router.get("/films/{sha}")
def film_page(request: Request, sha: str, beside: str = "") -> Response:
    """Show one film, or two side by side."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    athlete = desk.records.athlete(film.athlete_id)
    reading = desk.records.reading(film.sha256)
    usable = reading if reading is not None and reading.usable and film.deleted_on is None else None
    ladder = ladder_named(athlete.skill)
    values: dict[str, Any] = {
        "athlete": athlete,
        "film": film,
        "filmed": _when(desk, film, athlete),
        "exercise": _exercise(film, athlete),
        "has_reading": usable is not None,
        "beside": None,
    }
    if usable is None:
        say, share = _state(film, _doing(desk, film.sha256))
        state = {"say": say, "share": share}
        return page(
            request, "film.html", **values, state=state, ask=ASK_AGAIN, picture=film.deleted_on is None
        )
    others = [other for other in _comparable(desk, film) if other.sha256 != film.sha256]
    if beside:
        values["beside"] = _beside(desk, desk.records.film(beside), athlete)
    return page(
        request,
        "film.html",
        **values,
        view=film_view(usable, ladder),
        reply=reply(usable, ladder, athlete.name.split()[0]),
        exercises=sorted(ladder.exercises.values(), key=lambda exercise: exercise.name),
        others=[{"sha256": other.sha256, "say": _beside_words(desk, other, athlete)} for other in others],
        event_kinds=tuple(EVENT_NAMES.items()),
        consent=_consent_words(film),
        ticks=_ticks(film.consent),
        keep_until=day(film.keep_until) if film.keep_until else "",
    )


@router.get("/films/{sha}/state")
def film_state(request: Request, sha: str) -> Response:
    """Return how far the reading is; once read, tell the page to load itself again."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    if film.status not in ("waiting", "reading"):
        return HTMLResponse("", headers={"HX-Refresh": "true"})
    say, share = _state(film, _doing(desk, film.sha256))
    inner = fragment(
        "film_state.html", film=film, state={"say": say, "share": share}, ask=ASK_AGAIN, form_token=""
    )
    attributes = f'hx-get="/films/{film.sha256}/state" hx-trigger="every 2s" hx-swap="outerHTML"'
    return HTMLResponse(f'<div id="film-state" {attributes}>{inner}</div>')


@router.get("/films/{sha}/track.json")
def track(request: Request, sha: str) -> Response:
    """Return what the player draws."""
    reading = _reading(desk_of(request), sha)
    return JSONResponse(player_data(reading))


@router.get("/films/{sha}/model")
def model(request: Request, sha: str) -> Response:
    """Return the body model's figure beside the film's highest try, as a part of the page."""
    from overbar.desk.model_path import model_path
    from overbar.mechanics.surrogate import read_table

    desk = desk_of(request)
    athlete = desk.records.athlete(desk.records.film(sha).athlete_id)
    found = model_path(_reading(desk, sha), athlete, read_table())
    if found is None:
        return HTMLResponse("")
    return HTMLResponse(fragment("film_model.html", model=found, drawn=json.dumps(found.drawn)))


@router.get("/films/{sha}/video")
def video(request: Request, sha: str) -> Response:
    """Return the film, or a copy this browser plays; ranges are served."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    path = playable(desk.records.film_file(film.sha256), desk.pictures, film.sha256)
    kind = "video/webm" if path.suffix == ".webm" else "video/mp4"
    return FileResponse(path, media_type=kind, headers=KEPT_BY_BROWSER)


@router.get("/films/{sha}/picture.jpg")
def picture(request: Request, sha: str) -> Response:
    """Return the telling frame of a film, with the joints on it."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    jpeg = kept_still(
        desk.records.film_file(film.sha256), desk.records.reading(film.sha256), desk.pictures, film.sha256
    )
    return Response(jpeg, media_type="image/jpeg", headers=KEPT_BY_BROWSER)


@router.post("/films/{sha}/corrections")
def correct(request: Request, sha: str, change: dict[str, Any] = Body()) -> Response:
    """Put a point right, reckon everything anew, and return the new numbers."""
    from overbar.film import reread

    desk = desk_of(request)
    film = desk.records.film(sha)
    before = _reading(desk, film.sha256)
    house = desk.records.house()
    if change.get("undo"):
        original = desk.records.reading(film.sha256, original=True)
        if original is None:
            raise NotFound(f"the film {film.name} has not been read yet")
        after = desk.records.correct_reading(film.sha256, [], house.coach or "coach", original)
        said = "Your points are taken back."
    else:
        correction = _correction(before, change)
        after = desk.records.correct_reading(
            film.sha256, correction, house.coach or "coach", reread(before, correction)
        )
        said = "Every number is reckoned with your point. The first reading is kept beside it."
    desk.board.renew(film.athlete_id)
    ladder = ladder_named(desk.records.athlete(film.athlete_id).skill)
    html = fragment("film_numbers.html", view=film_view(after, ladder))
    return JSONResponse({"track": player_data(after), "html": html, "said": said})


@router.post("/films/{sha}/describe")
async def describe(request: Request, sha: str) -> Response:
    """Keep what a film shows."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    exercise = str((await request.form()).get("exercise") or "")
    if exercise and exercise not in ladder_named(desk.records.athlete(film.athlete_id).skill).exercises:
        raise BadInput(f"the exercise {exercise!r} is not in the ladder", do="Choose one of the list.")
    desk.records.describe_film(film.sha256, exercise, film.view, film.added_kg)
    desk.board.renew(film.athlete_id)
    return RedirectResponse(f"/films/{film.sha256}", 303)


@router.post("/films/{sha}/consent")
async def consent(request: Request, sha: str) -> Response:
    """Keep what the athlete agrees to for this film."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    form = await request.form()
    given = FilmConsent(*(form.get(f"may_{tick}") == "yes" for tick, _, _ in _ticks(film.consent)))
    desk.records.set_consent(film.sha256, given)
    return RedirectResponse(f"/films/{film.sha256}", 303)


@router.post("/films/{sha}/delete")
async def delete(request: Request, sha: str) -> Response:
    """Delete a film for good, with or without its numbers."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    form = await request.form()
    if form.get("sure") != "yes":
        raise BadInput("the deletion was not confirmed", do="Tick that you are sure; it cannot be undone.")
    delete_film(desk.records, film.sha256, keep_numbers=form.get("numbers") == "keep")
    kept = {one.sha256 for one in desk.records.films() if one.deleted_on is None}
    throw_out(desk.pictures, kept)
    desk.board.renew(film.athlete_id)
    return RedirectResponse(f"/athletes/{film.athlete_id}/films", 303)


@router.post("/films/{sha}/reviewed")
def reviewed(request: Request, sha: str) -> Response:
    """Note that the coach has seen it."""
    desk = desk_of(request)
    film = desk.records.mark_reviewed(sha)
    desk.board.renew(film.athlete_id)
    return RedirectResponse(f"/films/{film.sha256}", 303)


@router.post("/films/{sha}/again")
def again(request: Request, sha: str) -> Response:
    """Have a film read again."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    desk.records.enqueue_reading(film.sha256)
    if asked_by_htmx(request):
        return Response(status_code=204)
    return RedirectResponse(f"/films/{film.sha256}", 303)


def _list(request: Request, athlete: Athlete | None, start: int) -> Response:
    desk = desk_of(request)
    athletes: dict[str, Athlete] = {}
    films = [
        film
        for film in reversed(desk.records.films(athlete.id if athlete else None))
        if film.status == "read" and film.deleted_on is None
    ]
    shown = films[start : start + ON_A_PAGE]
    return page(
        request,
        "films.html",
        athlete=athlete,
        films=[film_line(desk, film, _known(desk, film.athlete_id, athletes)) for film in shown],
        queue=queue_lines(desk),
        more=start + ON_A_PAGE if len(films) > start + ON_A_PAGE else None,
    )


def _known(desk: Desk, athlete_id: str, athletes: dict[str, Athlete]) -> Athlete:
    """Return an athlete, asking the records once for each."""
    if athlete_id not in athletes:
        athletes[athlete_id] = desk.records.athlete(athlete_id)
    return athletes[athlete_id]


def _reading(desk: Desk, sha: str) -> Reading:
    reading = desk.records.reading(sha)
    if reading is None:
        raise NotFound("this film has not been read yet")
    return reading


def _doing(desk: Desk, sha: str) -> Any:
    return next((doing for doing in desk.records.underway() if doing.film_sha256 == sha), None)


def _state(film: FilmRow, doing: Any) -> tuple[str, float | None]:
    if film.deleted_on is not None:
        return f"This film was deleted on {day(film.deleted_on)}; its numbers are kept.", None
    if film.status == "reading" and doing is not None:
        return f"Being read: {doing.doing or 'beginning'}, {round(doing.share * 100)} %", doing.share
    if film.status == "waiting" and doing is not None:
        return "Waits to be read", 0.0
    if film.status in ("failed", "unusable"):
        return film.why or "It could not be read.", None
    return "It has not been asked to be read yet.", None


def _when(desk: Desk, film: FilmRow, athlete: Athlete) -> str:
    return day(local_day(film.filmed_at, athlete.time_zone), desk.records.today())


def _exercise(film: FilmRow, athlete: Athlete) -> str:
    known = ladder_named(athlete.skill).exercises.get(film.exercise)
    return known.name if known else ""


def _comparable(desk: Desk, film: FilmRow) -> list[FilmRow]:
    """Return films that may stand beside this one: the athlete's own, or others' with consent to show."""
    return [
        other
        for other in desk.records.films()
        if other.status == "read"
        and other.deleted_on is None
        and (other.athlete_id == film.athlete_id or other.consent.show)
    ]


def _beside(desk: Desk, other: FilmRow, athlete: Athlete) -> dict[str, str]:
    if other.athlete_id != athlete.id and not other.consent.show:
        raise HTTPException(403, "That athlete has not agreed to have this film shown beside another's.")
    owner = desk.records.athlete(other.athlete_id)
    return {"sha256": other.sha256, "name": owner.name, "when": _when(desk, other, owner)}


def _beside_words(desk: Desk, other: FilmRow, athlete: Athlete) -> str:
    owner = athlete if other.athlete_id == athlete.id else desk.records.athlete(other.athlete_id)
    name = "" if owner.id == athlete.id else f"{owner.name}, "
    return f"{name}{_when(desk, other, owner)} {_exercise(other, owner) or 'film'} ({Path(other.name).stem})"


def _ticks(consent: FilmConsent) -> tuple[tuple[str, bool, str], ...]:
    """Return the four ticks: name, whether given, what for."""
    return (
        ("coach", consent.coach, "coaching"),
        ("keep", consent.keep, "keeping beyond 90 days"),
        ("show", consent.show, "showing to others"),
        ("improve", consent.improve, "improving the measuring"),
    )


def _consent_words(film: FilmRow) -> str:
    given = [words for _, given, words in _ticks(film.consent) if given]
    return f"agreed to: {', '.join(given)}" if given else "no consent noted"


def _correction(reading: Reading, change: dict[str, Any]) -> Any:
    """Check a dragged point and write it as :func:`overbar.film.reread` takes it."""
    try:
        frame, joint = int(change["frame"]), str(change["joint"])
        x, y = float(change["x"]), float(change["y"])
    except (KeyError, TypeError, ValueError) as error:
        raise BadInput("the point is not complete", do="Drag it again.") from error
    if not 0 <= frame < len(reading.joints.t_s):
        raise BadInput(f"frame {frame + 1} of {len(reading.joints.t_s)}", do="Load the page again.")
    if joint != "bar" and joint not in reading.joints.names:
        raise BadInput(f"there is no joint {joint!r}", do="Drag a joint that is drawn.")
    if not (0 <= x <= reading.film.width and 0 <= y <= reading.film.height):
        raise BadInput(f"the point {x:.0f}, {y:.0f} lies outside the picture", do="Put it inside.")
    return {"frame": frame, "joint": joint, "x_px": x, "y_px": y}
