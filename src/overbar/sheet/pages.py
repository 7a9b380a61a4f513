"""The sheet's addresses. The link in the path is all an athlete needs, and all it opens."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.responses import Response

from overbar.records import Records
from overbar.sheet.film import keep_film, told_of
from overbar.sheet.link import Links
from overbar.sheet.log import session_facts
from overbar.sheet.session import phone_data, week_on

HERE = Path(__file__).parent
STATIC = HERE / "static"
KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def sheet_router(records: Records, links: Links, arrivals: Path) -> APIRouter:
    """Return the sheet's pages on top of some records.

    Parameters
    ----------
    records : Records
    links : Links
    arrivals : pathlib.Path
        Folder in which a film lies until it is whole.
    """
    router = APIRouter(prefix="/sheet")
    templates = Environment(
        loader=PackageLoader("overbar.sheet", "templates"),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
    )

    @router.get("/static/{name}")
    def static(name: str) -> Response:
        """Return a file of the sheet; the worker keeps it on the phone."""
        path = STATIC / Path(name).name
        if not path.is_file():
            return Response(status_code=404)
        headers = {"Service-Worker-Allowed": "/sheet/", "Cache-Control": "no-cache"}
        return FileResponse(path, media_type=KINDS[path.suffix], headers=headers)

    @router.get("/{link}")
    def sheet(link: str) -> Response:
        """Return the page; what it shows comes as data, so that it also comes without a network."""
        athlete = records.athlete(links.athlete_id(link))
        return HTMLResponse(templates.get_template("sheet.html").render(name=athlete.name.split()[0]))

    @router.get("/{link}/app.webmanifest")
    def manifest(link: str) -> Response:
        """Let the phone keep the sheet on its home screen."""
        links.athlete_id(link)
        return JSONResponse(
            {
                "name": "Overbar: today's session",
                "short_name": "Overbar",
                "start_url": f"/sheet/{link}",
                "scope": "/sheet/",
                "display": "standalone",
                "background_color": "#14181d",
                "theme_color": "#14181d",
                "icons": [{"src": "/sheet/static/bar.svg", "sizes": "any", "type": "image/svg+xml"}],
            },
            media_type="application/manifest+json",
        )

    @router.get("/{link}/session.json")
    def session(link: str) -> Response:
        """Return the week's sessions."""
        athlete_id = links.athlete_id(link)
        athlete = records.athlete(athlete_id)
        today = records.today(athlete_id)
        held = [week for week in (stored.holds for stored in records.weeks(athlete_id)) if week is not None]
        history = records.history(athlete_id, today)
        return JSONResponse(
            phone_data(athlete, week_on(held, today), history, records.ladder_for(athlete_id), today)
        )

    @router.post("/{link}/log")
    def log(link: str, sent: Annotated[dict[str, Any], Body()]) -> Response:
        """Keep what the phone sends; the same again changes nothing."""
        athlete_id = links.athlete_id(link)
        athlete = records.athlete(athlete_id)
        ladder = records.ladder_for(athlete_id)
        today = records.today(athlete_id)
        masses = [note.body_mass_kg for note in records.history(athlete_id, today).body if note.body_mass_kg]
        mass = masses[-1] if masses else athlete.body_mass_kg
        facts = session_facts(sent, ladder.exercises, ladder.flags, today, mass)
        new = records.add_sets(athlete_id, facts.sets, "sheet")
        for tried in facts.tries:
            records.add_attempt(athlete_id, tried)
        if facts.session is not None:
            records.add_session(athlete_id, facts.session)
        for report in facts.pain:
            records.add_pain(athlete_id, report)
        if facts.body is not None:
            records.add_body(athlete_id, facts.body)
        return JSONResponse({"kept": new})

    @router.post("/{link}/film")
    async def film(
        request: Request,
        link: str,
        name: str,
        filmed: datetime,
        exercise: str,
        may: str,
        added_kg: float | None = None,
    ) -> Response:
        """Keep a film that comes as it is; the same film again changes nothing."""
        athlete_id = links.athlete_id(link)
        told = told_of(records, athlete_id, name, filmed, exercise, added_kg, may)
        sha = await keep_film(records, athlete_id, told, request.stream(), arrivals)
        return JSONResponse({"kept": sha})

    return router
