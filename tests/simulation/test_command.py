"""The dry-run command: two methods side by side, written as data and as a table."""

import json

import typer
from typer.testing import CliRunner

from overbar.cli.dry_run import dry_run


def test_two_methods_side_by_side(tmp_path):
    app = typer.Typer()
    app.command()(dry_run)
    out = tmp_path / "out.json"
    args = ["bar_muscle_up", "--athletes", "2", "--weeks", "3", "--workers", "1"]
    result = CliRunner().invoke(app, [*args, "--beside-method", "top_set_back_off", "--json", str(out)])
    assert result.exit_code == 0, result.output
    told = json.loads(out.read_text())
    assert [one["method"] for one in told["ladders"]] == ["weekly_budget", "top_set_back_off"]
    assert "never stalled" in result.output
    assert "promise no dates" in result.output
