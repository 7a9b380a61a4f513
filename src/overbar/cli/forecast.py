"""``overbar forecast``: per gate item a date range, what it assumes, and what would move it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.planning.coach_words import CoachDate
    from overbar.planning.outlook import Ahead, Changed, GateOutlook
    from overbar.strength.forecast import Habits, When


def forecast(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete in the records.")] = "",
    sets: Annotated[Path | None, typer.Option(help="CSV of logged sets in place of an athlete.")] = None,
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it to this JSON file.")] = None,
    on: Annotated[datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day to forecast from.")] = None,
    sex: Annotated[str, typer.Option(help="With --sets: f or m; chooses the published norms.")] = "",
    days: Annotated[int, typer.Option(min=0, max=5, help="Training days a week; 0 is as so far.")] = 0,
    records: Annotated[
        str, typer.Option(help="Folder of the records; with --sets its athletes count beside the norms.")
    ] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Say when each gate item is likely to be reached, as a range; the latest one decides."""
    import json

    from overbar.cli.film import write_whole
    from overbar.errors import BadInput
    from overbar.planning.outlook import CAVEAT

    if bool(athlete) == (sets is not None):
        raise BadInput("one athlete or one --sets file is needed", do="For example: overbar forecast ines")
    day = on.date() if on else None
    own: Mapping[str, CoachDate] = {}
    if sets is not None:
        title, ahead = sets.name, _from_sets(sets, day, sex, records)
    else:
        title, ahead, own = _from_records(athlete, day, records, database)
    lived = replace(ahead.usual, days_a_week=days) if days else ahead.usual
    gates, changed = ahead.look(lived), ahead.what_ifs(lived)
    if json_out:
        plain = {
            "schema": "overbar.forecast/1",
            "of": title,
            "on": ahead.on.isoformat(),
            "range": 0.8,
            "gates": [_plain_gate(gate) for gate in gates],
            "coach": [
                {"about": one.about, "early": one.early.isoformat(), "late": one.late.isoformat()}
                | {"reason": one.reason, "said_on": one.said_on.isoformat()}
                for one in own.values()
            ],
            "assumes": list(lived.assumes()),
            "what_ifs": [
                {"what": one.name, "gate": gate.id, **_plain(gate.all_of_it)}
                for one in changed
                for gate in one.gates
                if gate.all_of_it is not None
            ],
            "caveat": CAVEAT,
        }
        write_whole(json_out, json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    _show(title, ahead.on, gates, changed, lived, own)


def _from_sets(path: Path, on: date | None, sex: str, records: str) -> Ahead:
    """Look ahead to the strength items of the whole ladder."""
    from overbar.cli.strength import check_sex, prior_of, read_pulls, say_wrong
    from overbar.errors import BadInput
    from overbar.ladder import load_ladder
    from overbar.planning.outlook import look_ahead_on_sets

    read, kept, left_out = read_pulls(path)
    say_wrong(path, read, left_out)
    if on is not None and all(done.on > on for done in kept):
        raise BadInput(f"nothing was logged up to {on}", str(path), "Choose a later day.")
    sex = check_sex(sex)
    prior = prior_of(records, sex) if records else None
    return look_ahead_on_sets(kept, sex, load_ladder(), on, prior)


def _from_records(
    athlete: str, on: date | None, records: str, database: str
) -> tuple[str, Ahead, Mapping[str, CoachDate]]:
    """Look ahead to every gate up to the first tries; also return the coach's own dates."""
    from overbar.planning.coach_words import coach_dates
    from overbar.planning.outlook import look_ahead
    from overbar.records import open_records
    from overbar.records.kept_strength import strength_on
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None), make=False)
    try:
        day = on or kept.today(athlete)
        history, ladder = kept.history(athlete, day), kept.ladder_for(athlete)
        strength = strength_on(kept, history, ladder, day)
    finally:
        kept.close()
    ahead = look_ahead(history, ladder, day, strength.points, strength.newest)
    return history.athlete.name, ahead, coach_dates(history, day)


def _plain(when: When | None) -> dict[str, Any]:
    if when is None:
        return {}
    return {
        "item": when.item,
        "reached": when.reached,
        "early": when.early.isoformat() if when.early else None,
        "likely": when.likely.isoformat() if when.likely else None,
        "late": when.late.isoformat() if when.late else None,
        "chance_by_horizon": when.chance,
        "horizon": when.until.isoformat(),
        "assumes": list(when.assumes),
    }


def _plain_gate(gate: GateOutlook) -> dict[str, Any]:
    return {
        "id": gate.id,
        "name": gate.name,
        "items": [_plain(item) for item in gate.items],
        "latest": _plain(gate.all_of_it) if gate.all_of_it else None,
        "held": list(gate.held),
        "unknown": list(gate.unknown),
    }


def _show(
    title: str,
    day: date,
    gates: Sequence[GateOutlook],
    changed: Sequence[Changed],
    lived: Habits,
    own: Mapping[str, CoachDate],
) -> None:
    """Print it for a coach at a terminal."""
    from overbar.planning.coach_words import FIRST_REP
    from overbar.planning.outlook import CAVEAT

    typer.echo(f"{title}, from {day}")
    for gate in gates:
        typer.echo(f"\n{gate.name}")
        for number, item in enumerate(gate.items):
            typer.echo(f"  {item.say()}")
            key = gate.keys[number] if gate.keys else ""
            _show_own(own.get(f"forecast:{gate.id}:{key}"))
        for name in gate.held:
            typer.echo(f"  {name}: so today; it has to stay so.")
        for name in gate.unknown:
            typer.echo(f"  {name}: no date can be named; it has to be shown.")
        if gate.all_of_it is not None and not gate.all_of_it.reached:
            typer.echo(f"  {gate.all_of_it.say()}")
    if f"forecast:{FIRST_REP}" in own:
        typer.echo("\nFirst valid rep")
        _show_own(own[f"forecast:{FIRST_REP}"])
    typer.echo(f"\nAssumes {'; '.join(lived.assumes())}.")
    last = gates[-1].all_of_it if gates else None
    if last is not None and not last.reached:
        typer.echo(f"What would move the last of them ({gates[-1].name}, middle {last.likely or 'unknown'}):")
        for one in changed:
            moved = one.gates[-1].all_of_it
            typer.echo(f"  {one.name}: {moved.likely if moved and moved.likely else 'beyond two years'}")
    typer.echo(CAVEAT)


def _show_own(said: CoachDate | None) -> None:
    """Print the coach's own date beside the computed one."""
    if said is not None:
        days = f"{said.early}" if said.early == said.late else f"{said.early} to {said.late}"
        typer.echo(f"    the coach's own: {days} ({said.reason})")
