"""The ladder: stages, gates, rules, exercises, drills and faults as data.

Comes in: TOML files. Goes out: a checked :class:`~overbar.ladder.form.Ladder`.
Must not know: any athlete, log, film, plan, database or clock.
"""

from overbar.ladder.form import Exercise, Fault, Ladder
from overbar.ladder.loader import ladder_from_files, load_ladder
from overbar.ladder.source import shipped

__all__ = ["Exercise", "Fault", "Ladder", "ladder_from_files", "load_ladder", "shipped"]
