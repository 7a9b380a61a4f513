"""The dry run: the same seed gives the same athletes, on any machine, under any ladder."""

import pickle

import pytest

from overbar.errors import BadInput
from overbar.ladder import load_ladder
from overbar.ladder.loader import ladder_of
from overbar.ladder.source import read_text
from overbar.simulation import dry_run as tried
from overbar.simulation.ability import asked, leaves
from overbar.simulation.life import live

WEEKS = 14


@pytest.fixture(scope="module")
def ladder():
    return load_ladder()


@pytest.fixture(scope="module")
def run(ladder):
    return tried.dry_run(ladder, 6, seed=3, weeks=WEEKS, batch=3)


def test_the_same_seed_gives_the_same_life(ladder):
    assert live(ladder, 5, 6) == live(ladder, 5, 6)


def test_the_same_athletes_live_under_both_methods(ladder):
    lives = [live(ladder, 5, 4, method) for method in ladder.methods]
    assert len({(life.gain, life.R_first) for life in lives}) == 1


def test_the_order_in_which_jobs_come_back_changes_nothing(ladder, run):
    def backwards(work, jobs):
        return map(work, reversed(jobs))

    assert tried.dry_run(ladder, 6, seed=3, weeks=WEEKS, spread=backwards, batch=3) == run


def test_a_job_can_travel_to_another_machine(ladder):
    job = (ladder.files, (1, 2), 2, "")
    assert pickle.loads(pickle.dumps(job)) == job
    assert len(pickle.loads(pickle.dumps(tried.live_through(job)))) == 2


def test_the_report_says_what_was_asked(run):
    told = tried.plain(run)
    for word in ("gates", "largest_step", "largest_rise", "weekly_reps", "pain_weeks", "never_stalled"):
        assert word in told
    assert told["athletes"] == 6
    assert 0 <= run.never_stalled <= 1
    assert 0 <= run.stall_weeks <= WEEKS
    for share in (run.stall_wrong, run.stall_found, run.stall_false):
        assert share is None or 0 <= share <= 1
    for gate in run.gates:
        assert 0 <= gate.opened <= 1
        assert (gate.early is None) or 0 <= gate.early <= 1
        assert gate.weeks[0] <= gate.weeks[1] <= gate.weeks[2] <= WEEKS


def test_progress_goes_to_one(ladder):
    told = []
    tried.dry_run(ladder, 2, weeks=2, batch=1, progress=lambda share, doing: told.append(share))
    assert told == [0.5, 1.0]


def test_an_unknown_method_and_no_athletes_are_a_sentence_each(ladder):
    with pytest.raises(BadInput, match="weekly_budget"):
        tried.dry_run(ladder, 2, method="guess")
    with pytest.raises(BadInput):
        tried.dry_run(ladder, 0)


def test_the_gates_say_which_abilities_a_simulated_athlete_needs(ladder):
    bounds = asked(ladder)
    assert bounds["swing_high_L"][1] == pytest.approx(0.18)
    named = {leaf.test for gate in ladder.gates.values() for leaf in leaves(gate.item)}
    assert set(bounds) == named


def test_tries_come_only_after_their_gate(ladder):
    for seed in range(3):
        life = live(ladder, seed, 20)
        if life.tries:
            assert any(opening.gate == "G4" for opening in life.openings)


@pytest.mark.parametrize("method", ["weekly_budget", "top_set_back_off"])
def test_each_method_leads_from_the_first_pull_ups_to_several_muscle_ups(ladder, method):
    opened = [[one.gate for one in live(ladder, seed, 60, method).openings] for seed in (14, 26, 34)]
    assert list(ladder.gates) in [list(dict.fromkeys(gates)) for gates in opened]


def test_no_plan_asks_for_a_load_step_over_six_per_cent(ladder):
    # handbook trade.md 2.9: one step of 6.0 % of system mass, none larger
    for method in ladder.methods:
        for seed in range(4):
            assert live(ladder, seed, 30, method).largest_step <= 0.061


def test_a_harder_gate_asks_more_of_the_same_athletes(ladder):
    texts = tuple((name, text.replace("value = 0.18", "value = 0.25")) for name, text in ladder.files)
    harder = ladder_of(tuple(read_text(name, text) for name, text in texts))
    assert asked(harder)["swing_high_L"][1] == pytest.approx(0.25)
    assert tried.dry_run(harder, 2, weeks=2).version != ladder.version
