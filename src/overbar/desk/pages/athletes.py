"""An athlete's page and what the coach decides on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from starlette.responses import Response

from overbar.desk import athlete as one
from overbar.desk.app import Desk, asked_by_htmx, desk_of, fragment, page
from overbar.desk.figures import ago, day, local_day, monday, sentence
from overbar.desk.intake import SKILL, athlete_from_form
from overbar.desk.intake_form import choices, shown_values
from overbar.desk.outlook import dates_from_form
from overbar.desk.overrule import choices as choices_to_overrule
from overbar.desk.overrule import in_force, until
from overbar.desk.pages.films import film_line
from overbar.desk.proposal import Proposal, propose
from overbar.desk.today import DECISIONS, STANDINGS
from overbar.desk.tries import light_week_in_words, tries_box
from overbar.desk.week import changed_week, fingerprint, load_choices, session_lines, week_cards, what_changed
from overbar.errors import BadInput
from overbar.ladder import Ladder, load_ladder, shipped
from overbar.ladder.difference import differences
from overbar.planning.history import CoachWord
from overbar.planning.light_week import LightWeek, next_light_week
from overbar.planning.tries_left import TriesLeft, tries_left
from overbar.records.decisions import StoredWeek
from overbar.strength.prior import prior_for

router = APIRouter()


@router.get("/athletes/new")
def new_athlete(request: Request) -> Response:
    """Show the empty intake form."""
    return _form_page(request, "New athlete", {}, {}, "")


@router.post("/athletes/new")
async def take_in_athlete(request: Request) -> Response:
    """Keep a new athlete, or show what needs another look."""
    desk = desk_of(request)
    form = _with_own_method(await _texts(request), desk.records.ladder_of_skill)
    taken = [athlete.id for athlete in desk.records.athletes()]
    answered = athlete_from_form(form, desk.records.today(), taken)
    if answered.athlete is None:
        return _form_page(request, "New athlete", form, answered.wrong, "", 422)
    desk.records.save_athlete(answered.athlete)
    desk.board.renew(answered.athlete.id)
    return RedirectResponse(f"/athletes/{answered.athlete.id}", 303)


@router.get("/athletes/{athlete_id}/settings")
def settings(request: Request, athlete_id: str) -> Response:
    """Show what intake said, to be changed."""
    desk = desk_of(request)
    athlete = desk.records.athlete(athlete_id)
    return _form_page(
        request, f"About {athlete.name}", shown_values(athlete, desk.records.today()), {}, athlete_id
    )


@router.post("/athletes/{athlete_id}/settings")
async def keep_settings(request: Request, athlete_id: str) -> Response:
    """Keep changed answers."""
    desk = desk_of(request)
    before = desk.records.athlete(athlete_id)
    form = _with_own_method(await _texts(request), desk.records.ladder_of_skill)
    answered = athlete_from_form(form, desk.records.today(), before=before)
    if answered.athlete is None:
        limits = shown_values(before, desk.records.today())["limits"]
        return _form_page(
            request, f"About {before.name}", form | {"limits": limits}, answered.wrong, athlete_id, 422
        )
    desk.records.save_athlete(answered.athlete)
    desk.board.renew(athlete_id)
    return RedirectResponse(f"/athletes/{athlete_id}", 303)


@router.get("/athletes/{athlete_id}")
def athlete_page(request: Request, athlete_id: str, live: bool = False) -> Response:
    """Show one athlete."""
    desk = desk_of(request)
    proposal = propose(desk.records, athlete_id)
    verdict, on = proposal.week.verdict, proposal.on
    stored = desk.records.weeks(athlete_id)
    films = [film for film in desk.records.films(athlete_id) if film.deleted_on is None]
    read = [film for film in films if film.status in ("read", "unusable")]
    held = tuple(week for week in (entry.holds for entry in stored) if week is not None)
    return page(
        request,
        "athlete.html",
        **_week_values(proposal, live=live),
        person=one.person(proposal.athlete, on),
        rungs=one.rung_steps(proposal.ladder, verdict.rung),
        gate=one.gate_rows(verdict.gate, on),
        gate_id=verdict.gate.id if verdict.gate else "",
        gate_name=verdict.gate.name if verdict.gate else "",
        weakest=one.weakest_in_words(verdict.gate),
        margins=one.margin_rows(verdict),
        limit_word=verdict.strength_or_technique if verdict.strength_or_technique != "unknown" else "",
        rules=one.rule_rows(verdict, on),
        strength=one.strength_line(
            verdict.strength,
            verdict.strength_from or prior_for(proposal.athlete.sex),
            proposal.athlete.mass_unit,
            on,
        ),
        cue=one.last_cue(held, proposal.history, proposal.ladder, on),
        last_film=film_line(desk, read[-1], proposal.athlete) if read else None,
        pain_say=one.pain_in_words(proposal.history, on),
        attendance=one.attendance_in_words(proposal.history, on),
        sheet=desk.sheet_address(athlete_id) if desk.sheet_address else "",
        overrule={
            "choices": choices_to_overrule(proposal.week, proposal.ladder, proposal.history),
            "standing": in_force(proposal.history, proposal.ladder, on),
        },
        standing=_standing(desk, proposal),
        decided=[_decided(entry, proposal, on) for entry in reversed(stored)][:24],
    )


@router.get("/athletes/{athlete_id}/curves.json")
def curves(request: Request, athlete_id: str) -> Response:
    """Return what the curves draw."""
    proposal = propose(desk_of(request).records, athlete_id)
    athlete = proposal.athlete
    return JSONResponse(one.curves(athlete, proposal.history, proposal.points, proposal.week.verdict.gate))


@router.get("/athletes/{athlete_id}/sessions.ics")
def sessions_calendar(request: Request, athlete_id: str) -> Response:
    """Return the week's sessions for the athlete's calendar (RFC 5545)."""
    from overbar.report.sessions_calendar import calendar_of

    desk = desk_of(request)
    proposal = propose(desk.records, athlete_id)
    agreed = proposal.standing in ("accepted", "changed")
    content = calendar_of(proposal.athlete, proposal.shown, desk.records.now(), agreed)
    headers = {"Content-Disposition": f'attachment; filename="{proposal.athlete.id}.ics"'}
    return Response(content, media_type="text/calendar; charset=utf-8", headers=headers)


@router.post("/athletes/{athlete_id}/week")
async def decide_week(request: Request, athlete_id: str) -> Response:
    """Keep the coach's decision on the proposed week."""
    desk = desk_of(request)
    form = await _texts(request)
    proposal = propose(desk.records, athlete_id)
    what, reason = form.get("do", ""), form.get("reason", "").strip()
    try:
        _settle(desk, proposal, what, reason, form)
    except BadInput as error:
        return _week_answer(request, proposal, error.say(), reason, 422)
    desk.board.renew(athlete_id)
    return _week_answer(request, propose(desk.records, athlete_id), "", "")


@router.post("/athletes/{athlete_id}/word")
async def say_word(request: Request, athlete_id: str) -> Response:
    """Keep a word of the coach on anything the program has decided."""
    desk = desk_of(request)
    form = await _texts(request)
    about, choice = form.get("about", ""), form.get("choice", "")
    if form.get("said"):
        about, _, choice = form["said"].partition("|")
    reason = form.get("reason", "").strip()
    kind = about.partition(":")[0]
    if kind == "forecast" and not choice:
        choice = dates_from_form(form)
    if not choice:
        raise BadInput("nothing was chosen", do="Choose one of the list on the page.")
    if not reason:
        raise BadInput("no reason was given", do="Say why in a few words; it is kept with the decision.")
    proposal = propose(desk.records, athlete_id)
    last = until(about, proposal.week.verdict.week_starts, proposal.on, proposal.ladder)
    word = CoachWord(desk.records.now(), about, choice, reason, last)
    desk.records.say(athlete_id, word)
    desk.board.renew(athlete_id)
    return RedirectResponse(f"/athletes/{athlete_id}", 303)


def _settle(desk: Desk, proposal: Proposal, what: str, reason: str, form: dict[str, str]) -> None:
    if what not in ("accepted", "changed", "refused"):
        raise BadInput(f"the decision {what!r}", do="Accept, change or refuse.")
    shown = proposal.week if form.get("live") else proposal.shown
    if form.get("mark") != fingerprint(shown):
        raise BadInput(
            "something new came in while the page was open, and the proposal is another one now",
            do="It is shown below: look again, then decide.",
        )
    if what != "accepted" and not reason:
        raise BadInput("no reason was given", do="Say why in a few words; it is kept with the decision.")
    changed = None
    if what == "changed":
        changed = changed_week(shown, proposal.athlete, form, proposal.ladder)
        if changed == shown:
            raise BadInput("no number was changed", do="Change one, or accept the week as it is.")
    verdict_id = desk.records.save_week(proposal.week, desk.records.now())
    desk.records.settle(verdict_id, what, reason, changed)


def _week_answer(
    request: Request, proposal: Proposal, notice: str, reason: str, status: int = 200
) -> Response:
    if not asked_by_htmx(request):
        if notice:
            raise BadInput(notice)
        return RedirectResponse(f"/athletes/{proposal.athlete.id}", 303)
    values = _week_values(proposal, notice=notice, reason=reason)
    desk = desk_of(request)
    person = one.person(proposal.athlete, proposal.on)
    return HTMLResponse(
        fragment("week.html", form_token=desk.guard.form_token, person=person, **values), status
    )


def _week_values(
    proposal: Proposal, notice: str = "", reason: str = "", live: bool = False
) -> dict[str, Any]:
    week = proposal.week if live else proposal.shown
    verdict, on = proposal.week.verdict, proposal.on
    cards = week_cards(week, proposal.athlete, proposal.ladder, on)
    drill = proposal.ladder.exercises.get(verdict.drill or "")
    ladder = proposal.ladder
    method = ladder.methods.get(proposal.athlete.method or ladder.skill.default_method)
    return {
        "week_said": f"week of {day(verdict.week_starts, on)}",
        "decision": DECISIONS[verdict.decision],
        "deload": week.deload,
        "method": method.name if method else proposal.athlete.method,
        "week_notice": notice,
        "referral": verdict.referral,
        "headline": sentence(verdict.headline),
        "questions": verdict.questions,
        "fault_name": verdict.fault_name or "",
        "cue_now": verdict.cue or "",
        "drill_now": drill.name if drill else "",
        "settled": _settled(proposal),
        "sessions": cards.sessions,
        "always": cards.always,
        "load_choices": load_choices(proposal.athlete),
        "mark": fingerprint(week),
        "live": live,
        "reason_kept": reason,
        "light": light_week_in_words(_light_week(proposal), on),
        "tries": tries_box(_tries_left(proposal), on),
    }


def _standing(desk: Desk, proposal: Proposal) -> dict[str, Any]:
    """Return which version of the ladder the athlete is planned under, since when, why, and the others."""
    records, athlete, ladder = desk.records, proposal.athlete, proposal.ladder
    moves = [one for one in records.ladder_moves(athlete.id) if one.skill == athlete.skill]
    last = moves[-1] if moves else None
    before = records.ladder(last.from_version) if last and last.from_version else None
    return {
        "version": ladder.version,
        "since": day(local_day(last.at, athlete.time_zone), proposal.on) if last else "",
        "reason": last.reason if last and before else "",
        "before": before.version if before else "",
        "differs": differences(before, ladder) if before else (),
        "others": [
            one for one in records.ladder_versions(athlete.skill) if one.fingerprint != ladder.fingerprint
        ]
        if last
        else [],
    }


def _light_week(proposal: Proposal) -> LightWeek:
    history, ladder, on = proposal.history, proposal.ladder, proposal.on
    return next_light_week(history, ladder, on, proposal.week, proposal.points)


def _tries_left(proposal: Proposal) -> TriesLeft | None:
    """Return the tries left in the week that holds today: the one settled on, else the one proposed."""
    runs = proposal.running.holds if proposal.running is not None else None
    week = runs or (proposal.shown if proposal.shown.verdict.week_starts == monday(proposal.on) else None)
    return tries_left(proposal.history, proposal.ladder, week, proposal.on) if week else None


def _settled(proposal: Proposal) -> dict[str, Any] | None:
    stored = proposal.settled
    if stored is None or not proposal.standing:
        return None
    newer = stored.week.sessions != proposal.week.sessions
    return {
        "standing": STANDINGS[stored.standing].capitalize(),
        "when": ago(local_day(stored.at, proposal.athlete.time_zone), proposal.on) if stored.at else "",
        "reason": stored.reason,
        "changes": what_changed(stored.week, stored.changed) if stored.changed else (),
        "newer": newer,
    }


def _decided(stored: StoredWeek, proposal: Proposal, on: date) -> dict[str, Any]:
    verdict = stored.week.verdict
    return {
        "week": f"Week of {day(verdict.week_starts, on)}",
        "headline": sentence(verdict.headline),
        "standing": STANDINGS[stored.standing],
        "reason": stored.reason,
        "rung": verdict.rung_name,
        "rules": [sentence(rule.say) for rule in verdict.rules],
        "sessions": session_lines(stored.holds or stored.week, proposal.athlete),
        "runs": stored == proposal.running,
    }


def _form_page(
    request: Request,
    heading: str,
    values: dict[str, Any],
    wrong: dict[str, str],
    athlete_id: str,
    status: int = 200,
) -> Response:
    records = desk_of(request).records
    skills = [(name, load_ladder(name).name) for name in shipped()]
    chosen = str(values.get("skill") or SKILL)
    ladder = records.ladder_for(athlete_id) if athlete_id else records.ladder_of_skill(chosen)
    return page(
        request,
        "intake.html",
        status,
        heading=heading,
        athlete_id=athlete_id,
        wrong=wrong,
        **choices(values, ladder, skills),
    )


def _with_own_method(form: dict[str, str], ladder_of: Callable[[str], Ladder]) -> dict[str, str]:
    """Return the answers; a method that the chosen skill does not have becomes the skill's own."""
    skill = form.get("skill", "")
    if skill in shipped() and form.get("method", "") not in ladder_of(skill).methods:
        return form | {"method": ladder_of(skill).skill.default_method}
    return form


async def _texts(request: Request) -> dict[str, str]:
    return {key: value for key, value in (await request.form()).items() if isinstance(value, str)}
