"""Full solves of the body model: asked for, claimed under a lease, started again, kept."""

import json
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import update

from overbar.errors import BadInput
from overbar.progress import Progress
from overbar.records import Records, queue, schema
from overbar.records.database import writing
from overbar.records.forget import forget
from overbar.records.hand_over import hand_over
from overbar.records.work import solve_next

ASKED = {"stature_m": 1.70, "mass_kg": 64.0, "R": 1.35, "swing_deg": 20.0}


def solves(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    progress(0.5, "middle of the road")
    return {"needs": {"swing": 1.6}, "for": asked["R"]}


def its_lease_runs_out(records: Records) -> None:
    with writing(records.engine) as connection:
        past = datetime.now(UTC) - timedelta(seconds=1)
        connection.execute(update(schema.body_solves).values(lease_until=past))


def test_a_solve_is_done_in_the_background_and_kept_with_what_was_asked(records: Records) -> None:
    records.ask_solve("tove", ASKED)
    assert solve_next(records, solves)
    assert not solve_next(records, solves)
    kept = records.solve("tove")
    assert kept is not None
    assert (kept.state, kept.asked, kept.answer) == ("done", ASKED, {"needs": {"swing": 1.6}, "for": 1.35})
    assert kept.done_at is not None
    assert not kept.under_way


def test_an_athletes_solves_are_handed_over_and_go_with_the_athlete(records: Records, tmp_path: Path) -> None:
    records.ask_solve("tove", ASKED)
    solve_next(records, solves)
    hand_over(records, "tove", tmp_path / "tove.zip")
    with zipfile.ZipFile(tmp_path / "tove.zip") as packed:
        told = json.loads(packed.read("body_solves.json"))
    assert [(one["state"], one["asked"], one["answer"]["for"]) for one in told] == [("done", ASKED, 1.35)]
    assert forget(records, "tove").rows["body_solves"] == 1


def test_asking_while_one_is_under_way_is_asking_once(records: Records) -> None:
    first = records.ask_solve("tove", ASKED)
    assert records.ask_solve("tove", ASKED | {"R": 1.4}) == first
    assert records.claim_solve("one") is not None
    assert records.ask_solve("tove", ASKED) == first
    assert records.claim_solve("two") is None


def test_a_killed_solve_is_started_again_and_the_dead_one_keeps_nothing(records: Records) -> None:
    records.ask_solve("tove", ASKED)
    dead = records.claim_solve("killed")
    assert dead is not None
    its_lease_runs_out(records)
    again = records.claim_solve("next")
    assert again is not None
    assert again.id == dead.id
    assert not records.renew_solve(dead, 0.9, "still here")
    assert not records.finish_solve(dead, {"late": True})
    assert records.renew_solve(again, 0.4, "loose hands")
    seen = records.solve("tove")
    assert seen is not None
    assert (seen.share, seen.doing, seen.tries) == (0.4, "loose hands", 2)
    assert records.finish_solve(again, {"needs": 1})
    assert records.solve("tove", solved=True) is not None


def test_a_body_that_kills_every_worker_is_given_up_and_says_so(records: Records) -> None:
    records.ask_solve("tove", ASKED)
    for n in range(queue.MOST_TRIES):
        assert records.claim_solve(f"worker {n}") is not None
        its_lease_runs_out(records)
    assert records.claim_solve("last") is None
    given_up = records.solve("tove")
    assert given_up is not None
    assert given_up.state == "failed"
    assert "stopped several times" in given_up.why


def test_a_solve_that_cannot_be_done_says_why_and_leaves_the_last_answer(records: Records) -> None:
    records.ask_solve("tove", ASKED)
    solve_next(records, solves)

    def fails(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
        raise BadInput("no solve converged for this body", do="Check the measures.")

    records.ask_solve("tove", ASKED)
    assert solve_next(records, fails)
    newest, answered = records.solve("tove"), records.solve("tove", solved=True)
    assert newest is not None
    assert "Check the measures" in newest.why
    assert answered is not None
    assert answered.answer is not None
