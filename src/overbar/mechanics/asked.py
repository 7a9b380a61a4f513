"""What a full solve is asked for, as plain values that can be kept beside its answer."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from overbar import __version__
from overbar.mechanics.margins import Person

SAME_LENGTH_M = 0.005
"""Own measures that differ by less are the same measure."""


def asked_of(person: Person, swing_deg: float) -> dict[str, Any]:
    """Return what a full solve is asked for, as plain values to be kept: body, strength, swing, version."""
    return {**asdict(person), "swing_deg": swing_deg, "version": __version__}


def person_of(asked: dict[str, Any]) -> Person:
    """Return the body and strength a solve was asked for."""
    names = Person.__dataclass_fields__
    return Person(**{name: value for name, value in asked.items() if name in names})


def same_body(one: Person, other: Person) -> bool:
    """Say whether a solve for one holds for the other: lengths, sex, speed and push are the same.

    Body mass drops out of the equations and R is only compared with the answer.
    """

    def close(a: float | None, b: float | None, within: float) -> bool:
        return a == b or (a is not None and b is not None and abs(a - b) <= within)

    return (
        one.sex == other.sex
        and close(one.stature_m, other.stature_m, SAME_LENGTH_M)
        and close(one.hang_length_m, other.hang_length_m, SAME_LENGTH_M)
        and close(one.arm_span_m, other.arm_span_m, SAME_LENGTH_M)
        and (one.speed, one.place.push) == (other.speed, other.place.push)
    )
