"""Strength: logged sets to strength with its interval, trend and forecast.

Comes in: :class:`~overbar.strength.sets.LoggedSet` values and the athlete's sex
and age. Goes out: strength per date with a 90 % interval, whether a rise is
real, and date ranges for a target.

Must not know: rungs, gates, plans, films as files, database, clock.
"""

from overbar.strength.posterior import estimate, estimate_smoothed, parameters_used

__all__ = ["estimate", "estimate_smoothed", "parameters_used"]
