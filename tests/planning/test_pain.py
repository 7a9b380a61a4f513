"""Pain: stop at 5, change at 3, back in steps, and never a zero that was not said.

Published pain-monitoring bands (Thomee 1997; Silbernagel 2007, read in later summaries)
both forbid more than 5; they differ at 3, where this ladder already acts (handbook
science.md section 8 and check case 20).
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.planning.people import (
    MONDAY,
    SUNDAY,
    fired,
    history,
    lines,
    ready_for_tries,
    seen,
    sessions,
    slots,
    strong,
    week_of_sets,
)

from overbar.ladder import load_ladder
from overbar.planning import decide, past_week
from overbar.planning.case import make_case
from overbar.planning.history import CoachWord, PainReport
from overbar.planning.pain import site_named, sore_places

LADDER = load_ladder()
PULLING = {"pull", "row", "speed", "negative", "transition", "swing", "attempt", "hang"}


def with_pain(*reports, rung_words=(), on=SUNDAY, **rows):
    sets = week_of_sets(on - timedelta(days=6), [[5, 5, 5, 5], [5, 5, 5], [5, 5, 5]])
    rows = {"sets": sets, "sessions": sessions(on - timedelta(days=6)), "pain": tuple(reports)} | rows
    return decide(history(coach=rung_words, **rows), LADDER, on, strong(on, 1.2))


def report(day, worst, morning=0.0, site="inner elbow", **more):
    return PainReport(MONDAY + timedelta(days=day), site, worst, morning, **more)


def patterns(week):
    return {LADDER.exercises[slot.exercise].pattern for slot in slots(week)}


@pytest.mark.parametrize("level", [0, 1, 2])
def test_up_to_two_that_is_calm_next_morning_goes_on(level):
    week = with_pain(report(0, level), report(2, level), report(4, level))
    assert not {"PAIN-3", "PAIN-5"} & fired(week)
    assert week.verdict.decision == "add_load"


@pytest.mark.parametrize("level", [3, 4, 4.5])
def test_three_and_four_change_the_exercise(level):
    week = with_pain(report(0, 0), report(4, level))
    assert week.verdict.decision == "change_exercise"
    assert week.verdict.urgent == 2
    assert not {"speed", "negative", "attempt"} & patterns(week)
    assert all(slot.load.added_kg <= 0 for slot in lines(week, "weighted_pull_up", "strict_pull_up"))
    assert lines(week, "neutral_grip_pull_up")
    assert sum(slot.sets for slot in lines(week, "neutral_grip_pull_up")) <= 7
    assert lines(week, "wrist_flexor_isometric")


@pytest.mark.parametrize("level", [5, 6, 10])
def test_five_and_more_stop_all_that_loads_the_place_and_name_someone_to_see(level):
    week = with_pain(report(4, level))
    assert week.verdict.decision == "stop_and_refer"
    assert week.verdict.urgent == 3
    assert not PULLING & patterns(week)
    assert patterns(week) - {"care"}, "training goes on round it"
    assert "doctor or physiotherapist" in week.verdict.referral
    assert "inner elbow" in week.verdict.referral


def test_pain_that_wakes_at_night_stops_too():
    assert "PAIN-5" in fired(with_pain(report(4, 2, at_night=True), report(2, 3)))
    assert "PAIN-5" in fired(with_pain(report(4, 1, at_night=True)))


def test_two_weeks_at_three_stop_and_refer():
    week = with_pain(report(-11, 3), report(-4, 3), report(4, 3))
    assert "PAIN-5" in fired(week)


def test_a_morning_worse_than_the_session_counts():
    week = with_pain(report(4, 1, morning=2))
    assert "PAIN-3" in fired(week)
    assert "PAIN-3" in fired(with_pain(report(4, 1, morning=4)))


def test_a_place_nobody_named_rules_out_everything_but_care():
    week = with_pain(report(4, 6, site=""))
    assert patterns(week) <= {"care"}
    odd = with_pain(report(4, 6, site="left big toe"))
    assert patterns(odd) <= {"care"}


def test_a_sore_wrist_leaves_pulling_alone():
    week = with_pain(report(4, 6, site="right wrist"))
    assert lines(week, "strict_pull_up")
    assert "push" not in patterns(week)


def test_sides_and_spellings_of_a_place_are_one_place():
    assert site_named(LADDER, "Inner Elbow R").id == "inner_elbow"
    assert site_named(LADDER, "left shoulder").id == "shoulder"
    assert site_named(LADDER, "inner_elbow").id == "inner_elbow"
    assert site_named(LADDER, "knee") is None
    for site in LADDER.sites.values():
        assert site_named(LADDER, site.id) is site
        assert site_named(LADDER, f"Right {site.name}") is site


@pytest.mark.parametrize("flag", [*LADDER.flags, "something the list does not have"])
def test_a_stop_now_sign_stops_all_training(flag):
    week = with_pain(report(4, 0, flags=(flag,)))
    assert week.verdict.decision == "stop_and_refer"
    assert week.sessions == ()
    assert week.verdict.referral
    assert week.verdict.urgent == 3


def test_a_sign_holds_until_the_coach_writes_that_it_was_looked_at():
    pain = report(0, 0, flags=("pop",))
    later = MONDAY + timedelta(days=27)
    assert "PAIN-RED" in fired(with_pain(pain, on=later))
    word = CoachWord(
        datetime(2026, 3, 20, 9, tzinfo=UTC), "flag:settled", "met", "seen at urgent care, nothing torn"
    )
    assert "PAIN-RED" not in fired(with_pain(pain, rung_words=(word,), on=later))
    early = replace(word, said_at=datetime(2026, 2, 27, 9, tzinfo=UTC))
    assert "PAIN-RED" in fired(with_pain(pain, rung_words=(early,), on=later))


def test_an_overruled_stop_covers_only_what_the_coach_had_seen():
    word = CoachWord(datetime(2026, 3, 5, 9, tzinfo=UTC), "rule:PAIN-5", "ignore", "a bruise, not the joint")
    old = with_pain(report(1, 6), rung_words=(word,))
    assert "PAIN-5" not in fired(old)
    assert any(rule.id == "PAIN-5" and rule.ignored for rule in old.verdict.rules)
    new = with_pain(report(1, 6), report(5, 6), rung_words=(word,))
    assert "PAIN-5" in fired(new)


def test_the_way_back_goes_sixty_eighty_hundred_one_step_a_week():
    past, shares, sets_of_pulls = [], [], []
    reports = [report(0, 4, 3), report(2, 3, 3)]
    for week_number in range(5):
        on = SUNDAY + timedelta(days=7 * week_number)
        if week_number:
            reports += [report(7 * week_number + day, 1, 0) for day in (0, 2, 4)]
        week = with_pain(*reports, on=on, weeks=tuple(past))
        past.append(past_week(week))
        shares.append(dict(week.state)["pain_share"])
        pulls = lines(
            week, "strict_pull_up", "neutral_grip_pull_up", "weighted_pull_up", "band_assisted_pull_up"
        )
        sets_of_pulls.append(sum(slot.sets for slot in pulls))
    assert shares == [0.5, 0.6, 0.8, 1.0, 1.0]
    assert sets_of_pulls == sorted(sets_of_pulls)


def test_silence_about_a_sore_place_is_not_a_zero():
    first = past_week(with_pain(report(4, 4)))
    quiet = with_pain(report(4, 4), on=SUNDAY + timedelta(days=7), weeks=(first,))
    assert "PAIN-3" in fired(quiet)
    longer = with_pain(
        report(4, 4),
        on=SUNDAY + timedelta(days=56),
        weeks=(replace(first, starts=MONDAY + timedelta(days=49)),),
    )
    assert "PAIN-ASK" in fired(longer)
    assert any("sore place" in question for question in longer.verdict.questions)


def test_an_unanswered_morning_is_not_calm():
    def grade(morning):
        reports = (report(0, 4, 4), report(7, 0, morning), report(9, 0, morning))
        case = make_case(history(pain=reports), LADDER, MONDAY + timedelta(days=12), ())
        return [place.grade for place in sore_places(case)]

    assert grade(0.0) == ["returning"]
    assert grade(None) == ["ease"]


def test_pain_never_asked_about_keeps_the_gate_shut_and_zero_opens_it():
    on = SUNDAY
    shown = seen(on - timedelta(days=1), straight_bar_dips=5, support_s=30)
    sore = with_pain(report(4, 4), measurements=shown)
    assert next(i for i in sore.verdict.gate.items if i.test == "pain_14d").met is False
    silent = with_pain(measurements=shown)
    item = next(i for i in silent.verdict.gate.items if i.test == "pain_14d")
    assert item.met is None
    said = with_pain(report(0, 0), report(2, 0), measurements=shown)
    assert said.verdict.rung == "S1"  # R is still short
    item = next(i for i in said.verdict.gate.items if i.test == "pain_14d")
    assert item.met is True


def test_tries_stop_with_pain_whatever_the_gate_says():
    words = (CoachWord(datetime(2026, 3, 1, 9, tzinfo=UTC), "rung:S4", "met", "seen"),)
    calm = (report(0, 0), report(2, 0), report(4, 0))
    able = {"measurements": ready_for_tries(SUNDAY)}
    assert lines(with_pain(*calm, rung_words=words, **able), "muscle_up")
    assert not lines(with_pain(*calm, report(5, 3), rung_words=words, **able), "muscle_up")
    assert not lines(with_pain(*calm, report(5, 5), rung_words=words, **able), "muscle_up")


def test_nothing_dated_after_the_decision_is_looked_at():
    later = PainReport(SUNDAY + timedelta(days=1), "inner elbow", 8, 8)
    assert "PAIN-5" not in fired(with_pain(report(0, 0), later))
    assert date(2026, 3, 8) == SUNDAY


def test_a_log_taken_in_without_earlier_plans_comes_back_in_steps_all_the_same():
    reports = (report(0, 4, 3), report(2, 1, 0), report(4, 1, 0))
    week = with_pain(*reports)
    assert "PAIN-BACK" in fired(week)
    assert dict(week.state)["pain_share"] == 0.6
    long_calm = tuple(report(day, 0, 0) for day in range(2, 33, 2))
    later = with_pain(report(0, 4, 3), *long_calm, on=SUNDAY + timedelta(days=28))
    assert "PAIN-BACK" not in fired(later)
