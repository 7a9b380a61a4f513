"""The ladder's commands on the demo's records, as a coach types them."""

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from overbar.cli.ladders import ladders
from overbar.cli.move_ladder import move_ladder
from overbar.cli.replay import _show, replay
from overbar.cli.take_in_ladder import take_in_ladder
from overbar.cli.week import week
from overbar.demo import build_demo
from overbar.errors import BadInput, NotFound
from overbar.ladder import load_ladder
from overbar.records.past import AthletesPast

MINE = """takes = ["bar_muscle_up"]
leaves_out = ["rule:D-S"]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_demo(tmp_path_factory.mktemp("demo") / "records").records


@pytest.fixture(scope="module")
def mine(folder: Path) -> str:
    """A ladder without planned deloads, taken in from disk; its version."""
    path = folder.parent / "mine.toml"
    path.write_text(MINE, encoding="utf-8")
    run(take_in_ladder, path, "--records", folder, "--note", "deloads by feel")
    return load_ladder(path=path).version


def run(command: object, *arguments: object) -> Result:
    app = typer.Typer(pretty_exceptions_enable=False)
    app.command()(command)  # type: ignore[type-var]
    return CliRunner().invoke(app, [str(one) for one in arguments])


def test_a_file_from_disk_becomes_a_version_and_moves_nobody(folder: Path, mine: str) -> None:
    shown = run(ladders, "--records", folder).stdout
    lines = {line.split()[2]: line for line in shown.splitlines() if line.strip().startswith("Bar")}
    assert "deloads by feel" in lines[mine]
    assert " 0 " in lines[mine]
    assert " 3 " in lines[load_ladder().version]
    again = run(take_in_ladder, folder.parent / "mine.toml", "--records", folder)
    assert "was there already" in again.stdout


def test_a_slip_in_the_file_is_named_and_nothing_is_kept(folder: Path, mine: str) -> None:
    path = folder.parent / "slip.toml"
    path.write_text(MINE + '\n[[rule]]\nid = "X"\nname = "X"\nwhen = "no_such_fact > 1"\n', encoding="utf-8")
    kept = run(ladders, "--records", folder).stdout
    with pytest.raises(BadInput, match=r"slip.toml:\d+"):
        raise run(take_in_ladder, path, "--records", folder).exception or AssertionError
    assert run(ladders, "--records", folder).stdout == kept


def test_what_a_version_does_otherwise_is_said_and_its_texts_come_out_as_files(
    folder: Path, mine: str, tmp_path: Path
) -> None:
    said = run(ladders, "--records", folder, "--of", mine).stdout
    assert "Rule Deload due (D-S): gone" in said
    run(ladders, "--records", folder, "--of", mine, "--write", tmp_path / "out")
    assert (tmp_path / "out" / "mine.toml").read_text() == MINE
    written = {p.relative_to(tmp_path / "out").as_posix() for p in (tmp_path / "out").rglob("*.toml")}
    assert written == {name for name, _ in load_ladder(path=folder.parent / "mine.toml").files}


def test_the_demos_past_is_replayed_and_the_gate_to_tries_opens_with_skin_shown(folder: Path) -> None:
    out = folder.parent / "past.json"
    shown = run(replay, "davit", "ines", "--records", folder, "--json", out)
    assert (
        shown.exit_code == 0
    )  # the demo's decisions are its invented coach's: no change of the program's mind
    assert "16 weeks the coach decided without a proposal" in shown.stdout
    weeks = {
        one["id"]: {week["starts"]: week["differs"] for week in one["weeks"]}
        for one in json.loads(out.read_text())["athletes"]
    }
    assert any("Gate open (CLIMB)" in say for say in weeks["davit"]["2026-04-06"])
    assert any("Gate open (CLIMB)" in say for say in weeks["ines"]["2026-03-30"])


def test_a_changed_ladder_is_tried_on_the_past_and_only_what_it_changes_is_shown(
    folder: Path, mine: str
) -> None:
    shown = run(replay, "--records", folder, "--ladder", mine)
    assert shown.exit_code == 0
    assert "no longer fires: Deload due (D-S)" in shown.stdout
    assert "Ines Farrowgate: 16 decisions made again" in shown.stdout
    from_disk = run(replay, "--records", folder, "--ladder", folder.parent / "mine.toml")
    assert from_disk.stdout == shown.stdout


def test_an_athlete_is_moved_with_a_reason_and_planned_under_it(
    folder: Path, mine: str, tmp_path: Path
) -> None:
    with pytest.raises(NotFound):
        raise (
            run(move_ladder, "davit", "--to", "9-nothing", "--reason", "x", "--records", folder).exception
            or AssertionError
        )
    shown = run(move_ladder, "davit", "--to", mine, "--reason", "feels his own deloads", "--records", folder)
    assert f"davit: moved to Bar muscle-up {mine}" in shown.stdout
    run(week, "davit", "--records", folder, "--json", tmp_path / "week.json")
    assert json.loads((tmp_path / "week.json").read_text())["verdict"]["ladder_version"] == mine


def test_texts_written_out_and_taken_in_again_are_the_same_version(
    folder: Path, mine: str, tmp_path: Path
) -> None:
    for version in (mine, load_ladder().version):
        out = tmp_path / version
        run(ladders, "--records", folder, "--of", version, "--write", out)
        again = run(take_in_ladder, out, "--records", folder)
        assert f"{version} was there already" in again.stdout


def test_a_note_in_brackets_is_shown_as_it_was_typed(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "noted.toml"
    path.write_text(MINE + "# noted\n", encoding="utf-8")
    run(take_in_ladder, path, "--records", folder, "--note", "[/see] mail")
    shown = run(ladders, "--records", folder)
    assert shown.exit_code == 0
    assert "[/see] mail" in shown.stdout


@pytest.mark.parametrize("where", ["file", "file/below"])
def test_texts_are_not_written_where_no_folder_can_be(folder: Path, tmp_path: Path, where: str) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    shown = run(ladders, "--records", folder, "--of", load_ladder().version, "--write", tmp_path / where)
    assert isinstance(shown.exception, BadInput)
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


def test_a_version_that_leads_out_of_a_folder_or_address_is_refused(folder: Path, tmp_path: Path) -> None:
    ladder = load_ladder()
    for name, text in ladder.files:
        path = tmp_path / "odd" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace('version = "1"', 'version = "../<b>"'), encoding="utf-8")
    refused = run(take_in_ladder, tmp_path / "odd", "--records", folder)
    assert isinstance(refused.exception, BadInput)
    assert "<b>" not in run(ladders, "--records", folder).stdout


def test_a_past_that_cannot_be_made_again_is_not_called_the_same(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _show([AthletesPast("tove", "Tove Ashdown", (), 16)], [])
    said = capsys.readouterr().out
    assert "no decision could be made again" in said
    assert "16 left out" in said
    assert "the same" not in said
