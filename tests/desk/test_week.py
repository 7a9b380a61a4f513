"""The proposed week: readable as a coach writes it, and changed only within the athlete's kit."""

import pytest

from overbar.athlete.person import Athlete
from overbar.desk.week import changed_week, fingerprint, load_choices, week_cards, what_changed
from overbar.errors import BadInput
from overbar.ladder import Ladder
from overbar.planning.verdict import Week


def test_a_session_reads_as_a_coach_writes_it(athlete: Athlete, week: Week, ladder: Ladder) -> None:
    card = week_cards(week, athlete, ladder, week.verdict.on).sessions[0]
    heavy, hang = card.slots
    assert (heavy.dose, heavy.load) == ("1 × 3–5", "+13.75 kg (10 kg + 2.5 kg + 1.25 kg)")
    assert heavy.details == ("keep 1 in reserve", "rest 3 min")
    assert hang.dose == "3 × 20 s"
    assert card.cautions == ("Stop at 5 of 10.",)


def test_a_change_is_kept_and_told(athlete: Athlete, week: Week) -> None:
    form = {"sets-0-0": "2", "low-0-0": "3", "high-0-0": "4", "load-0-0": "10.00"}
    after = changed_week(week, athlete, form)
    slot = after.sessions[0].slots[0]
    assert (slot.sets, slot.reps_high, slot.load.pieces) == (2, 4, ("10 kg",))
    assert len(what_changed(week, after)) == 1
    assert changed_week(week, athlete, {}) == week


def test_no_sets_leaves_the_line_out(athlete: Athlete, week: Week) -> None:
    after = changed_week(week, athlete, {"sets-0-1": "0"})
    assert [slot.exercise for slot in after.sessions[0].slots] == ["weighted_pull_up"]
    assert what_changed(week, after) == ("A: Dead hang left out",)


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"sets-0-0": "two"}, "whole number"),
        ({"sets-0-0": "200"}, "whole number"),
        ({"low-0-0": "6", "high-0-0": "3"}, "smaller number"),
        ({"load-0-0": "11.11"}, "kit"),
    ],
)
def test_a_change_that_cannot_be_is_refused_by_its_place(
    athlete: Athlete, week: Week, form: dict[str, str], said: str
) -> None:
    with pytest.raises(BadInput, match=said) as error:
        changed_week(week, athlete, form)
    assert "session A, Weighted pull-up" in error.value.say()


def test_the_loads_offered_are_the_athletes_own(athlete: Athlete) -> None:
    offered = [choice.say for choice in load_choices(athlete)]
    assert offered[0] == "band green (about 17 kg help)"
    assert offered[1:3] == ["body mass", "+1.25 kg (1.25 kg)"]


def test_the_mark_of_a_proposal_changes_with_it(athlete: Athlete, week: Week) -> None:
    assert fingerprint(week) == fingerprint(week)
    assert fingerprint(changed_week(week, athlete, {"sets-0-0": "3"})) != fingerprint(week)
