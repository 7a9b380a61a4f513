"""An entry of the ladder as fields: every number can be changed, and nothing else moves."""

import tomllib

import pytest

from overbar.desk.ladder_check import Slip, check
from overbar.desk.ladder_fields import block_of, find_entry, groups_of, with_typed
from overbar.errors import NotFound
from overbar.ladder import load_ladder, shipped
from overbar.ladder.difference import differences, entries

SHIPPED = load_ladder()
FILES = SHIPPED.files


@pytest.mark.parametrize("name", shipped())
def test_every_entry_of_every_ladder_is_found_and_has_fields(name):
    ladder = load_ladder(name)
    for kind, key, _ in entries(ladder):
        place = find_entry(ladder.files, kind, key)
        groups = groups_of(ladder.files, place)
        assert sum(len(group.fields) for group in groups) >= 1, (kind, key)
        typed = {field.key: field.value for group in groups for field in (*group.fields, *group.more)}
        assert with_typed(ladder.files, place, typed) == ladder.files, (kind, key)


def typed(kind, key, **values):
    place = find_entry(FILES, kind, key)
    fields = {one.key: one for group in groups_of(FILES, place) for one in (*group.fields, *group.more)}
    for path in values:
        assert path in fields, sorted(fields)
    return with_typed(FILES, place, values)


def test_a_gates_number_changes_and_the_difference_says_so():
    new = check(typed("gate", "G4", **{"item/1/value": "4", "item/0/any_of/0/value": "0,2"}))
    assert not isinstance(new, Slip)
    (one,) = differences(SHIPPED, new)
    assert one.key == "G4"
    assert sorted(say.rsplit(": ", 1)[1] for say in one.say) == ["0.18, now 0.2", "3, now 4"]


def test_comments_and_every_other_line_stay_as_written():
    new = typed("gate", "G4", **{"item/1/value": "4"})
    before, after = (dict(files)["bar_muscle_up/rungs.toml"].splitlines() for files in (FILES, new))
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        (
            '  { say = "three lowerings through the turn of 3 s", test = "negative_s", value = 3 },',
            '  { say = "three lowerings through the turn of 3 s", test = "negative_s", value = 4 },',
        )
    ]


def test_a_faults_limit_a_list_and_a_yes_or_no_change_too():
    new = check(typed("fault", "F04", **{"films_needed": "1"}))
    assert not isinstance(new, Slip)
    assert new.faults["F04"].films_needed == 1
    fault = next(f for f in SHIPPED.faults.values() if f.conditions)
    new = check(typed("fault", fault.id, **{"conditions/0/2": "0.33"}))
    assert not isinstance(new, Slip)
    assert new.faults[fault.id].conditions[0][2] == 0.33
    new = check(typed("exercise", "strict_pull_up", kit="bar, box"))
    assert not isinstance(new, Slip)
    assert new.exercises["strict_pull_up"].kit == ("bar", "box")


@pytest.mark.parametrize(
    ("kind", "key", "path", "said", "expected"),
    [
        ("gate", "G4", "item/1/value", "three", "'three'|number"),
        ("gate", "G4", "item/1/test", "no_such_test", "'no_such_test' is not there"),
        ("rule", "MISS-1", "when", "sessions_missed_7d >=", "cannot read"),
        ("rule", "MISS-1", "when", "sessions_lost > 1", "'sessions_lost' is not there"),
        ("rule", "MISS-1", "basis", "somebody said", "not 'published"),
        ("exercise", "strict_pull_up", "sets", "0", "greater than or equal to 1"),
    ],
)
def test_a_slip_is_named_with_its_entry_and_line(kind, key, path, said, expected):
    files = typed(kind, key, **{path: said})
    slip = check(files)
    assert isinstance(slip, Slip)
    assert any(part in slip.what for part in expected.split("|")), slip.what
    assert (slip.kind, slip.key) == (kind, key)
    assert slip.do
    place = find_entry(files, kind, key)
    assert slip.file == place.file
    again = {f.key: f.value for group in groups_of(files, place) for f in group.fields}
    assert again[path] == said  # what was typed is still there


def test_text_that_is_no_toml_is_a_slip_with_its_line():
    files = [*FILES[:-1], (FILES[-1][0], FILES[-1][1] + "\nx = = 2\n")]
    slip = check(files)
    assert isinstance(slip, Slip)
    assert slip.file == len(files) - 1
    assert slip.line == len(files[-1][1].splitlines())


def test_an_entrys_own_lines_are_given():
    text = block_of(FILES, find_entry(FILES, "rule", "MISS-1"))
    assert tomllib.loads(text)["rule"][0]["id"] == "MISS-1"
    with pytest.raises(NotFound):
        find_entry(FILES, "rule", "NOPE")


def test_what_is_not_written_can_be_set_with_what_counts_else_beside_it():
    place = find_entry(FILES, "gate", "G4")
    more = {one.key: one for group in groups_of(FILES, place) for one in group.more}
    assert more["item/1/days"].hint == "else 1"
    new = check(typed("gate", "G4", **{"item/1/days": "2", "item/1/max_age_days": "21"}))
    assert not isinstance(new, Slip)
    item = new.gates["G4"].item[1]
    assert (item.days, item.max_age_days, item.value) == (2, 21, 3.0)
    new = check(typed("exercise", "strict_pull_up", rest_s="200", strength_test="yes"))
    assert not isinstance(new, Slip)


def test_an_emptied_field_is_left_out_and_what_is_needed_is_said():
    new = check(typed("gate", "G4", **{"item/7/hard": ""}))
    assert not isinstance(new, Slip)
    assert new.gates["G4"].item[7].hard is True  # what counts when nothing is written
    files = typed("rule", "MISS-1", why="")
    slip = check(files)
    assert isinstance(slip, Slip)
    assert "why: Field required" in slip.what
    place = find_entry(files, "rule", "MISS-1")
    assert any(
        one.hint == "needed" and one.key == "why" for group in groups_of(files, place) for one in group.more
    )


def test_a_number_typed_where_a_slip_stood_is_a_number_again():
    slipped = typed("gate", "G4", **{"item/1/value": "three"})
    assert isinstance(check(slipped), Slip)
    place = find_entry(slipped, "gate", "G4")
    new = check(with_typed(slipped, place, {"item/1/value": "3,5"}))
    assert not isinstance(new, Slip)
    assert new.gates["G4"].item[1].value == 3.5
