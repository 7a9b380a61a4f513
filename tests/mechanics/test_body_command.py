"""``overbar body`` as a coach types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from overbar.cli.body import body
from overbar.errors import BadInput, OverbarError

app = typer.Typer()
app.command()(body)


def run(*words: str) -> str:
    done = CliRunner().invoke(app, [*words], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def test_the_answer_is_a_sentence_with_a_band_the_levers_and_the_cautions(tmp_path: Path) -> None:
    file = tmp_path / "body.json"
    said = run("--stature", "1.78", "--mass", "80", "--pull", "1.17", "--sex", "m", "--json", str(file))
    assert "80% band" in said
    assert "rule of thumb" in said
    assert "Stop at pain" in said
    data = json.loads(file.read_text(encoding="utf-8"))
    assert data["has"] == 1.17
    assert data["swing_deg"] == 15.0
    assert set(data["needs"]) == set(data["margin"]) == {"still", "swing"}
    assert data["margin"]["swing"] == pytest.approx(data["has"] - data["needs"]["swing"], abs=1e-3)


def test_more_swing_asks_for_less(tmp_path: Path) -> None:
    asked = []
    for swing in ("0", "3", "10", "30"):
        file = tmp_path / f"{swing}.json"
        run("--stature", "1.66", "--mass", "61", "--pull", "1.3", "--swing", swing, "--json", str(file))
        asked.append(json.loads(file.read_text(encoding="utf-8"))["needs"]["swing"])
    assert asked == sorted(asked, reverse=True)


def test_own_measures_dips_and_first_reps_are_taken(tmp_path: Path) -> None:
    plain, own = tmp_path / "plain.json", tmp_path / "own.json"
    words = ["--stature", "1.78", "--mass", "80", "--pull", "1.4"]
    run(*words, "--json", str(plain))
    run(*words, "--hang", "0.70", "--dip", "1.6", "--first-rep", "0.8", "--json", str(own))
    one, other = (json.loads(file.read_text(encoding="utf-8"))["needs"]["swing"] for file in (plain, own))
    assert other < one


@pytest.mark.parametrize(
    ("words", "match"),
    [
        (["--stature", "178", "--mass", "80", "--pull", "1.2"], "178 m"),
        (["--stature", "1.78", "--mass", "80", "--pull", "12"], "R 12"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--sex", "x"], "'x'"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--swing", "60"], "60"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--legs", "0.9"], "--legs"),
        (["--stature", "1.78", "--mass", "8", "--pull", "1.2"], "8 kg"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--swing", "-1"], "--swing -1"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--swing", "nan"], "--swing nan"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--dip", "0"], "--dip 0"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--first-rep", "-1"], "--first-rep -1"),
    ],
)
def test_wrong_input_is_named(words: list[str], match: str) -> None:
    with pytest.raises(BadInput, match=match):
        CliRunner().invoke(app, words, catch_exceptions=False)


def test_a_mistyped_folder_of_records_is_an_error_and_makes_none(tmp_path: Path) -> None:
    folder = tmp_path / "none"
    words = ["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--records", str(folder)]
    with pytest.raises(OverbarError):
        CliRunner().invoke(app, words, catch_exceptions=False)
    assert not folder.exists()


def test_a_file_that_cannot_be_written_is_said_before_anything_is_solved(tmp_path: Path) -> None:
    words = ["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--full", "--json"]
    with pytest.raises(BadInput, match="cannot be written"):
        CliRunner().invoke(app, [*words, str(tmp_path / "none" / "body.json")], catch_exceptions=False)
