"""The full solve for one athlete: every structural variant on this very body, and its moving figure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from overbar import __version__
from overbar.errors import BadInput
from overbar.mechanics.asked import person_of
from overbar.mechanics.collocation import Solution
from overbar.mechanics.margins import Answer, Offset, Person, answer_from
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
from overbar.mechanics.segments import Table as SegmentTable
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import Table, read_table
from overbar.progress import Progress, silent

FIRST_STARTS = 3
"""Built-in starts of the middle variant; the others follow its solution and try one more."""

POLISH_WORTH = 4.0
"""How many searches from one start the fine mesh takes as long as (measured)."""


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
    tries = {"swing": Attempt(swing_deg, leg_drive=True), "still": Attempt()}
    each: dict[str, dict[str, float]] = {"still": {}, "swing": {}}
    said: list[str] = []
    shown: MuscleUp | None = None
    search: dict[str, Solution] = {}
    jobs = [(variant, start) for variant in VARIANTS[:variants] for start in tries]
    worth = [_starts(variant) + (POLISH_WORTH if job == 0 else 1.0) for job, (variant, _) in enumerate(jobs)]
    for job, (variant, start) in enumerate(jobs):
        doing = f"{variant.name}, {'with the swing' if start == 'swing' else 'from the still hang'}"
        first = job == 0
        # The first one's search is about half of it, the fine mesh the rest.
        share = worth[job] / sum(worth) / (2 if first else 1)
        push = variant.muscles.push * person.place.push
        up = easiest_muscle_up(
            body,
            tries[start],
            variant,
            push=push,
            speed=person.speed,
            like=() if first or start not in search else (search[start],),
            starts=_starts(variant),
            progress=_part(progress, sum(worth[:job]) / sum(worth), share, doing),
        )
        search.setdefault(start, up.solution)
        if first:
            shown = polished(up, body, tries[start], variant, push=push, speed=person.speed)
        if up.converged:
            each[start][variant.id] = up.least_R
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
    return answer_from(table, person, swing_deg, each, offset), {
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


def _starts(variant: Variant) -> int:
    return FIRST_STARTS if variant is VARIANTS[0] else 1


def _part(progress: Progress, done: float, worth: float, doing: str) -> Callable[[float, str], None]:
    """Return the progress of one part of the whole."""
    return lambda share, _: progress(done + worth * share, doing)
