"""Precomputed answers: what the muscle-up needs, as smooth formulas fitted to many full solves.

The table is a data file of the package. For each structural variant, each sex and
each kind of start it holds a polynomial in swing angle, stature, arm length, joint
speed, push strength and body fat, fitted to the solves of ``sweep`` and to the
solver's own derivatives at each of them. What the fine mesh asks for beyond the
search mesh is added, learnt from some of the bodies. Full solves of random bodies
the fit has not seen say how far the formulas are from the full solve.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np

from overbar.errors import BadInput, NotSetUp

SCHEMA = "overbar.body_table/3"
FILE = "surrogate.json"

KINDS = ("still", "still_drive", "swing", "swing_quiet")
"""Starts: still hang without and with leg drive, swing with and without leg drive."""

SEXES = ("f", "m")

AXES: dict[str, tuple[float, float]] = {
    "swing_deg": (20.0, 10.0),
    "stature_m": (1.75, 0.20),
    "arm": (1.0, 0.06),
    "speed": (1.0, 0.15),
    "push": (1.0, 0.25),
    "fat": (0.0, 0.08),
}
"""Centre and unit of each variable: swing (degrees), stature (m), arm length, joint speed and push
strength (over the body's own reference), fat put on (share of body mass)."""

RANGE: dict[str, tuple[float, float]] = {
    "swing_deg": (5.0, 35.0),
    "stature_m": (1.45, 2.05),
    "arm": (0.90, 1.10),
    "speed": (0.75, 1.25),
    "push": (0.7, 1.6),
    "fat": (-0.12, 0.12),
}
"""Where the formulas may be asked."""

SLOPE_WEIGHT = 0.4
"""Weight of a derivative against a value in the fit (both scaled to one unit of the axis)."""


@dataclass(frozen=True)
class Place:
    """A body and attempt in the variables of the table; see :data:`AXES`."""

    swing_deg: float = 20.0
    stature_m: float = 1.75
    arm: float = 1.0
    speed: float = 1.0
    push: float = 1.0
    fat: float = 0.0

    def scaled(self) -> np.ndarray:
        """Return the place in units of the axes, six values."""
        return np.array([(getattr(self, name) - mid) / unit for name, (mid, unit) in AXES.items()])


@dataclass(frozen=True)
class Solved:
    """One full solve of a chain.

    Attributes
    ----------
    variant, sex, kind : str
    place : Place
    pull_after_s : float or None
    pause_s : float
    R : float
        Least R.
    converged : bool
    slopes : dict of str to float
        dR by arm, speed, push, fat and swing at this place.
    seconds : float
    peak_hand_force_bw, support_s : float
    """

    variant: str
    sex: str
    kind: str
    place: Place
    pull_after_s: float | None
    pause_s: float
    R: float
    converged: bool
    slopes: dict[str, float]
    seconds: float
    peak_hand_force_bw: float
    support_s: float


@dataclass(frozen=True)
class SolvedPath:
    """One solved muscle-up of the middle-of-the-road variant, to be looked at.

    Attributes
    ----------
    kind, sex : str
    stature_m, swing_deg, hang_length_m : float
        The body and its swing.
    figure : dict
        See :func:`overbar.mechanics.muscle_up.figure`; places in L.
    hand_force : dict
        ``t_s``, ``x_bw`` and ``y_bw``.
    peak_hand_force_bw : float
    pull_after_s, shoulder_over_s, turned_s, support_s : float
        Moments in s after the start.
    """

    kind: str
    sex: str
    stature_m: float
    swing_deg: float
    hang_length_m: float
    figure: dict[str, Any]
    hand_force: dict[str, list[float]]
    peak_hand_force_bw: float
    pull_after_s: float
    shoulder_over_s: float
    turned_s: float
    support_s: float


@dataclass(frozen=True)
class Formula:
    """A polynomial: exponents per axis and coefficients.

    Attributes
    ----------
    powers : ndarray of int
        (terms, axes).
    coefficients : ndarray
        (terms,).
    rms, worst : float
        Error on solves the fit has seen, in R.
    """

    powers: np.ndarray
    coefficients: np.ndarray
    rms: float
    worst: float

    def at(self, place: Place) -> float:
        """Return the value at a place."""
        z = place.scaled()
        return float(self.coefficients @ np.prod(z**self.powers, axis=1))


@dataclass(frozen=True)
class Finer:
    """One body solved on the search mesh and on the fine one.

    Attributes
    ----------
    variant, sex, kind : str
    place : Place
    R, fine_R : float
        Least R on either mesh.
    """

    variant: str
    sex: str
    kind: str
    place: Place
    R: float
    fine_R: float


@dataclass(frozen=True)
class Checked:
    """The table against full solves of random bodies on the same mesh, mean of the variants, in R.

    Attributes
    ----------
    bodies, not_converged : int
        How many were compared, and how many variants of all of them did not converge.
    rms, median, p95, worst : float
        Of the size of the difference.
    bias : float
        Mean of full solve less table.
    """

    bodies: int
    not_converged: int
    rms: float
    median: float
    p95: float
    worst: float
    bias: float


@dataclass(frozen=True)
class Table:
    """The whole precomputed table.

    Attributes
    ----------
    formulas : dict
        (variant, sex, kind) -> Formula, on the search mesh.
    mesh : dict
        (variant, kind) -> (R the fine mesh adds at a swing of 20 degrees, change of that for 10
        degrees more).
    mesh_rms : float
        What is left of the mesh after that in the mean of the variants, in R.
    checked : Checked or None
        Against full solves of random bodies; None for a table that has not been checked.
    ways_mark : str
        Of the solved movements that belong to this table.
    waits, pauses : dict
        variant -> (times in s, added R): pulling so much after the front, over the best pull
        start; pausing so long, over no pause.
    paths : tuple of SolvedPath
        Solved paths of bodies of usual proportions, women and men.
    unseen_rms, unseen_worst : float
        Error of one variant against solves of the sweep kept back from the fit, in R.
    unseen_shown_rms : float
        The same of the mean over the variants.
    solves, failed : int
        How many full solves went in and how many did not converge.
    """

    formulas: dict[tuple[str, str, str], Formula]
    waits: dict[str, tuple[list[float], list[float]]]
    pauses: dict[str, tuple[list[float], list[float]]]
    paths: tuple[SolvedPath, ...]
    unseen_rms: float
    unseen_worst: float
    unseen_shown_rms: float
    solves: int
    failed: int
    mesh: dict[tuple[str, str], tuple[float, float]]
    mesh_rms: float
    checked: Checked | None
    ways_mark: str

    @property
    def solve_rms(self) -> float:
        """Error of what is shown against a full solve of the same body on the same mesh, in R."""
        return self.unseen_shown_rms if self.checked is None else self.checked.rms

    @property
    def shown_rms(self) -> float:
        """Whole error of what is shown, that of the mesh included, in R."""
        return math.hypot(self.solve_rms, self.mesh_rms)

    @property
    def variants(self) -> tuple[str, ...]:
        """Ids of the structural variants in the table, in order."""
        return tuple(dict.fromkeys(key[0] for key in self.formulas))

    def need(self, variant: str, sex: str, kind: str, place: Place) -> float:
        """Return the least R of one variant; sex "unstated" is the mean of both.

        Raises
        ------
        BadInput
            A place outside :data:`RANGE`.
        """
        _check(place, kind)
        sexes = (sex,) if sex in SEXES else SEXES
        found = float(np.mean([self.formulas[variant, s, kind].at(place) for s in sexes]))
        return found + self.mesh_adds(variant, kind, place.swing_deg)

    def mesh_adds(self, variant: str, kind: str, swing_deg: float) -> float:
        """Return what the fine mesh asks for beyond the search mesh, in R."""
        at, per_swing = self.mesh.get((variant, kind), (0.0, 0.0))
        low, high = RANGE["swing_deg"]
        return at + per_swing * _swing_unit(min(max(swing_deg, low), high))


def read_table(path: Path | None = None) -> Table:
    """Return the table of the package, or of a file built elsewhere.

    Raises
    ------
    NotSetUp
        No readable table.
    """
    return _of_package() if path is None else _from_text(path.read_text(encoding="utf-8"), str(path))


def nearest_path(
    table: Table, swing_deg: float, stature_m: float, sex: str, *, leg_drive: bool = True
) -> SolvedPath:
    """Return the solved path nearest in swing and stature, of the same sex where that is stated.

    Parameters
    ----------
    swing_deg : float
        0 asks for a still hang.
    leg_drive : bool
        With a still hang, whether the legs drive.
    """
    kind = "swing" if swing_deg else "still_drive" if leg_drive else "still"

    def far(path: SolvedPath) -> tuple[bool, float]:
        swing, stature = ((getattr(path, name) - here) / AXES[name][1] for name, here in asked)
        return path.sex != sex and sex in SEXES, swing**2 + stature**2

    asked = (("swing_deg", swing_deg), ("stature_m", stature_m))
    return min((path for path in table.paths if path.kind == kind), key=far)


def reference_of(
    table: Table,
    swing_deg: float,
    stature_m: float = AXES["stature_m"][0],
    sex: str = "unstated",
    hang_length_m: float | None = None,
) -> dict[str, Any]:
    """Return the same beside a table's answer: the solved path nearest to this body, timed for its length.

    Parameters
    ----------
    hang_length_m : float, optional
        Own hang length; the path's own without it.

    Notes
    -----
    A path in L serves a body of the same proportions; its times go with the root of
    length, as for any pendulum. A full solve gives this athlete's own.
    """
    path = nearest_path(table, swing_deg, stature_m, sex)
    slower = 1.0 if hang_length_m is None else (hang_length_m / path.hang_length_m) ** 0.5

    def timed(seconds: float) -> float:
        return round(seconds * slower, 4)

    def on_time(values: dict[str, Any]) -> dict[str, Any]:
        return {**values, "t_s": [timed(t) for t in values["t_s"]]}

    who = {"m": "a man", "f": "a woman"}[path.sex]
    said = f"{table.failed} of {table.solves} solves behind the table did not converge and were left out."
    return {
        "computed": "table",
        "figure_of": f"{who} of {path.stature_m:.2f} m, middle settings, timed for this hang length",
        "figure_swing_deg": path.swing_deg,
        "figure": on_time(path.figure),
        "peak_hand_force_bw": path.peak_hand_force_bw,
        "duration_s": timed(path.support_s),
        "timing_s": {
            "pull": timed(path.pull_after_s),
            "shoulder_over": timed(path.shoulder_over_s),
            "forearm_level": timed(path.turned_s),
            "support": timed(path.support_s),
        },
        "hand_force": on_time(path.hand_force),
        "table_error_R": table.shown_rms,
        "converged": table.failed == 0,
        "said": said if table.failed else "",
    }


def tabulate(
    solved: list[Solved], paths: list[dict[str, Any]], finer: list[Finer], ways_mark: str = ""
) -> dict[str, Any]:
    """Fit the formulas to the solves and return the table as JSON-ready data."""
    good = [s for s in solved if s.converged]
    plain = [s for s in good if s.pull_after_s is None and not s.pause_s]
    fitted = [s for s in plain if not _unseen(s)]
    formulas: dict[str, Any] = {}
    misses: dict[tuple[str, Place, str], list[float]] = {}
    for key in dict.fromkeys((s.variant, s.sex, s.kind) for s in fitted):
        formula = fit([s for s in fitted if (s.variant, s.sex, s.kind) == key])
        formulas["/".join(key)] = {
            "powers": formula.powers.tolist(),
            "coefficients": [round(float(c), 5) for c in formula.coefficients],
            "rms": round(formula.rms, 4),
            "worst": round(formula.worst, 4),
        }
        for s in plain:
            if _unseen(s) and (s.variant, s.sex, s.kind) == key:
                misses.setdefault((s.sex, s.place, s.kind), []).append(formula.at(s.place) - s.R)
    single = [miss for each in misses.values() for miss in each]
    shown = [float(np.mean(each)) for each in misses.values()]
    return {
        "schema": SCHEMA,
        "solves": len(solved),
        "failed": len(solved) - len(good),
        "kept_back": len(single),
        "unseen_rms": round(_rms(single), 4),
        "unseen_worst": round(max(map(abs, single), default=0.0), 4),
        "unseen_shown_rms": round(_rms(shown), 4),
        "mesh": _mesh(finer),
        "checked": None,
        "ways_mark": ways_mark,
        "formulas": formulas,
        "waits": _waits(good),
        "pauses": _pauses(good),
        "paths": paths,
    }


def fit(points: list[Solved]) -> Formula:
    """Fit one polynomial to values and derivatives by robust least squares.

    Local optima of the solves stick out upwards; a few rounds of reweighting keep
    them from pulling the surface with them.
    """
    swings = len({round(s.place.swing_deg, 3) for s in points}) > 2
    powers = _powers(swings)
    unit = np.array([u for _, u in AXES.values()])
    rows, wanted, weights, is_value = [], [], [], []
    for s in points:
        z = s.place.scaled()
        rows.append(np.prod(z**powers, axis=1))
        wanted.append(s.R)
        weights.append(1.0)
        is_value.append(True)
        for name, slope in s.slopes.items():
            axis = list(AXES).index(name)
            rows.append(_slope_row(z, powers, axis))
            wanted.append(slope * unit[axis])
            weights.append(SLOPE_WEIGHT)
            is_value.append(False)
    values = np.array(is_value)
    coefficients, miss = _robust(np.array(rows), np.array(wanted), np.array(weights), values)
    seen = miss[values]
    return Formula(powers, coefficients, float(np.sqrt(np.mean(seen**2))), float(np.max(np.abs(seen))))


def _robust(A: np.ndarray, y: np.ndarray, w: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return coefficients and misses of a least-squares fit that outliers among the values do not pull."""
    robust = np.ones(len(y))
    # A whisper of shrinkage keeps a term no solve speaks about at nothing.
    ridge = 1e-4 * np.eye(A.shape[1])
    for _ in range(12):
        scale = w * np.sqrt(robust)
        coefficients = np.linalg.lstsq(
            np.vstack([A * scale[:, None], ridge]),
            np.concatenate([y * scale, np.zeros(len(ridge))]),
            rcond=None,
        )[0]
        miss = y - A @ coefficients
        spread = max(1e-3, 1.4826 * float(np.median(np.abs(miss[values]))))
        robust = 1 / (1 + (miss / (2 * spread)) ** 2)
    return coefficients, miss


@cache
def _of_package() -> Table:
    text = resources.files("overbar.mechanics").joinpath(FILE)
    if not text.is_file():
        raise NotSetUp("the body table is missing from this installation", do="Install Overbar again.")
    return _from_text(text.read_text(encoding="utf-8"), FILE)


def _from_text(text: str, where: str) -> Table:
    data = json.loads(text)
    if data.get("schema") != SCHEMA:
        raise NotSetUp(f"{where} is not a body table ({data.get('schema')!r})", do=f"It must be {SCHEMA}.")
    formulas = {}
    for key, value in data["formulas"].items():
        variant, sex, kind = key.split("/")
        formulas[variant, sex, kind] = Formula(
            np.array(value["powers"]), np.array(value["coefficients"]), value["rms"], value["worst"]
        )
    return Table(
        formulas=formulas,
        waits={k: (v[0], v[1]) for k, v in data["waits"].items()},
        pauses={k: (v[0], v[1]) for k, v in data["pauses"].items()},
        paths=tuple(SolvedPath(**path) for path in data["paths"]),
        unseen_rms=data["unseen_rms"],
        unseen_worst=data["unseen_worst"],
        unseen_shown_rms=data["unseen_shown_rms"],
        solves=data["solves"],
        failed=data["failed"],
        mesh={
            (variant, kind): (at, per_swing)
            for (variant, kind), (at, per_swing) in (
                (key.split("/"), term) for key, term in data["mesh"]["terms"].items()
            )
        },
        mesh_rms=data["mesh"]["rms"],
        checked=None if data["checked"] is None else Checked(**data["checked"]),
        ways_mark=data["ways_mark"],
    )


def _check(place: Place, kind: str) -> None:
    for name, (low, high) in RANGE.items():
        if name == "swing_deg" and kind.startswith("still"):
            continue
        value = getattr(place, name)
        if not low - 1e-9 <= value <= high + 1e-9:
            raise BadInput(
                f"{name.replace('_', ' ')} {value:g} is outside the body table ({low:g} to {high:g})",
                do="Ask for the full solve instead.",
            )


def _powers(swings: bool) -> np.ndarray:
    """Return the exponents of the terms: curved in swing, stature, arm, speed, push and fat."""
    n = len(AXES)
    terms = [[0] * n]
    for axis in range(n):
        if axis == 0 and not swings:
            continue
        degrees = (1, 2, 3) if axis == 0 else (1, 2)
        for degree in degrees:
            term = [0] * n
            term[axis] = degree
            terms.append(term)
        if axis and swings:
            term = [0] * n
            term[0] = term[axis] = 1
            terms.append(term)
        if axis > 1:
            term = [0] * n
            term[1] = term[axis] = 1
            terms.append(term)
    return np.array(terms)


def _slope_row(z: np.ndarray, powers: np.ndarray, axis: int) -> np.ndarray:
    lowered = powers.copy()
    lowered[:, axis] = np.maximum(lowered[:, axis] - 1, 0)
    row: np.ndarray = powers[:, axis] * np.prod(z**lowered, axis=1)
    return row


def _unseen(s: Solved) -> bool:
    """Return whether a solve was kept back from the fit: two axes off the middle at once."""
    z = s.place.scaled()[2:]
    return bool(np.count_nonzero(np.abs(z) > 1e-9) >= 2)


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else 0.0


def _mesh(finer: list[Finer]) -> dict[str, Any]:
    """Return what the fine mesh adds for each variant and kind, and what is left over in their mean."""
    terms: dict[str, list[float]] = {}
    left: dict[tuple[str, str, Place], list[float]] = {}
    for key in dict.fromkeys((one.variant, one.kind) for one in finer):
        here = [one for one in finer if (one.variant, one.kind) == key]
        swing = np.array([_swing_unit(one.place.swing_deg) for one in here])
        more = np.array([one.fine_R - one.R for one in here])
        at, per_swing = float(np.median(more)), 0.0
        if len(set(swing)) > 1:
            line = np.column_stack([np.ones(len(here)), swing])
            at, per_swing = _robust(line, more, np.ones(len(here)), np.ones(len(here), bool))[0]
        terms["/".join(key)] = [round(float(at), 4), round(float(per_swing), 4)]
        for one, x, y in zip(here, swing, more, strict=True):
            left.setdefault((one.sex, one.kind, one.place), []).append(float(y - at - per_swing * x))
    means = [float(np.mean(each)) for each in left.values()]
    return {"bodies": len(left), "solves": len(finer), "rms": round(_rms(means), 4), "terms": terms}


def _swing_unit(swing_deg: float) -> float:
    middle, unit = AXES["swing_deg"]
    return (swing_deg - middle) / unit


def _waits(good: list[Solved]) -> dict[str, tuple[list[float], list[float]]]:
    """Return per variant how much more each pull start asks for than the best one."""
    answer: dict[str, tuple[list[float], list[float]]] = {}
    for variant in dict.fromkeys(s.variant for s in good):
        late = {s.pull_after_s: s.R for s in good if s.variant == variant and s.pull_after_s is not None}
        if late:
            best = min(late.values())
            times = sorted(late)
            answer[variant] = (times, [round(late[t] - best, 4) for t in times])
    return answer


def _pauses(good: list[Solved]) -> dict[str, tuple[list[float], list[float]]]:
    """Return per variant how much a pause adds to the least R of the same body."""
    answer: dict[str, tuple[list[float], list[float]]] = {}
    for variant in dict.fromkeys(s.variant for s in good):
        faulty = {s.pause_s: s for s in good if s.variant == variant and s.pause_s}
        if not faulty:
            continue
        one = next(iter(faulty.values()))
        free = next(
            s.R
            for s in good
            if (s.variant, s.sex, s.kind, s.place) == (variant, one.sex, one.kind, one.place)
            and s.pull_after_s is None
            and not s.pause_s
        )
        times = sorted(faulty)
        answer[variant] = ([0.0, *times], [0.0, *(round(faulty[t].R - free, 4) for t in times)])
    return answer
