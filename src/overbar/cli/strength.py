"""``overbar strength``: strength over time from a table of logged sets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.strength.csv_sets import SetsRead
    from overbar.strength.prior import Prior
    from overbar.strength.sets import LoggedSet, StrengthPoint


def strength(
    sets: Annotated[Path, typer.Argument(help="CSV file of logged sets.")],
    json_out: Annotated[Path | None, typer.Option("--json", help="Write it to this JSON file.")] = None,
    sex: Annotated[str, typer.Option(help="f or m: chooses the published norms; empty takes both.")] = "",
    training: Annotated[str, typer.Option(help="ordinary or trained: chooses the norms.")] = "ordinary",
    look_back: Annotated[
        bool, typer.Option("--look-back", help="Judge each date with all later sets too (for curves).")
    ] = False,
    records: Annotated[
        str, typer.Option(help="Folder of records whose athletes count beside the published norms.")
    ] = "",
) -> None:
    """Strength per date with its 90 % interval, as known on that date, and whether the rise is real.

    The estimate begins from the published norm; with --records, from what the first weeks of
    the athletes there say as well, once they are three. A wrong row is named by its row and
    column; the good rows are used.
    """
    import json

    from overbar.cli.film import write_whole
    from overbar.errors import BadInput
    from overbar.strength import estimate, estimate_smoothed, parameters_used
    from overbar.strength.prior import PRIORS, prior_for
    from overbar.strength.retest import rise_between

    sex = check_sex(sex)
    if training not in {key for _, key in PRIORS}:
        raise BadInput(f"training {training!r}", do="Give ordinary or trained.")
    read, kept, left_out = read_pulls(sets)
    prior = prior_of(records, sex, training) if records else prior_for(sex, training)
    points = (estimate_smoothed if look_back else estimate)(kept, sex, prior=prior)
    rise = rise_between(kept, points[0].on, None, sex, prior) if len(points) > 1 else None
    if json_out:
        used = parameters_used(sex, prior)
        if look_back:
            used["estimate"] = "smoothed: every date with all sets of the log"
        plain: dict[str, Any] = {
            "schema": "overbar.strength/1",
            "strength": [plain_point(point) for point in points],
            "rise": None
            if rise is None
            else {
                "since": rise.since.isoformat(),
                "until": rise.until.isoformat(),
                "share": rise.share,
                "low": rise.low,
                "high": rise.high,
                "interval": 0.9,
                "chance": rise.chance,
                "real": rise.real,
                "two_bare_tests_need": rise.test_share,
            },
            "latest_set_by_equation": by_equation(kept, sex),
            "load_speed": load_speed(kept, points[-1]),
            "parameters": used,
            "left_out": left_out,
            "wrong_rows": [{"row": w.row, "column": w.column, "say": w.say} for w in read.wrong],
        }
        write_whole(json_out, json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    say_wrong(sets, read, left_out)
    typer.echo(f"Begun {prior.says()}.")
    typer.echo("date        R (90 % interval)      single, system mass")
    for point in points:
        typer.echo(
            f"{point.on}  {point.R:.3f} ({point.R_low:.3f} to {point.R_high:.3f})  {point.one_rm_kg:.1f} kg"
        )
    if rise is not None:
        typer.echo(f"Change: {rise.say()}")


def prior_of(records: str, sex: str, training: str = "ordinary") -> Prior:
    """Return the prior of somebody new beside the athletes of some records, asked when a week has passed."""
    from overbar.cli.progress_bar import shown_progress
    from overbar.records import open_records
    from overbar.records.own_athletes import learn_when_due, prior_for_new
    from overbar.settings import read_settings

    kept = open_records(read_settings(records), make=False)
    try:
        with shown_progress() as tell:
            learn_when_due(kept, tell)
        return prior_for_new(kept, sex, training)
    finally:
        kept.close()


def by_equation(sets: list[LoggedSet], sex: str) -> dict[str, Any] | None:
    """Return what the published equations say of the newest set whose end is known, each for itself.

    The estimate does not choose one of them; they part by several kilograms.
    """
    from overbar.strength.prior import prior_for
    from overbar.strength.rep_max import EQUATIONS, MOST_REPS, one_rep_max, without_forearms

    told = [s for s in sets if s.reps > 0 and (s.failed or s.reps_left is not None)]
    if not told:
        return None
    newest = max(told, key=lambda s: (s.on, s.system_mass_kg * (1 + s.reps / 30)))
    hidden = 0.0 if newest.failed else (newest.reps_left or 0.0) + prior_for(sex).reserve_bias[0]
    reps = round(newest.reps + hidden)
    if not 1 <= reps <= MOST_REPS:
        return None
    return {
        "date": newest.on.isoformat(),
        "system_mass_kg": newest.system_mass_kg,
        "reps_to_failure": reps,
        "one_rm_kg": {name: one_rep_max(newest.system_mass_kg, reps, name) for name in EQUATIONS},
        "added_kg_without_forearms": without_forearms(newest.body_mass_kg, newest.added_kg, reps, sex),
    }


def load_speed(sets: list[LoggedSet], newest: StrengthPoint) -> dict[str, Any] | None:
    """Return the load-speed line of the last eight weeks, or None with fewer than three loads on film."""
    from overbar.errors import BadInput
    from overbar.strength.velocity import SPEED_AT_1RM_MPS, load_speed_line

    seen = [
        (s.system_mass_kg, s.first_rep_speed_mps)
        for s in sets
        if s.first_rep_speed_mps is not None and (newest.on - s.on).days <= 56
    ]
    if len({round(mass) for mass, _ in seen}) < 3:
        return None
    try:
        line = load_speed_line([mass for mass, _ in seen], [speed for _, speed in seen])
    except BadInput:
        return None
    return {
        "speeds": len(seen),
        "r2": line.r2,
        "speed_at_1rm_mps": line.speed_at(newest.one_rm_kg),
        "published_speed_at_1rm_mps": list(SPEED_AT_1RM_MPS),
        "best_power_share_of_1rm": line.best_power_mass_kg / newest.one_rm_kg,
    }


def check_sex(text: str) -> str:
    """Return "f", "m" or "unstated".

    Raises
    ------
    BadInput
        Anything else was written.
    """
    from overbar.errors import BadInput

    if text.lower() not in ("", "f", "m", "unstated"):
        raise BadInput(f"sex {text!r}", do="Give f or m, or leave it out.")
    return text.lower() or "unstated"


def read_pulls(path: Path) -> tuple[SetsRead, list[LoggedSet], dict[str, str]]:
    """Read a table of sets and keep those the ladder says show pulling strength.

    Returns
    -------
    read : SetsRead
        Good and wrong rows.
    kept : list of LoggedSet
    left_out : dict
        Exercise as written, and why its rows say nothing of strength.

    Raises
    ------
    BadInput
        No row could be used.
    """
    from overbar.errors import BadInput
    from overbar.ladder import load_ladder
    from overbar.strength.csv_sets import read_sets_csv

    ladder = load_ladder()
    read = read_sets_csv(path)
    kept, left_out = [], {}
    for done in read.sets:
        exercise = ladder.exercise_named(done.exercise)
        if exercise is None:
            left_out[done.exercise] = "not an exercise of the ladder"
        elif not exercise.strength_test:
            left_out[done.exercise] = "does not show pulling strength"
        elif done.seconds is not None:
            left_out[f"{done.exercise}, timed"] = "a hold or a lowering, not repetitions"
        else:
            kept.append(done)
    if not kept:
        say_wrong(path, read, left_out)
        raise BadInput("no row could be used", str(path), "Log pull-ups with body mass, added load and reps.")
    return read, kept, left_out


def say_wrong(path: Path, read: SetsRead, left_out: dict[str, str]) -> None:
    """Name what was not used, on standard error."""
    for wrong in read.wrong:
        column = f", column {wrong.column}" if wrong.column else ""
        typer.echo(f"{path}, row {wrong.row}{column}: {wrong.say}. Row left out.", err=True)
    for exercise, why in left_out.items():
        typer.echo(f"{path}: {exercise!r} left out: {why}.", err=True)


def plain_point(point: StrengthPoint) -> dict[str, Any]:
    """Return a strength point as plain data."""
    return {
        "date": point.on.isoformat(),
        "R": point.R,
        "R_low": point.R_low,
        "R_high": point.R_high,
        "one_rm_kg": point.one_rm_kg,
        "body_mass_kg": point.body_mass_kg,
        "interval": point.interval,
    }
