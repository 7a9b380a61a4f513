"""The door of a desk that others can reach."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse
from starlette.responses import Response

from overbar.desk.app import desk_of, page

router = APIRouter()


@router.get("/access")
def door(request: Request) -> Response:
    """Ask for the access token."""
    return page(request, "access.html")


@router.post("/access")
def open_door(request: Request, shown: Annotated[str, Form()] = "") -> Response:
    """Let in who shows the right token."""
    answer = RedirectResponse("/", 303)
    if desk_of(request).guard.admit(answer, shown):
        return answer
    return page(request, "access.html", 403, notice="That is not this desk's access token.")
