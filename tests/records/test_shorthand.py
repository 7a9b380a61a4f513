"""The trade's own shorthand. The forms are common practice, no source."""

from datetime import date
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from overbar.ladder import load_ladder
from overbar.planning.history import AttemptLog, BodyNote, PainReport, SessionLog
from overbar.records.pieces import Ground, Parsed
from overbar.records.shorthand import parse
from overbar.strength.sets import LoggedSet
from overbar.units import KG_PER_LB

TODAY = date(2026, 4, 27)
GROUND = Ground(TODAY, load_ladder(), "kg", ((date(2026, 1, 5), 78.0),), {"thin blue": 7.5})


def facts(parsed: Parsed, kind: type[Any]) -> list[Any]:
    return [fact for one in parsed.understood for fact in one.facts if isinstance(fact, kind)]


def sets(parsed: Parsed) -> list[tuple[str, list[int], float]]:
    """Exercise, reps and load of each piece that gave sets."""
    found = []
    for one in parsed.understood:
        done = [fact for fact in one.facts if isinstance(fact, LoggedSet)]
        if done:
            found.append((done[0].exercise, [each.reps for each in done], round(done[0].added_kg, 2)))
    return found


LOADED, STRICT = "weighted_pull_up", "strict_pull_up"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("5 x 5 +10 kg", [(LOADED, [5] * 5, 10.0)]),
        ("BW 5 5 5 4 4", [(STRICT, [5, 5, 5, 4, 4], 0.0)]),
        ("3x5 @ +22.5 lb, last one ugly", [(LOADED, [5] * 3, 10.21)]),
        ("BW 5,5,5,4,4", [(STRICT, [5, 5, 5, 4, 4], 0.0)]),
        ("5/5/5/4/4", [(STRICT, [5, 5, 5, 4, 4], 0.0)]),
        ("5-5-5-4-4", [(STRICT, [5, 5, 5, 4, 4], 0.0)]),
        ("5×5 ＋10kg", [(LOADED, [5] * 5, 10.0)]),
        ("5x5 +22,5 lb", [(LOADED, [5] * 5, 10.21)]),
        ("+5 x 5, +7.5 x 5, +10 x 3", [(LOADED, [5], 5.0), (LOADED, [5], 7.5), (LOADED, [3], 10.0)]),
        ("+10 kg x 5,5,4", [(LOADED, [5, 5, 4], 10.0)]),
        ("5 x 5 +10 kg, 3 x 5 BW", [(LOADED, [5] * 5, 10.0), (STRICT, [5] * 3, 0.0)]),
        ("3 sets of 5 pull ups with 10 kg", [(LOADED, [5] * 3, 10.0)]),
        ("+6 l water 5 5 5", [(LOADED, [5] * 3, 6.0)]),
        ("5x5 thin blue band", [("band_assisted_pull_up", [5] * 5, -7.5)]),
        ("weighted pull-ups +10 kg\n5 5 4", [(LOADED, [5, 5, 4], 10.0)]),
        ("dips 8 8 7 then pull-ups 5 5", [("parallel_bar_dip", [8, 8, 7], 0.0), (STRICT, [5, 5], 0.0)]),
        ("5 reps +20 kg", [(LOADED, [5], 20.0)]),
        ("10 pullups", [(STRICT, [10], 0.0)]),
        ("pullups 5 sets: 5 5 5 4 3", [(STRICT, [5, 5, 5, 4, 3], 0.0)]),
        ("pull ups\nset 1: 5\nset 2: 4", [(STRICT, [5], 0.0), (STRICT, [4], 0.0)]),
        ("3x5 with 12 kg band help", [("band_assisted_pull_up", [5] * 3, -12.0)]),
        ("3x5 -15kg band", [("band_assisted_pull_up", [5] * 3, -15.0)]),
        ("5x5+10kg", [(LOADED, [5] * 5, 10.0)]),
        ("10kg: 5,5,5\n12.5kg: 3,3", [(LOADED, [5] * 3, 10.0), (LOADED, [3, 3], 12.5)]),
        (
            "3 sets of 5 pull-ups w/ 20kg, 2 sets of 8 dips",
            [(LOADED, [5] * 3, 20.0), ("parallel_bar_dip", [8, 8], 0.0)],
        ),
        ("top set +12.5 x 5 (1 left), back-offs +6.25 3x5", [(LOADED, [5], 12.5), (LOADED, [5] * 3, 6.25)]),
    ],
)
def test_sets_are_read_as_a_coach_reads_them(text: str, expected: list[tuple[str, list[int], float]]) -> None:
    parsed = parse(text, GROUND)
    assert sets(parsed) == expected
    assert not parsed.not_understood


def test_pounds_become_kilograms_exactly() -> None:
    """1 lb = 0.453 592 37 kg exactly (yard and pound agreement, 1959)."""
    (first, *_) = facts(parse("3x5 @ +22.5 lb", GROUND), LoggedSet)
    assert first.added_kg == pytest.approx(22.5 * KG_PER_LB, abs=5e-5)


def test_a_load_without_a_unit_is_in_the_athletes_unit() -> None:
    in_pounds = Ground(TODAY, GROUND.ladder, "lb", GROUND.body_mass_kg)
    assert facts(parse("5x5 +10", GROUND), LoggedSet)[0].added_kg == 10
    assert facts(parse("5x5 +10", in_pounds), LoggedSet)[0].added_kg == pytest.approx(
        10 * KG_PER_LB, abs=5e-5
    )


def test_a_remark_is_kept_in_the_athletes_words_and_said_back() -> None:
    parsed = parse("3x5 @ +22.5 lb, last one ugly", GROUND)
    assert facts(parsed, LoggedSet)[-1].note == "last one ugly"
    assert "last one ugly" in parsed.understood[0].say


def test_reps_left_belong_to_the_last_set_unless_each_is_given() -> None:
    assert [s.reps_left for s in facts(parse("5 5 5 RIR 2", GROUND), LoggedSet)] == [None, None, 2]
    assert [s.reps_left for s in facts(parse("5 5 5 rir 3 2 1", GROUND), LoggedSet)] == [3, 2, 1]
    assert [s.reps_left for s in facts(parse("5 5 5, 1 left in the tank", GROUND), LoggedSet)][-1] == 1
    assert [s.reps_left for s in facts(parse("5 5 5 RPE 8.5", GROUND), LoggedSet)][-1] == 1.5
    assert [s.reps_left for s in facts(parse("5 5 5 RIR 3,2,1", GROUND), LoggedSet)] == [3, 2, 1]
    assert [s.reps_left for s in facts(parse("max pull-ups 9", GROUND), LoggedSet)] == [0]


def test_a_day_named_in_the_greeting_holds_for_what_follows() -> None:
    parsed = parse("Sunday's session!\nPull-ups: 5,5,5", GROUND)
    assert {one.on for one in facts(parsed, LoggedSet)} == {date(2026, 4, 26)}


def test_a_greeting_does_not_hold_back_the_log() -> None:
    parsed = parse("Hey coach!\nPull-ups: 5,5,5\n+10 x 3", GROUND)
    assert len(facts(parsed, LoggedSet)) == 4


def test_a_whole_message_of_a_day() -> None:
    parsed = parse(
        "Mon 5 Jan: session A\n"
        "pull-ups\n"
        "BW 5 5 5 4 4 RIR 1, 0.52 m/s\n"
        "straight-bar support 4 x 20 s\n"
        "muscle-up negatives 3 x 2, 5 s\n"
        "BM 78,2 kg, sleep 7 h, effort 7/10, 55 min\n"
        "inner elbow right 2/10, next morning 1/10\n",
        GROUND,
    )
    assert not parsed.not_understood
    day = date(2026, 1, 5)
    assert facts(parsed, BodyNote) == [BodyNote(day, 78.2, 7.0)]
    assert facts(parsed, PainReport) == [PainReport(day, "inner elbow", 2.0, 1.0, side="right")]
    assert facts(parsed, SessionLog) == [SessionLog(day, "A", True, 7.0, 55.0)]
    done = facts(parsed, LoggedSet)
    assert {one.body_mass_kg for one in done} == {78.2}
    assert [one.order for one in done] == list(range(len(done)))
    assert done[0].first_rep_speed_mps == 0.52
    assert {one.seconds for one in done if one.exercise == "muscle_up_negative"} == {5.0}
    assert {one.seconds for one in done if one.exercise == "straight_bar_support"} == {20.0}


@pytest.mark.parametrize(
    ("text", "lost", "why"),
    [
        ("3x3-5", "3x3-5", "a range is a plan"),
        ("5 x 5 @8", "@8", "load or an effort"),
        ("5x5 green band", "green band", "band"),
        ("chin-ups 5 5 5", "5 5 5", "may change what it means"),
        ("wide pull-ups 5 5", "pull-ups 5 5", "may change what it means"),
        ("Chin-ups:\n5 5 5", "5 5 5", "not understood"),
        ("5", "5", "says nothing"),
        ("5x5 +10kg, 2x4", "2x4", "no load"),
        ("99x99", "99x99", "cannot be meant"),
        ("5x5 +900 kg", "+900 kg", "cannot be meant"),
        ("weighted pull-ups 5 5", "5 5", "no load"),
        ("RIR: 2,2,1,1,0", "RIR: 2,2,1,1,0", "without a set"),
        ("pullups 4 sets: 5 5 5", "5 5 5", "says 4 sets"),
        ("ring dips 3x5", "dips 3x5", "may change what it means"),
        ("5x5 assisted", "5x5", "may change what it means"),
        ("5x5 +10kg. Tuesday I did 3x3", "Tuesday", "middle of a line"),
        ("3/5\n5x5", "5x5", "could be 3 May or 5 March"),
        ("sleep 30 h", "sleep 30 h", "sleeps"),
        ("bm 700 kg", "bm 700 kg", "cannot be meant"),
        ("elbow 14/10", "14/10", "0 to 10"),
        ("pull-ups 5 5 5.5", "5.5", ""),
    ],
)
def test_what_can_be_read_two_ways_is_named_and_not_stored(text: str, lost: str, why: str) -> None:
    parsed = parse(text, GROUND)
    assert any(lost in one.piece and why in one.why for one in parsed.not_understood), parsed


def test_good_lines_are_kept_when_others_are_not_understood() -> None:
    parsed = parse("5 x 5 +10 kg\nblorp 3 3 3\nBW 5 5 4", GROUND)
    assert sets(parsed) == [(LOADED, [5] * 5, 10.0), (STRICT, [5, 5, 4], 0.0)]
    assert {one.line for one in parsed.not_understood} == {2}


class TestPain:
    """Pain is never dropped: it is stored with its number, or named as a question."""

    def test_a_place_and_a_number(self) -> None:
        (report,) = facts(parse("elbow pain 3", GROUND), PainReport)
        assert (report.site, report.worst) == ("elbow", 3.0)

    def test_number_first_and_side(self) -> None:
        (report,) = facts(parse("4/10 inner elbow left", GROUND), PainReport)
        assert (report.site, report.side, report.worst) == ("inner elbow", "left", 4.0)

    @pytest.mark.parametrize(
        ("text", "worst"),
        [("elbow 2-3/10", 3.0), ("elbow 2-3", 3.0), ("elbow: none", 0.0), ("elbow fine", 0.0)],
    )
    def test_of_two_numbers_the_worse_one_counts(self, text: str, worst: float) -> None:
        assert [one.worst for one in facts(parse(text, GROUND), PainReport)] == [worst]

    def test_the_next_morning_may_be_named_after_its_number(self) -> None:
        (report,) = facts(parse("right elbow 3/10, 4/10 next morning", GROUND), PainReport)
        assert (report.worst, report.next_morning, report.side) == (3.0, 4.0, "right")

    def test_waking_at_night_is_kept(self) -> None:
        (report,) = facts(parse("shoulder 2/10, woke me at night", GROUND), PainReport)
        assert report.at_night

    @pytest.mark.parametrize("text", ["elbow hurts", "sore shoulder", "5x5 +10 kg but elbow felt weird"])
    def test_pain_without_a_number_becomes_a_question(self, text: str) -> None:
        parsed = parse(text, GROUND)
        assert any("0 to 10" in one.why for one in parsed.not_understood)
        assert not facts(parsed, PainReport)

    @pytest.mark.parametrize(
        ("text", "flag"),
        [
            ("heard a pop in the elbow", "pop"),
            ("numb fingers since Tuesday", "numb_hand"),
            ("chest pressure on the last set", "chest_pain"),
            ("fell off the bar", "fall"),
        ],
    )
    def test_a_stop_now_sign_is_stored_without_any_number(self, text: str, flag: str) -> None:
        parsed = parse(text, GROUND)
        assert flag in {one for report in facts(parsed, PainReport) for one in report.flags}
        assert any("STOP-NOW" in one.say for one in parsed.understood)

    def test_a_sign_that_is_denied_is_no_sign(self) -> None:
        assert not any(report.flags for report in facts(parse("elbow 1/10, no pop", GROUND), PainReport))


def test_tries_are_counted_but_their_order_is_not_made_up() -> None:
    parsed = parse("muscle-up 2 of 5", GROUND)
    tries = facts(parsed, AttemptLog)
    assert [one.outcome for one in tries].count("valid") == 2
    assert len(tries) == 5
    assert "order not said" in parsed.understood[0].say


def test_a_missed_session_keeps_its_reason() -> None:
    assert facts(parse("missed B, travel", GROUND), SessionLog) == [
        SessionLog(TODAY, "B", False, reason="travel")
    ]


LOGGED = st.tuples(
    st.lists(st.integers(1, 20), min_size=2, max_size=10),
    st.integers(0, 160).map(lambda quarter: quarter / 4),
    st.sampled_from(["kg", "lb"]),
    st.sampled_from([" ", ", ", "/", "-", ","]),
)


@given(LOGGED)
def test_every_log_written_down_is_read_back_the_same(logged: tuple[list[int], float, str, str]) -> None:
    reps, load, unit, between = logged
    assume(between != "/" or len(reps) > 2)  # 1/10 alone is a score or a count of tries
    written = between.join(map(str, reps))
    parsed = parse(f"pull-ups {written} +{load:g} {unit}", GROUND)
    done = facts(parsed, LoggedSet)
    assert {one.exercise for one in done} == {LOADED if load else STRICT}
    assert [one.reps for one in done] == reps
    expected = load * (KG_PER_LB if unit == "lb" else 1.0)
    assert [one.added_kg for one in done] == pytest.approx([expected] * len(reps), abs=1e-4)


ODDS = (
    "5 x 5|BW|+10 kg|@ +22.5 lb|5,5,5|pull-ups|dips|elbow|4/10|pain|next morning|sleep 7|BM 78|RIR 2|RPE"
    "|Mon|5 Jan|3/5|2026-13-40|muscle-up|2 of 5|session A|missed B|band|green|0.5 m/s|20 s|x|@|+|-|/|,|;|:"
    "|\u0130|½|\ud7ff|\t|\x00|(|)|999999999999|5.5|5..5|no pain|pop|left|--|'|\"|RIR 1-2|3x3x3|𝟝"
)
PIECES = st.sampled_from(ODDS.split("|"))


@settings(max_examples=400, deadline=None)
@given(st.lists(st.one_of(PIECES, st.text(max_size=6)), max_size=14).map(" ".join) | st.text(max_size=80))
def test_no_text_breaks_the_reading_and_nothing_impossible_is_stored(text: str) -> None:
    parsed = parse(text, GROUND)
    for one in facts(parsed, LoggedSet):
        assert 0 <= one.reps <= 60
        assert -80 <= one.added_kg <= 150
        assert one.on <= TODAY
        assert one.exercise in GROUND.ladder.exercises
    for one in facts(parsed, PainReport):
        assert 0 <= one.worst <= 10
        assert one.next_morning is None or 0 <= one.next_morning <= 10
    for one in facts(parsed, BodyNote):
        assert one.body_mass_kg is None or 30 <= one.body_mass_kg <= 250
        assert one.sleep_h is None or 0 <= one.sleep_h <= 16


@settings(max_examples=150, deadline=None)
@given(st.lists(PIECES, max_size=10).map(" ".join))
def test_every_word_with_a_letter_ends_in_one_of_the_two_lists(text: str) -> None:
    """Nothing is dropped in silence but signs and the small words between."""
    parsed = parse(text, GROUND)
    told = " ".join(one.piece for one in (*parsed.understood, *parsed.not_understood))
    for word in ("dips", "elbow", "sleep", "BM", "green", "pop", "muscle-up"):
        if word in text.split() or f"{word} 7" in text or f"{word} 78" in text:
            assert word in told, (word, parsed)
