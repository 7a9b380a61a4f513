"""``overbar body`` as a coach types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from overbar.cli.body import body
from overbar.cli.lengths_and_masses import length_said, mass_said
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


def test_lengths_and_masses_are_taken_as_people_write_them(tmp_path: Path) -> None:
    answers = []
    for n, (stature, mass, span) in enumerate(
        (
            ("1.778", "79.8323", "1.8034"),
            ("177.8cm", "79.8323kg", "180.34 cm"),
            ("5ft10", "176lb", "71in"),
            ("70 in", "176 lb", "5'11\""),
        )
    ):
        file = tmp_path / f"{n}.json"
        words = ("--stature", stature, "--mass", mass, "--span", span, "--pull", "1.3", "--sex", "m")
        said = run(*words, "--json", str(file))
        answers.append(json.loads(file.read_text(encoding="utf-8"))["needs"]["swing"])
        assert ("lb on the belt" in said) == ("lb" in mass)
    assert answers == pytest.approx([answers[0]] * 4, abs=1e-4)


@pytest.mark.parametrize(
    ("words", "match"),
    [
        (["--stature", "tall", "--mass", "80", "--pull", "1.2"], "--stature: 'tall' is not a length"),
        (["--stature", "1.78", "--mass", "80 stone", "--pull", "1.2"], "--mass: '80 stone' is not a mass"),
        (["--stature", "1.78", "--mass", "80", "--pull", "1.2", "--hang", "0.7 kg"], "--hang: '0.7 kg'"),
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


@pytest.mark.parametrize(
    ("said", "metres", "unit"),
    [
        ("1.78", 1.78, "cm"),
        ("1,78 m", 1.78, "cm"),
        ("178cm", 1.78, "cm"),
        ("1780 mm", 1.78, "cm"),
        ("70in", 1.778, "in"),
        ("5ft10", 1.778, "in"),
        ("5 ft 10 in", 1.778, "in"),
        ("5'10\"", 1.778, "in"),
        ("6 ft", 1.8288, "in"),
    ],
)
def test_lengths_are_read_as_people_write_them(said: str, metres: float, unit: str) -> None:
    assert length_said(said) == (pytest.approx(metres), unit)


@pytest.mark.parametrize(
    ("said", "kg", "unit"), [("80", 80.0, "kg"), ("80 kg", 80.0, "kg"), ("176lb", 79.8323, "lb")]
)
def test_masses_are_read_as_people_write_them(said: str, kg: float, unit: str) -> None:
    assert mass_said(said) == (pytest.approx(kg, abs=1e-4), unit)


def test_twelve_inches_and_more_beside_feet_are_a_slip() -> None:
    with pytest.raises(BadInput, match="13 inches beside its feet"):
        length_said("5ft13", "--stature")


@pytest.mark.parametrize("said", ["", "tall", "5 ft 10 cm", "80 kg", "1.7.8"])
def test_what_is_no_length_is_named_with_what_was_asked_for(said: str) -> None:
    with pytest.raises(BadInput, match=r"--stature: .* is not a length"):
        length_said(said, "--stature")
