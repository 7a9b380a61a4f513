"""The body model's moving figure beside an athlete's own try, and the hands' force in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from overbar.athlete.person import Athlete
from overbar.desk.figures import measured, sentence
from overbar.film.path import Path, path_of
from overbar.film.reading import Reading
from overbar.mechanics.asked import person_of, same_body
from overbar.mechanics.from_film import Beside, beside_model, hand_force
from overbar.mechanics.margins import Person
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import Table, reference_of
from overbar.records.findings import swing_of
from overbar.records.solves import Solve

SWING_BEFORE_S = 1.2
"""How much of the swing before a try is shown, s: about half a swing."""
STILL_KIND = "no_swing"
SWING_NEAR_DEG = 5.0
"""A full solve from a swing within this of the film's is his own path (own judgement: a table step)."""
USUAL_SWING_DEG = 20.0
"""Swing taken where the view hides how big it was."""
PARTS_SAID = {
    "elbow": "elbows",
    "shoulder": "shoulders",
    "hip": "hips",
    "knee": "knees",
    "ankle": "feet",
}


@dataclass(frozen=True)
class ModelPath:
    """What the film page shows of it.

    Attributes
    ----------
    say : str
        Where the two differ most, with its uncertainty.
    force : str
        The hands' force and where pressure on the bar is lost.
    of : str
        Whose figure it is and how the two are held together.
    drawn : dict
        Film times and both figures for the page to draw, in L.
    """

    say: str
    force: str
    of: str
    drawn: dict[str, Any]


def model_path(
    reading: Reading, athlete: Athlete, table: Table, solved: Solve | None = None
) -> ModelPath | None:
    """Lay the model's best path beside the highest try of a film; None where there is none to see.

    Parameters
    ----------
    reading : Reading
        A usable reading.
    athlete : Athlete
    table : Table
        Precomputed answers of the body model, with the paths of some solved bodies.
    solved : Solve, optional
        The athlete's newest full solve; its own path is taken when body and swing are this film's.
    """
    path = path_of(reading)
    if path is None or not reading.attempts:
        return None
    best = max(reading.attempts, key=lambda one: one.measures["peak_shoulder_L"].value)
    inside = (path.t_s >= best.from_s - SWING_BEFORE_S) & (path.t_s <= best.to_s)
    t_s = path.t_s[inside]
    own = {part: places[inside] for part, places in path.places.items()}
    swing = 0.0 if best.kind == STILL_KIND else swing_of(best) or USUAL_SWING_DEG
    model = _model_of(athlete, table, swing, solved)
    beside = beside_model(t_s, own, 1.0, model["figure"])
    from_deg = model["figure_swing_deg"]
    start = f"a {from_deg:g}° swing" if from_deg else "a still hang"
    return ModelPath(
        say=_widest(beside, path, reading),
        force=_force(t_s, own, reading, athlete, path),
        of=(
            f"The model's easiest way over from {start}, {model['figure_of']}. Both in hang lengths, held "
            "together where the shoulder passes the bar, or at the highest point of a try that stays under."
        ),
        drawn={
            "t": [round(float(t) + beside.zero_s, 4) for t in beside.t_s],
            "own": {part: np.round(places, 3).tolist() for part, places in beside.own.items()},
            "model": {part: np.round(places, 3).tolist() for part, places in beside.model.items()},
        },
    )


def _model_of(athlete: Athlete, table: Table, swing_deg: float, solved: Solve | None) -> dict[str, Any]:
    """Return the model's path: solved for this very body, else that of the nearest solved body."""
    person = Person(
        athlete.stature_m,
        athlete.body_mass_kg,
        R=1.0,
        sex=athlete.sex,
        hang_length_m=athlete.hang_length_m,
        arm_span_m=athlete.arm_span_m,
    )
    if solved is not None and solved.answer is not None:
        near = swing_deg > 0 and abs(float(solved.asked["swing_deg"]) - swing_deg) <= SWING_NEAR_DEG
        if near and same_body(person_of(solved.asked), person):
            own = dict(solved.answer)
            R = own["by_variant"]["swing"].get("middle")
            least = f", the least R it asks for {R:.2f}" if R else ""
            return own | {"figure_of": f"solved for this very body (middle settings{least})"}
    found = reference_of(table, swing_deg, athlete.stature_m, athlete.sex, person.hang_m)
    return found | {
        "figure_of": f"for the nearest solved body: {found['figure_of']}. A full solve on the athlete's page "
        "gives this body's own"
    }


def _widest(beside: Beside, path: Path, reading: Reading) -> str:
    joint, at, gap = beside.widest
    sd = path.sd[joint]
    hang_m = reading.hang_length.m if reading.hang_length else None
    cm = f", {gap * hang_m * 100:.0f} ± {sd * hang_m * 100:.0f} cm" if hang_m else ""
    shoulders = measured(beside.gap_L["shoulder"], path.sd["shoulder"])
    return (
        f"The shoulders' ways lie {shoulders} L apart on average. "
        f"The two are furthest apart at the {PARTS_SAID[joint]}: {measured(gap, sd)} L{cm}, "
        f"at {at + beside.zero_s:.2f} s of the film."
    )


def _force(
    t_s: np.ndarray, own: dict[str, np.ndarray], reading: Reading, athlete: Athlete, path: Path
) -> str:
    if reading.hang_length is None:
        return ""
    hang_m = reading.hang_length.m
    body = body_of(athlete.stature_m, athlete.body_mass_kg, athlete.sex)
    joints = {part: places * hang_m for part, places in own.items()}
    sds = {part: sd * hang_m for part, sd in path.sd.items()}
    found = hand_force(t_s, joints, body, sex=athlete.sex, joint_sd_m=sds, L_m=hang_m)
    return sentence(found.say().replace("+-", "±"))
