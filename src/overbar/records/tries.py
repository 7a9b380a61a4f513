"""Everybody's tries of the skill as the body model takes them, and what they say of its thresholds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

from overbar.mechanics.margins import LoggedAttempt, Offset, learn
from overbar.mechanics.surrogate import read_table
from overbar.planning.body_tries import body_tries
from overbar.progress import Progress, silent
from overbar.records.kept_strength import strength_on
from overbar.records.store import Records


def learn_from_tries(records: Records, progress: Progress = silent) -> Offset:
    """Reckon from all athletes' tries how far the thresholds move, and keep it.

    Strength is only estimated of athletes who tried.
    """
    everybody = records.athletes()
    tries: list[LoggedAttempt] = []
    for done, athlete in enumerate(everybody):
        progress(done / len(everybody), f"tries of {athlete.name}")
        on = records.today(athlete.id)
        history = records.history(athlete.id, on)
        if history.attempts:
            points = strength_on(records, history, records.ladder_for(athlete.id), on).points
            tries += body_tries(history, points)
    progress(1.0, "done")
    return keep_learnt(records, tries)


def keep_learnt(records: Records, tries: Iterable[LoggedAttempt]) -> Offset:
    """Learn from tries and keep the outcome where pages and commands find it."""
    learnt = learn(read_table(), tries)
    plain = asdict(learnt)
    if records.body_offset() != plain:
        records.set_body_offset(plain)
    return learnt
