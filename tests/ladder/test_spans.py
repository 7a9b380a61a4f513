"""A value is changed where it stands; comments, order and everything else stay as written."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import overbar.ladder
from overbar.ladder.spans import find_spans, with_block, with_values, written

DATA = sorted((Path(overbar.ladder.__file__).parent / "data").rglob("*.toml"))

TRICKY = '''
# a comment with [brackets] and = signs
takes = ["a", # not "b"
  'c',
]
a.b = 1
"quoted key" = { x = 1, y = { z = "}" } } # end

[skill]   # head
note = """two
lines with "quotes\\" and # no comment"""
raw = \'\'\'it's 'raw' \\n\'\'\'
date = 2026-01-05
n = -0.5e3 # negative

[[rule]]
id = "A" # first
do = [{ act = "set", to = 1 }, { act = "drop", patterns = ["pull"] }]
[rule.number]
x = 3
[[rule.part]]
name = "p"

# about B
[[rule]]
id = "B"
empty = []
'''


def at(data, path):
    for step in path:
        data = data[step]
    return data


def leaves(data, path=()):
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, (*path, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from leaves(value, (*path, number))
    else:
        yield path, data


@pytest.mark.parametrize("text", [TRICKY, *(path.read_text(encoding="utf-8") for path in DATA)])
def test_every_value_of_a_text_is_found_where_it_stands(text):
    # TOML 1.0; the standard library's reader is the judge
    data, spans = tomllib.loads(text), find_spans(text)
    for path, value in leaves(data):
        start, end = spans.values[path]
        assert tomllib.loads(f"x = {text[start:end]}")["x"] == value, path
    assert {path for path, _ in leaves(data)} <= set(spans.values)


@pytest.mark.parametrize("path", DATA, ids=lambda path: path.name)
def test_an_entrys_lines_say_the_whole_entry_and_nothing_else(path):
    text = path.read_text(encoding="utf-8")
    data, spans = tomllib.loads(text), find_spans(text)
    for place in spans.blocks:
        alone = tomllib.loads(spans.block(place))
        expected = at(data, place)
        assert at(alone, (place[0], 0) if len(place) == 2 else place) == expected
    tables = {(key, n) for key, value in data.items() if isinstance(value, list) for n in range(len(value))}
    tables = {place for place in tables if isinstance(at(data, place), dict)}
    assert {place for place in spans.blocks if len(place) == 2} == tables


def test_a_changed_value_leaves_comments_and_the_rest_alone():
    new = with_values(TRICKY, {("rule", 0, "do", 0, "to"): 2, ("skill", "n"): 7, ("rule", 1, "id"): 'C "x"'})
    assert new == TRICKY.replace("to = 1", "to = 2").replace("-0.5e3", "7").replace(
        'id = "B"', 'id = "C \\"x\\""'
    )


def test_an_entry_is_replaced_or_taken_out_with_its_tables_and_not_its_neighbour():
    new = with_block(TRICKY, ("rule", 0), "")
    assert [rule["id"] for rule in tomllib.loads(new)["rule"]] == ["B"]
    assert "# about B" in new
    new = with_block(TRICKY, ("rule", 0), '[[rule]]\r\nid = "Z"\r\n')
    assert [rule["id"] for rule in tomllib.loads(new)["rule"]] == ["Z", "B"]


def test_a_line_is_found_in_its_entry():
    spans = find_spans(TRICKY)
    line = TRICKY.splitlines().index('name = "p"') + 1
    assert spans.entry_at(line) == ("rule", 0)
    assert spans.entry_at(2) is None


values = st.one_of(
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(blacklist_categories=("Cs",)), max_size=30),
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from([p for p, _ in leaves(tomllib.loads(TRICKY))]), values, max_size=4))
def test_whatever_is_written_is_read_again_and_nothing_else_changes(new):
    data = dict(leaves(tomllib.loads(with_values(TRICKY, new))))
    assert data == dict(leaves(tomllib.loads(TRICKY))) | new


@given(values)
def test_a_value_is_written_as_toml(value):
    assert tomllib.loads(f"x = {written(value)}")["x"] == value
