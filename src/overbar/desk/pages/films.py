"""Films: what waits, what was read, one film with its numbers, a point put right."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Body, HTTPException, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse
from starlette.responses import Response

from overbar.athlete.person import Athlete
from overbar.desk.app import Desk, asked_by_htmx, desk_of, fragment, page
from overbar.desk.figures import day, local_day, measured, seconds, sentence
from overbar.desk.film import EVENT_NAMES, film_view, player_data, verdict_line
from overbar.desk.filming import HELP, Help, help_for
from overbar.desk.pictures import kept_still, playable, throw_out
from overbar.desk.reply import reply, reply_to_unusable
from overbar.errors import BadInput, NotFound
from overbar.film.reading import KnownLength, Reading
from overbar.records import FilmConsent, FilmRow
from overbar.records.film_marks import KeptCalibration
from overbar.records.forget import delete_film
from overbar.records.queue import Doing

router = APIRouter()
ON_A_PAGE = 24
BESIDE_AT_MOST = 40
"""So many films of each sort are offered to stand beside one."""
HOLD_NAMES = {
    "chin": "chin at the bar",
    "breastbone_top": "top of the breastbone at the bar",
    "breastbone_low": "lower end of the breastbone at the bar",
}
"""The three foot-assisted holds, in words."""
LEAST_SHARE = 0.05
"""From this share on it is told how long reading goes on (own judgement)."""
KEPT_BY_BROWSER = {"Cache-Control": "private, max-age=600"}


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
        exercise=_exercise(desk, film, athlete),
        say=verdict_line(reading) if reading else sentence(film.why),
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
                    _exercise(desk, film, athlete),
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
            when, exercise = _when(desk, film, athlete), _exercise(desk, film, athlete)
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
    ladder = desk.records.ladder_for(athlete.id)
    values: dict[str, Any] = {
        "athlete": athlete,
        "film": film,
        "filmed": _when(desk, film, athlete),
        "exercise": _exercise(desk, film, athlete),
        "has_reading": usable is not None,
        "beside": None,
    }
    if usable is None:
        say, share = _state(film, _doing(desk, film.sha256))
        filming = _filming(film, reading)
        return page(
            request,
            "film.html",
            **values,
            state={"say": _first_sentence(say) if film.problem else say, "share": share},
            filming=filming,
            reply=reply_to_unusable(_first_sentence(film.why), filming, athlete.name.split()[0]),
            picture=film.deleted_on is None,
        )
    others = _comparable(desk, film)
    if beside:
        values["beside"] = _beside(desk, desk.records.film(beside), athlete)
    return page(
        request,
        "film.html",
        **values,
        view=film_view(usable, ladder),
        reply=reply(usable, ladder, athlete.name.split()[0]),
        filming=_filming(film, usable) if any(one.id in HELP for one in usable.problems) else None,
        exercises=sorted(ladder.exercises.values(), key=lambda exercise: exercise.name),
        others=[{"sha256": other.sha256, "say": _beside_words(desk, other, athlete)} for other in others],
        event_kinds=tuple(EVENT_NAMES.items()),
        consent=_consent_words(film),
        ticks=_ticks(film.consent),
        points=len(desk.records.corrections(film.sha256)),
        holds=_holds(desk, film),
        known_m=usable.known_length.length_m if usable.known_length else None,
        keep_until=day(film.keep_until) if film.keep_until else "",
        first_said=_first_said(desk, usable),
    )


def _first_said(desk: Desk, now: Reading) -> str:
    """Say what the film's fault was when it was read, where the ladder's limits were moved since."""
    first = desk.records.reading(now.film.sha256, original=True)
    if first is None or first.judged_by == now.judged_by or first.main_fault == now.main_fault:
        return ""
    names = {fault.id: fault.name for fault in first.faults}
    was = names.get(first.main_fault, first.main_fault) if first.main_fault else "none"
    return f"Judged by the limits the ladder has now. When it was read, the one fault was: {was}."


@router.get("/films/{sha}/state")
def film_state(request: Request, sha: str) -> Response:
    """Return how far the reading is; once read, tell the page to load itself again."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    if film.status not in ("waiting", "reading"):
        return HTMLResponse("", headers={"HX-Refresh": "true"})
    say, share = _state(film, _doing(desk, film.sha256))
    inner = fragment(
        "film_state.html", film=film, state={"say": say, "share": share}, filming=None, form_token=""
    )
    attributes = f'hx-get="/films/{film.sha256}/state" hx-trigger="every 2s" hx-swap="outerHTML"'
    return HTMLResponse(f'<div id="film-state" {attributes}>{inner}</div>')


@router.get("/films/{sha}/track.json")
def track(request: Request, sha: str) -> Response:
    """Return what the player draws."""
    reading = _reading(desk_of(request), sha)
    return JSONResponse(_drawn(reading))


@router.get("/films/{sha}/model")
def model(request: Request, sha: str) -> Response:
    """Return the body model's figure beside the film's highest try, as a part of the page."""
    from overbar.desk.model_path import model_path
    from overbar.mechanics.surrogate import read_table

    desk = desk_of(request)
    athlete = desk.records.athlete(desk.records.film(sha).athlete_id)
    found = model_path(
        _reading(desk, sha), athlete, read_table(), desk.records.solve(athlete.id, solved=True)
    )
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
    desk = desk_of(request)
    film = desk.records.film(sha)
    points = desk.records.corrections(film.sha256)
    if change.get("undo") == "all":
        points, said = [], "Your points are taken back."
    elif change.get("undo"):
        points, said = points[:-1], "Your last point is taken back."
    else:
        points = [*points, _correction(_reading(desk, film.sha256), change)]
        said = "Every number is reckoned with your point. The first reading is kept beside it."
    return _numbers_anew(desk, film, desk.records.correct_reading(film.sha256, points, _coach(desk)), said)


@router.post("/films/{sha}/length")
def mark_length(request: Request, sha: str, change: dict[str, Any] = Body()) -> Response:
    """Keep a length marked in the picture, or take it back, and return the new numbers."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    reading = _reading(desk, film.sha256)
    known = None if change.get("undo") else _known_length(change)
    after = desk.records.mark_length(film.sha256, known, _coach(desk))
    said = (
        "The length is taken back; the scale is that of the athlete's stature."
        if known is None
        else "The scale goes by your length and the athlete's stature together."
    )
    return _numbers_anew(desk, film, after or reading, said)


@router.post("/films/{sha}/holds")
async def calibrate_by_holds(request: Request, sha: str) -> Response:
    """Calibrate an athlete's heights by the holds of a film, or take the calibration back."""
    from overbar.film.calibration import HOLD_HEIGHTS, calibrate, holds_of

    desk = desk_of(request)
    film = desk.records.film(sha)
    form = await request.form()
    kept = None
    if form.get("do") != "drop":
        original = desk.records.reading(film.sha256, original=True)
        holds = holds_of(original) if original is not None else ()
        named = {
            str(form.get(f"hold-{n}")): hold
            for n, hold in enumerate(holds)
            if form.get(f"hold-{n}") in HOLD_HEIGHTS
        }
        if len(named) < sum(form.get(f"hold-{n}") in HOLD_HEIGHTS for n in range(len(holds))):
            raise BadInput("two holds have the same name", do="Name each of them once.")
        value = calibrate({name: hold.height_L for name, hold in named.items()})
        times = {name: hold.at_s for name, hold in named.items()}
        kept = KeptCalibration(value, desk.records.now(), _coach(desk), film.sha256, times)
    desk.records.calibrate_heights(film.athlete_id, kept, _coach(desk))
    desk.board.renew(film.athlete_id)
    return RedirectResponse(f"/films/{film.sha256}", 303)


def _numbers_anew(desk: Desk, film: FilmRow, after: Reading, said: str) -> Response:
    """Return everything on the film page that follows from a reading."""
    desk.board.renew(film.athlete_id)
    athlete = desk.records.athlete(film.athlete_id)
    ladder = desk.records.ladder_for(athlete.id)
    view = film_view(after, ladder)
    return JSONResponse(
        {
            "track": _drawn(after),
            "html": fragment("film_numbers.html", view=view),
            "line": view.verdict,
            "reply": reply(after, ladder, athlete.name.split()[0]),
            "said": said,
            "points": len(desk.records.corrections(film.sha256)),
        }
    )


def _coach(desk: Desk) -> str:
    return desk.records.house().coach or "coach"


@router.post("/films/{sha}/describe")
async def describe(request: Request, sha: str) -> Response:
    """Keep what a film shows."""
    desk = desk_of(request)
    film = desk.records.film(sha)
    exercise = str((await request.form()).get("exercise") or "")
    if exercise and exercise not in desk.records.ladder_for(film.athlete_id).exercises:
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


def _first_sentence(text: str) -> str:
    """Return what was wrong without the advice behind it, where a picture says that better."""
    first, dot, _ = text.partition(". ")
    return first + "." if dot else text


def _filming(film: FilmRow, reading: Reading | None) -> Help:
    """Return how to film it better next time."""
    return help_for(problem.id for problem in reading.problems) if reading else help_for([film.problem])


def _doing(desk: Desk, sha: str) -> Doing | None:
    return next((doing for doing in desk.records.underway() if doing.film_sha256 == sha), None)


def _state(film: FilmRow, doing: Doing | None) -> tuple[str, float | None]:
    if film.deleted_on is not None:
        return f"This film was deleted on {day(film.deleted_on)}; its numbers are kept.", None
    if film.status == "reading" and doing is not None:
        share = f"{round(doing.share * 100)} %{_time_left(doing, datetime.now(UTC))}"
        return f"Being read: {doing.doing or 'beginning'}, {share}", doing.share
    if film.status == "waiting" and doing is not None:
        return "Waits to be read", 0.0
    if film.status in ("failed", "unusable"):
        return sentence(film.why) or "It could not be read.", None
    return "It has not been asked to be read yet.", None


def _time_left(doing: Doing, now: datetime) -> str:
    """Say about how long reading goes on, once enough of it is done to tell."""
    if doing.began_at is None or doing.share < LEAST_SHARE:
        return ""
    left = (now - doing.began_at).total_seconds() * (1 - doing.share) / doing.share
    return f", about {seconds(max(5 * round(left / 5), 5))} left"


def _when(desk: Desk, film: FilmRow, athlete: Athlete) -> str:
    return day(local_day(film.filmed_at, athlete.time_zone), desk.records.today())


def _exercise(desk: Desk, film: FilmRow, athlete: Athlete) -> str:
    known = desk.records.ladder_for(athlete.id).exercises.get(film.exercise)
    return known.name if known else ""


def _comparable(desk: Desk, film: FilmRow) -> list[FilmRow]:
    """Return the newest films that may stand beside this one: the athlete's own, then those agreed to."""
    there = [
        other
        for other in reversed(desk.records.films())
        if other.status == "read" and other.deleted_on is None and other.sha256 != film.sha256
    ]
    own = [other for other in there if other.athlete_id == film.athlete_id]
    agreed = [other for other in there if other.athlete_id != film.athlete_id and other.consent.show]
    return [*own[:BESIDE_AT_MOST], *agreed[:BESIDE_AT_MOST]]


def _beside(desk: Desk, other: FilmRow, athlete: Athlete) -> dict[str, str]:
    if other.athlete_id != athlete.id and not other.consent.show:
        raise HTTPException(403, "That athlete has not agreed to have this film shown beside another's.")
    owner = desk.records.athlete(other.athlete_id)
    return {"sha256": other.sha256, "name": owner.name, "when": _when(desk, other, owner)}


def _beside_words(desk: Desk, other: FilmRow, athlete: Athlete) -> str:
    owner = athlete if other.athlete_id == athlete.id else desk.records.athlete(other.athlete_id)
    name = "" if owner.id == athlete.id else f"{owner.name}, "
    shows = _exercise(desk, other, owner) or "film"
    return f"{name}{_when(desk, other, owner)} {shows} ({Path(other.name).stem})"


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


def _drawn(reading: Reading) -> dict[str, Any]:
    """Return what the player draws, the marked length with it."""
    known = reading.known_length
    ends = [[known.x1_px, known.y1_px], [known.x2_px, known.y2_px]] if known else None
    return player_data(reading) | {"known": {"ends": ends, "m": known.length_m} if known else None}


def _known_length(change: dict[str, Any]) -> KnownLength:
    """Check a marked length as the page sends it: two points in pixels, and metres."""
    try:
        (x1, y1), (x2, y2) = change["ends"]
        return KnownLength(float(x1), float(y1), float(x2), float(y2), float(change["m"]))
    except (KeyError, TypeError, ValueError) as error:
        raise BadInput("the length is not complete", do="Mark both ends and give the length.") from error


def _holds(desk: Desk, film: FilmRow) -> dict[str, Any]:
    """Return the holds of a film that can calibrate heights, and the calibration there is."""
    from overbar.film.calibration import holds_of

    original = desk.records.reading(film.sha256, original=True)
    kept = desk.records.calibration(film.athlete_id)
    said = {f"{at:.2f}": name for name, at in kept.holds.items()} if kept else {}
    mine = kept is not None and kept.film_sha256 == film.sha256
    return {
        "rows": [
            {
                "at_s": hold.at_s,
                "say": measured(hold.height_L.value, hold.height_L.sd, "L", signed=True),
                "name": said.get(f"{hold.at_s:.2f}", "") if mine else "",
            }
            for hold in (holds_of(original) if original is not None else ())
        ],
        "names": HOLD_NAMES,
        "kept": _calibration_in_words(desk, kept, film.athlete_id) if kept else "",
    }


def _calibration_in_words(desk: Desk, kept: KeptCalibration, athlete_id: str) -> str:
    said = calibration_in_words(kept, desk.records.today(athlete_id))
    if kept.film_sha256 is None or desk.records.film(kept.film_sha256).deleted_on is None:
        return said
    return f"{said} That film is deleted; its numbers were kept."


def calibration_in_words(kept: KeptCalibration, on: date) -> str:
    """Say how far an athlete's heights read off, and since when they are set right."""
    offs = [measured(-one.too_high_L.value, one.too_high_L.sd, "L", signed=True) for one in kept.value.holds]
    return f"Heights are set right by {', '.join(offs)}, from holds filmed {day(kept.made_at.date(), on)}."


def _correction(reading: Reading, change: dict[str, Any]) -> Any:
    """Check a dragged point and write it as :func:`overbar.film.reread` takes it."""
    try:
        frame, joint = int(change["frame"]), str(change["joint"])
        x, y = float(change["x"]), float(change["y"])
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        raise BadInput("the point is not complete", do="Drag it again.") from error
    if not 0 <= frame < len(reading.joints.t_s):
        raise BadInput(f"frame {frame + 1} of {len(reading.joints.t_s)}", do="Load the page again.")
    if joint != "bar" and joint not in reading.joints.names:
        raise BadInput(f"there is no joint {joint!r}", do="Drag a joint that is drawn.")
    if not (0 <= x <= reading.film.width and 0 <= y <= reading.film.height):
        raise BadInput(f"the point {x:.0f}, {y:.0f} lies outside the picture", do="Put it inside.")
    return {"frame": frame, "joint": joint, "x_px": x, "y_px": y}
