"""The desk as a web application: what every page shares."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from fastapi import Depends, FastAPI, HTTPException, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from fastapi.staticfiles import StaticFiles
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.responses import Response

from overbar.desk.board import Board
from overbar.desk.figures import day
from overbar.desk.guard import LOOPBACK, Guard, desk_key, with_headers
from overbar.errors import NotFound, OverbarError
from overbar.records import Records

HERE = Path(__file__).parent
OPEN_PATHS = ("/static/", "/access", "/sheet/")
"""Paths that the access token does not shut: the door itself, and the athletes' own links."""
PASSING = "overbar-desk-"
"""Begin of the name of a folder for what ends with the desk; the number of its process follows."""
ERROR_WORDS = {400: "That cannot be used", 403: "Refused", 404: "Not there", 405: "Not that way"}


@dataclass(frozen=True)
class Desk:
    """What the pages work with.

    Attributes
    ----------
    records : Records
    board : Board
        The day's lines.
    guard : Guard
    pictures, arrivals : pathlib.Path
        Folders for stills and playable copies, and for logs that were looked at and not
        stored yet. They end with the desk, so that an erased film leaves nothing behind.
    sheet_address : callable or None
        Path of an athlete's phone page.
    """

    records: Records
    board: Board
    guard: Guard
    pictures: Path
    arrivals: Path
    sheet_address: Callable[[str], str] | None = None


def create_app(
    records: Records,
    hosts: frozenset[str] = LOOPBACK,
    access_token: str | None = None,
    keep_board: bool = True,
    sheet_address: Callable[[str], str] | None = None,
) -> FastAPI:
    """Return the desk on top of some records.

    Parameters
    ----------
    records : Records
        Open records; the caller closes them.
    hosts : frozenset of str
        Host names to answer to.
    access_token : str or None
        Asked for when the desk is not on loopback.
    keep_board : bool
        Keep the day's lines in the background; False reckons them at each visit.
    sheet_address : callable, optional
        Gives the path of an athlete's phone page, when it is served beside the desk.
    """
    from overbar.desk.pages import ALL

    clear_left_stills()
    passing = tempfile.TemporaryDirectory(prefix=f"{PASSING}{os.getpid()}-", ignore_cleanup_errors=True)
    pictures, arrivals = Path(passing.name) / "pictures", Path(passing.name) / "arrivals"
    guard = Guard(desk_key(records.settings.records), hosts, access_token)
    desk = Desk(records, Board(records, pictures), guard, pictures, arrivals, sheet_address)

    @asynccontextmanager
    async def living(app: FastAPI) -> AsyncIterator[None]:
        if keep_board:
            desk.board.start()
        yield
        desk.board.stop()
        passing.cleanup()

    app = FastAPI(title="Overbar", docs_url=None, redoc_url=None, openapi_url=None, lifespan=living)
    app.state.desk = desk
    app.middleware("http")(_doorkeeper(desk))
    app.middleware("http")(with_headers)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for router in ALL:
        app.include_router(router, dependencies=[Depends(desk.guard.check_form_token)])
    app.add_exception_handler(OverbarError, _say_error)
    app.add_exception_handler(StarletteHTTPException, _say_http_error)
    app.add_exception_handler(RequestValidationError, _say_unreadable)
    return app


def clear_left_stills() -> None:
    """Erase the pictures of films that a desk left behind when it was killed."""
    if os.name != "posix":
        return  # elsewhere asking after a process is not harmless
    for folder in Path(tempfile.gettempdir()).glob(f"{PASSING}*"):
        process = folder.name.removeprefix(PASSING).split("-")[0]
        if process.isdigit() and not _runs(int(process)):
            shutil.rmtree(folder, ignore_errors=True)


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def desk_of(request: Request) -> Desk:
    """Return the desk a request came to."""
    found: Desk = request.app.state.desk
    return found


def page(request: Request, template: str, status: int = 200, /, **values: Any) -> HTMLResponse:
    """Return a page: the template with its values and what every page shows."""
    desk = desk_of(request)
    house = desk.records.house()
    today = desk.records.today()
    shared = {
        "form_token": desk.guard.form_token,
        "static": _static,
        "here": request.url.path,
        "house": house,
        "date_said": day(today, today),
        "notice": "",
    }
    return HTMLResponse(_templates().get_template(template).render(shared | values), status)


def fragment(template: str, /, **values: Any) -> str:
    """Return a part of a page as text."""
    return _templates().get_template(template).render(static=_static, **values)


def asked_by_htmx(request: Request) -> bool:
    """Say whether a part of a page is wanted, not a whole one."""
    return request.headers.get("hx-request") == "true"


@lru_cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("overbar.desk", "templates"),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@lru_cache(maxsize=256)
def _static(name: str) -> str:
    """Return the address of a file of ours; it changes with the file, so that none is ever stale."""
    mark = hashlib.sha256((HERE / "static" / name).read_bytes()).hexdigest()[:10]
    return f"/static/{name}?{mark}"


def _doorkeeper(desk: Desk) -> Callable[..., Any]:
    async def check(request: Request, call_next: Callable[[Request], Any]) -> Response:
        try:
            desk.guard.check_host(request)
            desk.guard.check_same_origin(request)
        except HTTPException as error:
            return _message(request, error.status_code, str(error.detail))
        if not request.url.path.startswith(OPEN_PATHS) and not desk.guard.knows(request):
            if request.method == "GET" and not asked_by_htmx(request):
                return RedirectResponse("/access", 303)
            return _message(request, 403, "This desk is shut; open it with its access token first.")
        answer: Response = await call_next(request)
        return answer

    return check


def _say_error(request: Request, error: Exception) -> Response:
    if not isinstance(error, OverbarError):
        raise error
    status = 404 if isinstance(error, NotFound) else 400
    what = f"{error.where}: {error.what}" if error.where else error.what
    return _message(request, status, what, error.do)


def _say_http_error(request: Request, error: Exception) -> Response:
    if not isinstance(error, StarletteHTTPException):
        raise error
    what = str(error.detail) if error.status_code != 404 else f"There is no page {request.url.path}."
    return _message(request, error.status_code, what)


def _say_unreadable(request: Request, error: Exception) -> Response:
    """Say which field could not be read, instead of the framework's own list of it."""
    if not isinstance(error, RequestValidationError):
        raise error
    first = error.errors()[0]
    name = (
        first["loc"][-1] if len(first["loc"]) > 1 and isinstance(first["loc"][-1], str) else "What was sent"
    )
    given = first.get("input")
    shown = f" {given[:40]!r}" if isinstance(given, str) else ""
    return _message(request, 422, f"{name}{shown} cannot be read.", "Correct it, or load the page again.")


def _message(request: Request, status: int, what: str, do: str = "") -> Response:
    said = request.headers.get("content-type", "") + request.headers.get("accept", "")
    if "application/json" in said:
        return JSONResponse({"detail": f"{what.rstrip('.')}. {do}".strip()}, status)
    what = what[:1].upper() + what[1:]
    if asked_by_htmx(request):
        return HTMLResponse(fragment("spoken.html", what=what, do=do), status)
    heading = ERROR_WORDS.get(status, "Something went wrong")
    return page(request, "message.html", status, heading=heading, what=what, do=do, back="", back_say="")
