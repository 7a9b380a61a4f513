"""Frozen values to plain JSON and back, checked by their own type hints."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from overbar.errors import BadInput

T = TypeVar("T")


_adapters: dict[Any, TypeAdapter[Any]] = {}


def _adapter(kind: Any) -> TypeAdapter[Any]:
    """The checker of a type; made once, because making one takes long."""
    if kind not in _adapters:
        _adapters[kind] = TypeAdapter(kind)
    return _adapters[kind]


def to_plain(value: Any) -> Any:
    """Return a dataclass as dicts, lists, numbers and strings."""
    return _adapter(type(value)).dump_python(value, mode="json")


def from_plain(kind: type[T], plain: Any, where: str = "") -> T:
    """Build a dataclass from its plain form.

    Raises
    ------
    BadInput
        A field is missing or of another kind; ``where`` and the field are named.
    """
    try:
        built: T = _adapter(kind).validate_python(plain)
        return built
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"]) or kind.__name__
        raise BadInput(f"{field}: {first['msg']}", where) from error
