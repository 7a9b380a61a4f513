"""Where every value of a TOML text stands, so that one can be changed and all the rest stays as written.

The standard library reads TOML but does not say where things are, and writing it anew
would lose the coach's comments and order. This finds the span of each value in a text
that :mod:`tomllib` has accepted (TOML 1.0); it checks nothing itself.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

Path = tuple[str | int, ...]
Span = tuple[int, int]
BARE = set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
SPACE, LINES = " \t", " \t\r\n"


@dataclass(frozen=True)
class Spans:
    """The places in one text.

    Attributes
    ----------
    text : str
    values : mapping of path to (start, end)
        Every value, those inside arrays and inline tables too.
    blocks : mapping of path to (start, end)
        Every entry at the top: ``("rule", 3)`` from its ``[[rule]]`` line to its last line,
        with the tables that belong to it.
    heads : mapping of path to int
        Where the line after a table's header begins.
    pairs : mapping of path to int
        Where the key of a value begins.
    """

    text: str
    values: Mapping[Path, Span]
    blocks: Mapping[Path, Span]
    heads: Mapping[Path, int]
    pairs: Mapping[Path, int]

    def block(self, path: Path) -> str:
        """Return the text of an entry."""
        start, end = self.blocks[path]
        return self.text[start:end]

    def entry_at(self, line: int) -> Path | None:
        """Return the entry a line (from 1) belongs to, or None."""
        at = sum(len(one) for one in self.text.splitlines(keepends=True)[: line - 1])
        return next((path for path, (start, end) in self.blocks.items() if start <= at < end), None)


@lru_cache(maxsize=32)
def find_spans(text: str) -> Spans:
    """Find every value's place.

    Raises
    ------
    tomllib.TOMLDecodeError
        The text is not TOML.

    Examples
    --------
    >>> spans = find_spans("[skill]\\nversion = '1' # mine\\n[[rule]]\\nurgent = 2\\n")
    >>> spans.values[("rule", 0, "urgent")]
    (47, 48)
    >>> spans.block(("skill",))
    "[skill]\\nversion = '1' # mine\\n"
    """
    tomllib.loads(text)
    scan = _Scan(text)
    scan.run()
    return Spans(text, scan.values, scan.blocks(), scan.heads, scan.pairs)


class _Scan:
    """One pass over a text that is known to be TOML."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.table: Path = ()
        self.lists: dict[Path, int] = {}
        self.values: dict[Path, Span] = {}
        self.headers: list[tuple[int, Path]] = []
        self.ends: dict[Path, int] = {}
        self.heads: dict[Path, int] = {}
        self.pairs: dict[Path, int] = {}

    def run(self) -> None:
        while True:
            self.skip(LINES)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "#":
                self.to_line_end()
            elif self.text[self.at] == "[":
                self.header()
            else:
                self.pair(self.table)
                self.line_ends()

    def blocks(self) -> dict[Path, Span]:
        found: dict[Path, Span] = {}
        for start, path in self.headers:
            end = self.ends.get(path, start)
            held = found.get(path)
            found[path] = (held[0], max(held[1], end)) if held else (start, end)
        return found

    # --- the lines of a text ---

    def header(self) -> None:
        start = self.at
        several = self.text.startswith("[[", self.at)
        self.at += 2 if several else 1
        keys = self.keys()
        path: Path = ()
        for key in keys[:-1]:
            path = self.into(path, key)
        last: Path = (*path, keys[-1])
        if several:
            count = self.lists.get(last, 0)
            self.lists[last] = count + 1
            self.table = (*last, count)
        else:
            self.table = self.into(path, keys[-1])
        self.at = self.text.index("]", self.at) + (2 if several else 1)
        self.headers.append((self.line_start(start), self.entry()))
        self.line_ends()
        self.heads[self.table] = self.at + 1

    def into(self, path: Path, key: str) -> Path:
        path = (*path, key)
        return (*path, self.lists[path] - 1) if path in self.lists else path

    def entry(self) -> Path:
        """The entry at the top that the current table belongs to."""
        return self.table[:2] if len(self.table) > 1 and isinstance(self.table[1], int) else self.table[:1]

    def line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def line_ends(self) -> None:
        self.to_line_end()
        if self.table:
            self.ends[self.entry()] = min(self.at + 1, len(self.text))

    def to_line_end(self) -> None:
        end = self.text.find("\n", self.at)
        self.at = len(self.text) if end < 0 else end

    def skip(self, these: str) -> None:
        while self.at < len(self.text) and self.text[self.at] in these:
            self.at += 1

    def skip_with_comments(self) -> None:
        self.skip(LINES)
        while self.at < len(self.text) and self.text[self.at] == "#":
            self.to_line_end()
            self.skip(LINES)

    # --- keys and values ---

    def keys(self) -> list[str]:
        keys = []
        while True:
            self.skip(SPACE)
            if self.text[self.at] in "\"'":
                start = self.at
                self.string()
                keys.append(_string_value(self.text[start : self.at]))
            else:
                start = self.at
                while self.text[self.at] in BARE:
                    self.at += 1
                keys.append(self.text[start : self.at])
            self.skip(SPACE)
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def pair(self, table: Path) -> None:
        start = self.at
        path: Path = (*table, *self.keys())
        self.pairs[path] = start
        self.at += 1  # the equals sign
        self.skip(SPACE)
        self.value(path)

    def value(self, path: Path) -> None:
        start = self.at
        first = self.text[self.at]
        if first in "\"'":
            self.string()
        elif first == "[":
            self.array(path)
        elif first == "{":
            self.inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\r\n":
                self.at += 1
            while self.text[self.at - 1] in SPACE:
                self.at -= 1
        self.values[path] = (start, self.at)

    def string(self) -> None:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(mark)
        while not self.text.startswith(mark, self.at):
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        self.at += len(mark)
        while len(mark) == 3 and self.at < len(self.text) and self.text[self.at] == quote:
            self.at += 1  # a long string may end in quotes of its own

    def array(self, path: Path) -> None:
        self.at += 1
        count = 0
        while True:
            self.skip_with_comments()
            if self.text[self.at] == "]":
                self.at += 1
                return
            self.value((*path, count))
            count += 1
            self.skip_with_comments()
            if self.text[self.at] == ",":
                self.at += 1

    def inline_table(self, path: Path) -> None:
        self.at += 1
        while True:
            self.skip(LINES)
            if self.text[self.at] == "}":
                self.at += 1
                return
            self.pair(path)
            self.skip(LINES)
            if self.text[self.at] == ",":
                self.at += 1


def _string_value(raw: str) -> str:
    value: str = tomllib.loads(f"x = {raw}")["x"]
    return value


def with_values(text: str, new: Mapping[Path, Any]) -> str:
    """Return a text with some values changed and all the rest as it was.

    Parameters
    ----------
    text : str
    new : mapping of path to bool, int, float, str or a list of those

    Raises
    ------
    KeyError
        There is no value at a path.

    Examples
    --------
    >>> with_values("[skill] # mine\\nversion = '1' # the first\\n", {("skill", "version"): "2"})
    '[skill] # mine\\nversion = "2" # the first\\n'
    """
    spans = find_spans(text)
    for path in sorted(new, key=lambda one: spans.values[one], reverse=True):
        start, end = spans.values[path]
        text = text[:start] + written(new[path]) + text[end:]
    return text


def with_more(text: str, table: Path, new: Mapping[str, Any]) -> str:
    """Return a text with values added to a table, written with a header or in braces.

    Examples
    --------
    >>> with_more("[skill]\\nid = 1\\n", ("skill",), {"version": "2"}).splitlines()
    ['[skill]', 'version = "2"', 'id = 1']
    >>> with_more("a = { b = 1 }", ("a",), {"c": 2})
    'a = { b = 1, c = 2 }'
    """
    spans = find_spans(text)
    pairs = [f"{key} = {written(value)}" for key, value in new.items()]
    if table in spans.heads:
        at = spans.heads[table]
        lines = "".join(f"{pair}\n" for pair in pairs)
        return text[:at] + ("" if text[:at].endswith("\n") else "\n") + lines + text[at:]
    start, end = spans.values[table]
    inside = text[start + 1 : end - 1].rstrip()
    return (
        text[: start + 1]
        + inside
        + (", " if inside.strip() else " ")
        + ", ".join(pairs)
        + " "
        + text[end - 1 :]
    )


def without(text: str, path: Path) -> str:
    """Return a text without one value and its key.

    Examples
    --------
    >>> without("a = { b = 1, c = 2 }", ("a", "b")), without("a = { b = 1, c = 2 }", ("a", "c"))
    ('a = { c = 2 }', 'a = { b = 1 }')
    >>> without("[a]\\nb = 1 # one\\nc = 2\\n", ("a", "b"))
    '[a]\\nc = 2\\n'
    """
    spans = find_spans(text)
    start, end = spans.pairs[path], spans.values[path][1]
    if path[:-1] in spans.heads or len(path) == 1:
        line_end = text.find("\n", end)
        return text[: text.rfind("\n", 0, start) + 1] + (text[line_end + 1 :] if line_end >= 0 else "")
    after = text[end:].lstrip()
    if after.startswith(","):
        return text[:start] + after[1:].lstrip()
    before = text[:start].rstrip()
    return before.removesuffix(",") + " " + after


def with_block(text: str, path: Path, block: str) -> str:
    """Return a text with one entry's lines replaced; an empty block takes the entry out."""
    start, end = find_spans(text).blocks[path]
    lines = block.replace("\r\n", "\n").strip("\n")
    return text[:start] + (f"{lines}\n" if lines else "") + text[end:]


def written(value: Any) -> str:
    """Write a value as TOML.

    Examples
    --------
    >>> written(True), written(0.5), written('say "so"'), written(["A", 2])
    ('true', '0.5', '"say \\\\"so\\\\""', '["A", 2]')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Sequence):
        return f"[{', '.join(written(one) for one in value)}]"
    raise TypeError(f"{value!r} cannot be written")
