"""The ladder: stages, gates, rules, exercises, drills and faults as data.

Comes in: TOML files. Goes out: a checked :class:`~overbar.ladder.form.Ladder`.
Must not know: any athlete, log, film, plan, database or clock.
"""
