"""`overbar week`: the verdict and the sessions of the next week, with rules and evidence."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from overbar.athlete.person import Athlete
    from overbar.planning.verdict import Week


def week(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete.")],
    on: Annotated[datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day to decide on.")] = None,
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
    json_out: Annotated[str, typer.Option("--json", help="Write it as JSON, - for standard output.")] = "",
) -> None:
    """Decide an athlete's next week: verdict, every rule with its evidence, sessions in their plates."""
    from overbar.planning import decide, json_of
    from overbar.records import open_records
    from overbar.records.kept_strength import strength_on
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        day = on.date() if on else kept.today(athlete)
        history, ladder = kept.history(athlete, day), kept.ladder_for(athlete)
        decided = decide(history, ladder, day, strength_on(kept, history, ladder, day).points)
    finally:
        kept.close()
    if json_out:
        _write(json_of(decided), json_out)
    if json_out != "-":
        _show(decided, history.athlete)


def _write(plain: object, out: str) -> None:
    import json
    from pathlib import Path

    text = json.dumps(plain, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    if out == "-":
        typer.echo(text, nl=False)
        return
    part = Path(out).with_name(Path(out).name + ".part")
    part.write_text(text, encoding="utf-8")
    part.replace(out)


def _show(decided: Week, athlete: Athlete) -> None:
    """Print the week for a coach at a terminal."""
    from rich.console import Console
    from rich.padding import Padding
    from rich.table import Table

    from overbar.report.sessions_calendar import dose
    from overbar.strength.prior import prior_for

    console = Console(highlight=False)
    verdict, unit = decided.verdict, athlete.mass_unit
    console.print(
        f"[bold]{athlete.name}[/bold]: {verdict.rung_name}, week of {verdict.week_starts:%A %d %B %Y}"
    )
    console.print(f"[bold]{verdict.headline}[/bold]")
    if verdict.referral:
        console.print(f"[bold]See:[/bold] {verdict.referral}")
    for question in verdict.questions:
        console.print(f"Ask: {question}")
    strength = verdict.strength
    if strength is not None:
        low, high = strength.R_low, strength.R_high
        console.print(
            f"Strength R {strength.R:.2f} ({low:.2f} to {high:.2f}, {strength.interval:.0%} interval), "
            f"seen {strength.on:%d %b}"
        )
        begun = verdict.strength_from or prior_for(athlete.sex)
        console.print(f"  begun {begun.says()}", markup=False)
    if verdict.gate is not None:
        console.print(f"\n[bold]{verdict.gate.name}[/bold]: {'open' if verdict.gate.open else 'closed'}")
        for item in verdict.gate.items:
            state = {True: "met", False: "short", None: "no evidence"}[item.met]
            soft = "" if item.hard else " (soft)"
            console.print(f"  {state:<11} {item.say}{soft} {item.shortfall_say}".rstrip(), markup=False)
    if verdict.strength_or_technique:
        console.print(f"\nWhat holds it back: {verdict.strength_or_technique}")
        for margin in verdict.margins:
            console.print(f"  {margin.say}", markup=False)
    if verdict.fault_name:
        console.print(f"One fault: {verdict.fault_name}. Cue: {verdict.cue}")
    console.print("\n[bold]Rules that fired[/bold]")
    for rule in verdict.rules:
        ignored = " (overruled by the coach)" if rule.ignored else ""
        console.print(f"  {rule.id:<11} {rule.say}{ignored}", markup=False)
        for evidence in rule.evidence:
            console.print(Padding(f"{evidence.on:%d %b}: {evidence.say}", (0, 0, 0, 14)), markup=False)
    everywhere = [
        caution
        for caution in (decided.sessions[0].cautions if decided.sessions else ())
        if all(caution in session.cautions for session in decided.sessions)
    ]
    for session in decided.sessions:
        console.print(f"\n[bold]{session.label}  {session.title}[/bold], {session.on:%A %d %B}")
        table = Table(box=None, padding=(0, 2, 0, 2), show_header=False)
        for slot in session.slots:
            table.add_row(slot.name, dose(slot), slot.load.say(unit), slot.note)
        console.print(table)
        for caution in session.cautions:
            if caution not in everywhere:
                console.print(Padding(caution, (0, 0, 0, 2)), markup=False)
    if everywhere:
        console.print("\n[bold]In every session[/bold]")
        for caution in everywhere:
            console.print(Padding(caution, (0, 0, 0, 2)), markup=False)
