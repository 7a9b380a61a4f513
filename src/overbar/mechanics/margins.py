"""Margins: the athlete's own R against what the muscle-up needs, and what each lever buys.

The absolute threshold of the model hangs on how hands, wrists and joint torques are
treated. So a threshold is always a band: the spread of the structural variants, the
error of the table, the differences between people, and what the coach's logged
attempts have said so far. Differences between levers are much steadier and lead.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from statistics import NormalDist
from typing import Any

import numpy as np
from scipy.special import ndtr

from overbar.errors import BadInput
from overbar.mechanics.segments import body_of
from overbar.mechanics.surrogate import RANGE, Place, Table
from overbar.units import KG_PER_LB, M_PER_INCH

SKILL = "bar_muscle_up"
"""The one skill this model solves and whose tries it can learn from, by its name in the ladders."""

SPEED_TEST, DIP_TEST = "first_rep_mps", "straight_bar_dips"
"""Tests of the ladder that tell joint speed and press: mean speed of a fresh first rep in m/s, and dips at
body mass."""

BAND = 0.8
"""Share of cases a band is meant to hold."""

_NORMAL = NormalDist()
_Z = _NORMAL.inv_cdf((1 + BAND) / 2)

SHARED_SD_R = 0.15
"""What all variants share and may have wrong: a one-piece trunk, no shoulder blade, arms in one plane.
With the variants' own spread this makes the absolute threshold uncertain by about 0.2 R, which is what the
threshold moved when hands, wrists and torque curves were changed in trials (own judgement)."""

TRADE_RULE_R = (1.37, 1.47)
"""Three to five pull-ups with a quarter of body mass added are enough to begin with a swing: common
practice, no source; turned into R by Epley's formula. Shown beside the model, never mixed into it."""

PERSON_SD_R = 0.08
"""Differences between people of the same body and R: technique and build the model does not see
(own judgement, about half of what the variants spread)."""

OWN_SD_R = 0.03
"""Uncertainty of a tested R when none is given: standard error of measurement .030 x body mass,
from SD .15 and ICC .96 in Coyne et al. 2015."""

FORM_SD_R = 0.03
"""How far one athlete's day and try differ from their usual, in R: the same standard error of measurement."""

UNSEEN_SWING_SD_DEG = 5.0
"""Uncertainty of a swing that no film shows, in degrees (own judgement: half of what separates a small
swing from a big one)."""

STRONG_ENOUGH_AND_OVER = 0.7
"""Chance that an attempt goes over when strength is plainly enough: a failed attempt may be timing or
fear (own judgement; it lets failures count for less than successes)."""

SHIFT_STEP_R = 0.01
"""Step of the grid of shifts, a third of the narrowest width on it."""

R_PER_SWING_DEG = 0.015
"""How much less R one degree more of swing asks for, from the table; only for the swing's uncertainty."""

TINY = 1e-300

R_RANGE = (0.4, 3.0)

DEFAULT_SWING_DEG = 15.0
"""A front swing of 15 degrees to each side is about 0.9 L of hip travel: a swing, not yet a kip."""

CAUTION = (
    "A model's estimate for planning, not a clearance to try. Stop at pain of 3 or more of 10 in elbow, "
    "shoulder or wrist, at a pop, numbness or chest symptoms, and see a health professional; a medical "
    "restriction always goes first."
)


@dataclass(frozen=True)
class Band:
    """A number with the ends of its :data:`BAND` interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Person:
    """The athlete as the model needs them.

    Attributes
    ----------
    stature_m, mass_kg : float
    R : float
        Pull-up one-repetition maximum, system mass over body mass.
    R_sd : float
        Its one-sigma uncertainty.
    sex : {"f", "m", "unstated"}
    hang_length_m, arm_span_m : float or None
        Own measures; else from stature.
    speed : float
        Joint speeds over the usual, see :func:`speed_from_first_rep`; 1 when unknown.
    dip_over_pull : float or None
        Straight-bar dip maximum over pull-up maximum; None when no dip is known.
    """

    stature_m: float
    mass_kg: float
    R: float
    R_sd: float = OWN_SD_R
    sex: str = "unstated"
    hang_length_m: float | None = None
    arm_span_m: float | None = None
    speed: float = 1.0
    dip_over_pull: float | None = None

    def __post_init__(self) -> None:
        if not R_RANGE[0] <= self.R <= R_RANGE[1]:
            raise BadInput(
                f"R {self.R:g} is outside {R_RANGE[0]:g} to {R_RANGE[1]:g}",
                do="R is the pull-up maximum with body mass over body mass, for example 1.25.",
            )

    @property
    def hang_m(self) -> float:
        """Hang length of this body, measured or from its other measures, in m."""
        return body_of(
            self.stature_m,
            self.mass_kg,
            self.sex,
            hang_length_m=self.hang_length_m,
            arm_span_m=self.arm_span_m,
        ).hang_length_m

    @property
    def place(self) -> Place:
        """Where the athlete stands in the table, without a swing yet."""
        usual = body_of(self.stature_m, self.mass_kg, self.sex)
        push = 1.0 if self.dip_over_pull is None else push_from_dip(self.dip_over_pull, self.R)
        return Place(
            stature_m=self.stature_m,
            arm=self.hang_m / usual.hang_length_m,
            speed=self.speed,
            push=push,
        )


@dataclass(frozen=True)
class Offset:
    """How far logged attempts have moved the thresholds.

    Attributes
    ----------
    mean, sd : float
        Shift of every threshold and its uncertainty, in R.
    prior_sd : float
        Uncertainty before any attempt: the spread of the structural variants.
    attempts, over, athletes : int
        How many attempts have spoken, how many of them went over, and of how many athletes.
    """

    mean: float
    sd: float
    prior_sd: float
    attempts: int = 0
    over: int = 0
    athletes: int = 0

    def say(self) -> str:
        """Return in words how far attempts have moved the thresholds."""
        if not self.attempts:
            return "No logged attempt has moved the thresholds yet; they are the model's own."
        moved = f"{'up' if self.mean > 0 else 'down'} by {abs(self.mean):.2f}"
        tries = f"{self.attempts} logged attempt{'s' if self.attempts > 1 else ''}"
        of = f"{self.athletes} athlete{'s' if self.athletes > 1 else ''}"
        return (
            f"{tries} of {of}, {self.over} over the bar, moved every threshold {moved} R "
            f"(+- {self.sd:.2f}); before them it was known to +- {self.prior_sd:.2f}."
        )


@dataclass(frozen=True)
class LoggedAttempt:
    """One attempt of one of the coach's athletes.

    Attributes
    ----------
    who : str
        Whose it was: attempts of one athlete share what sets that athlete apart.
    person : Person
        With R as it was then.
    swing_deg : float
        Front swing of the attempt; 0 from a still hang.
    over : bool
        Whether it went over the bar.
    swing_sd_deg : float
        Uncertainty of the swing, one sigma.
    """

    who: str
    person: Person
    swing_deg: float
    over: bool
    swing_sd_deg: float = 0.0


@dataclass(frozen=True)
class Lever:
    """What one change buys.

    Attributes
    ----------
    name, unit : str
        In the coach's words and unit.
    step : float
        The change, in the unit.
    gain_R : float
        Margin gained, in R.
    low, high : float
        Least and greatest gain among the structural variants.
    kind : {"build", "fault", "compare"}
        To be built from here; what a fault costs until it is gone; or what only explains
        why two athletes differ.
    say : str
        One sentence.
    """

    name: str
    unit: str
    step: float
    gain_R: float
    low: float
    high: float
    kind: str
    say: str


@dataclass(frozen=True)
class Change:
    """A what-if, in the coach's units; zeros change nothing.

    Attributes
    ----------
    belt_kg : float
        Added to the pull-up maximum.
    body_mass_kg : float
        Body mass put on (negative: lost) with the same muscle.
    arm_cm : float
        Longer arms at the same R, to compare athletes.
    swing_deg : float
        More swing.
    pull_later_s : float
        Pull start later than the best.
    pause_s : float
        Pause of the arms in the turn-over.
    speed_share, push_share : float
        Faster joints, stronger push, as shares (0.1 = ten percent).
    """

    belt_kg: float = 0.0
    body_mass_kg: float = 0.0
    arm_cm: float = 0.0
    swing_deg: float = 0.0
    pull_later_s: float = 0.0
    pause_s: float = 0.0
    speed_share: float = 0.0
    push_share: float = 0.0


@dataclass(frozen=True)
class Answer:
    """Strength or technique, for one athlete.

    Attributes
    ----------
    person : Person
    swing_deg : float
    needs, margin : dict of str to Band
        By ``still`` and ``swing``.
    levers : tuple of Lever
        Best first.
    offset : Offset
    say : str
        The answer in one sentence.
    by_variant : dict
        Least R of each structural variant, by ``still`` and ``swing``.
    """

    person: Person
    swing_deg: float
    needs: dict[str, Band]
    margin: dict[str, Band]
    levers: tuple[Lever, ...]
    offset: Offset
    say: str
    by_variant: dict[str, dict[str, float]] = field(default_factory=dict)

    def to_json(self, reference: dict[str, Any]) -> dict[str, Any]:
        """Return the JSON form, with the moving figure and forces given by the caller."""

        def part(bands: dict[str, Band], name: str) -> dict[str, float]:
            return {key: round(float(getattr(band, name)), 4) for key, band in bands.items()}

        return {
            "schema": "overbar.body/1",
            "has": self.person.R,
            "has_sd": self.person.R_sd,
            "swing_deg": self.swing_deg,
            "needs": part(self.needs, "value"),
            "needs_low": part(self.needs, "low"),
            "needs_high": part(self.needs, "high"),
            "margin": part(self.margin, "value"),
            "margin_low": part(self.margin, "low"),
            "margin_high": part(self.margin, "high"),
            "band": BAND,
            "by_variant": {
                start: {key: round(value, 4) for key, value in each.items()}
                for start, each in self.by_variant.items()
            },
            "levers": [
                {
                    "name": lever.name,
                    "unit": lever.unit,
                    "step": lever.step,
                    "gain_R": round(lever.gain_R, 4),
                    "gain_low": round(lever.low, 4),
                    "gain_high": round(lever.high, 4),
                    "kind": lever.kind,
                    "say": lever.say,
                }
                for lever in self.levers
            ],
            "offset": {
                "mean": round(self.offset.mean, 4),
                "sd": round(self.offset.sd, 4),
                "prior_sd": round(self.offset.prior_sd, 4),
                "attempts": self.offset.attempts,
                "over": self.offset.over,
                "athletes": self.offset.athletes,
                "say": self.offset.say(),
            },
            "say": self.say,
            "trade_rule_R": list(TRADE_RULE_R),
            "caution": CAUTION,
            **reference,
        }


def push_from_dip(dip_over_pull: float, R: float) -> float:
    """Return push strength over the model's usual from a straight-bar dip maximum.

    Parameters
    ----------
    dip_over_pull : float
        Dip maximum over pull-up maximum, both as system mass.
    R : float
        Pull-up maximum over body mass.

    Notes
    -----
    A straight line through the model's own dips, see docs/body-model.md; held inside
    :data:`PUSH_HELD`.
    """
    usual = DIP_OVER_PULL_AT[1] + DIP_OVER_PULL_PER_R * (R - DIP_OVER_PULL_AT[0])
    low, high = PUSH_HELD
    return min(max(1.0 + (dip_over_pull - usual) / DIP_OVER_PULL_PER_PUSH, low), high)


def speed_from_first_rep(mean_speed_mps: float, R: float) -> float:
    """Return joint speed over the model's usual from the mean speed of a fastest fresh pull-up.

    Notes
    -----
    With its usual joint speeds the model agrees with Beckham et al. 2018: reps =
    -6.661 + 25.556 x speed, reps by Epley from R. What is faster than that line for the
    same R has faster joints, :data:`SPEED_PER_JOINT_SPEED` m/s for each whole of it.

    Examples
    --------
    >>> round(speed_from_first_rep(0.73, 1.40), 2)
    1.0
    """
    published = (30 * (R - 1) + 6.661) / 25.556
    low, high = SPEED_HELD
    return min(max(1.0 + (mean_speed_mps - published) / SPEED_PER_JOINT_SPEED, low), high)


DIP_OVER_PULL_AT = (1.40, 0.99)
"""Straight-bar dip maximum over pull-up maximum of the model with its usual push strength, and at which R."""

DIP_OVER_PULL_PER_R = -0.46
DIP_OVER_PULL_PER_PUSH = 0.28
"""How that ratio moves with R and with push strength (solved, see docs/body-model.md)."""

PUSH_HELD = (0.80, 1.45)
SPEED_HELD = (0.85, 1.15)
"""An athlete's own push and speed are held to where bodies were solved; a film or a dip maximum that says
more is more likely wrong (own judgement)."""

SPEED_PER_JOINT_SPEED = 0.35
"""Mean speed in m/s of the fastest pull-up gained by doubling all arm joint speeds, near the usual ones."""


def prior_offset(table: Table, spread: dict[str, float] | None = None) -> Offset:
    """Return the offset before any attempt: nothing, with the model's whole uncertainty.

    Parameters
    ----------
    spread : dict, optional
        Least R of each variant; the middle body with a swing when not given.
    """
    each = spread or _by_variant(table, "unstated", "swing", Place(swing_deg=DEFAULT_SWING_DEG))
    between = float(np.std(list(each.values()), ddof=1)) if len(each) > 1 else SHARED_SD_R
    sd = math.sqrt(between**2 + SHARED_SD_R**2 + table.shown_rms**2)
    return Offset(0.0, sd, sd)


def learn(table: Table, attempts: Iterable[LoggedAttempt], prior: Offset | None = None) -> Offset:
    """Let logged attempts move the thresholds.

    Parameters
    ----------
    attempts : iterable of LoggedAttempt
        Of all the coach's athletes; successes and failures.

    Returns
    -------
    Offset
        Posterior mean and sd of one shift common to all thresholds.

    Notes
    -----
    Prior normal, sd from the variants. Each athlete has a shift of their own on top of
    the common one, normal with :data:`PERSON_SD_R` and the uncertainty of their R, so that
    many attempts of one athlete say less than as many of many. Chance of going over at a
    whole shift e: :data:`STRONG_ENOUGH_AND_OVER` x Phi((R - need - e) / s), with s of
    :data:`FORM_SD_R` and of the swing's uncertainty. Summed exactly on a grid.
    """
    start = prior or prior_offset(table)
    shift = np.arange(-150, 151) * SHIFT_STEP_R
    log = -0.5 * ((shift - start.mean) / start.sd) ** 2
    by_athlete: dict[str, list[LoggedAttempt]] = {}
    for attempt in attempts:
        by_athlete.setdefault(attempt.who, []).append(attempt)
    everything = [one for tries in by_athlete.values() for one in tries]
    if not everything:
        return start
    needed = _needed(table, everything)
    at = 0
    for tries in by_athlete.values():
        R = np.array([one.person.R for one in tries])
        s = np.hypot(FORM_SD_R, R_PER_SWING_DEG * np.array([one.swing_sd_deg for one in tries]))
        z = (R - needed[at : at + len(tries)])[:, None] - shift
        went = STRONG_ENOUGH_AND_OVER * ndtr(z / s[:, None])
        over = np.array([one.over for one in tries])
        own = np.log(np.where(over[:, None], went, 1 - went) + TINY).sum(axis=0)
        top = float(own.max())
        between = math.hypot(PERSON_SD_R, float(np.mean([one.person.R_sd for one in tries])))
        log += np.log(_smeared(np.exp(own - top), between) + TINY) + top
        at += len(tries)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = float(weight @ shift)
    sd = float(np.sqrt(weight @ (shift - mean) ** 2))
    went_over = sum(one.over for one in everything)
    return Offset(
        mean,
        sd,
        start.prior_sd,
        start.attempts + len(everything),
        start.over + went_over,
        start.athletes + len(by_athlete),
    )


def need(
    table: Table, person: Person, swing_deg: float, offset: Offset | None = None, *, kind: str = ""
) -> Band:
    """Return the R with which this body gets over, with its band.

    Parameters
    ----------
    swing_deg : float
        0 asks for the still hang without leg drive.
    kind : str
        Another start of :data:`overbar.mechanics.surrogate.KINDS`.
    """
    each = _needs(table, person, kind or ("swing" if swing_deg else "still"), swing_deg)
    return banded(each, table, offset)


def banded(each: dict[str, float], table: Table, offset: Offset | None = None) -> Band:
    """Return mean and band of the variants' least R, moved by what attempts have said."""
    if offset is None or not offset.attempts:
        offset = prior_offset(table, each)
    half = _Z * math.hypot(offset.sd, PERSON_SD_R)
    middle = _mean(each) + offset.mean
    return Band(middle, middle - half, middle + half)


def margin(own: Person, needed: Band) -> Band:
    """Return own R less the needed one, with the uncertainty of both."""
    half = math.hypot((needed.high - needed.low) / 2, _Z * own.R_sd)
    value = own.R - needed.value
    return Band(value, value - half, value + half)


def what_if(table: Table, person: Person, swing_deg: float, change: Change) -> Band:
    """Return the margin gained by a change (negative: lost), as mean, least and greatest of the variants."""
    gains = _gains(table, person, swing_deg, change)
    values = list(gains.values())
    return Band(_mean(gains), min(values), max(values))


Step = tuple[str, str, float, str, Change]
"""Name, unit, step, kind and change of a lever."""


def steps(mass_unit: str = "kg", length_unit: str = "cm") -> tuple[Step, ...]:
    """Return the levers' steps, about one training block each (own judgement), in the coach's units."""
    belt, lost = (2.5, 2.0) if mass_unit == "kg" else (5.0, 5.0)
    longer = 1.0 if length_unit == "cm" else 0.5
    kg = 1.0 if mass_unit == "kg" else KG_PER_LB
    cm = 1.0 if length_unit == "cm" else 100 * M_PER_INCH
    return (
        ("pull strength", f"{mass_unit} on the belt", belt, "build", Change(belt_kg=belt * kg)),
        ("body mass, same muscle", mass_unit, -lost, "build", Change(body_mass_kg=-lost * kg)),
        ("speed of the arms, same maximum", "%", 5.0, "build", Change(speed_share=0.05)),
        ("push strength", "%", 10.0, "build", Change(push_share=0.10)),
        ("swing", "degrees", 5.0, "build", Change(swing_deg=5.0)),
        ("pause in the turn-over", "s", 0.2, "fault", Change(pause_s=0.2)),
        ("pull start later than best", "s", 0.3, "fault", Change(pull_later_s=0.3)),
        ("arm length, same maximum", length_unit, longer, "compare", Change(arm_cm=longer * cm)),
    )


def levers(
    table: Table, person: Person, swing_deg: float, mass_unit: str = "kg", length_unit: str = "cm"
) -> tuple[Lever, ...]:
    """Return what each lever buys or costs from this swing, best first; none that leaves the table."""
    found = []
    for name, unit, step, kind, change in steps(mass_unit, length_unit):
        try:
            gain = what_if(table, person, swing_deg, change)
        except BadInput:
            # A step that would leave the table's range has no answer to rank; nor has a body solved
            # in full outside it.
            continue
        say = f"{name}, {step:+g} {unit}: margin {gain.value:+.3f} R ({gain.low:+.3f} to {gain.high:+.3f})"
        found.append(Lever(name, unit, step, gain.value, gain.low, gain.high, kind, say))
    with suppress(BadInput):
        found.append(_quiet_legs(table, person, swing_deg))
    return tuple(sorted(found, key=lambda lever: -lever.gain_R))


def answer(
    table: Table,
    person: Person,
    swing_deg: float = DEFAULT_SWING_DEG,
    offset: Offset | None = None,
    mass_unit: str = "kg",
    length_unit: str = "cm",
) -> Answer:
    """Answer 'strength or technique?' for one athlete from the table, in the coach's units."""
    each = {
        "still": _needs(table, person, "still", 0.0),
        "swing": _needs(table, person, "swing", swing_deg),
    }
    return answer_from(table, person, swing_deg, each, offset, mass_unit, length_unit)


def answer_from(
    table: Table,
    person: Person,
    swing_deg: float,
    each: dict[str, dict[str, float]],
    offset: Offset | None = None,
    mass_unit: str = "kg",
    length_unit: str = "cm",
) -> Answer:
    """Answer from given least R of each variant (the table's, or full solves of this body)."""
    needs = {start: banded(values, table, offset) for start, values in each.items()}
    margins = {start: margin(person, band) for start, band in needs.items()}
    ranked = levers(table, person, swing_deg, mass_unit, length_unit)
    shown = offset if offset is not None and offset.attempts else prior_offset(table, each["swing"])
    return Answer(
        person=person,
        swing_deg=swing_deg,
        needs=needs,
        margin=margins,
        levers=ranked,
        offset=shown,
        say=sentence(person, swing_deg, needs["swing"], margins["swing"], ranked, mass_unit),
        by_variant=each,
    )


def sentence(
    person: Person,
    swing_deg: float,
    needed: Band,
    own: Band,
    ranked: Sequence[Lever],
    mass_unit: str = "kg",
) -> str:
    """Return the answer in words: the threshold with its band, then the levers, best first."""
    scale = person.mass_kg / (1.0 if mass_unit == "kg" else KG_PER_LB)
    ends = sorted(abs(x) * scale for x in (own.low, own.high))
    span = f"{ends[0]:.0f} to {ends[1]:.0f} {mass_unit} on the belt"
    if own.high < 0:
        verdict = f"strength first, short by {span}"
    elif own.low > 0:
        verdict = f"strength is enough by {span}, so look at technique"
    elif own.value < 0:
        verdict = "more likely short of strength than not, too close for the model to tell"
    else:
        verdict = "more likely strong enough than not, too close for the model to tell"
    build = [_amount(lever) for lever in ranked if lever.kind == "build" and lever.gain_R > 0]
    bought = f" Most is bought by {' and '.join(build[:2])}." if build else ""
    faults = [lever for lever in ranked if lever.kind == "fault"]
    worst = f" The costliest single fault: {_amount(faults[-1])}." if faults else ""
    return (
        f"From a {swing_deg:.0f} degree swing the model puts this body's threshold at {needed.value:.2f} x "
        f"body mass in the pull-up ({needed.low:.2f} to {needed.high:.2f}, {BAND:.0%} band) and it has "
        f"{person.R:.2f} (+- {person.R_sd:.2f}): {verdict}.{bought}{worst}"
    )


def _amount(lever: Lever) -> str:
    step = f"{lever.step:+g} {lever.unit}: " if lever.unit else ""
    return f"{lever.name} ({step}{lever.gain_R:+.2f})"


def _needed(table: Table, attempts: Sequence[LoggedAttempt]) -> np.ndarray:
    """Return the mean least R of each attempt; the same person and swing are asked for once."""
    known: dict[tuple[Person, float], float] = {}
    answer = []
    for one in attempts:
        key = (one.person, one.swing_deg)
        if key not in known:
            known[key] = _mean(
                _needs(table, one.person, "swing" if one.swing_deg else "still", one.swing_deg)
            )
        answer.append(known[key])
    return np.array(answer)


def _smeared(likelihood: np.ndarray, sd: float) -> np.ndarray:
    """Return a likelihood on the grid of shifts, averaged over a normal spread of the athlete's own."""
    reach = int(4 * sd / SHIFT_STEP_R) + 1
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * SHIFT_STEP_R / sd) ** 2)
    # Beyond the ends of the grid an athlete's likelihood is flat: there it goes on as at the ends.
    wide = np.pad(likelihood, reach, mode="edge")
    smeared: np.ndarray = np.convolve(wide, kernel / kernel.sum(), mode="valid")
    return smeared


def _mean(each: dict[str, float]) -> float:
    return float(np.mean(list(each.values())))


def _by_variant(table: Table, sex: str, kind: str, place: Place) -> dict[str, float]:
    return {variant: table.need(variant, sex, kind, place) for variant in table.variants}


def _needs(
    table: Table, person: Person, kind: str, swing_deg: float, place: Place | None = None
) -> dict[str, float]:
    """Return the least R of each variant; a swing below the table's least is blended with the still hang."""
    here = replace(place or person.place, swing_deg=swing_deg)
    least = RANGE["swing_deg"][0]
    if not kind.startswith("swing") or swing_deg >= least:
        return _by_variant(table, person.sex, kind, here)
    share = max(0.0, swing_deg) / least
    swung = _by_variant(table, person.sex, kind, replace(here, swing_deg=least))
    hung = _by_variant(table, person.sex, "still_drive" if kind == "swing" else "still", here)
    return {v: share * swung[v] + (1 - share) * hung[v] for v in swung}


def _gains(table: Table, person: Person, swing_deg: float, change: Change) -> dict[str, float]:
    here = person.place
    kg = person.mass_kg
    new_mass = kg + change.body_mass_kg
    if new_mass <= 0:
        raise BadInput(f"a body mass change of {change.body_mass_kg:g} kg leaves nothing of {kg:g} kg")
    # The same muscle lifts the same system mass; belt load comes on top of it.
    new_R = (person.R * kg + change.belt_kg) / new_mass
    reach = body_of(person.stature_m, kg, person.sex).hang_length_m
    there = replace(
        here,
        arm=here.arm + change.arm_cm / 100 / reach,
        speed=here.speed * (1 + change.speed_share),
        push=here.push * (1 + change.push_share),
        fat=here.fat + change.body_mass_kg / kg,
    )
    before = _needs(table, person, "swing", swing_deg, here)
    after = _needs(table, person, "swing", swing_deg + change.swing_deg, there)
    gains = {}
    for variant in before:
        fault = 0.0
        if change.pause_s and variant in table.pauses:
            fault += _cost_of_pause(change.pause_s, *table.pauses[variant])
        if change.pull_later_s and variant in table.waits:
            fault += _cost_of_waiting(change.pull_later_s, *table.waits[variant])
        gains[variant] = new_R - person.R + before[variant] - after[variant] - fault
    return gains


def _cost_of_pause(amount_s: float, times: list[float], added: list[float]) -> float:
    """Return the R a pause adds; a longer one never adds less."""
    return float(np.interp(amount_s, times, np.maximum.accumulate(added)))


def _cost_of_waiting(amount_s: float, times: list[float], added: list[float]) -> float:
    """Return the R added by pulling so much later than this variant's best pull start."""
    best = times[int(np.argmin(added))]
    return float(np.interp(best + amount_s, times, np.maximum.accumulate(added)) - min(added))


def _quiet_legs(table: Table, person: Person, swing_deg: float) -> Lever:
    with_drive = _needs(table, person, "swing", swing_deg)
    without = _needs(table, person, "swing_quiet", swing_deg)
    gains = [with_drive[v] - without[v] for v in without]
    mean = float(np.mean(gains))
    say = f"legs held quiet instead of driving: {mean:+.3f} R ({min(gains):+.3f} to {max(gains):+.3f})"
    return Lever("legs held quiet instead of driving", "", 1.0, mean, min(gains), max(gains), "fault", say)
