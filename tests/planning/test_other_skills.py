"""Other skills in the same form: placed and planned by the same engine (handbook trade.md section 8)."""

import ast
from datetime import timedelta
from pathlib import Path

import pytest
from tests.planning.people import (
    MONDAY,
    SUNDAY,
    athlete,
    fired,
    history,
    no_pain,
    seen,
    sessions,
    slots,
    strong,
    week_of_sets,
)

import overbar.planning
from overbar.ladder import load_ladder, shipped
from overbar.ladder.vocabulary import FACTS
from overbar.planning import decide, past_week, place
from overbar.planning.history import PainReport

OTHERS = [name for name in shipped() if name != "bar_muscle_up"]
RINGS = ("rings", "parallel bars", "handles", "wall", "scales")


def who(skill):
    kit = athlete().kit
    return athlete(skill=skill, method="", kit=type(kit)(**{**kit.__dict__, "others": RINGS}))


def judged(skill, R=1.3, on=SUNDAY, **rows):
    rows = {
        "sets": week_of_sets(on - timedelta(days=6), [[5, 5], [5, 5], [5]]),
        "pain": no_pain(on - timedelta(days=6)),
        "sessions": sessions(on - timedelta(days=6)),
    } | rows
    return decide(history(who(skill), **rows), load_ladder(skill), on, strong(on, R))


def test_three_other_skills_come_with_the_program():
    assert OTHERS == ["front_lever", "strict_ring_muscle_up", "wall_handstand_push_up"]


def test_an_athlete_with_six_seconds_of_flat_tuck_stands_at_the_flat_tuck():
    # handbook trade.md 8.1: "F2, next needs flat_tuck_s >= 10 (has 6)"
    shown = seen(SUNDAY, hang_s=50, hollow_s=35, tuck_s=16, flat_tuck_s=6)
    week = judged("front_lever", R=1.25, measurements=shown)
    assert week.verdict.rung == "F2"
    assert week.verdict.gate.weakest.test == "flat_tuck_s"
    assert week.verdict.gate.weakest.shortfall_say == "4 s short"
    hold = next(s for s in slots(week) if s.exercise == "flat_tuck_lever")
    assert hold.seconds == 4  # six tenths of six seconds


def test_the_levers_rise_unevenly_from_tuck_to_full():
    # handbook trade.md 8.2, derived from Winter's segment fractions
    ladder = load_ladder("front_lever")
    shapes = ("tuck_lever", "flat_tuck_lever", "one_leg_lever", "straddle_lever", "full_lever")
    assert [ladder.exercises[s].hand_lever for s in shapes] == [0.58, 0.76, 0.79, 0.93, 1.0]


def test_three_sets_at_the_gate_climb_to_the_next_shape():
    shown = seen(SUNDAY, hang_s=50, hollow_s=35, tuck_s=16, flat_tuck_s=6)
    first = judged("front_lever", R=1.25, measurements=shown)
    later = SUNDAY + timedelta(days=7)
    better = (*shown, *seen(later, flat_tuck_s=10))
    week = judged("front_lever", R=1.25, on=later, measurements=better, weeks=(past_week(first),))
    assert week.verdict.decision == "climb"
    assert week.verdict.rung == "F3"


def test_the_handstand_push_up_goes_by_load_on_the_hands():
    shown = seen(SUNDAY, push_ups=20, pike_hold_s=35, hands_share=0.6, pressure_ok=1)
    week = judged("wall_handstand_push_up", measurements=shown)
    assert week.verdict.rung == "H1"
    assert any(s.exercise == "box_pike_push_up" for s in slots(week))
    assert any("head is never the brake" in c for session in week.sessions for c in session.cautions)


def test_nobody_is_put_upside_down_without_clearance():
    shown = seen(SUNDAY, push_ups=20, pike_hold_s=35, hands_share=0.6)
    ladder = load_ladder("wall_handstand_push_up")
    week = judged("wall_handstand_push_up", measurements=shown)
    assert "UPSIDE-DOWN" in fired(week)
    assert not {"inversion", "negative"} & {ladder.exercises[s.exercise].pattern for s in slots(week)}


def test_the_stack_comes_down_two_and_a_half_centimetres_when_every_set_holds_three():
    shown = seen(
        SUNDAY,
        push_ups=20,
        pike_hold_s=35,
        hands_share=0.75,
        pressure_ok=1,
        wall_hold_s=50,
        wall_lowering_s=5,
        range_cm=10,
    )
    first = judged("wall_handstand_push_up", measurements=shown)
    assert first.verdict.rung == "H3"
    assert dict(first.state)["stack_cm"] == 10
    later = SUNDAY + timedelta(days=7)
    done = week_of_sets(later - timedelta(days=6), [[3, 3, 3, 3], [], [3, 3, 3, 3]], exercise="wall_hspu")
    week = judged(
        "wall_handstand_push_up", on=later, sets=done, measurements=shown, weeks=(past_week(first),)
    )
    assert week.verdict.decision == "add_load"
    assert dict(week.state)["stack_cm"] == 7.5


def test_the_ring_muscle_up_starts_with_grip_and_support_and_adds_load_in_small_steps():
    shown = seen(SUNDAY, strict_pull_ups=8, false_grip_s=25, ring_support_s=25)
    fives = week_of_sets(MONDAY, [[5, 5, 5], [5, 5, 5], [5, 5]])
    week = judged("strict_ring_muscle_up", R=1.25, sets=fives, measurements=shown)
    assert week.verdict.rung == "R1"
    assert week.verdict.decision == "add_load"
    assert dict(week.state)["load_kg"] == pytest.approx(
        1.25
    )  # 3 % of 78 kg is 2.34: 1.25 is what the plates make
    assert not any(s.exercise == "ring_muscle_up" for s in slots(week))


@pytest.mark.parametrize("skill", OTHERS)
def test_pain_rules_caps_and_gaps_carry_over_unchanged(skill):
    bar, other = load_ladder("bar_muscle_up"), load_ladder(skill)
    assert {"PAIN-5", "PAIN-3", "GAP-14", "D-S", "MISS-1", "V-CAP", "ILL"} <= set(other.rules)
    assert other.rules["PAIN-5"] == bar.rules["PAIN-5"]
    week = judged(skill, pain=(PainReport(SUNDAY, "shoulder", 6, None),))
    assert week.verdict.decision == "stop_and_refer"
    site = other.sites["shoulder"]
    assert not set(site.patterns) & {other.exercises[s.exercise].pattern for s in slots(week)}


@pytest.mark.parametrize("skill", shipped())
def test_every_rung_of_every_skill_has_a_week(skill):
    ladder = load_ladder(skill)
    from overbar.planning.history import PastWeek

    for rung in ladder.rungs:
        week = judged(
            skill, weeks=(PastWeek(MONDAY, rung, "hold"),), measurements=seen(SUNDAY, pressure_ok=1)
        )
        assert week.sessions
        assert all(session.slots for session in week.sessions)
        assert (
            place(history(who(skill), weeks=(PastWeek(MONDAY, rung, "hold"),)), ladder, SUNDAY).rung.id
            == rung
        )


def test_the_engine_names_no_skill_rung_gate_rule_method_fault_or_exercise():
    words = set()
    for skill in shipped():
        ladder = load_ladder(skill)
        words |= {
            skill,
            *ladder.rungs,
            *ladder.gates,
            *ladder.rules,
            *ladder.methods,
            *ladder.faults,
            *ladder.exercises,
        }
        words |= {rule.id for method in ladder.methods.values() for rule in method.rule}
        words |= set(ladder.tests) | {e.code for e in ladder.exercises.values()}
    words -= set(FACTS)  # a test may be called like the fact it reads
    for path in sorted(Path(overbar.planning.__file__).parent.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {
            ast.get_docstring(n, clean=False)
            for n in ast.walk(tree)
            if isinstance(n, ast.Module | ast.ClassDef | ast.FunctionDef)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value not in docs:
                assert node.value not in words, f"{path.name}:{node.lineno} names {node.value!r}"
