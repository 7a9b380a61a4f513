"""The full solves behind the precomputed table: many bodies, each reached from its neighbour.

The muscle-up has several local optima. Following one optimum from a middle body
outwards, and back in again, keeps neighbouring answers comparable; the differences
between levers are then far steadier than the threshold itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from overbar.mechanics.collocation import Movement, Solution
from overbar.mechanics.dynamics import parameters
from overbar.mechanics.muscle_up import (
    VARIANTS,
    Attempt,
    MuscleUp,
    Variant,
    easiest_muscle_up,
    figure,
    polished,
    shaped,
)
from overbar.mechanics.segments import Body, body_of, with_arms, with_fat
from overbar.mechanics.strength_scale import PullUp
from overbar.mechanics.surrogate import AXES, Finer, Place, Solved, fit, tabulate
from overbar.mechanics.ways import KEPT_KINDS, Way, mark_of, packed

SWINGS_DEG = (20.0, 25.0, 30.0, 35.0, 15.0, 10.0, 5.0)
"""Order of the walk: from the middle outwards, then from the middle inwards."""

STATURES_M = (1.55, 1.95)
FAR_SWINGS_DEG = (8.0, 20.0, 32.0)
AXIS_ENDS: dict[str, tuple[float, float]] = {
    "arm": (0.94, 1.06),
    "speed": (0.85, 1.15),
    "push": (0.8, 1.35),
    "fat": (-0.08, 0.08),
}
STILL_ENDS: dict[str, tuple[float, float]] = {"arm": (0.94, 1.06), "speed": (0.85, 1.15)}
UNSEEN = (
    Place(swing_deg=16.0, stature_m=1.68, arm=1.03, speed=0.93, push=1.15, fat=0.03),
    Place(swing_deg=27.0, stature_m=1.84, arm=0.97, speed=1.06, push=0.92, fat=-0.04),
)
"""Bodies kept back from the fit, to measure its error."""

WAITS_S = (0.4, 0.5, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
"""Walk over the pull starts, out and back, from :data:`BEST_WAIT_S`."""
PAUSES_S = (0.05, 0.1, 0.15, 0.2)
BEST_WAIT_S = 0.3
"""A pull start that leads to a good optimum as often as any; only where to look, not a limit."""

PATH_KINDS = ("swing", "still", "still_drive")
"""Starts whose solved paths are kept to be looked at."""

FINER_SWINGS_DEG = (10.0, 20.0, 30.0)
FINER_STATURE_M = {"m": STATURES_M[0], "f": STATURES_M[1]}
FINER_OTHERS = {"m": ("still", "still_drive"), "f": ("swing_quiet",)}
"""Which bodies are solved on the fine mesh as well, to learn what the mesh is worth: men from each swing and
still, women from the middle swing; of each sex one unusual stature and one other start."""

STICKS_OUT_R = 0.02
"""A solve so far above the surface of its neighbours is taken for a poorer optimum and solved again."""

MENDING_NEIGHBOURS = 2
SLOPE_STEP = 1e-4


@dataclass(frozen=True)
class Walked:
    """What the walk of one structural variant and sex found.

    Attributes
    ----------
    points : list of Solved
        In the order solved, those that did not converge included.
    finer : list of Finer
        Some of them on the fine mesh as well.
    ways : list of Way
        The movements themselves, to start other solves from.
    paths : list of dict
        For the middle-of-the-road variant the solved paths of usual bodies, see
        :class:`overbar.mechanics.surrogate.SolvedPath`, else empty.
    """

    points: list[Solved]
    finer: list[Finer]
    ways: list[Way]
    paths: list[dict[str, Any]]


def walk(variant_id: str, sex: str, quick: bool = False, first: Walked | None = None) -> Walked:
    """Solve every body of one structural variant and sex.

    Parameters
    ----------
    quick : bool
        Only a handful of bodies, for tests.
    first : Walked, optional
        The walk of the other sex, whose ways this one follows from body to body; without it the walk
        finds its own from the middle outwards.
    """
    return _Walk(next(v for v in VARIANTS if v.id == variant_id), sex).run(quick, first)


def jobs(quick: bool = False) -> list[str]:
    """Return the variants of a whole table; of each the men are walked first, the women follow them."""
    return [variant.id for variant in (VARIANTS[:1] if quick else VARIANTS)]


def table_of(walks: Sequence[Walked]) -> tuple[dict[str, Any], bytes]:
    """Return the table of some walks as JSON-ready data, and the bytes of the movements that belong to it."""
    ways = packed([way for each in walks for way in each.ways])
    points, finer, paths = (
        [one for each in walks for one in getattr(each, name)] for name in ("points", "finer", "paths")
    )
    return tabulate(points, paths, finer, mark_of(ways)), ways


class _Walk:
    """Solutions so far of one variant and sex, by kind and place."""

    def __init__(self, variant: Variant, sex: str) -> None:
        self.variant, self.sex = variant, sex
        self.found: dict[tuple[str, Place, float | None, float], MuscleUp] = {}

    def run(self, quick: bool, first: Walked | None) -> Walked:
        if first is not None:
            for way in first.ways:
                self._solve(way.kind, way.place, [way.movement])
        elif quick:
            self._few_bodies()
        else:
            self._own_ways()
        if not quick:
            self._quiet_legs()
            self._mend()
        if not quick and first is None:
            self._faults()
        return Walked(self._results(), self._finer(), self._ways(), self.paths())

    def _few_bodies(self) -> None:
        bigger = self._solve("swing", Place(swing_deg=25.0), [], starts=2)
        middle = self._solve("swing", Place(), [bigger])
        self._solve("swing", replace(Place(), arm=AXIS_ENDS["arm"][1]), [middle])

    def _own_ways(self) -> None:
        self._usual_bodies()
        middle, still = self._at("swing", Place()), self._at("still", Place())
        self._ends("swing", middle, AXIS_ENDS)
        for place in UNSEEN:
            self._solve("swing", place, [self._nearest("swing", place)])
        self._ends("still", still, STILL_ENDS)
        self._solve("still", replace(UNSEEN[0], swing_deg=20.0), [still])

    def _quiet_legs(self) -> None:
        near = self._at("swing", Place())
        for swing in (20.0, 30.0, 10.0):
            quiet = self._solve(
                "swing_quiet", Place(swing_deg=swing), [near], starts=2 if swing == 20.0 else 0
            )
            near = quiet if swing == 20.0 else near
        for stature in STATURES_M:
            self._solve("swing_quiet", Place(stature_m=stature), [near])

    def _usual_bodies(self) -> None:
        """Solve for bodies of usual proportions: every swing at the middle stature, some at the ends."""
        self._swings(SWINGS_DEG)
        middle = self._at("swing", Place())
        for stature in STATURES_M:
            near = middle
            for swing in (20.0, *(s for s in FAR_SWINGS_DEG if s != 20.0)):
                place = Place(swing_deg=swing, stature_m=stature)
                solved = self._solve(
                    "swing", place, [near if swing == 20.0 else self._nearest("swing", place)]
                )
                near = solved if swing == 20.0 else near
        still = self._solve("still", Place(), [], starts=2)
        for stature in STATURES_M:
            self._solve("still", Place(stature_m=stature), [still])
        drive = self._solve("still_drive", Place(), [still], starts=2)
        for stature in STATURES_M:
            self._solve("still_drive", Place(stature_m=stature), [drive])

    def _mend(self) -> None:
        """Solve again what sticks out above its neighbours, from neighbours that do not."""
        plain = {
            p: m for (k, p, wait, pause), m in self.found.items() if k == "swing" and not wait and not pause
        }
        surface = fit([self._solved("swing", place, None, 0.0, up) for place, up in plain.items()])
        above = {place: up.least_R - surface.at(place) for place, up in plain.items()}
        flat = [place for place, by in above.items() if by < STICKS_OUT_R / 2]
        for place in sorted(above, key=lambda p: -above[p]):
            if above[place] < STICKS_OUT_R:
                break
            near = sorted(flat, key=lambda p: float(np.sum((p.scaled() - place.scaled()) ** 2)))
            self._solve("swing", place, [plain[p] for p in near[:MENDING_NEIGHBOURS]])

    def _swings(self, swings: tuple[float, ...]) -> None:
        """Walk outwards over the swings, then back, keeping the easier way at each."""
        middle = self._solve("swing", Place(), [], starts=3)
        waited = self._solve("swing", Place(), [middle], pull_after_s=BEST_WAIT_S, starts=1)
        middle = self._solve("swing", Place(), [waited])
        for outwards in ([s for s in swings if s > 20], [s for s in swings if s < 20]):
            near = middle
            for swing in outwards:
                near = self._solve("swing", Place(swing_deg=swing), [near])
            for swing in [*reversed(outwards[:-1]), 20.0]:
                near = self._solve("swing", Place(swing_deg=swing), [near])

    def _ends(self, kind: str, middle: MuscleUp, ends: dict[str, tuple[float, float]]) -> None:
        for name, pair in ends.items():
            for value in pair:
                self._solve(kind, replace(Place(), **{name: value}), [middle])

    def _faults(self) -> None:
        near = self.found["swing", Place(), BEST_WAIT_S, 0.0]
        for wait in WAITS_S:
            near = self._solve("swing", Place(), [near], pull_after_s=wait)
        paused: list[MuscleUp] = []
        for pause in PAUSES_S + PAUSES_S[-2::-1]:
            paused = [self._solve("swing", Place(), paused, pause_s=pause, starts=0 if paused else 2)]

    def _at(self, kind: str, place: Place) -> MuscleUp:
        return self.found[kind, place, None, 0.0]

    def _nearest(self, kind: str, place: Place) -> MuscleUp:
        """Return the converged neighbour closest in the table's own units."""
        plain = {
            p: m for (k, p, wait, pause), m in self.found.items() if k == kind and not wait and not pause
        }
        able = {p: m for p, m in plain.items() if m.converged and p != place} or plain
        return able[min(able, key=lambda p: float(np.sum((p.scaled() - place.scaled()) ** 2)))]

    def _solve(
        self,
        kind: str,
        place: Place,
        like: Sequence[MuscleUp | Movement],
        *,
        starts: int = 0,
        pull_after_s: float | None = None,
        pause_s: float = 0.0,
    ) -> MuscleUp:
        body, variant = built(self.variant, self.sex, place)
        attempt = attempt_of(kind, place, pull_after_s, pause_s)
        new = easiest_muscle_up(
            body,
            attempt,
            variant,
            like=tuple(one.solution if isinstance(one, MuscleUp) else one for one in like),
            starts=starts if starts or like else 1,
            pull_like=next((up.pull.solution for up in reversed(self.found.values()) if up.converged), None),
        )
        if not new.converged:
            new = easiest_muscle_up(body, attempt, variant)
        key = (kind, place, pull_after_s, pause_s)
        old = self.found.get(key)
        if old is None or (new.converged, -new.strength) > (old.converged, -old.strength):
            self.found[key] = new
        return self.found[key]

    def _solved(self, kind: str, place: Place, wait: float | None, pause: float, up: MuscleUp) -> Solved:
        plain = wait is None and not pause
        return Solved(
            variant=self.variant.id,
            sex=self.sex,
            kind=kind,
            place=place,
            pull_after_s=wait,
            pause_s=pause,
            R=round(up.least_R, 5),
            converged=up.converged,
            slopes=slopes(self.variant, self.sex, kind, place, up.solution, up.pull) if plain else {},
            seconds=round(up.seconds, 2),
            peak_hand_force_bw=round(up.peak_hand_force_bw, 3),
            support_s=round(up.support_s, 3),
        )

    def _results(self) -> list[Solved]:
        return [self._solved(*key, up) for key, up in self.found.items()]

    def _finer(self) -> list[Finer]:
        """Solve some of the bodies on the fine mesh as well."""
        swings = FINER_SWINGS_DEG if self.sex == "m" else FINER_SWINGS_DEG[1:2]
        asked = [("swing", Place(swing_deg=swing)) for swing in swings]
        asked += [("swing", Place(stature_m=FINER_STATURE_M[self.sex]))]
        asked += [(kind, Place()) for kind in FINER_OTHERS[self.sex]]
        finer = []
        for kind, place in asked:
            up = self.found.get((kind, place, None, 0.0))
            if up is None or not up.converged:
                continue
            body, own = built(self.variant, self.sex, place)
            fine = polished(up, body, attempt_of(kind, place), own)
            if fine is not up:
                finer.append(Finer(self.variant.id, self.sex, kind, place, up.least_R, fine.least_R))
        return finer

    def _ways(self) -> list[Way]:
        return [
            Way(self.variant.id, self.sex, kind, place, up.solution)
            for (kind, place, wait, pause), up in self.found.items()
            if kind in KEPT_KINDS and wait is None and not pause and up.converged
        ]

    def paths(self) -> list[dict[str, Any]]:
        """Return the paths of the bodies of usual proportions, of the middle-of-the-road variant only."""
        if self.variant != VARIANTS[0]:
            return []
        found = []
        for (kind, place, wait, pause), up in self.found.items():
            usual = place == Place(swing_deg=place.swing_deg, stature_m=place.stature_m)
            if not usual or wait is not None or pause or not up.converged or kind not in PATH_KINDS:
                continue
            body, _ = built(self.variant, self.sex, place)
            found.append(
                {
                    "kind": kind,
                    "sex": self.sex,
                    "stature_m": place.stature_m,
                    "swing_deg": place.swing_deg if kind.startswith("swing") else 0.0,
                    "hang_length_m": round(body.hang_length_m, 4),
                    "figure": _rounded(figure(up.solution, shaped(body, self.variant))),
                    "hand_force": {
                        "t_s": [round(float(t), 3) for t in up.solution.t],
                        "x_bw": [round(float(x), 3) for x in up.solution.row("force_x")],
                        "y_bw": [round(float(y), 3) for y in up.solution.row("force_y")],
                    },
                    "peak_hand_force_bw": round(up.peak_hand_force_bw, 2),
                    "pull_after_s": round(up.pull_after_s, 3),
                    "shoulder_over_s": round(up.shoulder_over_s, 3),
                    "turned_s": round(up.turned_s, 3),
                    "support_s": round(up.support_s, 3),
                }
            )
        return found


def _rounded(path: dict[str, Any]) -> dict[str, Any]:
    """Return a figure to a thousandth of L: half a millimetre is more than enough to look at."""
    return {name: np.round(values, 3).tolist() for name, values in path.items()}


def attempt_of(kind: str, place: Place, pull_after_s: float | None = None, pause_s: float = 0.0) -> Attempt:
    """Return the attempt that a kind of start of the table stands for."""
    return Attempt(
        swing_deg=place.swing_deg if kind.startswith("swing") else 0.0,
        leg_drive=kind in ("swing", "still_drive"),
        pull_after_s=pull_after_s,
        pause_s=pause_s,
    )


def built(variant: Variant, sex: str, place: Place) -> tuple[Body, Variant]:
    """Return body and own variant at a place of the table; mass drops out, 75 kg stands for any."""
    body = with_fat(with_arms(body_of(place.stature_m, 75.0, sex), place.arm), place.fat)
    return body, with_own(variant, place)


def with_own(variant: Variant, place: Place) -> Variant:
    """Return the variant with the joint speed and the push of a place."""
    muscles = variant.muscles.faster(place.speed) if place.speed != 1 else variant.muscles
    return replace(variant, muscles=replace(muscles, push=variant.muscles.push * place.push))


def slopes(
    variant: Variant, sex: str, kind: str, place: Place, up: Solution, pull: PullUp
) -> dict[str, float]:
    """Return the derivatives of the least R by the table's variables, from the multipliers of both solves.

    Notes
    -----
    R(z) = pull(s(z), z) with s the least strength: dR/dz = pull_z + pull_s s_z.
    Stature is left out: it also moves the time limits, which are no parameters.
    """
    load = pull.solution.load
    per_strength = -pull.solution.strength_slope

    def vector(at: Place) -> np.ndarray:
        body, own = built(variant, sex, at)
        return parameters(shaped(body, own), own.muscles)

    answer = {}
    for name in AXES:
        if name == "stature_m" or (name == "swing_deg" and not kind.startswith("swing")):
            continue
        if name == "swing_deg":
            answer[name] = per_strength * float(up.slope[-1]) * math.pi / 180
            continue
        change = (
            vector(replace(place, **{name: getattr(place, name) + SLOPE_STEP}))
            - vector(replace(place, **{name: getattr(place, name) - SLOPE_STEP}))
        ) / (2 * SLOPE_STEP)
        by_strength = float(up.slope[:-1] @ change)
        by_itself = -float(pull.solution.slope[:-1] @ change)
        whole = 1 + place.fat
        answer[name] = (by_itself + per_strength * by_strength) / whole
        if name == "fat":
            answer[name] -= load / whole**2
    return {name: round(value, 5) for name, value in answer.items()}
