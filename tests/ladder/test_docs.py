"""docs/ladder.md speaks of everything the data may say."""

from pathlib import Path
from typing import get_args

import pytest

from overbar.ladder import load_ladder, shipped
from overbar.ladder.form import Action
from overbar.ladder.vocabulary import FACTS, QUESTIONS, TEST_FIELDS, WATCH_FIELDS

TEXT = (Path(__file__).parents[2] / "docs" / "ladder.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("word", [*FACTS, *QUESTIONS, *TEST_FIELDS, *WATCH_FIELDS])
def test_every_word_of_the_vocabulary_is_explained(word):
    assert f"`{word}" in TEXT


def test_every_action_is_explained():
    for act in get_args(Action.model_fields["act"].annotation):
        assert f"| `{act}` |" in TEXT, act


def test_every_rule_gate_fault_and_method_of_the_muscle_up_is_listed():
    ladder = load_ladder()
    rules = [*ladder.rules, *(rule.id for method in ladder.methods.values() for rule in method.rule)]
    for name in (*rules, *ladder.faults):
        assert f"| {name} |" in TEXT, name
    for gate in ladder.gates.values():
        assert f"**{gate.id} {gate.name}**" in TEXT
    for method in ladder.methods:
        assert f"`{method}`" in TEXT


def test_every_skill_is_named():
    for name in shipped():
        assert name in TEXT
