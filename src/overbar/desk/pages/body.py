"""What the body model says of an athlete, and the full solve behind a button."""

from __future__ import annotations

from datetime import UTC, datetime

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.responses import Response

from overbar.desk.app import Desk, asked_by_htmx, desk_of, fragment
from overbar.desk.body import body_view
from overbar.desk.body_solve import SolveView, solve_view
from overbar.desk.proposal import Proposal, propose
from overbar.errors import BadInput
from overbar.mechanics.asked import asked_of
from overbar.mechanics.margins import DEFAULT_SWING_DEG, Offset
from overbar.mechanics.surrogate import read_table
from overbar.planning.body_tries import own_swing, person_at

router = APIRouter()
LIMITS = {
    "swing": (0.0, 35.0, "the swing, degrees"),
    "belt": (-45.0, 135.0, "on the belt"),
    "mass": (-90.0, 90.0, "body mass"),
    "pause": (0.0, 0.4, "the pause, s"),
    "arm": (-12.0, 12.0, "the arms"),
    "later": (0.0, 0.3, "the later pull start, s"),
}
"""What-ifs beyond these are read as a slip of the finger, in kg or lb, cm or in (own judgement)."""
NO_STRENGTH = "No strength is known yet: log pull-up sets first."


@router.get("/athletes/{athlete_id}/body")
def body(
    request: Request,
    athlete_id: str,
    swing: float | None = None,
    belt: float = 0.0,
    mass: float = 0.0,
    pause: float = 0.0,
    arm: float = 0.0,
    later: float = 0.0,
) -> Response:
    """Return what the body model says, as a part of the page."""
    desk = desk_of(request)
    proposal = propose(desk.records, athlete_id)
    asked = {"swing": swing or 0.0, "belt": belt, "mass": mass, "pause": pause, "arm": arm, "later": later}
    for name, value in asked.items():
        _within(name, value)
    strength = proposal.week.verdict.strength
    if strength is None:
        return HTMLResponse(fragment("spoken.html", what=NO_STRENGTH, do=""))
    view = body_view(
        proposal.athlete,
        person_at(proposal.history, strength),
        read_table(),
        _swing(proposal) if swing is None else swing,
        belt=belt,
        mass=mass,
        pause_s=pause,
        arm=arm,
        later_s=later,
        offset=offset_of(desk),
    )
    return HTMLResponse(
        fragment(
            "body.html",
            body=view,
            solve=_solve(desk, proposal),
            athlete_id=athlete_id,
            form_token=desk.guard.form_token,
        )
    )


@router.get("/athletes/{athlete_id}/body/solve")
def how_far(request: Request, athlete_id: str) -> Response:
    """Return how far the full solve is, or its answer."""
    desk = desk_of(request)
    return _solve_part(desk, propose(desk.records, athlete_id))


@router.post("/athletes/{athlete_id}/body/solve")
def solve_it(request: Request, athlete_id: str, swing: float = Form(DEFAULT_SWING_DEG)) -> Response:
    """Ask for a full solve of this very body."""
    desk = desk_of(request)
    _within("swing", swing)
    proposal = propose(desk.records, athlete_id)
    strength = proposal.week.verdict.strength
    if strength is None:
        raise BadInput("no strength is known yet", do="Log pull-up sets first.")
    desk.records.ask_solve(athlete_id, asked_of(person_at(proposal.history, strength), swing))
    if not asked_by_htmx(request):
        return RedirectResponse(f"/athletes/{athlete_id}#body", 303)
    return _solve_part(desk, proposal)


def offset_of(desk: Desk) -> Offset | None:
    """Return how far logged attempts have moved the thresholds, as last reckoned."""
    kept = desk.records.body_offset()
    return None if kept is None else Offset(**kept)


def _within(name: str, value: float) -> None:
    low, high, what = LIMITS[name]
    if not low <= value <= high:
        raise BadInput(f"{value:g} cannot be meant", what, f"Give {low:g} to {high:g}.")


def _swing(proposal: Proposal) -> float:
    """Return the athlete's own newest filmed swing in whole degrees, else the usual one."""
    own = own_swing(proposal.history)
    return DEFAULT_SWING_DEG if own is None else float(round(own))


def _solve(desk: Desk, proposal: Proposal) -> SolveView:
    athlete_id = proposal.athlete.id
    newest = desk.records.solve(athlete_id)
    answered = newest if newest is None or newest.state == "done" else desk.records.solve(athlete_id, True)
    strength = proposal.week.verdict.strength
    return solve_view(
        newest,
        answered,
        None if strength is None else person_at(proposal.history, strength),
        read_table(),
        offset_of(desk),
        proposal.on,
        proposal.athlete.time_zone,
        datetime.now(UTC),
        _swing(proposal),
    )


def _solve_part(desk: Desk, proposal: Proposal) -> HTMLResponse:
    solve = _solve(desk, proposal)
    return HTMLResponse(
        fragment(
            "body_solve.html",
            solve=solve,
            athlete_id=proposal.athlete.id,
            form_token=desk.guard.form_token,
        )
    )
