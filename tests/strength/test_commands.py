"""The commands strength and forecast on a table of sets: what is written, what is refused."""

import json
from datetime import date, timedelta

import pytest
import typer
from typer.testing import CliRunner

from overbar.cli.forecast import forecast
from overbar.cli.strength import strength
from overbar.errors import BadInput

HEAD = "date,exercise,body_mass_kg,added_kg,reps,reps_left,first_rep_speed_mps,counted_by"


@pytest.fixture
def table(tmp_path):
    rows = [HEAD]
    for week in range(8):
        day = date(2026, 1, 5) + timedelta(weeks=week)
        rows.append(f"{day},pull-up,78.{week},0,{5 + week // 2},1,{0.46 + 0.02 * week:.2f},film")
        rows += [f"{day},pull-ups,78.{week},0,4,,,log"] * 3
        rows.append(f"{day},straight-bar dip,78.{week},0,6,2,,log")
    rows.append("2026-02-30,pull-up,78,0,5,,,log")
    path = tmp_path / "sets.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def run(command, *args):
    app = typer.Typer()
    app.command()(command)
    result = CliRunner().invoke(app, [str(one) for one in args], catch_exceptions=True)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_strength_writes_one_point_a_date_and_the_parameters_used(table, tmp_path):
    result = run(strength, table, "--sex", "m", "--json", tmp_path / "out.json")
    assert result.exit_code == 0
    told = json.loads((tmp_path / "out.json").read_text())
    assert [point["date"] for point in told["strength"]] == [
        str(date(2026, 1, 5) + timedelta(weeks=week)) for week in range(8)
    ]
    for point in told["strength"]:
        assert point["R_low"] < point["R"] < point["R_high"]
        assert point["interval"] == 0.9
        assert point["one_rm_kg"] == pytest.approx(point["R"] * point["body_mass_kg"])
    assert told["parameters"]["prior"]["reserve_under_reported_reps"] == [0.95, 0.5]
    assert told["rise"]["real"]


def test_dips_are_left_out_of_pulling_strength_and_a_wrong_row_is_named(table, tmp_path):
    result = run(strength, table, "--json", tmp_path / "out.json")
    told = json.loads((tmp_path / "out.json").read_text())
    assert "straight-bar dip" in told["left_out"]
    assert [(row["row"], row["column"]) for row in told["wrong_rows"]] == [(42, "date")]
    assert "row 42, column date" in result.stderr


def test_the_equations_stand_beside_the_estimate_and_part_by_kilograms(table, tmp_path):
    run(strength, table, "--sex", "m", "--json", tmp_path / "out.json")
    said = json.loads((tmp_path / "out.json").read_text())["latest_set_by_equation"]
    assert said["reps_to_failure"] == 10  # eight with one left, and 0.95 too few told
    assert max(said["one_rm_kg"].values()) - min(said["one_rm_kg"].values()) > 3
    assert said["one_rm_kg"]["epley"] == pytest.approx(said["one_rm_kg"]["brzycki"])


def test_a_forecast_gives_a_range_per_strength_gate_and_what_would_move_it(table, tmp_path):
    result = run(forecast, "--sets", table, "--sex", "m", "--json", tmp_path / "out.json")
    assert result.exit_code == 0
    told = json.loads((tmp_path / "out.json").read_text())
    items = [item for gate in told["gates"] for item in gate["items"]]
    likely = [item["likely"] for item in items]
    assert likely == sorted(likely)
    assert any(not item["reached"] for item in items)
    assert {one["what"] for one in told["what_ifs"]} >= {"the next fortnight missed", "6 h of sleep"}
    assert "not a promise" in told["caveat"]


def test_what_cannot_be_done_is_said_in_a_sentence(table, tmp_path):
    with pytest.raises(BadInput, match="one athlete"):
        run(forecast)
    with pytest.raises(BadInput, match="sex"):
        run(strength, table, "--sex", "x")
    only_dips = tmp_path / "dips.csv"
    only_dips.write_text(HEAD + "\n2026-01-05,dip,78,0,5,,,log\n")
    with pytest.raises(BadInput, match="no row"):
        run(strength, only_dips)


def test_strength_says_what_it_began_from_and_counts_the_athletes_of_given_records(table, tmp_path):
    from overbar.athlete.person import Athlete
    from overbar.records import open_records
    from overbar.settings import Settings
    from overbar.simulation.coverage import FOREIGN, logged_life

    alone = run(strength, table, "--sex", "m", "--json", tmp_path / "alone.json")
    assert "Begun from the published norm: R 1.17" in alone.stdout
    kept = open_records(Settings(records=tmp_path / "records", cache=tmp_path / "cache"))
    for k in range(3):
        life = logged_life(7300 + k, 12, "m", people=FOREIGN)
        kept.save_athlete(Athlete(f"a{k}", f"A{k}", "m", None, 1.8, 80.0, life.sets[0].on))
        kept.add_sets(f"a{k}", life.sets, "test")
    kept.close()
    held = ("--records", tmp_path / "records")
    result = run(strength, table, "--sex", "m", "--json", tmp_path / "with.json", *held)
    assert "Begun from 3 of your athletes and the published norm" in result.stdout
    before, after = (json.loads((tmp_path / name).read_text()) for name in ("alone.json", "with.json"))
    assert after["parameters"]["prior"]["own_athletes"] == 3
    assert after["parameters"]["prior"]["R"][0] > before["parameters"]["prior"]["R"][0]
    assert after["strength"][0]["R"] != before["strength"][0]["R"]
    assert run(forecast, "--sets", table, "--sex", "m", *held).exit_code == 0
