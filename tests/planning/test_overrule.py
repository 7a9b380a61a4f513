"""The coach's word outranks the program: each decision in one word, with its reason, and replayed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from tests.planning.people import (
    SUNDAY,
    athlete,
    fired,
    history,
    no_pain,
    ready_for_tries,
    seen,
    sessions,
    slots,
    strong,
    week_of_sets,
)

from overbar.ladder import load_ladder
from overbar.planning import decide, past_week, place, replay
from overbar.planning.apply import may_stand_for
from overbar.planning.history import CoachWord, PastWeek

LADDER = load_ladder()
SAID = datetime(SUNDAY.year, SUNDAY.month, SUNDAY.day, 18, tzinfo=UTC)


def word(about, choice, reason="seen by me", later=0):
    return CoachWord(SAID + timedelta(minutes=later), about, choice, reason)


def judged(*words, R=1.3, **rows):
    monday = SUNDAY - timedelta(days=6)
    rows = {
        "sets": week_of_sets(monday, [[5, 5], [5, 5], [5]]),
        "pain": no_pain(monday),
        "sessions": sessions(monday),
        "weeks": (PastWeek(monday, "S3", "hold"),),
    } | rows
    return decide(history(athlete(), coach=words, **rows), LADDER, SUNDAY, strong(SUNDAY, R))


def item(week, key):
    return next(one for one in week.verdict.gate.items if one.key == key)


def test_one_item_of_a_gate_counts_as_shown_and_opens_it():
    ready = [one for one in ready_for_tries(SUNDAY) if one.test != "deep_dips"]
    assert judged(measurements=ready, R=1.4).verdict.rung == "S3"
    week = judged(word("item:G4:deep_dips", "met", "six at the gym, no film"), measurements=ready, R=1.4)
    assert week.verdict.rung == "S4"
    assert "CLIMB" in fired(week)
    before = judged(word("item:G4:deep_dips", "met", "six, no film"), measurements=(), R=1.4)
    dips = item(before, "deep_dips")
    assert (dips.met, dips.overruled) == (True, "six, no film")
    assert dips.evidence[0].kind == "coach"


def test_an_item_seen_by_the_program_can_be_refused():
    week = judged(
        word("item:G4:deep_dips", "not_met", "half reps"), measurements=ready_for_tries(SUNDAY), R=1.4
    )
    assert week.verdict.rung == "S3"
    assert item(week, "deep_dips").met is False


def test_a_lighter_week_is_made_or_set_aside_in_one_word():
    week = judged(word("rule:D-S", "apply", "looks tired on film"))
    assert week.deload
    rule = next(rule for rule in week.verdict.rules if rule.id == "D-S")
    assert rule.evidence[0].say == "looks tired on film"
    assert not judged().deload


def test_a_word_never_makes_the_rung_rule_fire_without_the_gate():
    week = judged(word("rule:CLIMB", "apply", "let him try"))
    assert week.verdict.rung == "S3"
    assert not any(LADDER.exercises[slot.exercise].pattern == "attempt" for slot in slots(week))


def test_an_exercise_is_left_out_or_exchanged_for_good():
    usual = {slot.exercise for slot in slots(judged())}
    assert "deep_pause_dip" in usual
    without = judged(word("exercise:deep_pause_dip", "leave_out", "sternum"))
    assert "deep_pause_dip" not in {slot.exercise for slot in slots(without)}
    other = may_stand_for(LADDER.exercises["deep_pause_dip"], LADDER.exercises)[0]
    week = judged(word("exercise:deep_pause_dip", other, "sternum"))
    changed = next(slot for slot in slots(week) if slot.exercise == other and "exercise:" in slot.why)
    assert "sternum" in changed.note


def test_no_word_puts_a_try_in_the_place_of_another_exercise():
    week = judged(word("exercise:deep_pause_dip", "muscle_up", "why not"))
    assert "muscle_up" not in {slot.exercise for slot in slots(week)}


def test_the_strength_or_technique_answer_is_the_coachs_when_he_gives_one():
    shown = seen(SUNDAY, swing_high_L=0.12)
    answers = [branch.answer for branch in LADDER.splits]
    usual = judged(measurements=shown, R=1.2).verdict.strength_or_technique
    other = next(one for one in answers if one != usual)
    assert (
        judged(word("answer:limit", other), measurements=shown, R=1.2).verdict.strength_or_technique == other
    )


def test_a_word_is_taken_back():
    usual = judged().verdict.strength_or_technique
    answer = next(one.answer for one in LADDER.splits if one.answer != usual)
    for about, choice in (
        ("rule:D-S", "apply"),
        ("item:G4:deep_dips", "met"),
        ("exercise:deep_pause_dip", "leave_out"),
        ("fault:F06", "met"),
        ("rung:S1", "set"),
        ("answer:limit", answer),
    ):
        once = judged(word(about, choice))
        back = judged(word(about, choice), word(about, "taken_back", "wrong", later=5))
        assert once != judged(), about
        assert back == judged(), about


def test_a_place_the_coach_refused_does_not_count_as_checked():
    assert "place_checked" not in [
        one.test for one in judged(word("place:checked", "not_met")).verdict.gate.items if one.met
    ]


def test_a_rung_set_by_hand_is_not_left_at_once_by_a_gate_that_is_open():
    said = word("rung:S3", "set", "swing first")
    ready = ready_for_tries(SUNDAY)
    assert judged(measurements=ready, R=1.4).verdict.rung == "S4"
    week = judged(said, measurements=ready, R=1.4)
    assert week.verdict.rung == "S3"
    climb = next(rule for rule in week.verdict.rules if rule.id == "CLIMB")
    assert climb.ignored
    assert climb.evidence[0].say == "swing first"
    old = replace(said, said_at=said.said_at - timedelta(days=15))
    assert judged(old, measurements=ready, R=1.4).verdict.rung == "S4"


def test_a_rung_set_by_hand_is_planned_and_replayed():
    said = word("rung:S2", "set", "one step back after the move")
    rows = history(
        athlete(),
        sets=week_of_sets(SUNDAY - timedelta(days=6), [[5, 5], [5, 5], [5]]),
        weeks=(PastWeek(SUNDAY - timedelta(days=6), "S3", "hold"),),
        coach=(said,),
    )
    assert place(rows, LADDER, SUNDAY).by == "coach"
    week = decide(rows, LADDER, SUNDAY, strong(SUNDAY, 1.3))
    assert week.verdict.rung == "S2"
    later = replace(rows, weeks=(*rows.weeks, past_week(week)))
    again = replay(later, LADDER, strength=strong(SUNDAY, 1.3))
    assert again[-1].differs == ()
