"""A simulated athlete: hidden strength, and the sets the athlete does and reports.

The truth is drawn from published spreads, but is not the estimate's own model: half of
the athletes follow one of the seven published equations (stretched to their own
repetitions at 80 % of 1RM), repetitions are whole numbers, reports are rounded and cut
off at zero, and the athlete's noise is his or her own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from overbar.strength.posterior import usual_gain
from overbar.strength.prior import PRIORS, Prior
from overbar.strength.rep_max import EQUATIONS
from overbar.strength.sets import LoggedSet
from overbar.strength.velocity import BECKHAM_INTERCEPT, BECKHAM_SLOPE

LOG_AT_80 = float(np.log(1 / 0.80))
MOST = 40
FADES_DAYS = 1.5
"""Fatigue of the last days fades to 37 % in this time (own judgement)."""
GAIN = (1.1, 0.5)
"""Gain a trained week as a multiple of the usual one, mean and spread over athletes (own judgement)."""
FIVE_PULL_UPS = (1.18, 0.07)
"""Strength of those who can do about five strict pull-ups, whom the ladder is for (own judgement)."""


@dataclass(frozen=True)
class Hidden:
    """What nobody sees of a simulated athlete.

    Attributes
    ----------
    sex : str
    body_mass_kg, stature_m : float
    R : float
        Strength on the first day, 1RM system mass / body mass.
    log_ratio : tuple of float
        log(1RM / mass) at 0, 0.1, 0.2, ... repetitions to failure: the own curve.
    gain : float
        Multiple of the usual gain rate.
    drift_sd : float
        Log strength per square root of a week that no rule explains.
    reserve_bias : float
        Repetitions by which reps left are under-reported.
    day_sd, set_sd : float
        Spread of a day and of a set, log.
    tired_per_set : float
        What a hard set takes off the next one, log.
    tired_per_recent_set : float
        What a set of the last days still takes off before it fades, log.
    speed_offset : float
        Repetitions off the published speed line.
    """

    sex: str
    body_mass_kg: float
    stature_m: float
    R: float
    log_ratio: tuple[float, ...]
    gain: float
    drift_sd: float
    reserve_bias: float
    day_sd: float
    set_sd: float
    tired_per_set: float
    tired_per_recent_set: float
    speed_offset: float

    def reps_at(self, log_ratio: float) -> float:
        """Return the repetitions to failure at log(1RM / mass)."""
        return float(np.interp(log_ratio, self.log_ratio, np.arange(len(self.log_ratio)) / 10))


def draw(
    rng: np.random.Generator,
    sex: str | None = None,
    R: tuple[float, float] | None = None,
    people: Mapping[str, Prior] | None = None,
) -> Hidden:
    """Draw one athlete.

    Parameters
    ----------
    rng : numpy.random.Generator
    sex : {"f", "m"} or None
        Drawn evenly when None.
    R : (float, float) or None
        Mean and SD of strength on the first day; by default that of someone who can
        do about five strict pull-ups.
    people : mapping of sex to Prior, or None
        The population: strength on the first day, repetitions at 80 %, habit of reporting
        and gain (a trained week). By default the published ones, with strength as above.
    """
    sex = sex or ("m", "f")[int(rng.integers(2))]
    prior = people[sex] if people else PRIORS[sex, "ordinary"]
    reps_at_80 = float(np.clip(rng.normal(*prior.reps_at_80), 4.5, 16))
    mean, sd = R or (prior.R if people else FIVE_PULL_UPS)
    return Hidden(
        sex=sex,
        body_mass_kg=float(rng.normal(80, 9) if sex == "m" else rng.normal(63, 7)),
        stature_m=float(rng.normal(1.78, 0.065) if sex == "m" else rng.normal(1.66, 0.06)),
        R=float(max(rng.normal(mean, sd), 0.7)),
        log_ratio=_curve(rng, reps_at_80),
        gain=float(max(rng.normal(*(prior.gain if people else GAIN)), 0.0)),
        drift_sd=0.006,
        reserve_bias=float(rng.normal(*prior.reserve_bias)),
        day_sd=float(rng.uniform(0.0105, 0.021)),
        set_sd=float(rng.uniform(0.006, 0.014)),
        tired_per_set=float(rng.uniform(0.005, 0.025)),
        tired_per_recent_set=float(rng.uniform(0.0, 0.003)),
        speed_offset=float(rng.normal(0, 1.5)),
    )


def _curve(rng: np.random.Generator, reps_at_80: float) -> tuple[float, ...]:
    """A published equation stretched to these repetitions at 80 %, or a power of the repetitions."""
    reps = np.arange(0, MOST * 10 + 1) / 10
    if rng.random() < 0.5:
        equation = EQUATIONS[sorted(EQUATIONS)[int(rng.integers(len(EQUATIONS)))]]
        own = np.arange(1, 30, 0.01)
        log_own = np.log([equation(1.0, n) for n in own]) - np.log(equation(1.0, 1.0))
        at_80 = float(np.interp(LOG_AT_80, log_own, own))
        shape = np.interp(1 + (np.maximum(reps, 1) - 1) * (at_80 - 1) / (reps_at_80 - 1), own, log_own)
    else:
        k = float(rng.uniform(0.02, 1.0))
        shape = (np.maximum(reps, 1.0) ** k - 1) / k
        shape *= LOG_AT_80 / ((reps_at_80**k - 1) / k)
    below = reps < 1
    shape[below] = (reps[below] - 1) * (shape[11] - shape[10]) * 10
    return tuple(np.maximum.accumulate(shape + 1e-9 * reps))


@dataclass
class Training:
    """A simulated athlete over time: strength moves, sets are done and reported.

    Attributes
    ----------
    hidden : Hidden
    rng : numpy.random.Generator
    log_one_rm : float
        True log 1RM system mass in kg.
    body_mass_kg : float
        True body mass.
    """

    hidden: Hidden
    rng: np.random.Generator
    log_one_rm: float = field(init=False)
    body_mass_kg: float = field(init=False)
    day: float = field(init=False, default=0.0)
    tired: float = field(init=False, default=0.0)
    recent: float = field(init=False, default=0.0)
    order: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        self.body_mass_kg = self.hidden.body_mass_kg
        self.log_one_rm = float(np.log(self.hidden.R * self.body_mass_kg))

    @property
    def R(self) -> float:
        """True 1RM system mass / body mass."""
        return float(np.exp(self.log_one_rm)) / self.body_mass_kg

    def live(self, days: float, trained: float = 1.0) -> None:
        """Let days pass; ``trained`` is the share of the planned work done in them."""
        weeks = days / 7
        self.rest(days)
        self.log_one_rm += self.hidden.gain * float(usual_gain(self.R)) * weeks * trained
        self.log_one_rm += self.rng.normal(0, self.hidden.drift_sd * weeks**0.5)

    def rest(self, days: float) -> None:
        """Let the fatigue of the last sets fade for so many days."""
        self.recent *= float(np.exp(-days / FADES_DAYS))

    def start_day(self, form: float = 0.0) -> None:
        """Begin a session; ``form`` is what sleep, illness or deload do to this day, log."""
        carried = self.recent * self.hidden.tired_per_recent_set
        self.day = self.rng.normal(0, self.hidden.day_sd) + form - carried
        self.tired, self.order = 0.0, 0

    def capacity(self, added_kg: float) -> float:
        """Return the repetitions to failure right now, not rounded."""
        now = self.log_one_rm + self.day - self.tired + self.rng.normal(0, self.hidden.set_sd)
        return self.hidden.reps_at(now - float(np.log(self.body_mass_kg + added_kg)))

    def do_set(
        self,
        on: date,
        added_kg: float,
        reps: int,
        keep: int = 0,
        report: bool = True,
        speed: bool = False,
        to_failure: bool = False,
        exercise: str = "strict_pull_up",
    ) -> LoggedSet:
        """Do one set of at most ``reps``, stopping when ``keep`` seem to be left.

        Parameters
        ----------
        on : datetime.date
        added_kg : float
        reps : int
            Repetitions asked for.
        keep : int
            Repetitions the athlete means to keep in reserve.
        report : bool
            Whether reps left are written down.
        speed : bool
            Whether a film gives the first rep's speed.
        to_failure : bool
            Go on until a rep fails.
        """
        capacity = self.capacity(added_kg)
        most = int(np.floor(capacity + 0.5)) if capacity >= 1 else 0
        done = most if to_failure else max(min(reps, most), 0)
        if not to_failure and keep:
            while done > 1 and self.felt_left(most - done) < keep:
                done -= 1
        failed = done == most and (to_failure or done < reps)
        left = None
        if report and not failed:
            left = float(self.felt_left(most - done))
        seen = None
        if speed and capacity >= 1:
            line = (capacity + self.hidden.speed_offset - BECKHAM_INTERCEPT) / BECKHAM_SLOPE
            seen = round(float(max(line + self.rng.normal(0, 0.035), 0.1)), 3)
        self.tired = min(self.tired + self.hidden.tired_per_set * min(1.0, 2 / (1 + most - done)), 0.15)
        self.recent += 1
        self.order += 1
        return LoggedSet(
            on=on,
            exercise=exercise,
            body_mass_kg=round(self.body_mass_kg * (1 + self.rng.normal(0, 0.003)), 1),
            added_kg=added_kg,
            reps=done,
            reps_left=left,
            first_rep_speed_mps=seen,
            failed=failed,
            order=self.order - 1,
        )

    def felt_left(self, left: int) -> int:
        """Return the repetitions left as the athlete reports them: too few on average, never below zero."""
        spread = 0.6 + 0.15 * left
        return max(0, round(left - self.hidden.reserve_bias + self.rng.normal(0, spread)))
