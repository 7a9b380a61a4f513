"""Fast work: how much, how it is done, and when a set ends (handbook trade.md X-QUAL, X-DOSE, L-VEL)."""

import pytest
from tests.planning.people import SUNDAY, ready_for_tries, seen, slots
from tests.planning.test_every_rule import BUDGET, LADDER, TOP, log, valid, week

HEAVY = (("loaded_kg", 20.0), ("fast", 1.0), ("budget", 60.0), ("top_kg", 15.0), ("loading", 1.0))
STRENGTH = {"S2": 1.30, "S3": 1.36, "S4": 1.40}


def planned(rung, method, state=HEAVY):
    shown = {} if rung == "S3" else {"measurements": ready_for_tries(SUNDAY)}
    return week(rung, R=STRENGTH[rung], method=method, state=state, pain=log(3)["pain"], **shown)


def fast(one):
    """Fast pulls of a week: what the ladder calls speed work, and pulls out of a swing."""
    return [s for s in slots(one) if LADDER.exercises[s.exercise].volume == "speed"]


def reps(lines):
    return sum(s.sets * s.reps_high for s in lines)


@pytest.mark.parametrize(
    ("rung", "method", "least", "most"),
    [
        ("S2", TOP, 15, 27),  # 8 + 15 (handbook trade.md 2.4) and two sets out of a swing
        ("S2", BUDGET, 15, 31),
        ("S3", TOP, 24, 36),
        ("S3", BUDGET, 24, 36),
        ("S4", TOP, 8, 12),
        ("S4", BUDGET, 8, 12),
    ],
)
def test_the_week_holds_the_stages_dose_of_fast_reps(rung, method, least, most):
    # handbook trade.md X-DOSE: S2 15 a week (8 + 15 in 2.4), S3 24-36, S4 8-12 plus tries;
    # the 25 of the budget method in the second stage are common practice, no source
    one = planned(rung, method)
    assert one.verdict.rung == rung
    assert least <= reps(fast(one)) <= most


@pytest.mark.parametrize("method", [TOP, BUDGET])
@pytest.mark.parametrize("rung", ["S2", "S3", "S4"])
def test_fast_sets_are_short_and_rested_and_end_when_they_fade(rung, method):
    # handbook trade.md X-QUAL: sets of 1-3, two minutes between sets; stop when height or speed falls
    for slot in fast(planned(rung, method)):
        assert 1 <= slot.reps_high <= 3, slot
        assert slot.rest_s >= 90, slot
        said = f"{slot.note} {LADDER.exercises[slot.exercise].do}".casefold()
        assert any(word in said for word in ("stop", "drops", "slower", "full rest", "score")), slot


def test_clusters_rest_between_the_reps():
    # handbook trade.md X-QUAL; published: Tufano et al. 2016, cluster sets keep speed
    clusters = [s for s in slots(planned("S3", TOP)) if s.exercise == "cluster_high_pull"]
    assert clusters
    assert all("20-30 s between reps" in s.note for s in clusters)


@pytest.mark.parametrize("method", [TOP, BUDGET])
def test_fast_work_comes_before_heavy_work(method):
    # handbook trade.md X-DOSE: first on the day, after warm-up
    for rung in ("S2", "S3"):
        for session in planned(rung, method).sessions:
            kinds = [LADDER.exercises[s.exercise].pattern for s in session.slots]
            if "speed" in kinds and "pull" in kinds:
                assert kinds.index("speed") < kinds.index("pull")


def test_a_back_off_set_ends_when_it_slows_by_a_quarter():
    # handbook trade.md L-VEL; published: Sanchez-Moreno et al. 2020, gains at 25 % of speed lost, none at 50
    state = (("top_kg", 15.0), ("loading", 1.0), ("back_sets", 3.0))
    back_off = [
        s for s in slots(planned("S2", TOP, state)) if s.exercise == "weighted_pull_up" and s.sets > 1
    ]
    assert any("slows by a quarter" in s.note for s in back_off)


def test_no_fast_work_while_the_base_is_built():
    # handbook trade.md 2.4, weekly volume: none in S0 and S1
    one = week("S1", R=1.2, method=TOP, state=(("best", 6.0),))
    assert not fast(one)


def test_consistency_several_in_a_row_and_keeping_hold_the_stages_number_of_reps():
    # handbook trade.md 2.4: S5 10-16 singles, S6 16-25, S7 4-12
    for rung, least, most in (("S5", 10, 16), ("S6", 16, 25), ("S7", 3, 12)):
        for method in (TOP, BUDGET):
            one = week(
                rung,
                R=1.42,
                method=method,
                attempts=valid(),
                measurements=seen(SUNDAY, unbroken=2),
                pain=log(3)["pain"],
            )
            tries = [s for s in slots(one) if s.exercise == "muscle_up"]
            assert least <= reps(tries) <= most, (rung, method)
            if rung == "S5":
                assert all(s.reps_high == 1 for s in tries)
