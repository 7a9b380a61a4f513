"""Conditions and amounts in ladder data: plain arithmetic and comparisons over named facts.

A missing fact is never zero: arithmetic with a missing value is missing, a comparison
with it is unknown (None), and ``and``/``or``/``not`` follow three-valued logic (Kleene
1952), so a rule fires only on what is known.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

Value = float | str | bool | None
Look = Callable[[str], Value]
Asked = Mapping[str, Callable[..., Value]]
_Part = Callable[[Look, Asked], Value]


class NotAnExpression(ValueError):
    """The text is not an expression of the ladder."""


def _pick(condition: Value, yes: Value, no: Value) -> Value:
    return None if condition is None else (yes if condition else no)


def _first_known(*values: Value) -> Value:
    return next((value for value in values if value is not None), None)


def _known(value: Value) -> Value:
    return value is not None


_NUMBER_WORK: dict[str, Callable[..., float]] = {
    "min": min,
    "max": max,
    "round": lambda value: float(math.floor(value + 0.5)),
    "floor": lambda value: float(math.floor(value + 1e-9)),
    "ceil": lambda value: float(math.ceil(value - 1e-9)),
    "abs": abs,
}


def _count(*values: Value) -> Value:
    return float(sum(1 for value in values if value))


_VALUE_WORK: dict[str, Callable[..., Value]] = {
    "pick": _pick,
    "first_known": _first_known,
    "known": _known,
    "count": _count,
}
WORK = frozenset(_NUMBER_WORK) | frozenset(_VALUE_WORK)
"""Names an expression may call with values."""

_COMPARE: dict[type[ast.cmpop], Callable[[float, float], bool]] = {
    ast.Lt: lambda a, b: a < b - 1e-9,
    ast.LtE: lambda a, b: a <= b + 1e-9,
    ast.Gt: lambda a, b: a > b + 1e-9,
    ast.GtE: lambda a, b: a >= b - 1e-9,
    ast.Eq: lambda a, b: abs(a - b) <= 1e-9,
    ast.NotEq: lambda a, b: abs(a - b) > 1e-9,
}
"""Comparisons with a hair of slack, so that 2 % of 50 kg is 1 kg whatever the last bit says."""

_ARITHMETIC: dict[type[ast.operator], Callable[[float, float], float | None]] = {
    ast.Add: lambda a, b: a + b,
    ast.Sub: lambda a, b: a - b,
    ast.Mult: lambda a, b: a * b,
    ast.Div: lambda a, b: a / b if b else None,
}


@dataclass(frozen=True)
class Expression:
    """A checked expression.

    Attributes
    ----------
    text : str
        As written in the data.
    names : tuple of str
        Facts it reads, in the order of their first mention.
    asked : tuple of (str, str)
        Questions it puts to the engine, each with the text it names, or "".
    """

    text: str
    names: tuple[str, ...]
    asked: tuple[tuple[str, str], ...]
    part: _Part = field(compare=False, repr=False)

    def __reduce__(self) -> tuple[Callable[[str], Expression], tuple[str]]:
        """Travel to another process as text."""
        return parse, (self.text,)

    def value(self, look: Look, asked: Asked | None = None) -> Value:
        """Compute it; ``look`` gives a fact's value or None when it is missing."""
        return self.part(look, asked or {})


def parse(text: str) -> Expression:
    """Read an expression.

    Parameters
    ----------
    text : str
        Numbers, fact names (with dots), ``+ - * /``, comparisons, ``and or not``,
        and the functions of :data:`WORK`.

    Raises
    ------
    NotAnExpression
        With the part that cannot be read.

    Examples
    --------
    >>> facts = {"reps": 5.0, "left": None}
    >>> parse("reps >= 5 and left >= 1").value(facts.get) is None
    True
    >>> parse("reps < 3 and left >= 1").value(facts.get)
    False
    >>> parse("max(3, reps - 1) * 2").value(facts.get)
    8.0
    """
    try:
        tree = ast.parse(" ".join(text.split()), mode="eval").body
    except SyntaxError as error:
        raise NotAnExpression(f"cannot read {text!r}") from error
    names = dict.fromkeys(_names(tree))
    asked = dict.fromkeys(_questions(tree))
    return Expression(text, tuple(names), tuple(asked), _part(tree, text))


def dotted(node: ast.AST) -> str | None:
    """Return a dotted name as text, or None for anything else."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        head = dotted(node.value)
        return None if head is None else f"{head}.{node.attr}"
    return None


def _names(node: ast.AST) -> Iterator[str]:
    name = dotted(node)
    if name is not None:
        yield name
        return
    children = node.args if isinstance(node, ast.Call) else list(ast.iter_child_nodes(node))
    for child in children:
        yield from _names(child)


def questions_put(text: str) -> Iterator[tuple[str, int]]:
    """Yield each question an expression puts to the engine, with how many values it gives."""
    for node in ast.walk(ast.parse(" ".join(text.split()), mode="eval")):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id not in WORK:
            yield node.func.id, len(node.args)


def _questions(tree: ast.AST) -> Iterator[tuple[str, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id not in WORK:
            argument = node.args[0] if node.args else None
            text = argument.value if isinstance(argument, ast.Constant) else ""
            yield node.func.id, text if isinstance(text, str) else ""


def _part(node: ast.AST, text: str) -> _Part:
    name = dotted(node)
    if name is not None:
        return lambda look, asked: look(name)
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float | str):
        value: Value = float(node.value) if type(node.value) in (int, float) else node.value
        return lambda look, asked: value
    if isinstance(node, ast.UnaryOp):
        return _unary(node, text)
    if isinstance(node, ast.BinOp) and type(node.op) in _ARITHMETIC:
        return _arithmetic(node, text)
    if isinstance(node, ast.BoolOp):
        return _logic(node, text)
    if isinstance(node, ast.Compare):
        return _comparison(node, text)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
        return _call(node, node.func.id, text)
    raise NotAnExpression(f"cannot read {ast.unparse(node)!r} in {text!r}")


def _unary(node: ast.UnaryOp, text: str) -> _Part:
    inner = _part(node.operand, text)
    if isinstance(node.op, ast.Not):
        return lambda look, asked: None if (value := inner(look, asked)) is None else not value
    if isinstance(node.op, ast.USub):
        return lambda look, asked: None if (value := inner(look, asked)) is None else -_number(value)
    raise NotAnExpression(f"cannot read {ast.unparse(node)!r} in {text!r}")


def _arithmetic(node: ast.BinOp, text: str) -> _Part:
    left, right, work = _part(node.left, text), _part(node.right, text), _ARITHMETIC[type(node.op)]

    def compute(look: Look, asked: Asked) -> Value:
        a, b = left(look, asked), right(look, asked)
        return None if a is None or b is None else work(_number(a), _number(b))

    return compute


def _logic(node: ast.BoolOp, text: str) -> _Part:
    parts = tuple(_part(value, text) for value in node.values)
    decides = isinstance(node.op, ast.Or)

    def compute(look: Look, asked: Asked) -> Value:
        unknown = False
        for part in parts:
            value = part(look, asked)
            if value is None:
                unknown = True
            elif bool(value) is decides:
                return decides
        return None if unknown else not decides

    return compute


def _comparison(node: ast.Compare, text: str) -> _Part:
    terms = tuple(_part(term, text) for term in (node.left, *node.comparators))
    if any(type(op) not in _COMPARE for op in node.ops):
        raise NotAnExpression(f"cannot read {ast.unparse(node)!r} in {text!r}")
    works = tuple((type(op), _COMPARE[type(op)]) for op in node.ops)

    def compute(look: Look, asked: Asked) -> Value:
        values = [term(look, asked) for term in terms]
        if any(value is None for value in values):
            return None
        for (kind, work), a, b in zip(works, values, values[1:], strict=False):
            if isinstance(a, str) or isinstance(b, str):
                if (a == b) is not (kind is ast.Eq):
                    return False
            elif not work(_number(a), _number(b)):
                return False
        return True

    return compute


def _call(node: ast.Call, name: str, text: str) -> _Part:
    parts = tuple(_part(argument, text) for argument in node.args)
    if name in _NUMBER_WORK:
        number_work = _NUMBER_WORK[name]

        def compute(look: Look, asked: Asked) -> Value:
            values = [part(look, asked) for part in parts]
            return None if any(v is None for v in values) else number_work(*(_number(v) for v in values))

        return compute
    if name in _VALUE_WORK:
        value_work = _VALUE_WORK[name]
        return lambda look, asked: value_work(*(part(look, asked) for part in parts))
    return lambda look, asked: asked[name](*(part(look, asked) for part in parts))


def _number(value: Value) -> float:
    if isinstance(value, str) or value is None:
        raise NotAnExpression(f"{value!r} is not a number")
    return float(value)
