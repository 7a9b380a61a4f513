"""Reading a ladder: what comes with the program is whole, and every slip is named with file and line."""

import pickle
import re
from dataclasses import FrozenInstanceError
from importlib.resources import files
from pathlib import Path

import pytest
from pydantic import ValidationError

from overbar.errors import BadInput, NotFound
from overbar.ladder import ladder_from_files, load_ladder, shipped
from overbar.ladder.form import BASES, Judged


@pytest.fixture(scope="module")
def ladder():
    return load_ladder()


def entries(ladder):
    for table in (
        "rungs",
        "gates",
        "rules",
        "methods",
        "exercises",
        "faults",
        "tests",
        "cautions",
        "flags",
        "sites",
    ):
        yield from getattr(ladder, table).values()
    for method in ladder.methods.values():
        yield from method.rule
    yield from (*ladder.margins, *ladder.splits, *ladder.layouts.values(), ladder.pain)


@pytest.mark.parametrize("name", shipped())
def test_everything_that_decides_says_on_what_ground_and_why(name):
    for entry in entries(load_ladder(name)):
        assert isinstance(entry, Judged)
        assert entry.basis.startswith(BASES)
        assert len(entry.why) > 3


def test_the_way_to_the_muscle_up_has_eight_rungs_joined_by_seven_gates(ladder):
    # handbook trade.md 2.2 and 2.3
    assert list(ladder.rungs) == [f"S{n}" for n in range(8)]
    assert [(g.from_rung, g.to_rung) for g in ladder.gates.values()] == [
        (f"S{n}", f"S{n + 1}") for n in range(7)
    ]
    assert all(ladder.rungs[g.from_rung].gate == g.id for g in ladder.gates.values())


def test_all_exercises_and_faults_of_the_trade_are_there(ladder):
    # handbook trade.md sections 3.2 and 4
    assert {f"D{n:02d}" for n in range(1, 44)} <= {e.code for e in ladder.exercises.values()}
    assert set(ladder.faults) == {f"F{n:02d}" for n in range(1, 27)}


@pytest.mark.parametrize(
    ("spoken", "meant"),
    [
        ("pull-ups", "strict_pull_up"),
        ("Strict Pullups", "strict_pull_up"),
        ("PULL UP", "strict_pull_up"),
        ("d03", "strict_pull_up"),
        ("weighted pull ups", "weighted_pull_up"),
        ("WPU", "weighted_pull_up"),
        ("Chest-to-bar", "chest_to_bar_pull_up"),
        ("band pullups", "band_assisted_pull_up"),
        ("dips", "parallel_bar_dip"),
        ("straight bar dips", "straight_bar_dip"),
        ("negatives", "pull_up_negative"),
        ("MU negative", "muscle_up_negative"),
        ("muscle-ups", "muscle_up"),
        ("hollow-arch swings", "hollow_arch_swing"),
        ("high pulls", "strict_high_pull"),
        ("inverted rows", "low_bar_row"),
    ],
)
def test_what_people_write_in_a_log_is_understood(ladder, spoken, meant):
    assert ladder.exercise_named(spoken).id == meant


def test_what_nobody_calls_anything_is_not_guessed(ladder):
    assert ladder.exercise_named("squat") is None
    assert ladder.exercise_named("") is None


def test_every_name_and_alias_of_every_skill_finds_its_own_exercise():
    for name in shipped():
        ladder = load_ladder(name)
        for exercise in ladder.exercises.values():
            for spoken in (exercise.id, exercise.code, exercise.name, *exercise.aliases):
                assert ladder.exercise_named(spoken).id == exercise.id, spoken


def test_which_sets_show_pulling_strength_is_data(ladder):
    tests = {e.id for e in ladder.exercises.values() if e.strength_test}
    assert tests == {"strict_pull_up", "weighted_pull_up", "band_assisted_pull_up"}


def test_the_bar_turns_over_at_eighteen_hundredths_of_the_hang_length(ladder):
    # handbook trade.md 2.3, gate G4: common practice refined by own judgement
    height = ladder.gates["G4"].item[0].any_of[0]
    assert (height.test, height.value, height.days, height.running) == ("swing_high_L", 0.18, 2, True)


def test_both_methods_of_the_pulling_strand_are_data(ladder):
    assert ladder.skill.default_method == "weekly_budget"
    assert set(ladder.methods) == {"weekly_budget", "top_set_back_off"}


def test_a_ladder_cannot_be_changed_once_read(ladder):
    with pytest.raises(FrozenInstanceError):
        ladder.version = "other"
    with pytest.raises(ValidationError):
        ladder.rungs["S1"].name = "other"
    with pytest.raises(TypeError):
        ladder.rungs["S9"] = ladder.rungs["S1"]


def test_the_texts_kept_with_a_plan_give_the_same_ladder_back(ladder):
    again = ladder_from_files(ladder.files)
    assert again.version == ladder.version
    assert again.rungs == ladder.rungs
    assert pickle.loads(pickle.dumps(ladder)).version == ladder.version


# --- a coach's own ladder -------------------------------------------------


def own(tmp_path: Path, text: str, name: str = "mine.toml") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_coach_changes_one_rule_and_keeps_the_rest(tmp_path, ladder):
    path = own(
        tmp_path,
        """
takes = ["bar_muscle_up"]

[[rule]]
id = "MISS-1"
name = "Session missed"
phase = "return"
when = "sessions_missed_7d >= 2"
say = "Two missed: call."
basis = "own judgement"
why = "One is life."
""",
    )
    mine = load_ladder(path=path)
    assert mine.rules["MISS-1"].say == "Two missed: call."
    assert len(mine.rules) == len(ladder.rules)
    assert mine.version != ladder.version
    assert mine.version.startswith("1-")


def test_a_coach_leaves_a_rule_out(tmp_path, ladder):
    mine = load_ladder(path=own(tmp_path, 'takes = ["bar_muscle_up"]\nleaves_out = ["rule:W-2"]\n'))
    assert set(ladder.rules) - set(mine.rules) == {"W-2"}


RULE = """takes = ["bar_muscle_up"]

[[rule]]
id = "A-1"
name = "A"
phase = "plan"
when = "days_off > 3"
say = "a"
basis = "own judgement"
why = "because"

[[rule]]
id = "A-2"
name = "B"
phase = "plan"
when = "WHEN"
say = "SAY"
basis = "BASIS"
why = "because"
"""


def slip(tmp_path, **changes):
    text = RULE
    for old, new in ({"WHEN": "days_off > 3", "SAY": "b", "BASIS": "own judgement"} | changes).items():
        text = text.replace(old, new)
    with pytest.raises(BadInput) as caught:
        load_ladder(path=own(tmp_path, text))
    return caught.value


def test_an_unknown_field_is_named_with_file_and_line(tmp_path):
    error = slip(
        tmp_path, **{'say = "b"': 'say = "b"\ncolour = "red"', 'say = "SAY"': 'say = "SAY"\ncolour = "red"'}
    )
    assert error.where == "mine.toml:18"
    assert "A-2" in error.what
    assert "colour: unknown field" in error.what


def test_an_unknown_fact_is_named_with_file_and_line(tmp_path):
    error = slip(tmp_path, WHEN="days_of > 3")
    assert error.where == "mine.toml:16"
    assert "'days_of' is not there" in error.what


def test_an_unknown_fact_in_a_sentence_is_found_too(tmp_path):
    error = slip(tmp_path, SAY="so {many_days:.0f} days")
    assert error.where == "mine.toml:17"
    assert "many_days" in error.what


def test_a_condition_that_cannot_be_read_is_named(tmp_path):
    error = slip(tmp_path, WHEN="days_off >")
    assert error.where == "mine.toml:16"
    assert "cannot read" in error.what


@pytest.mark.parametrize("asked", ["rise_at_most(8) < 1", "kit_above() > 1"])
def test_a_question_with_too_few_values_is_named(tmp_path, asked):
    error = slip(tmp_path, WHEN=asked)
    assert error.where.startswith("mine.toml:")
    assert asked.partition("(")[0] in error.what


def test_a_number_without_a_ground_is_refused(tmp_path):
    error = slip(tmp_path, BASIS="everyone knows")
    assert error.where == "mine.toml:18"
    assert "everyone knows" in error.what


def test_a_gate_that_leads_nowhere_is_refused(tmp_path):
    text = """takes = ["bar_muscle_up"]
[[gate]]
id = "G5"
name = "x"
from_rung = "S4"
to_rung = "S55"
basis = "own judgement"
why = "because"
item = [{ test = "valid_films", value = 1 }]
"""
    with pytest.raises(BadInput, match=r"mine\.toml:6: gate G5: rung 'S55' is not there"):
        load_ladder(path=own(tmp_path, text))


def test_a_drill_that_is_no_exercise_is_refused(tmp_path):
    text = """takes = ["bar_muscle_up"]
[[fault]]
id = "F30"
name = "x"
look = "x"
priority = 3
view = "side"
measure = "x"
cause = "x"
cue = "x"
drills = ["front_squat"]
next_week = "x"
basis = "own judgement"
why = "because"
"""
    with pytest.raises(BadInput, match=r"mine\.toml:11: fault F30: exercise 'front_squat' is not there"):
        load_ladder(path=own(tmp_path, text))


def test_an_entry_of_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(BadInput, match=r"mine\.toml:2: unknown entry 'ruel'"):
        load_ladder(path=own(tmp_path, 'takes = ["bar_muscle_up"]\n[[ruel]]\nid = "X"\n'))


def test_the_same_id_twice_in_one_file_is_refused(tmp_path):
    with pytest.raises(BadInput, match=r"mine\.toml:12: rule 'A-1' is written twice"):
        load_ladder(
            path=own(tmp_path, RULE.replace("A-2", "A-1").replace("WHEN", "1").replace("BASIS", BASES[2]))
        )


def test_broken_toml_is_named_with_its_line(tmp_path):
    with pytest.raises(BadInput, match=r"mine\.toml:2: not TOML"):
        load_ladder(path=own(tmp_path, 'takes = ["bar_muscle_up"]\nid = = 3\n'))


def test_two_exercises_cannot_share_a_name(tmp_path):
    exercise = """takes = ["bar_muscle_up"]
[[exercise]]
id = "other"
code = "X1"
name = "Strict pull-up"
strand = "pull"
pattern = "pull"
purpose = "x"
set_up = "x"
do = "x"
load_kind = "reps"
dose = "x"
basis = "own judgement"
why = "because"
"""
    with pytest.raises(BadInput, match="already means strict_pull_up"):
        load_ladder(path=own(tmp_path, exercise))


def test_a_ladder_that_is_not_there_is_said_with_those_that_are():
    with pytest.raises(NotFound, match="bar_muscle_up"):
        load_ladder("planche")
    with pytest.raises(NotFound):
        load_ladder(path="/nowhere/at/all.toml")


def test_the_data_files_name_no_machine_and_no_address():
    root = Path(load_ladder.__code__.co_filename).parent / "data"
    for path in root.rglob("*.toml"):
        assert not re.search(r"https?://|/home/|/root/", path.read_text(encoding="utf-8")), path.name


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00", b"a = " + b"[" * 20_000, b"a = " + b"9" * 10_000])
def test_a_file_that_cannot_be_read_at_all_is_named(tmp_path, raw):
    (tmp_path / "odd.toml").write_bytes(raw)
    with pytest.raises(BadInput, match=r"odd\.toml"):
        load_ladder(path=tmp_path / "odd.toml")


def test_one_file_of_a_ladders_folder_is_told_to_be_no_ladder(tmp_path):
    for part in (files("overbar.ladder") / "data" / "bar_muscle_up").iterdir():
        if part.name.endswith(".toml"):
            (tmp_path / part.name).write_text(part.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(BadInput, match=r"skill\.toml: no \[\[rung\]\] in it.*whole folder"):
        load_ladder(path=tmp_path / "skill.toml")
