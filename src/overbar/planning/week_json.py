"""A week as plain values for JSON."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any

from overbar.planning.verdict import Week

SCHEMA = "overbar.week/1"


def json_of(week: Week) -> dict[str, Any]:
    """Write a week as plain values.

    Parameters
    ----------
    week : Week

    Returns
    -------
    dict
        ``schema`` is "overbar.week/1"; dates are ISO 8601, loads in kg with the pieces
        to use, heights in L; a value that is not known is null. Beside the fields of
        :class:`~overbar.planning.verdict.Week` each gate names its weakest item and
        each load how it is said.
    """
    out = _plain(week)
    assert isinstance(out, dict)
    gate = week.verdict.gate
    if gate is not None:
        out["verdict"]["gate"]["weakest"] = _plain(gate.weakest)
    for session, written in zip(week.sessions, out["sessions"], strict=True):
        for slot, line in zip(session.slots, written["slots"], strict=True):
            line["load"]["say"] = slot.load.say()
    out["state"] = dict(week.state)
    return {"schema": SCHEMA, **out}


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value
