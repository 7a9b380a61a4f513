"""The ladder: drawn, changed in a draft, kept as a version, tried, and athletes moved to it."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Sequence
from datetime import date
from multiprocessing import get_context
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.responses import Response

from overbar.desk.app import Desk, asked_by_htmx, desk_of, fragment, page
from overbar.desk.figures import day, plural
from overbar.desk.ladder import drawn, parts, words_used
from overbar.desk.ladder_check import Slip, check
from overbar.desk.ladder_fields import block_of, find_entry, groups_of, with_typed
from overbar.errors import BadInput, NotFound
from overbar.ladder import Ladder, load_ladder, shipped
from overbar.ladder.difference import called, differences, entries
from overbar.ladder.spans import with_block
from overbar.ladder.wording import KINDS_IN_ORDER
from overbar.records import trials
from overbar.records.ladders import LadderDraft, LadderVersion

router = APIRouter(prefix="/ladder")
FIRST = "bar_muscle_up"
TYPED = "f:"
"""How the form's fields of an entry are named."""
CHANGED_MEANWHILE = "this was changed meanwhile, in another window"
Files = tuple[tuple[str, str], ...]


@router.get("")
def first_ladder(request: Request, skill: str = FIRST) -> Response:
    """Show the version new athletes of a skill start with."""
    if skill not in shipped():
        raise NotFound(f"there is no ladder for {skill!r}.")
    return _ladder_page(request, desk_of(request).records.ladder_of_skill(skill).fingerprint)


@router.get("/{version}")
def ladder_page(request: Request, version: str, beside: str = "") -> Response:
    """Show a version: drawn, its entries, what was changed in it, who is planned under it."""
    return _ladder_page(request, version, beside)


@router.get("/{version}/texts.zip")
def texts(request: Request, version: str) -> Response:
    """Return a version's texts as they are kept."""
    records = desk_of(request).records
    found = records.ladder_version(version)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        for name, text in records.ladder(found.fingerprint).files:
            out.writestr(name, text)
    headers = {"Content-Disposition": f'attachment; filename="{found.skill}-{found.version}.zip"'}
    return Response(packed.getvalue(), media_type="application/zip", headers=headers)


@router.get("/{version}/entry")
def entry_page(request: Request, version: str, kind: str, key: str = "") -> Response:
    """Show one entry with every value as a field."""
    desk = desk_of(request)
    found, draft, files = _opened(desk, version)
    return _entry_page(request, found, draft, files, kind, key)


@router.post("/{version}/entry")
async def keep_entry(request: Request, version: str) -> Response:
    """Keep what was typed for an entry in the draft, and say what the checks find."""
    desk = desk_of(request)
    form = await _texts(request)
    found, _, files = _opened(desk, version, to_change=True)
    place = find_entry(files, form.get("kind", ""), form.get("key", ""))
    if form.get("mark") != _mark(block_of(files, place)):
        raise BadInput(CHANGED_MEANWHILE, do="What you typed is still here; open the entry anew beside it.")
    typed = {name.removeprefix(TYPED): said for name, said in form.items() if name.startswith(TYPED)}
    changed = with_typed(files, place, typed)
    return _kept(request, found, changed, _mark(block_of(changed, place)), ("mark", "mark-lines"))


@router.post("/{version}/block")
async def keep_block(request: Request, version: str) -> Response:
    """Keep an entry's lines as typed, or take the entry out."""
    desk = desk_of(request)
    form = await _texts(request)
    found, _, files = _opened(desk, version, to_change=True)
    place = find_entry(files, form.get("kind", ""), form.get("key", ""))
    if form.get("mark") != _mark(block_of(files, place)):
        raise BadInput(CHANGED_MEANWHILE, do="What you typed is still here; open the entry anew beside it.")
    name, text = files[place.file]
    changed = _replaced(files, place.file, (name, with_block(text, place.path, form.get("block", ""))))
    answer = _kept(request, found, changed)
    if asked_by_htmx(request) and not isinstance(check(changed), Slip):
        answer.headers["HX-Redirect"] = f"/ladder/{found.version}"
    return answer


@router.get("/{version}/text")
def text_page(request: Request, version: str, file: int = -1) -> Response:
    """Show one file's whole text."""
    desk = desk_of(request)
    found, draft, files = _opened(desk, version)
    number = file if 0 <= file < len(files) else len(files) - 1
    return page(
        request,
        "ladder_text.html",
        version=found,
        files=[name for name, _ in files],
        number=number,
        text=files[number][1],
        mark=_mark(files[number][1]),
        checked=_checked(found, draft, files) if draft else None,
    )


@router.post("/{version}/text")
async def keep_text(request: Request, version: str) -> Response:
    """Keep a file's text as typed, slips and all."""
    desk = desk_of(request)
    form = await _texts(request)
    found, _, files = _opened(desk, version, to_change=True)
    number = int(form.get("file", "-1")) if form.get("file", "").isdecimal() else -1
    if not 0 <= number < len(files):
        raise NotFound("there is no such file in this ladder.")
    if form.get("mark") != _mark(files[number][1]):
        raise BadInput(CHANGED_MEANWHILE, do="What you typed is still here; open the file anew beside it.")
    text = form.get("text", "").replace("\r\n", "\n")
    changed = _replaced(files, number, (files[number][0], text if text.endswith("\n") else text + "\n"))
    return _kept(request, found, changed, _mark(changed[number][1]), ("mark-text",))


@router.post("/{version}/save")
async def save(request: Request, version: str) -> Response:
    """Keep the draft as a version; nobody is moved."""
    desk = desk_of(request)
    note = (await _texts(request)).get("note", "").strip()
    found, draft, files = _opened(desk, version)
    if draft is None:
        raise BadInput("nothing was changed", do="Change an entry first.")
    ladder = check(files)
    if isinstance(ladder, Slip):
        raise BadInput(ladder.what, ladder.where, ladder.do)
    if not note:
        raise BadInput("no note was given", do="Say in a few words what this version is for.")
    kept = desk.records.keep_ladder(ladder, note, found.fingerprint)
    desk.records.drop_ladder_draft(found.skill)
    return RedirectResponse(f"/ladder/{kept.version}", 303)


@router.post("/{version}/discard")
def discard(request: Request, version: str) -> Response:
    """Throw the draft away."""
    desk = desk_of(request)
    found = desk.records.ladder_version(version)
    desk.records.drop_ladder_draft(found.skill)
    return RedirectResponse(f"/ladder/{found.version}", 303)


@router.post("/{version}/move")
async def move(request: Request, version: str) -> Response:
    """Move chosen athletes to a version, with the reason."""
    desk = desk_of(request)
    form = await request.form()
    ids = [one for one in form.getlist("athlete") if isinstance(one, str)]
    if not ids:
        raise BadInput("nobody was chosen", do="Tick the athletes to move.")
    moved = desk.records.move_to_ladder(ids, version, str(form.get("reason") or ""))
    for athlete_id in moved:
        desk.board.renew(athlete_id)
    back = str(form.get("back") or "")
    here = f"/athletes/{ids[0]}" if back == "athlete" and len(ids) == 1 else f"/ladder/{version}"
    return RedirectResponse(here, 303)


@router.get("/{version}/who")
def who(request: Request, version: str) -> Response:
    """Return the list of athletes with the form that moves them, as a part of the page."""
    desk = desk_of(request)
    found = desk.records.ladder_version(version)
    token = desk.guard.form_token
    values = {"version": found, "athletes": _athletes(desk, found), "form_token": token}
    return HTMLResponse(fragment("ladder_who.html", **values))


@router.post("/{version}/start")
def start(request: Request, version: str) -> Response:
    """Let new athletes start with a version."""
    found = desk_of(request).records.start_new_athletes_with(version)
    return RedirectResponse(f"/ladder/{found.version}", 303)


@router.post("/{version}/try/{kind}")
def begin_trial(request: Request, version: str, kind: str) -> Response:
    """Try a version in a process of its own."""
    desk = desk_of(request)
    found = desk.records.ladder_version(version)
    if found.kept_at is None:
        found = desk.records.keep_ladder(desk.records.ladder(found.fingerprint))
    before = trials.newest(desk.records, found.fingerprint, kind)
    trial = trials.ask(desk.records, found.fingerprint, kind)
    if before is None or before.id != trial.id:
        arguments = (desk.records.settings, trial.id)
        get_context("spawn").Process(target=trials.run, args=arguments, daemon=True).start()
    if asked_by_htmx(request):
        return _trial_fragment(desk, found, kind)
    return RedirectResponse(f"/ladder/{found.version}#try-{kind}", 303)


@router.get("/{version}/try/{kind}")
def see_trial(request: Request, version: str, kind: str) -> Response:
    """Show how far a trial is, or what came out."""
    desk = desk_of(request)
    return _trial_fragment(desk, desk.records.ladder_version(version), kind)


# --- what the pages show -----------------------------------------------------


def _opened(
    desk: Desk, version: str, to_change: bool = False
) -> tuple[LadderVersion, LadderDraft | None, Files]:
    """Return a version and its texts: those of the draft when the coach is changing it."""
    found = desk.records.ladder_version(version)
    draft = desk.records.ladder_draft(found.skill)
    if draft is not None and draft.made_from == found.fingerprint:
        return found, draft, draft.files
    if draft is not None and to_change:
        other = desk.records.ladder_version(draft.made_from).version
        raise BadInput(
            f"you are changing version {other} already",
            do="Save or throw away that draft first; what you typed is still here.",
        )
    return found, None, desk.records.ladder(found.fingerprint).files


def _kept(
    request: Request, found: LadderVersion, files: Files, mark: str = "", marks: tuple[str, ...] = ()
) -> Response:
    """Keep a draft and answer in place with what the checks say, and the marks of what is shown now."""
    desk = desk_of(request)
    base = desk.records.ladder(found.fingerprint).files
    if files == base:
        desk.records.drop_ladder_draft(found.skill)
    else:
        desk.records.keep_ladder_draft(found.skill, found.fingerprint, files)
    draft = desk.records.ladder_draft(found.skill)
    if not asked_by_htmx(request):
        return RedirectResponse(f"/ladder/{found.version}", 303)
    checked = _checked(found, draft, files)
    return HTMLResponse(fragment("ladder_checked.html", checked=checked, mark=mark, marks=marks))


def _checked(found: LadderVersion, draft: LadderDraft | None, files: Files) -> dict[str, Any]:
    """Return what the checks say to some texts, and how many entries differ."""
    result = check(files)
    slip = result if isinstance(result, Slip) else None
    return {"slip": slip, "draft": draft is not None, "version": found.version}


def _entry_page(
    request: Request,
    found: LadderVersion,
    draft: LadderDraft | None,
    files: Files,
    kind: str,
    key: str,
) -> Response:
    place = find_entry(files, kind, key)
    kept = desk_of(request).records.ladder(found.fingerprint)
    result = check(files) if draft else kept
    ladder = kept if isinstance(result, Slip) else result
    entry = next((one for k, name, one in entries(ladder) if (k, name) == (kind, key)), None)
    return page(
        request,
        "ladder_entry.html",
        version=found,
        kind=kind,
        key=key,
        kind_name=KINDS_IN_ORDER[kind][0],
        name=called(key, entry) if entry is not None else key,
        groups=groups_of(files, place, {one.id: one.unit for one in ladder.tests.values()}),
        block=block_of(files, place),
        file=place.file,
        file_name=files[place.file][0],
        mark=_mark(block_of(files, place)),
        words=words_used(ladder, entry) if entry is not None else (),
        exercises=[(one.id, one.name) for one in ladder.exercises.values()],
        tests=[(one.id, f"{one.name}, {one.unit}") for one in ladder.tests.values()],
        checked=_checked(found, draft, files) if draft else None,
    )


def _ladder_page(request: Request, version: str, beside: str = "") -> Response:
    desk = desk_of(request)
    records = desk.records
    found, draft, files = _opened(desk, version)
    kept = records.ladder(found.fingerprint)
    result = check(files) if draft else kept
    ladder = kept if isinstance(result, Slip) else result
    today = records.today()
    start = records.new_athletes_start_with(found.skill)
    versions = records.ladder_versions(found.skill)
    other = beside or records.ladder_beside(found.fingerprint) or ""
    return page(
        request,
        "ladder.html",
        version=found,
        ladder=ladder,
        skills=[(name, load_ladder(name).name) for name in shipped()],
        rungs=drawn(ladder),
        parts=parts(ladder),
        slip=result if isinstance(result, Slip) else None,
        draft_differences=differences(kept, ladder) if draft and ladder is not kept else (),
        draft=draft,
        other_draft=_other_draft(desk, found, draft),
        versions=[_version_line(one, start, today) for one in versions],
        starts_here=found.fingerprint == start,
        differs=_beside(desk, kept, other),
        trials=[_trial_values(desk, found, kind) for kind in (trials.PAST, trials.SIMULATED)]
        if other
        else [],
    )


def _other_draft(desk: Desk, found: LadderVersion, draft: LadderDraft | None) -> str:
    """Return the version that is being changed, when it is another one."""
    if draft is not None:
        return ""
    other = desk.records.ladder_draft(found.skill)
    return desk.records.ladder_version(other.made_from).version if other else ""


def _version_line(one: LadderVersion, start: str, today: date) -> dict[str, Any]:
    return {
        "version": one.version,
        "fingerprint": one.fingerprint,
        "when": f"kept {day(one.kept_at.date(), today)}" if one.kept_at else "came with the program",
        "by": one.kept_by,
        "note": one.note or ("the program's own" if one.origin == "shipped" else ""),
        "athletes": plural(one.athletes, "athlete", "athletes") if one.athletes else "nobody",
        "start": one.fingerprint == start,
    }


def _beside(desk: Desk, ladder: Ladder, other: str) -> dict[str, Any] | None:
    """Return what a version does otherwise than another one."""
    if not other:
        return None
    old = desk.records.ladder(other)
    return {"version": old.version, "differences": differences(old, ladder)}


def _athletes(desk: Desk, found: LadderVersion) -> list[dict[str, Any]]:
    """Return the athletes of the skill with the version each is planned under."""
    names = {one.fingerprint: one.version for one in desk.records.ladder_versions(found.skill)}
    standing = desk.records.standing_on_ladders(found.skill)
    return [
        {
            "id": athlete_id,
            "name": name,
            "on": names.get(standing.get(athlete_id, ""), "not planned yet"),
            "here": standing.get(athlete_id) == found.fingerprint,
        }
        for athlete_id, name in desk.records.athlete_names(found.skill).items()
    ]


def _trial_fragment(desk: Desk, found: LadderVersion, kind: str) -> Response:
    if kind not in (trials.PAST, trials.SIMULATED):
        raise NotFound(f"there is no trial {kind!r}.")
    token = desk.guard.form_token
    values = {"version": found, "trial": _trial_values(desk, found, kind), "form_token": token}
    return HTMLResponse(fragment("ladder_trial.html", **values))


def _trial_values(desk: Desk, found: LadderVersion, kind: str) -> dict[str, Any]:
    trial = trials.newest(desk.records, found.fingerprint, kind)
    values: dict[str, Any] = {"kind": kind, "trial": trial, "athletes": [], "runs": [], "weeks": 0}
    if trial is None:
        return values
    if kind == trials.PAST:
        names = desk.records.athlete_names(found.skill)
        today = desk.records.today()
        seen = trials.athletes_of(desk.records, trial.id)
        values["weeks"] = sum(one.weeks for one in seen)
        values["on"] = day(trial.asked_at.date(), today)
        values["since"] = trials.decided_since(desk.records, trial)
        values["others"] = sum(len(one.otherwise) for one in seen)
        values["athletes"] = [
            {
                "id": one.athlete_id,
                "name": names.get(one.athlete_id, one.athlete_id),
                "weeks": one.weeks,
                "why": one.why,
                "otherwise": [(day(date.fromisoformat(monday), today), say) for monday, say in one.otherwise],
            }
            for one in seen
        ]
    elif trial.result:
        values["runs"] = _run_rows(trial.result["runs"])
    return values


def _run_rows(runs: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return two simulated runs side by side: heads and rows of words."""
    gates = dict.fromkeys((gate["gate"], gate["name"]) for run in runs for gate in run["gates"])
    rows = []
    for gate_id, name in gates:
        cells = []
        for run in runs:
            gate = next((one for one in run["gates"] if one["gate"] == gate_id), None)
            cells.append(
                f"{gate['opened']:.0%}, week {gate['weeks'][1]:.0f}" if gate and gate["opened"] else "never"
            )
        rows.append((f"{name} opened", cells))
    rows.append(("first valid rep", [f"{run['success']:.0%}" for run in runs]))
    rows.append(("largest load step", [f"{run['largest_step']:.1%} of system mass" for run in runs]))
    rows.append(("weeks with a pain rule", [f"{run['pain_weeks']:.1f}" for run in runs]))
    rows.append(("never stalled", [f"{run['never_stalled']:.0%}" for run in runs]))
    rows.append(("rise of true strength", [f"{run['gain']:.0%}" for run in runs]))
    first = runs[0]
    return {
        "heads": [run["version"] for run in runs],
        "rows": rows,
        "said": f"{first['athletes']} simulated athletes, {first['weeks']} weeks",
    }


def _replaced(files: Files, number: int, new: tuple[str, str]) -> Files:
    return (*files[:number], new, *files[number + 1 :])


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


async def _texts(request: Request) -> dict[str, str]:
    return {key: value for key, value in (await request.form()).items() if isinstance(value, str)}
