"""Strength kept between weeks, so that a week costs its own sets and not two years of them.

A belief counts only for the log it was made from and the numbers it was made with: both
are in its key. A row that was added late, changed or taken away changes the keys from its
day on, and the estimate goes on from the newest belief before it. What comes out is what
reading the whole log again gives, to the last digit.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overbar.strength import curve, posterior, velocity
from overbar.strength.curve import CURVES, Array
from overbar.strength.posterior import STATES, Belief, advance, begin, by_day, observe, parameters_used
from overbar.strength.prior import Prior, prior_for
from overbar.strength.sets import LoggedSet, StrengthPoint

Key = str
SPANS_DAYS = (7, 28, 112)
"""Beside the newest belief the last one before each of these spans of the calendar is kept, for rows that
come late (own judgement: most come within the week, some within the month)."""

SHAPES = ((), (), (), (), (), (CURVES,), (CURVES,), (CURVES,), (CURVES, STATES), (CURVES, STATES, STATES))
SIZES = tuple(int(np.prod(shape)) for shape in SHAPES)
WIDTH = sum(SIZES)
NUMBERS = ("body_mass_kg", "added_kg", "reps", "reps_left", "first_rep_speed_mps", "failed", "order")
WORDS = ("exercise", "session")


@dataclass(frozen=True)
class Kept:
    """The strength of one log as far as it was read.

    Attributes
    ----------
    points : tuple of StrengthPoint
        Every logged day, oldest first, each as known on that day.
    beliefs : tuple of (str, Belief)
        A few beliefs to go on from with their keys, oldest first; the last is the newest day's.
    """

    points: tuple[StrengthPoint, ...]
    beliefs: tuple[tuple[Key, Belief], ...]

    @property
    def newest(self) -> Belief | None:
        """The belief at the end of the last logged day."""
        return self.beliefs[-1][1] if self.beliefs else None


NOTHING = Kept((), ())


def estimate_on(
    sets: Iterable[LoggedSet],
    sex: str = "unstated",
    prior: Prior | None = None,
    kept: Kept = NOTHING,
    through: date | None = None,
) -> Kept:
    """Return the strength of a log, going on from what is kept as far as that still holds.

    Parameters
    ----------
    sets, sex, prior, through
        As for :func:`overbar.strength.estimate`, which gives the same points.
    kept : Kept
        From an earlier run over this log or another; what does not belong to it is not used.
    """
    days = by_day(sets, through)
    if not days:
        return NOTHING
    norm = prior or prior_for(sex)
    keys = _keys(days, sex, norm)
    holds = [(key, belief) for key, belief in kept.beliefs if keys.get(belief.on) == key]
    known = {belief.on: belief for _, belief in holds}
    if holds:
        now = holds[-1][1]
        points = [point for point in kept.points if point.on <= now.on]
        days = [(day, of_day) for day, of_day in days if day > now.on]
    else:
        body = float(np.median([done.body_mass_kg for done in days[0][1]]))
        now, points = begin(days[0][0], body, norm), []
    for day, of_day in days:
        now = observe(advance(now, day), of_day)
        known[day] = now
        points.append(now.point())
    return Kept(tuple(points), tuple((keys[day], known[day]) for day in _worth_keeping(known)))


def _worth_keeping(days: Iterable[date]) -> list[date]:
    """The newest day, and the last before each span of the calendar it lies in."""
    ordered = sorted(days)
    last = ordered[-1].toordinal()
    ends = [last + 1, *(last - last % span for span in SPANS_DAYS)]
    return sorted({before[-1] for end in ends if (before := [d for d in ordered if d.toordinal() < end])})


# --- keys ---------------------------------------------------------------------------------


def key_of(sets: Iterable[LoggedSet], sex: str, prior: Prior) -> Key:
    """Return the key of a whole log and of the numbers it is read with."""
    days = by_day(sets)
    return _keys(days, sex, prior)[days[-1][0]] if days else ""


def _keys(days: Sequence[tuple[date, Sequence[LoggedSet]]], sex: str, prior: Prior) -> dict[date, Key]:
    """Return for every day the key of the log up to it: the same whatever the order of its rows.

    Two sums of 64 bits over scattered rows: chance does not meet twice in 128 bits, and a
    forger could as well change the belief. (SHA-256 over the sorted rows takes more than
    twice as long, and gives one day's key only.)
    """
    rows = [done for _, of_day in days for done in of_day]
    sizes = [len(of_day) for _, of_day in days]
    columns = [np.repeat([float(day.toordinal()) for day, _ in days], sizes)]
    # Column by column: a tuple a row would set the garbage collector going over the whole log.
    for name in NUMBERS:  # what was not said becomes NaN
        columns.append(np.array([getattr(done, name) for done in rows], dtype=np.float64))
    columns += [_scattered_words([getattr(done, name) for done in rows]) for name in WORDS]
    ends = np.cumsum(sizes) - 1
    lanes = []
    for lane, seed in enumerate(_basis(sex, prior)):
        code = np.full(len(columns[0]), seed, dtype=np.uint64)
        for column in columns:
            # Zero is added so that minus zero is zero.
            code = _scattered(code ^ (column + 0.0).view(np.uint64)) + np.uint64(lane)
        lanes.append(np.cumsum(code, dtype=np.uint64)[ends])
    return {day: f"{a:016x}{b:016x}" for (day, _), a, b in zip(days, *lanes, strict=True)}


def _scattered(x: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Scatter 64-bit numbers (finaliser of SplitMix64; Steele, Lea & Flood 2014)."""
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return x ^ (x >> np.uint64(31))


def _scattered_words(words: Sequence[str]) -> Array:
    codes = {word: hashlib.sha256(word.encode()).digest()[:6] for word in set(words)}
    numbers = {word: float(int.from_bytes(code)) for word, code in codes.items()}
    return np.array([numbers[word] for word in words], dtype=np.float64)


@lru_cache(maxsize=4096)
def _basis(sex: str, prior: Prior) -> tuple[int, int]:
    """Stand for all a belief rests on beside the log: every number, and the text of the model itself."""
    said = hashlib.sha256(json.dumps(parameters_used(sex, prior), sort_keys=True).encode())
    said.update(_model().encode())
    digest = said.digest()
    return int.from_bytes(digest[:8]), int.from_bytes(digest[8:16])


@lru_cache(maxsize=1)
def _model() -> str:
    parts = [Path(str(room.__file__)).read_bytes() for room in (posterior, curve, velocity)]
    return hashlib.sha256(b"".join(parts)).hexdigest()


# --- bytes --------------------------------------------------------------------------------


def as_parts(kept: Kept) -> tuple[list[str], bytes, bytes]:
    """Return keys, beliefs and points; the latter two in NumPy's own open format (no pickle)."""
    beliefs = np.array([_flat(belief) for _, belief in kept.beliefs]).reshape(-1, WIDTH)
    points = np.array(
        [(p.on.toordinal(), p.R, p.R_low, p.R_high, p.one_rm_kg, p.body_mass_kg) for p in kept.points],
        dtype=np.float64,
    ).reshape(-1, 6)
    return [key for key, _ in kept.beliefs], _bytes(beliefs), _bytes(points)


def from_parts(keys: Sequence[str], beliefs: bytes, points: bytes) -> Kept:
    """Return what :func:`as_parts` took apart."""
    rows, columns = _array(beliefs), _array(points)
    return Kept(
        tuple(StrengthPoint(date.fromordinal(int(row[0])), *row[1:]) for row in columns.tolist()),
        tuple((key, _belief(row)) for key, row in zip(keys, rows, strict=True)),
    )


def _flat(belief: Belief) -> Array:
    trained = belief.trained_on.toordinal() if belief.trained_on else 0
    arrays = (belief.steepness, belief.log_weight, belief.first_weight, belief.mean, belief.cov)
    head = [belief.on.toordinal(), trained, belief.body_mass_kg, belief.recent, belief.band_kg]
    return np.concatenate([np.array(head, dtype=np.float64), *(array.ravel() for array in arrays)])


def _belief(row: Array) -> Belief:
    parts: list[Any] = [
        part.reshape(shape) for part, shape in zip(np.split(row, np.cumsum(SIZES)[:-1]), SHAPES, strict=True)
    ]
    on, trained, body_mass_kg, recent, band_kg = (float(part) for part in parts[:5])
    steepness, log_weight, first_weight, mean, cov = parts[5:]
    trained_on = date.fromordinal(int(trained)) if trained else None
    day = date.fromordinal(int(on))
    return Belief(
        day, body_mass_kg, steepness, log_weight, first_weight, mean, cov, recent, trained_on, band_kg
    )


def _bytes(values: Array) -> bytes:
    held = io.BytesIO()
    np.save(held, values, allow_pickle=False)
    return held.getvalue()


def _array(data: bytes) -> Array:
    return np.asarray(np.load(io.BytesIO(data), allow_pickle=False))
