"""The commands on the demo's records, as a coach types them."""

import json
import zipfile
from pathlib import Path

import pytest
import typer
from icalendar import Calendar
from typer.testing import CliRunner, Result

from overbar.cli.backup import backup
from overbar.cli.calendar import calendar
from overbar.cli.demo import demo
from overbar.cli.forecast import forecast
from overbar.cli.forget import forget
from overbar.cli.hand_over import hand_over
from overbar.cli.report import report
from overbar.cli.restore import restore
from overbar.cli.take_in import take_in
from overbar.cli.week import week
from overbar.demo import build_demo
from overbar.errors import OverbarError


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_demo(tmp_path_factory.mktemp("demo") / "records").records


def run(command: object, *arguments: object, typed: str | None = None) -> Result:
    app = typer.Typer(pretty_exceptions_enable=False)
    app.command()(command)  # type: ignore[type-var]
    return CliRunner().invoke(app, [str(one) for one in arguments], input=typed)


def test_week_shows_decision_rules_evidence_and_cautions(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "week.json"
    shown = run(week, "ines", "--records", folder, "--json", out)
    assert shown.exit_code == 0
    for part in (
        "Ines Farrowgate",
        "PAIN-3",
        "26 Apr: inner elbow 4 of 10",
        "90% interval",
        "not medical care",
    ):
        assert part in " ".join(shown.stdout.split())
    plain = json.loads(out.read_text())
    assert plain["schema"] == "overbar.week/1"


def test_week_on_an_earlier_day_knows_only_what_was_known_then(folder: Path) -> None:
    shown = run(week, "ines", "--records", folder, "--on", "2026-01-12")
    assert shown.exit_code == 0
    assert "inner elbow 4" not in shown.stdout


def test_week_as_json_alone_on_standard_output(folder: Path) -> None:
    shown = run(week, "davit", "--records", folder, "--json", "-")
    assert json.loads(shown.stdout)["schema"] == "overbar.week/1"


def test_an_athlete_that_is_not_there_is_named_with_those_who_are(folder: Path) -> None:
    failed = run(week, "nobody", "--records", folder)
    assert isinstance(failed.exception, OverbarError)
    assert "bram, davit, ines" in failed.exception.say()


def test_a_pasted_message_is_shown_and_stored_once(folder: Path) -> None:
    message = "Mon 27 Apr\n+12.5 x 5 RIR 1\nBW 5 5 5\nblorp\n"
    arguments = (take_in, "-", "--athlete", "davit", "--records", folder)
    dry = run(*arguments, "--dry", typed=message)
    assert "Nothing stored" in dry.stdout
    first = run(*arguments, typed=message)
    assert first.exit_code == 0
    assert "weighted pull-up 1 x 5, +12.5 kg, 1 left" in first.stdout
    assert "blorp" in first.stdout.split("Not understood")[1]
    assert "Stored 5 of 5" in first.stdout
    assert "Stored 0 of 5" in run(*arguments, typed=message).stdout


def test_a_message_of_which_nothing_was_understood_ends_with_exit_code_2(folder: Path) -> None:
    failed = run(take_in, "-", "--athlete", "davit", "--records", folder, typed="hello coach\n")
    assert failed.exit_code == 2


def test_calendar_and_report_are_written(folder: Path, tmp_path: Path) -> None:
    assert run(calendar, "davit", "-o", tmp_path / "d.ics", "--records", folder).exit_code == 0
    assert len(Calendar.from_ical((tmp_path / "d.ics").read_bytes()).walk("VEVENT")) == 3
    assert run(report, "davit", "-o", tmp_path / "d.pdf", "--records", folder).exit_code == 0
    assert (tmp_path / "d.pdf").read_bytes().startswith(b"%PDF-")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["d.ics", "d.pdf"]


def test_backup_restore_hand_over_and_forget(folder: Path, tmp_path: Path) -> None:
    saved = run(backup, "-o", tmp_path / "all.zip", "--records", folder)
    assert "3 athletes" in saved.stdout
    assert (tmp_path / "all.zip").stat().st_mode & 0o077 == 0
    other = tmp_path / "other"
    assert run(restore, tmp_path / "all.zip", "--records", other).exit_code == 0
    assert run(hand_over, "bram", "-o", tmp_path / "b.zip", "--records", other).exit_code == 0
    assert "sets.csv" in zipfile.ZipFile(tmp_path / "b.zip").namelist()
    refused = run(forget, "bram", "--records", other, typed="ines\n")
    assert isinstance(refused.exception, OverbarError)
    gone = run(forget, "bram", "--records", other, typed="bram\n")
    assert "0 traces left" in gone.stdout
    assert isinstance(run(week, "bram", "--records", other).exception, OverbarError)


def test_demo_says_that_it_is_invented_and_what_to_do_first(tmp_path: Path) -> None:
    shown = run(demo, "--records", tmp_path / "demo", "--build-only")
    assert shown.exit_code == 0
    assert "invented" in shown.stdout
    decisions = shown.stdout.split("decisions:")[1].strip().splitlines()
    assert decisions[0].startswith("Ines Farrowgate")


@pytest.mark.parametrize(
    ("command", "arguments"),
    [
        (week, ("ines",)),
        (report, ("ines",)),
        (calendar, ("ines",)),
        (forecast, ("ines",)),
        (hand_over, ("ines",)),
        (forget, ("ines", "--yes", "ines")),
        (backup, ("-o", "all.zip")),
        (take_in, ("-", "--athlete", "ines")),
    ],
)
def test_a_mistyped_folder_is_one_sentence_and_makes_nothing(
    tmp_path: Path, command: object, arguments: tuple[str, ...]
) -> None:
    shown = run(command, *arguments, "--records", tmp_path / "recrods", typed="pull-ups 5 x 5")
    assert isinstance(shown.exception, OverbarError)
    assert "no records here" in shown.exception.say()
    assert not (tmp_path / "recrods").exists()
