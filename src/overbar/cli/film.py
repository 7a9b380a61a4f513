"""``overbar film``: read one film."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from overbar.film.reading import KnownLength, Measured, Reading


def film(
    file: Annotated[Path, typer.Argument(help="The film, as the phone made it (MOV, MP4 or WebM).")],
    stature: Annotated[float, typer.Option(help="The athlete's stature in metres, for example 1.78.")],
    mass: Annotated[float | None, typer.Option(help="Body mass in kg.")] = None,
    json_out: Annotated[
        Path | None, typer.Option("--json", help="Write the reading to this JSON file.")
    ] = None,
    overlay: Annotated[
        Path | None, typer.Option(help="Write the film with skeleton and bar to this MP4 file.")
    ] = None,
    careful: Annotated[
        bool, typer.Option(help="Use the larger net and look at every frame: slower.")
    ] = False,
    known_length: Annotated[
        str | None,
        typer.Option(
            metavar="X1,Y1,X2,Y2=M",
            help="A length marked in the first picture, in upright pixels and metres: a plate's diameter, "
            "the bar's height over the floor. For example 812,640,812,676=0.45.",
        ),
    ] = None,
) -> None:
    """Read one film: reps, heights, timing, attempts, and the one fault to work on.

    An unusable film ends with exit code 3 and the reason in words; nothing is written then.
    """
    from overbar.cli.progress_bar import shown_progress
    from overbar.film import read_film, write_overlay
    from overbar.settings import read_settings

    marked = known_length_of(known_length) if known_length else None
    for out in (json_out, overlay):
        if out is not None:
            check_can_be_written(out, file)
    with shown_progress() as tell:
        reading = read_film(file, stature, mass, careful, tell, read_settings().cache, marked)
        if overlay:
            write_overlay(file, reading, overlay, tell)
    if json_out:
        write_whole(json_out, json.dumps(reading.to_json(), separators=(",", ":"), allow_nan=False))
    for line in summary(reading):
        typer.echo(line)


def known_length_of(text: str) -> KnownLength:
    """Read a marked length, such as ``812,640,812,676=0.45``."""
    from overbar.errors import BadInput
    from overbar.film.reading import KnownLength

    points, _, metres = text.partition("=")
    try:
        x1, y1, x2, y2 = (float(number) for number in points.split(","))
        return KnownLength(x1, y1, x2, y2, float(metres))
    except ValueError as error:
        raise BadInput(
            f"the marked length {text!r} is not four pixels and metres",
            do="Write it like 812,640,812,676=0.45.",
        ) from error


def check_can_be_written(path: Path, source: Path | None = None) -> None:
    """Refuse, before long work begins, a file that could not be written after it.

    Raises
    ------
    BadInput
        Its folder is not there, it is a folder itself, or it is the film that is read.
    """
    from overbar.errors import BadInput

    if source is not None and path.exists() and source.exists() and path.samefile(source):
        raise BadInput(f"{path} is the film itself and would be lost", do="Choose another name.")
    if path.is_dir():
        raise BadInput(f"{path} cannot be written: it is a folder", do="Give the file a name.")
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise BadInput(
            f"{path} cannot be written: its folder is not there or not yours", do="Choose another folder."
        )


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that it is either whole or not there."""
    from overbar.errors import BadInput

    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=path.suffix)
    except OSError as error:
        raise BadInput(f"{path} cannot be written: {error.strerror}", do="Choose another folder.") from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def summary(reading: Reading) -> list[str]:
    """Return what a coach wants to know first, a line each."""
    hang = reading.hang_length
    assert hang is not None

    def height(value: Measured) -> str:
        cm, sd = (number * hang.m * 100 for number in (value.value, value.sd))
        return f"{value.value:+.2f} ± {value.sd:.2f} L ({cm:+.0f} ± {sd:.0f} cm)"

    def speed(value: Measured | None) -> str:
        return f", {value.value:.2f} ± {value.sd:.2f} m/s" if value is not None else ""

    lines = [
        f"{reading.film.name}: {reading.film.duration_s:.1f} s, seen from the "
        f"{'side, askew' if reading.view.kind == 'oblique' else reading.view.kind}; "
        f"hang length {hang.m * 100:.0f} ± {hang.sd_m * 100:.0f} cm"
    ]
    pulls = [rep for rep in reading.reps if rep.kind == "pull_up"]
    if pulls:
        lines.append(f"Pull-ups: {reading.counted} counted of {len(pulls)}")
    names = {"pull_up": "pull-up", "high_pull": "high pull", "muscle_up": "muscle-up", "dip": "dip"}
    for rep in reading.reps:
        if rep.kind == "negative":
            lines.append(
                f"  {rep.from_s:5.1f} s  lowering, "
                f"{(rep.to_s - rep.from_s) / reading.film.slowed:.1f} s from support to hang"
            )
            continue
        says = rep.verdict
        lines.append(
            f"  {rep.from_s:5.1f} s  {names[rep.kind]}, shoulder {height(rep.peak_shoulder_L)}"
            f"{speed(rep.mean_speed_mps)}; {says}"
        )
    outcome = {"valid": "valid", "over_not_clean": "over, not clean", "failed": "not over"}
    for attempt in reading.attempts:
        kind = " or ".join(one.replace("_", " ") for one in (attempt.kind, attempt.or_kind) if one)
        lines.append(f"Attempt at {attempt.from_s:.1f} s ({kind}): {outcome[attempt.outcome]}")
    if reading.margins:
        lines.append(f"Margins: {reading.margins}")
    lines += _fault_lines(reading)
    lines += [problem.say for problem in reading.problems]
    return lines


def _fault_lines(reading: Reading) -> list[str]:
    if reading.main_fault is None:
        return ["No fault stands out."]
    from overbar.film.measure_names import name_of, unit_of

    fault = reading.faults[0]
    unit = f" {unit_of(fault.measure)}".rstrip()
    return [
        f"Work on: {fault.name} at {fault.at_s:.1f} s ({name_of(fault.measure)} {fault.value:.2f} "
        f"± {fault.sd:.2f}{unit}, limit {fault.threshold:g}{unit}; chance {fault.chance:.0%})",
        f"Cue: {reading.cue}",
        f"Next week: {reading.next_week}",
    ]


def main() -> Any:
    """Run this command alone."""
    import sys

    from overbar.errors import OverbarError

    try:
        typer.run(film)
    except OverbarError as error:
        print(f"overbar: {error.say()}", file=sys.stderr)
        sys.exit(error.exit_code)


if __name__ == "__main__":
    main()
