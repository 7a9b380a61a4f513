"""Planning: history + ladder + strength + readings -> verdict -> next week's sessions.

Comes in: :class:`~overbar.planning.history.History`, a ladder, strength points.
Goes out: :class:`~overbar.planning.verdict.Week`: the weekly verdict with every
rule that fired and its evidence, and the sessions of the next week.

Must not know: database, pages, clock, any particular method, rung or rule (those
are data of the ladder).
"""

from overbar.planning.gates import Placement, place
from overbar.planning.replay import Decided, Replayed, replay, replay_decided
from overbar.planning.week import decide, past_week, pulls_of, strength_of
from overbar.planning.week_json import json_of

__all__ = [
    "Decided",
    "Placement",
    "Replayed",
    "decide",
    "json_of",
    "past_week",
    "place",
    "pulls_of",
    "replay",
    "replay_decided",
    "strength_of",
]
