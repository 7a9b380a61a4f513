"""A belief kept between weeks as bytes, so that a week costs its own sets and not two years of them.

A kept belief counts only for the log it was made from and the numbers it was made with:
both are in its key, and a row that was added late, changed or taken away changes the key.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterable
from datetime import date

import numpy as np

from overbar.strength.posterior import Belief, beliefs, parameters_used
from overbar.strength.prior import Prior
from overbar.strength.sets import LoggedSet, StrengthPoint

ARRAYS = ("steepness", "log_weight", "first_weight", "mean", "cov")


def key_of(sets: Iterable[LoggedSet], through: date, sex: str, prior: Prior | None = None) -> str:
    """Return the key of a belief: the log up to a day, and every number the estimate rests on."""
    rows = sorted(repr(tuple(vars(done).values())) for done in sets if done.on <= through)
    said = hashlib.sha256(json.dumps(parameters_used(sex, prior), sort_keys=True).encode())
    said.update("\n".join(rows).encode())
    return said.hexdigest()


def as_bytes(belief: Belief) -> bytes:
    """Return a belief as bytes (NumPy's own open format, no pickle)."""
    held = io.BytesIO()
    days = [belief.on.toordinal(), belief.trained_on.toordinal() if belief.trained_on else 0]
    rest = np.array([belief.body_mass_kg, belief.recent])
    np.savez(held, days=np.array(days), rest=rest, **{name: getattr(belief, name) for name in ARRAYS})
    return held.getvalue()


def from_bytes(data: bytes) -> Belief:
    """Return the belief that :func:`as_bytes` wrote."""
    with np.load(io.BytesIO(data), allow_pickle=False) as held:
        on, trained = (int(day) for day in held["days"])
        body_mass_kg, recent = (float(value) for value in held["rest"])
        arrays = {name: held[name] for name in ARRAYS}
    return Belief(
        on=date.fromordinal(on),
        body_mass_kg=body_mass_kg,
        recent=recent,
        trained_on=date.fromordinal(trained) if trained else None,
        **arrays,
    )


def go_on(
    belief: Belief, sets: Iterable[LoggedSet], through: date | None = None
) -> tuple[StrengthPoint, ...]:
    """Return strength on the days after a kept belief, as :func:`overbar.strength.estimate` would."""
    return tuple(later.point() for later in beliefs(sets, through=through, after=belief))
