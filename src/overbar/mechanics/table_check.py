"""The table against full solves of random bodies: how far what is read is from what is solved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from overbar.mechanics.full_solve import easiest_of_all
from overbar.mechanics.margins import Person
from overbar.mechanics.muscle_up import VARIANTS, MuscleUp
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import Checked, Table
from overbar.mechanics.sweep import with_own
from overbar.mechanics.ways import Way

STATURES_M, MASSES_KG, SWINGS_DEG = (1.50, 2.00), (45.0, 120.0), (5.0, 35.0)
ARM_SHARE, SPEED_SHARE, PUSH_SHARE = 0.06, 0.12, 0.2
"""How far arms, joint speed and push of the random bodies are from the usual."""

SEED = 7
STILL_EVERY = 4
"""Every so many bodies hang still with quiet legs."""


@dataclass(frozen=True)
class Compared:
    """One body read from the table and solved in full, both on the search mesh.

    Attributes
    ----------
    person : Person
    swing_deg : float
        0 from a still hang with quiet legs.
    push : float
        Push strength over the usual.
    told, solved : dict of str to float
        Least R by variant; ``solved`` only those that converged.
    seconds : float
        Of the solves.
    """

    person: Person
    swing_deg: float
    push: float
    told: dict[str, float]
    solved: dict[str, float]
    seconds: float

    @property
    def difference_R(self) -> float:
        """Full solve less table, mean of the variants that converged."""
        return float(np.mean([solved - self.told[variant] for variant, solved in self.solved.items()]))


def random_bodies(count: int, seed: int = SEED) -> list[tuple[Person, float, float]]:
    """Return persons with a swing (0: still) and a push over the usual; women and men in turn."""
    rng = np.random.default_rng(seed)
    bodies = []
    for n in range(count):
        sex = ("f", "m")[n % 2]
        stature, mass = float(rng.uniform(*STATURES_M)), float(rng.uniform(*MASSES_KG))
        swing = float(rng.uniform(*SWINGS_DEG))
        arm, speed, push = (
            1 + share * float(rng.uniform(-1, 1)) for share in (ARM_SHARE, SPEED_SHARE, PUSH_SHARE)
        )
        hang = arm * body_of(stature, mass, sex).hang_length_m
        who = Person(stature, mass, 1.3, sex=sex, hang_length_m=hang, speed=speed)
        still = n // 2 % STILL_EVERY == STILL_EVERY - 1
        bodies.append((who, 0.0 if still else swing, push))
    return bodies


def compared(
    table: Table,
    ways: Sequence[Way],
    bodies: Sequence[tuple[Person, float, float]],
    variants: int = len(VARIANTS),
) -> Iterator[Compared]:
    """Solve each body in full and read it from the table, one after the other."""
    for person, swing, push in bodies:
        body = body_of(person.stature_m, person.mass_kg, person.sex, hang_length_m=person.hang_length_m)
        kind = "swing" if swing else "still"
        place = replace(person.place, push=push, swing_deg=swing)
        before: MuscleUp | None = None
        told, solved, seconds = {}, {}, 0.0
        for variant in VARIANTS[:variants]:
            before = easiest_of_all(body, with_own(variant, place), person.sex, kind, place, ways, before)
            more = table.mesh_adds(variant.id, kind, swing)
            told[variant.id] = table.need(variant.id, person.sex, kind, place) - more
            seconds += before.seconds
            if before.converged:
                solved[variant.id] = before.least_R
        yield Compared(person, swing, push, told, solved, seconds)


def summed_up(rows: Sequence[Compared]) -> Checked:
    """Return the table's error over the bodies compared."""
    off = np.array([row.difference_R for row in rows if row.solved])
    size = np.abs(off)
    return Checked(
        bodies=len(off),
        not_converged=sum(len(row.told) - len(row.solved) for row in rows),
        rms=round(float(np.sqrt(np.mean(off**2))), 4),
        median=round(float(np.median(size)), 4),
        p95=round(float(np.quantile(size, 0.95)), 4),
        worst=round(float(size.max()), 4),
        bias=round(float(off.mean()), 4),
    )
