"""What lies ahead of an athlete: the forecast with its what-ifs, and the block report."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from overbar.desk.app import desk_of, fragment
from overbar.desk.outlook import habits_from_form, outlook_view
from overbar.desk.proposal import ahead_of, propose
from overbar.errors import BadInput
from overbar.planning.coach_words import coach_dates

router = APIRouter()


@router.get("/athletes/{athlete_id}/outlook")
def outlook(request: Request, athlete_id: str) -> Response:
    """Return the forecast, as a part of the athlete's page."""
    proposal = propose(desk_of(request).records, athlete_id)
    athlete, strength = proposal.athlete, proposal.week.verdict.strength
    ahead = ahead_of(proposal)
    body_mass = strength.body_mass_kg if strength else athlete.body_mass_kg
    form = dict(request.query_params)
    notice = ""
    try:
        lived = habits_from_form(ahead.usual, form, body_mass, athlete.mass_unit)
    except BadInput as error:
        lived, notice = ahead.usual, error.say()
    own = coach_dates(proposal.history, proposal.on)
    view = outlook_view(ahead, lived, form, body_mass, athlete.mass_unit, own, proposal.ladder)
    token = desk_of(request).guard.form_token
    html = fragment("outlook.html", outlook=view, athlete_id=athlete_id, notice=notice, form_token=token)
    return HTMLResponse(html, 422 if notice else 200)


@router.get("/athletes/{athlete_id}/report.pdf")
def block_report(request: Request, athlete_id: str) -> Response:
    """Return the block report of the last weeks."""
    from overbar.report.from_records import report_from_records

    records = desk_of(request).records
    _, pdf = report_from_records(records, athlete_id, records.today(athlete_id))
    name = f"{athlete_id}-{records.today(athlete_id).isoformat()}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"}
    return Response(pdf, media_type="application/pdf", headers=headers)
