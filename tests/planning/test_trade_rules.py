"""Rules of the trade that are no rule that fires but hold in every plan (handbook trade.md 2.5)."""

from dataclasses import replace
from pathlib import Path

import pytest
from tests.planning.people import FULL_KIT, RIG, SUNDAY, athlete, ready_for_tries, seen, slots, strong
from tests.planning.test_every_rule import BARE, BUDGET, G4_OPEN, LADDER, TOP, log, week

from overbar.planning import decide, place
from overbar.planning.history import History
from overbar.strength import estimate
from overbar.strength.sets import LoggedSet

DOCS = (Path(__file__).parents[2] / "docs" / "ladder.md").read_text(encoding="utf-8")
FAMILIES = {
    "L": ("1", "UP1", "UP2", "REP", "HOLD", "DOWN", "BM", "STEP", "START", "VEL"),
    "B": ("1", "UP", "HOLD", "MIN"),
    "V": ("UP", "CAP", "SWAP", "DOWN"),
    "X": ("AID", "QUAL", "DOSE", "SWING"),
    "D": ("S", "T", "TEST", "NOISE"),
    "MISS": ("1",),
    "GAP": ("7", "14", "21", "42", "X"),
    "STALL": ("1", "2", "3", "4"),
    "W": ("1", "2", "3"),
    "PAIN": ("2", "3", "5", "BACK", "RED"),
    "ATT": ("1", "STOP", "GRIND", "FILM", "20", "WIN"),
    "U": ("2D", "4D", "NOWT", "W", "40", "HVY", "YOUTH", "LOWBAR", "BAND"),
}
TRADE = [f"{family}-{name}" for family, names in FAMILIES.items() for name in names]


@pytest.mark.parametrize("rule_id", TRADE)
def test_every_rule_of_the_trade_is_a_rule_or_has_its_place_in_the_docs(rule_id):
    fires = [*LADDER.rules, *(rule.id for method in LADDER.methods.values() for rule in method.rule)]
    lives = [line for line in DOCS.splitlines() if line.startswith("| ") and rule_id in line.split(" | ")[0]]
    assert rule_id in fires or lives, rule_id


def test_loads_are_judged_with_body_mass_in():
    # L-1: the same 2 % step of a heavier athlete is more on the belt
    def step(body):
        top = LoggedSet(SUNDAY, "weighted_pull_up", body, 10.0, 5, 1.0, session="A")
        who = athlete(
            body_mass_kg=body, kit=replace(FULL_KIT, carrier="backpack", plates=(), backpack_litres=40.0)
        )
        state = (("top_kg", 10.0), ("loading", 1.0), ("top_reps", 5.0))
        rows = log(1) | {"sets": (*log(1, body=body)["sets"], top)}
        return dict(week("S2", who=who, method=TOP, state=state, **rows).state)["top_kg"] - 10.0

    assert step(60.0) < step(110.0)
    for body in (60.0, 110.0):
        assert step(body) <= 0.02 * (body + 10.0) + 0.01


def test_explosive_work_takes_the_place_of_heavy_work_and_is_not_stacked_on_it():
    # V-SWAP: hard pulling sets fall as fast reps come in
    def pulls(rung):
        one = week(rung, R=1.36, method=TOP, state=(("top_kg", 15.0), ("loading", 1.0)), pain=log(3)["pain"])
        return sum(s.sets * s.reps_high for s in slots(one) if LADDER.exercises[s.exercise].volume == "pull")

    assert pulls("S3") < pulls("S2")


def test_strict_and_swung_heights_are_both_filmed_on_fast_days_and_their_difference_is_told():
    # X-SWING: half strict, half with swing; report the difference as swing gain
    for rung, method in (("S2", BUDGET), ("S3", TOP)):
        one = week(rung, R=1.36, method=method)
        films = {s.exercise for s in slots(one) if s.film}
        assert "swing_high_pull" in films
        assert films & {"strict_high_pull", "cluster_high_pull"}
    one = week("S3", R=1.36, measurements=ready_for_tries(SUNDAY))
    assert any(margin.name == "gain from the swing" for margin in one.verdict.margins)


def test_every_try_is_filmed_the_first_of_a_day_also_from_front_or_rear_and_has_its_way_down():
    # ATT-FILM, ATT-GRIND
    one = week("S4", R=1.40, **G4_OPEN)
    tries = [s for s in slots(one) if s.exercise == "muscle_up"]
    assert tries
    assert all(s.film for s in tries)
    assert any("front" in s.note for s in tries)
    for session in one.sessions:
        if any(s.exercise == "muscle_up" for s in session.slots):
            assert any("keep your grip, lower, step down" in caution for caution in session.cautions)
            assert any("Five good tries" in caution for caution in session.cautions)


def test_without_weights_there_is_no_load_and_the_reps_get_harder():
    # U-NOWT: backpack, slow lowering, pauses
    for method in (TOP, BUDGET):
        one = week("S2", who=BARE, method=method, state=(("budget", 50.0), ("harder", 1.0)))
        assert all(s.load.added_kg <= 0 for s in slots(one))
        words = " ".join(s.note for s in slots(one)) + " ".join(c for x in one.sessions for c in x.cautions)
        assert "seconds" in words


def test_women_have_the_same_gates_and_a_curve_of_their_own():
    # U-W; published: Johnson et al. 2009, women do more repetitions at the same share of 1RM
    assert not [rule for rule in LADDER.rules.values() if "sex" in rule.when.names]
    sets = [LoggedSet(SUNDAY, "strict_pull_up", 60.0, 0.0, 6, failed=True)]
    woman, man = (estimate(sets, sex)[-1].R for sex in ("f", "m"))
    assert woman < man
    rows = {"measurements": seen(SUNDAY, strict_pull_ups=9, support_s=25, straight_bar_dips=4, hang_s=40)}
    placed = {place(History(athlete(sex=sex), **rows), LADDER, SUNDAY).rung.id for sex in ("f", "m")}
    assert len(placed) == 1


def test_a_low_bar_is_used_for_the_turn_and_no_band_is_its_only_work():
    # U-LOWBAR, U-BAND: never a band as the only transition work
    one = week("S3", R=1.36)
    turn = {s.exercise for s in slots(one) if LADDER.exercises[s.exercise].strand == "transition"}
    assert "low_bar_jump_over" in turn
    assert any("band" not in LADDER.exercises[name].kit for name in turn)


def test_a_band_is_inspected_and_never_stretched_too_far():
    # U-BAND; common practice
    one = week("S2", method=TOP)
    with_band = [x for x in one.sessions if any("band" in LADDER.exercises[s.exercise].kit for s in x.slots)]
    assert with_band
    for session in with_band:
        assert any("two and a half times" in caution for caution in session.cautions)


def test_body_mass_strength_and_their_ratio_are_three_lines_and_no_diet_is_given():
    # W-1, W-3
    one = week("S2")
    point = one.verdict.strength
    assert point is not None
    assert point.one_rm_kg == pytest.approx(point.R * point.body_mass_kg)
    words = " ".join(str(rule.say) for rule in LADDER.rules.values()).casefold()
    for word in ("calorie", "protein", "carbohydrate", "fasting", "eat less"):
        assert word not in words


def test_the_swing_stays_small_and_the_turn_is_helped_over_ninety_five_kilograms():
    # U-HVY
    heavy = athlete(body_mass_kg=104.0)
    one = week("S3", who=heavy, R=1.34, **log(2, body=104.0))
    rule = next(r for r in one.verdict.rules if r.id == "U-HVY")
    assert "small swing" in rule.say
    assert "bar's limit" in rule.say


def test_a_bar_without_room_leaves_swings_out_and_the_rest_stands():
    bare = athlete(kit=replace(FULL_KIT, bars=(replace(RIG, swing_allowed=False),)))
    one = decide(History(bare, **log(2)), LADDER, SUNDAY, strong(SUNDAY, 1.28))
    assert not any("swing_bar" in LADDER.exercises[s.exercise].kit for s in slots(one))
    assert slots(one)
