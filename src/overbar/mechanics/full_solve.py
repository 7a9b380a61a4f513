"""The full solve for one athlete: every structural variant on this very body, and its moving figure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from overbar import __version__
from overbar.errors import BadInput
from overbar.mechanics.asked import person_of
from overbar.mechanics.collocation import Movement
from overbar.mechanics.margins import Answer, Offset, Person, answer_from
from overbar.mechanics.muscle_up import (
    VARIANTS,
    MuscleUp,
    Variant,
    easiest_muscle_up,
    figure,
    polished,
    shaped,
)
from overbar.mechanics.segments import Body, body_of
from overbar.mechanics.segments import Table as SegmentTable
from overbar.mechanics.surrogate import Place, Table, read_table
from overbar.mechanics.sweep import attempt_of, built, with_own
from overbar.mechanics.ways import Way, distance, near, read_ways
from overbar.progress import Progress, silent

NEAREST, BUILT_IN = 2, 1
"""Solved movements of nearby bodies and built-in starts each search has; between the two comes the way of the
variant before. It ends as soon as two agree (measured: mostly the first two)."""

STEP = 1.5
"""Longest step from a solved body to this one, in units of the table's axes; what is further off is
reached over bodies between (own judgement)."""

POLISH_WORTH = 2.0
"""How many searches the fine mesh takes as long as (measured)."""


def solve_asked(
    asked: dict[str, Any], progress: Progress = silent, *, variants: int = len(VARIANTS)
) -> dict[str, Any]:
    """Solve for what :func:`overbar.mechanics.asked.asked_of` says and return the answer's JSON form."""
    table = read_table()
    found, beside = solve_in_full(
        table, person_of(asked), asked["swing_deg"], variants=variants, progress=progress
    )
    return found.to_json(beside) | {"solved_by": __version__}


def solve_in_full(
    table: Table,
    person: Person,
    swing_deg: float,
    *,
    segments: SegmentTable = "de_leva",
    leg_length_m: float | None = None,
    offset: Offset | None = None,
    variants: int = len(VARIANTS),
    mass_unit: str = "kg",
    length_unit: str = "cm",
    progress: Progress = silent,
) -> tuple[Answer, dict[str, Any]]:
    """Solve for this body instead of reading the table.

    Parameters
    ----------
    segments : {"de_leva", "winter"}
        Segment table of the body.
    leg_length_m : float, optional
        Own hip height standing.
    variants : int
        How many structural variants to solve, from the middle one on.
    mass_unit, length_unit : str
        The coach's units, for the levers.

    Returns
    -------
    Answer
        Thresholds from these solves; levers still from the table.
    dict
        What :meth:`overbar.mechanics.margins.Answer.to_json` wants beside it: figure,
        timing, hand force, whether everything converged and what did not.
    """
    body = body_of(
        person.stature_m,
        person.mass_kg,
        person.sex,
        segments,
        hang_length_m=person.hang_length_m,
        arm_span_m=person.arm_span_m,
        leg_length_m=leg_length_m,
    )
    kinds = {"swing": "swing" if swing_deg else "still_drive", "still": "still"}
    place = replace(person.place, swing_deg=swing_deg)
    ways = read_ways(table.ways_mark)
    each: dict[str, dict[str, float]] = {"still": {}, "swing": {}}
    said: list[str] = []
    shown: MuscleUp | None = None
    before: dict[str, MuscleUp] = {}
    jobs = [(variant, start) for variant in VARIANTS[:variants] for start in kinds]
    worth = [1.0 + (POLISH_WORTH if job == 0 else 0.0) for job in range(len(jobs))]
    for job, (variant, start) in enumerate(jobs):
        doing = f"{variant.name}, {'with the swing' if start == 'swing' else 'from the still hang'}"
        first = job == 0
        share = 1.0 / sum(worth)  # the fine mesh comes after the first one's search
        own = with_own(variant, place)
        up = easiest_of_all(
            body,
            own,
            person.sex,
            kinds[start],
            place,
            ways,
            before.get(start),
            _part(progress, sum(worth[:job]) / sum(worth), share, doing),
        )
        before[start] = up
        if first:
            shown = polished(up, body, attempt_of(kinds[start], place), own)
        if up.converged:
            each[start][variant.id] = up.least_R + table.mesh_adds(variant.id, kinds[start], swing_deg)
        else:
            said.append(f"{doing}: {up.said}")
    progress(1.0, "done")
    assert shown is not None
    for start, values in each.items():
        if not values:
            raise BadInput(
                f"no solve from the {start} start converged for this body",
                do="Check the measures; else use the table's answer, without --full.",
            )
    middle = shaped(body, VARIANTS[0])
    return answer_from(table, person, swing_deg, each, offset, mass_unit, length_unit), {
        "computed": "full",
        "figure_of": "this body, middle settings",
        "figure_swing_deg": swing_deg,
        "figure": figure(shown.solution, middle),
        "peak_hand_force_bw": round(shown.peak_hand_force_bw, 3),
        "duration_s": round(shown.support_s, 3),
        "timing_s": {
            "pull": round(shown.pull_after_s, 3),
            "shoulder_over": round(shown.shoulder_over_s, 3),
            "forearm_level": round(shown.turned_s, 3),
            "support": round(shown.support_s, 3),
        },
        "hand_force": {
            "t_s": [round(float(t), 4) for t in shown.solution.t],
            "x_bw": [round(float(x), 4) for x in shown.solution.row("force_x")],
            "y_bw": [round(float(y), 4) for y in shown.solution.row("force_y")],
        },
        "converged": not said,
        "said": " ".join(said),
    }


def easiest_of_all(
    body: Body,
    variant: Variant,
    sex: str,
    kind: str,
    place: Place,
    ways: Sequence[Way],
    before: MuscleUp | None = None,
    progress: Progress = silent,
) -> MuscleUp:
    """Find the easiest way over for one variant from the ways of nearby bodies.

    Parameters
    ----------
    variant : Variant
        With the athlete's own push and joint speed.
    kind : str
        Of :data:`overbar.mechanics.ways.KEPT_KINDS`.
    place : Place
        Where body and swing stand in the table.
    before : MuscleUp, optional
        Of the same body and start with another variant.
    """
    attempt = attempt_of(kind, place)
    starts = [_brought(way, place) for way in near(ways, variant.id, sex, kind, place, NEAREST)]
    if before is not None:
        starts.insert(1, before.solution)
    found = easiest_muscle_up(
        body,
        attempt,
        variant,
        like=tuple(starts),
        starts=BUILT_IN,
        until_two_agree=True,
        pull_like=before.pull.solution if before is not None and before.pull.converged else None,
        progress=progress,
    )
    return found if found.converged else easiest_muscle_up(body, attempt, variant, progress=progress)


def _brought(way: Way, place: Place) -> Movement:
    """Bring a way near a body that is far from its own, over bodies between the two."""
    movement = way.movement
    variant = next(v for v in VARIANTS if v.id == way.variant)
    legs = math.ceil(distance(way, place) / STEP)
    for leg in range(1, legs):
        there = _between(way.place, place, leg / legs)
        body, own = built(variant, way.sex, there)
        up = easiest_muscle_up(body, attempt_of(way.kind, there), own, like=(movement,), starts=0)
        if not up.converged:
            break
        movement = up.solution
    return movement


def _between(one: Place, other: Place, share: float) -> Place:
    mixed = {
        name: (1 - share) * getattr(one, name) + share * getattr(other, name)
        for name in Place.__dataclass_fields__
    }
    return Place(**mixed)


def _part(progress: Progress, done: float, worth: float, doing: str) -> Callable[[float, str], None]:
    """Return the progress of one part of the whole."""
    return lambda share, _: progress(done + worth * share, doing)
