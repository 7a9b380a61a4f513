"""What a weekly decision says: verdict, rules with evidence, gate, sessions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from overbar.athlete.kit import Load
from overbar.strength.prior import Prior
from overbar.strength.sets import StrengthPoint

Decision = Literal[
    "add_load", "add_rep", "hold", "ease", "deload", "climb", "change_exercise", "stop_and_refer", "ask"
]


@dataclass(frozen=True)
class Evidence:
    """One thing a rule rests on.

    Attributes
    ----------
    kind : str
        "set", "film", "test", "pain", "session", "body", "attempt", "coach", "plan", "strength".
    on : datetime.date
        Its date.
    say : str
        The fact in words, with units and uncertainty.
    ref : str
        Film SHA-256 or other reference, or "".
    """

    kind: str
    on: date
    say: str
    ref: str = ""


@dataclass(frozen=True)
class FiredRule:
    """A rule that fired.

    Attributes
    ----------
    id : str
        Rule id of the ladder.
    say : str
        What it did this week, in words.
    evidence : tuple of Evidence
        What it rests on.
    basis, why : str
        Copied from the ladder's data.
    would_change : str
        What would have to be seen for it not to fire.
    ignored : bool
        Overruled by the coach.
    """

    id: str
    say: str
    evidence: tuple[Evidence, ...]
    basis: str
    why: str
    would_change: str = ""
    ignored: bool = False


@dataclass(frozen=True)
class GateItem:
    """State of one item of a gate.

    Attributes
    ----------
    say : str
        The item in words.
    test : str
        Test id it reads.
    hard : bool
        Whether it must be met.
    met : bool or None
        None: no evidence young enough.
    value, sd, needs : float or None
        Best evidence, its uncertainty, and the threshold, in ``unit``.
    unit : str
        "kg", "L", "cm", "s", "reps", "yes/no", "R", ...
    shortfall : float or None
        How much is missing in ``unit``; None when met or unknown.
    shortfall_say : str
        The shortfall in a coach's units, for example "4 cm short".
    evidence : tuple of Evidence
        What it rests on.
    key : str
        What names it within its gate, for the coach's word on it.
    overruled : str
        The coach's reason when the coach settled it by hand, or "".
    """

    say: str
    test: str
    hard: bool
    met: bool | None
    value: float | None
    sd: float | None
    needs: float | None
    unit: str
    shortfall: float | None
    shortfall_say: str
    evidence: tuple[Evidence, ...] = ()
    key: str = ""
    overruled: str = ""


@dataclass(frozen=True)
class GateState:
    """One gate with all its items; ``open`` when every hard item is met."""

    id: str
    name: str
    from_rung: str
    to_rung: str
    open: bool
    items: tuple[GateItem, ...]
    overruled: str = ""

    @property
    def weakest(self) -> GateItem | None:
        """The first hard item that is not met, missing evidence last."""
        unmet = [item for item in self.items if item.hard and item.met is not True]
        known = [item for item in unmet if item.met is False]
        return next(iter(known or unmet), None)


@dataclass(frozen=True)
class Margin:
    """One distance to a threshold, as strength-or-technique is told.

    ``value`` is positive when there is room and negative when short, in ``unit``.
    """

    name: str
    value: float
    sd: float | None
    unit: str
    say: str


@dataclass(frozen=True)
class PlannedSlot:
    """One line of a session.

    Attributes
    ----------
    exercise, name : str
        Exercise id and its name in words.
    sets, reps_low, reps_high : int
        Sets, and the range of reps in each; reps 0 for holds.
    load : Load
        A load this athlete's kit can make.
    seconds : float or None
        Time of a hold or lowering.
    rest_s : float
        Rest between sets, s.
    reps_left : float or None
        Reps to keep in reserve.
    note : str
        How to do it.
    strand : str
        Strand of the ladder.
    film : bool
        Film this one.
    swaps : tuple of str
        Exercise ids to take if the kit is taken.
    why : str
        Rule ids that made it so.
    week_reps : float or None
        Reps over the whole week at which lines of this exercise stop, as the note says.
    """

    exercise: str
    name: str
    sets: int
    reps_low: int
    reps_high: int
    load: Load
    seconds: float | None = None
    rest_s: float = 120.0
    reps_left: float | None = None
    note: str = ""
    strand: str = ""
    film: bool = False
    swaps: tuple[str, ...] = ()
    why: str = ""
    week_reps: float | None = None


@dataclass(frozen=True)
class PlannedSession:
    """One session of the week.

    Attributes
    ----------
    label : str
        "A", "B", "C", ...
    on : datetime.date
        Suggested day.
    title : str
        What it is about.
    slots : tuple of PlannedSlot
        In the order they are done.
    cautions : tuple of str
        Cautions and stop rules that belong to this session's work.
    """

    label: str
    on: date
    title: str
    slots: tuple[PlannedSlot, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """The weekly decision.

    Attributes
    ----------
    athlete_id : str
    on : datetime.date
        Day it was decided on.
    week_starts : datetime.date
        Monday of the week it plans.
    rung, rung_name : str
    decision : str
        One of :data:`Decision`.
    headline : str
        The decision in one sentence.
    urgent : int
        0 nothing, 1 decide, 2 talk, 3 stop and refer (what the day's list sorts by).
    rules : tuple of FiredRule
    gate : GateState or None
        The gate out of the rung.
    strength : StrengthPoint or None
    strength_from : Prior or None
        What was believed of strength before the first set; None is the published norm.
    by_coach : bool
        The coach wrote it without a proposal of the program.
    strength_or_technique : str
        "strength", "speed", "technique", "strength over the bar", "both just short", "unknown", or "".
    margins : tuple of Margin
    fault, fault_name, cue, drill : str or None
        The one fault, its cue, and the exercise id of the drill.
    questions : tuple of str
        What to ask the athlete.
    referral : str
        Whom to see, when pain or a flag asks for it; never a diagnosis.
    ladder_version : str
        Version of the ladder data used.
    """

    athlete_id: str
    on: date
    week_starts: date
    rung: str
    rung_name: str
    decision: Decision
    headline: str
    urgent: int
    rules: tuple[FiredRule, ...]
    gate: GateState | None
    strength: StrengthPoint | None
    strength_or_technique: str = ""
    margins: tuple[Margin, ...] = ()
    fault: str | None = None
    fault_name: str | None = None
    cue: str | None = None
    drill: str | None = None
    questions: tuple[str, ...] = ()
    referral: str = ""
    ladder_version: str = ""
    strength_from: Prior | None = None
    by_coach: bool = False


@dataclass(frozen=True)
class Week:
    """Verdict and sessions; ``past`` is what the next decision must remember of it.

    Attributes
    ----------
    verdict : Verdict
    sessions : tuple of PlannedSession
    state : tuple of (str, float)
        What the method remembers from week to week (named numbers).
    deload : bool
    """

    verdict: Verdict
    sessions: tuple[PlannedSession, ...]
    state: tuple[tuple[str, float], ...] = ()
    deload: bool = False
