"""What differs between two ladders is said as a coach would say it."""

import pytest

from overbar.ladder import ladder_from_files, load_ladder, shipped
from overbar.ladder.difference import differences, entries
from overbar.ladder.form import Judged
from overbar.ladder.wording import KINDS_IN_ORDER

SHIPPED = load_ladder()


def edited(old, new):
    assert any(old in text for _, text in SHIPPED.files)
    return ladder_from_files((name, text.replace(old, new, 1)) for name, text in SHIPPED.files)


@pytest.mark.parametrize("name", shipped())
def test_a_ladder_does_not_differ_from_itself(name):
    assert differences(load_ladder(name), load_ladder(name)) == ()


def test_every_entry_is_looked_at():
    found = {kind for kind, _, _ in entries(SHIPPED)}
    assert found | {"remember"} == set(KINDS_IN_ORDER)
    assert len([1 for _, _, one in entries(SHIPPED) if isinstance(one, Judged)]) > 150


def test_a_gates_number_is_named_with_its_item():
    other = edited('test = "swing_high_L", value = 0.18', 'test = "swing_high_L", value = 0.15')
    (one,) = differences(SHIPPED, other)
    assert (one.kind, one.key, one.what) == ("gate", "G4", "changed")
    assert one.head == "Gate to tries (G4)"
    assert len(one.say) == 1
    assert one.say[0].endswith("needed: 0.18, now 0.15")


def test_a_rules_condition_and_a_methods_rule_are_said_word_by_word():
    other = edited("sessions_missed_7d >= 1", "sessions_missed_7d >= 2")
    (one,) = differences(SHIPPED, other)
    assert one.key == "MISS-1"
    assert any("sessions_missed_7d >= 1" in say and "sessions_missed_7d >= 2" in say for say in one.say)


def test_new_and_gone_entries_are_told():
    more = ladder_from_files(
        (*SHIPPED.files, ("mine.toml", 'leaves_out = ["rule:W-2"]\n[[flag]]\nid = "dizzy"\nsay = "Dizzy"\n'
          'see = "a doctor"\nwithin = "today"\nbasis = "own judgement"\nwhy = "test"\n'))
    )  # fmt: skip
    assert [(one.kind, one.key, one.what) for one in differences(SHIPPED, more)] == [
        ("rule", "W-2", "gone"),
        ("flag", "dizzy", "new"),
    ]
    assert [one.what for one in differences(more, SHIPPED)] == ["new", "gone"]
