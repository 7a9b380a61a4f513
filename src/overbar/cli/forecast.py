"""``overbar forecast``: per gate item a date range, what it assumes, and what would move it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.ladder.form import Gate, Ladder, Requirement
    from overbar.planning.facts import Facts
    from overbar.planning.history import History
    from overbar.strength.forecast import Habits, When
    from overbar.strength.posterior import Belief

CAVEAT = (
    "Ranges that hold 8 times in 10 if things go on as assumed; not a promise. Forecast again each block."
)


@dataclass(frozen=True)
class GateOutlook:
    """When one gate may open.

    Attributes
    ----------
    id, name : str
    items : tuple of When
        One per item with values to go by.
    held : tuple of str
        Items no trend leads to (a film, a photo, calm mornings) that are shown today.
    unknown : tuple of str
        The same not shown, and items without a value.
    all_of_it : When or None
        The latest of this gate's items and of the gates before it.
    """

    id: str
    name: str
    items: tuple[When, ...]
    held: tuple[str, ...]
    unknown: tuple[str, ...]
    all_of_it: When | None


def forecast(
    athlete: Annotated[str, typer.Argument(help="Id of the athlete in the records.")] = "",
    sets: Annotated[Path | None, typer.Option(help="CSV of logged sets in place of an athlete.")] = None,
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it to this JSON file.")] = None,
    on: Annotated[datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day to forecast from.")] = None,
    sex: Annotated[str, typer.Option(help="With --sets: f or m; chooses the published norms.")] = "",
    days: Annotated[int, typer.Option(min=0, max=5, help="Training days a week; 0 is as so far.")] = 0,
    records: Annotated[str, typer.Option(help="Folder of the records.")] = "",
    database: Annotated[str, typer.Option(help="Database address instead of the file in the folder.")] = "",
) -> None:
    """Say when each gate item is likely to be reached, as a range; the latest one decides."""
    import json

    from overbar.cli.film import write_whole
    from overbar.errors import BadInput

    if bool(athlete) == (sets is not None):
        raise BadInput("one athlete or one --sets file is needed", do="For example: overbar forecast ines")
    if sets is not None:
        title, day, look, lived = _from_sets(sets, on.date() if on else None, sex, days)
    else:
        title, day, look, lived = _from_records(athlete, on.date() if on else None, days, records, database)
    gates = look(lived)
    changed = _changed(look, lived)
    if json_out:
        plain = {
            "schema": "overbar.forecast/1",
            "of": title,
            "on": day.isoformat(),
            "range": 0.8,
            "gates": [_plain_gate(gate) for gate in gates],
            "assumes": list(lived.assumes()),
            "what_ifs": [
                {"what": name, "gate": gate.id, **_plain(gate.all_of_it)}
                for name, found in changed
                for gate in found
                if gate.all_of_it is not None
            ],
            "caveat": CAVEAT,
        }
        write_whole(json_out, json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    _show(title, day, gates, changed, lived)


def _from_sets(
    path: Path, on: date | None, sex: str, days: int
) -> tuple[str, date, Callable[[Habits], list[GateOutlook]], Habits]:
    """Strength alone: the strength items of the whole ladder."""
    from overbar.cli.strength import check_sex, read_pulls, say_wrong
    from overbar.errors import BadInput
    from overbar.ladder import load_ladder
    from overbar.strength.forecast import Habits
    from overbar.strength.posterior import beliefs

    read, kept, left_out = read_pulls(path)
    say_wrong(path, read, left_out)
    believed = beliefs(kept, check_sex(sex), through=on)
    if not believed:
        raise BadInput(f"nothing was logged up to {on}", str(path), "Choose a later day.")
    ladder = load_ladder()
    belief, day = believed[-1], on or believed[-1].on
    used_to = _days_a_week(sorted({done.on for done in kept if done.on <= day}))

    def look(lived: Habits) -> list[GateOutlook]:
        found = []
        for gate in ladder.gates.values():
            asked = {leaf.value for item in gate.item for leaf in item.leaves if leaf.test == "R"}
            items = tuple(_strength_item(belief, value, day, lived) for value in sorted(asked))
            if items:
                found.append(GateOutlook(gate.id, gate.name, items, (), (), _latest(items)))
        return found

    return path.name, day, look, Habits(days_a_week=days or used_to, used_to_days=used_to)


def _from_records(
    athlete: str, on: date | None, days: int, records: str, database: str
) -> tuple[str, date, Callable[[Habits], list[GateOutlook]], Habits]:
    """Every gate from where the athlete stands to the first tries."""
    from overbar.ladder import load_ladder
    from overbar.records import open_records
    from overbar.settings import read_settings

    kept = open_records(read_settings(records or None, database or None))
    try:
        day = on or kept.today(athlete)
        history = kept.history(athlete, day)
    finally:
        kept.close()
    ladder = load_ladder(history.athlete.skill)
    lived = usual_habits(history, day)
    if days:
        lived = replace(lived, days_a_week=days)
    return history.athlete.name, day, lambda changed: outlook(history, ladder, day, changed), lived


def usual_habits(history: History, on: date) -> Habits:
    """Return how the athlete lived so far: offered days, and mean sleep of the last four weeks."""
    from overbar.strength.forecast import Habits

    slept = [
        note.sleep_h for note in history.body if note.sleep_h is not None and 0 <= (on - note.on).days < 28
    ]
    hours = round(sum(slept) / len(slept), 1) if slept else None
    offered = history.athlete.days_per_week
    return Habits(days_a_week=offered, sleep_h=hours, used_to_days=offered, used_to_sleep_h=hours)


def outlook(history: History, ladder: Ladder, on: date, lived: Habits) -> list[GateOutlook]:
    """Forecast every gate from where the athlete stands up to the one that opens the tries.

    Parameters
    ----------
    history : History
    ladder : Ladder
    on : datetime.date
    lived : Habits
        How the coming weeks are lived.
    """
    from overbar.planning.case import make_case
    from overbar.planning.facts import Facts
    from overbar.planning.gates import judge, placement
    from overbar.planning.week import strength_of
    from overbar.strength.posterior import beliefs

    case = make_case(history, ladder, on, strength_of(history, ladder, on))
    facts = Facts(case, next(iter(ladder.rungs.values())))
    rung = placement(case, facts).rung
    tests = {key for key, exercise in ladder.exercises.items() if exercise.strength_test}
    pulls = [done for done in case.history.sets if done.exercise in tests]
    believed = beliefs(pulls, history.athlete.sex, through=on)
    found: list[GateOutlook] = []
    before: list[When] = []
    for gate in _ahead(ladder, rung.id):
        items, held, unknown = [], [], []
        for needed in gate.item:
            if not needed.hard:
                continue
            one = _item(facts, needed, believed[-1] if believed else None, on, lived)
            if one is not None:
                items.append(one)
            elif judge(facts, needed).met is True:
                held.append(_name(facts, needed))
            else:
                unknown.append(_name(facts, needed))
        before += items
        found.append(
            GateOutlook(gate.id, gate.name, tuple(items), tuple(held), tuple(unknown), _latest(before))
        )
    return found


def _ahead(ladder: Ladder, rung_id: str) -> Iterator[Gate]:
    """Yield the gates ahead, up to the one behind which the skill is first tried."""
    rung = ladder.rungs[rung_id]
    while rung.gate:
        gate = ladder.gates[rung.gate]
        yield gate
        rung = ladder.rungs[gate.to_rung]
        if any(slot.exercise == ladder.skill.attempt_exercise for slot in rung.slot):
            return


def _item(facts: Facts, needed: Requirement, belief: Belief | None, on: date, lived: Habits) -> When | None:
    """Forecast one requirement; None where no value leads to it."""
    from overbar.planning.shown import best_by_day
    from overbar.strength.forecast import forecast_value, latest, soonest

    name = _name(facts, needed)
    if needed.any_of or needed.all_of:
        parts = [_item(facts, part, belief, on, lived) for part in needed.any_of or needed.all_of]
        known = [part for part in parts if part is not None]
        if needed.any_of:
            return soonest(known, name) if known else None
        return latest(known, name) if len(known) == len(parts) else None
    test = facts.case.ladder.tests[needed.test]
    if test.reads.fact == "R":
        return None if belief is None else replace(_strength_item(belief, needed.value, on, lived), item=name)
    days = best_by_day(facts.seen(test), test)
    if not days or test.reads.fact or test.unit == "yes/no":
        return None
    values = [(one.on, one.value, one.sd) for one in days]
    return forecast_value(name, values, needed.value, "up" if test.better == "more" else "down", on, lived)


def _name(facts: Facts, needed: Requirement) -> str:
    from overbar.planning.shown import in_unit

    if needed.say:
        return needed.say
    parts = needed.any_of or needed.all_of
    if parts:
        return (" or " if needed.any_of else " and ").join(_name(facts, part) for part in parts)
    test = facts.case.ladder.tests[needed.test]
    return f"{test.name} {in_unit(needed.value, test.unit)}"


def _strength_item(belief: Belief, target: float, on: date, lived: Habits) -> When:
    from overbar.strength.forecast import forecast_strength

    return forecast_strength(belief, target, on, lived, f"pulls {target:.2f} of body mass once")


def _latest(items: list[When] | tuple[When, ...]) -> When | None:
    from overbar.strength.forecast import latest

    return latest(items, "all of it") if items else None


def _days_a_week(days: list[date]) -> int:
    """Return the training days a week of the last eight weeks, 1 to 5."""
    recent = [day for day in days if (days[-1] - day).days < 56]
    weeks = max(((recent[-1] - recent[0]).days + 7) / 7, 1.0)
    return min(max(round(len(recent) / weeks), 1), 5)


def _changed(
    look: Callable[[Habits], list[GateOutlook]], lived: Habits
) -> list[tuple[str, list[GateOutlook]]]:
    from overbar.strength.forecast import what_ifs

    return [(name, look(habits)) for name, habits in what_ifs(lived).items()]


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
    gates: list[GateOutlook],
    changed: list[tuple[str, list[GateOutlook]]],
    lived: Habits,
) -> None:
    """Print it for a coach at a terminal."""
    typer.echo(f"{title}, from {day}")
    for gate in gates:
        typer.echo(f"\n{gate.name}")
        for item in gate.items:
            typer.echo(f"  {item.say()}")
        for name in gate.held:
            typer.echo(f"  {name}: so today; it has to stay so.")
        for name in gate.unknown:
            typer.echo(f"  {name}: no date can be named; it has to be shown.")
        if gate.all_of_it is not None and not gate.all_of_it.reached:
            typer.echo(f"  {gate.all_of_it.say()}")
    typer.echo(f"\nAssumes {'; '.join(lived.assumes())}.")
    last = gates[-1].all_of_it if gates else None
    if last is not None and not last.reached:
        typer.echo(f"What would move the last of them ({gates[-1].name}, middle {last.likely or 'unknown'}):")
        for name, found in changed:
            moved = found[-1].all_of_it
            typer.echo(f"  {name}: {moved.likely if moved and moved.likely else 'beyond two years'}")
    typer.echo(CAVEAT)
