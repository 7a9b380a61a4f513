"""The first page: who needs the coach today and why."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from overbar.desk.app import desk_of, page
from overbar.desk.pages.films import queue_lines, unseen_lines
from overbar.desk.today import the_day

router = APIRouter()


@router.get("/")
def today(request: Request) -> Response:
    """Show the day."""
    desk = desk_of(request)
    lines, whole = desk.board.lines()
    return page(
        request,
        "today.html",
        day=the_day(lines, desk.records.today()),
        queue=queue_lines(desk),
        unseen=unseen_lines(desk),
        notice="" if whole else "Still reckoning: the list grows while you read. Load it again in a moment.",
    )


@router.get("/athletes")
def everybody(request: Request) -> Response:
    """List all athletes by name."""
    lines, _ = desk_of(request).board.lines()
    return page(request, "athletes.html", lines=sorted(lines, key=lambda line: line.name))
