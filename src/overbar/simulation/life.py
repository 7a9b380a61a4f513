"""One simulated athlete living under a ladder: planned week by week, done, logged, and judged by the truth.

Everything the plan sees is what a real athlete would have written down or filmed; the
hidden truth is used only to say how early or late a gate opened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np
from scipy.special import ndtr

from overbar.athlete.kit import Band, Bar, Kit, Plate
from overbar.athlete.person import Athlete
from overbar.athlete.screening import Screening
from overbar.ladder.form import Gate, Ladder
from overbar.planning import decide, past_week
from overbar.planning.history import (
    AttemptLog,
    BodyNote,
    History,
    Measurement,
    PainReport,
    PastWeek,
    SessionLog,
)
from overbar.planning.verdict import PlannedSession, PlannedSlot, Week
from overbar.simulation.ability import Abilities, leaves
from overbar.simulation.hidden import Training, draw
from overbar.simulation.standstill import Stalls, judge
from overbar.strength.posterior import Belief, advance, begin, by_day, observe
from overbar.strength.prior import Prior, prior_for
from overbar.strength.sets import LoggedSet, StrengthPoint
from overbar.units import kg_from_lb

FIRST_MONDAY = date(2026, 1, 5)
MISSED_WEEKS = 0.18
"""Share of weeks with a session missed (own judgement, handbook of the trade)."""
AWAY_WEEKS = 0.03
ILL_WEEKS = 0.02
PAIN_PER_WEEK = 0.025
"""Chance of a new sore place in a usual week; a jump of more than 40 % in pulling reps doubles it."""
PAIN_DAYS = (7, 35)
USUAL_HARD_SETS = 2.5
"""Hard pulling sets a week that give 63 % of what any number gives (own judgement; the dose is contested):
so that the five to seven of the latest stages still give nine tenths, as the usual gain rates take for
granted at every stage."""
ANSWERS, YES = 0.9, 0.95
"""Chance that a question, or a wish for a photo, is answered in a session, and that the answer is yes."""
SHOWN_AFTER_DAYS = 2
"""Days an exercise is done before it is shown as learnt (own judgement)."""
PLACE, TEST = "place_checked", "test"
"""The fact that waits for a photo, and the mark of a test day's lines: a test of repetitions is done to
the end, as its note says."""
HARD_LEFT = 4
"""A set with at most this many repetitions left is hard."""
USED_TO_WEEKS = 6
STALL, HEIGHT_STALLS = "STALL", {"STALL-4"}
"""Rules whose id starts so say that strength stands still; one of them speaks of height."""
OLDEST_DAYS = 200
"""The plan does not look further back, so older rows are let go."""


@dataclass(frozen=True)
class Opening:
    """One gate that opened.

    Attributes
    ----------
    gate : str
    week : int
        Week of the life, from 0.
    early : bool
        Whether a hidden value was still short by more than the test's retest sigma.
    late_weeks : int
        Weeks since the hidden values first met it; 0 when early.
    """

    gate: str
    week: int
    early: bool
    late_weeks: int


@dataclass(frozen=True)
class LifeReport:
    """What happened to one simulated athlete.

    Attributes
    ----------
    gain : float
        Hidden gain multiple.
    openings : tuple of Opening
    first_success : int or None
        Week of the first valid try.
    largest_step : float
        Largest rise of a pulling load over the heaviest before, as a share of system mass.
    pull_reps : tuple of int
        Pulling repetitions done, week by week.
    largest_rise : float
        Largest rise of planned pulling reps over the most done in any of the six weeks before.
    rules : dict
        How many weeks each rule fired in.
    weeks_sore : int
        Weeks with a hidden sore place.
    stalls : Stalls
        Weeks in which a rule of stalled strength fired, judged by the truth.
    tries : int
    R_first, R_last : float
        Hidden strength.
    """

    gain: float
    openings: tuple[Opening, ...]
    first_success: int | None
    largest_step: float
    pull_reps: tuple[int, ...]
    largest_rise: float
    rules: dict[str, int]
    weeks_sore: int
    stalls: Stalls
    tries: int
    R_first: float
    R_last: float


@dataclass
class _Log:
    """What has been written down so far."""

    sets: list[LoggedSet] = field(default_factory=list)
    sessions: list[SessionLog] = field(default_factory=list)
    body: list[BodyNote] = field(default_factory=list)
    pain: list[PainReport] = field(default_factory=list)
    measurements: list[Measurement] = field(default_factory=list)
    attempts: list[AttemptLog] = field(default_factory=list)
    weeks: list[PastWeek] = field(default_factory=list)

    def history(self, athlete: Athlete, on: date) -> History:
        """Return it as the plan reads it."""
        since = on - timedelta(days=OLDEST_DAYS)
        return History(
            athlete,
            sets=tuple(x for x in self.sets if x.on >= since),
            sessions=tuple(x for x in self.sessions if x.on >= since),
            body=tuple(x for x in self.body if x.on >= since),
            pain=tuple(x for x in self.pain if x.on >= since),
            measurements=tuple(x for x in self.measurements if x.on >= since),
            attempts=tuple(self.attempts),
            weeks=tuple(self.weeks),
        )


def live(ladder: Ladder, seed: int, weeks: int = 60, method: str = "") -> LifeReport:
    """Let one athlete live under a ladder.

    Parameters
    ----------
    ladder : Ladder
    seed : int
        Decides everything about the athlete and about chance.
    weeks : int
    method : str
        Method of the pulling strand; the ladder's own when empty.
    """
    return _Life(ladder, np.random.default_rng(seed), method).through(weeks)


def pulls_and_truth(
    ladder: Ladder, seed: int, weeks: int, method: str = "", people: Mapping[str, Prior] | None = None
) -> tuple[str, tuple[LoggedSet, ...], tuple[tuple[date, float], ...]]:
    """Return sex, logged pulling sets and true strength on their days of one life under a ladder.

    ``people`` is the population the athlete is drawn from; None is those the ladder is for.
    """
    life = _Life(ladder, np.random.default_rng(seed), method, people)
    life.through(weeks)
    return life.athlete.sex, tuple(life.pulls), tuple(life.truth)


class _Life:
    """One simulated athlete's weeks."""

    def __init__(
        self,
        ladder: Ladder,
        rng: np.random.Generator,
        method: str,
        people: Mapping[str, Prior] | None = None,
    ) -> None:
        self.ladder, self.rng = ladder, rng
        self.body = Training(draw(rng, people=people), rng)
        self.able = Abilities.draw(ladder, self.body.hidden, rng)
        self.athlete = _athlete(self.body, rng, method or ladder.skill.default_method, ladder.skill.id)
        self.reports_left = float(rng.uniform(0.4, 1.0))
        self.shrink = float(rng.normal(0, 0.0006))
        self.log = _Log()
        self.belief: Belief | None = None
        self.points: list[StrengthPoint] = []
        self.pulls: list[LoggedSet] = []
        self.truth: list[tuple[date, float]] = []
        self.sore_until = date.min
        self.sore_level = 0.0
        self.sore_site = ""
        self.rules: Counter[str] = Counter()
        self.openings: list[Opening] = []
        self.met_since: dict[str, int] = {}
        self.heaviest: float | None = None
        self.largest_step = 0.0
        self.done_reps: list[int] = []
        self.planned_reps: list[int] = []
        self.weeks_sore = 0
        self.one_rm: list[float] = []
        self.called_stall: list[bool] = []
        self.first_success: int | None = None
        self.days_done: Counter[str] = Counter()
        self.heights = [t for t in self.able.asked if ladder.tests[t].unit == "L"]

    def through(self, weeks: int) -> LifeReport:
        """Live so many weeks."""
        R_first = self.body.R
        self._tests(FIRST_MONDAY - timedelta(days=3), self._every_test())
        self._best_set(FIRST_MONDAY - timedelta(days=3))
        for number in range(weeks):
            monday = FIRST_MONDAY + timedelta(weeks=number)
            week = decide(self.log.history(self.athlete, monday), self.ladder, monday, tuple(self.points))
            self._account(week, number)
            self._train(week, monday, number)
            self.log.weeks.append(past_week(week))
        return LifeReport(
            gain=self.body.hidden.gain,
            openings=tuple(self.openings),
            first_success=self.first_success,
            largest_step=self.largest_step,
            pull_reps=tuple(self.done_reps),
            largest_rise=self._largest_rise(),
            rules=dict(self.rules),
            weeks_sore=self.weeks_sore,
            stalls=judge(self.one_rm, self.called_stall),
            tries=len(self.log.attempts),
            R_first=R_first,
            R_last=self.body.R,
        )

    # --- judging the plan by the truth --------------------------------------

    def _account(self, week: Week, number: int) -> None:
        fired = {rule.id for rule in week.verdict.rules}
        self.rules.update(fired)
        self.one_rm.append(self.body.log_one_rm)
        self.called_stall.append(any(rule.startswith(STALL) for rule in fired - HEIGHT_STALLS))
        for gate in self.ladder.gates.values():
            if gate.id not in self.met_since and self._truly_met(gate):
                self.met_since[gate.id] = number
        before = self.log.weeks[-1].rung if self.log.weeks else None
        for gate in self._gates_between(before, week.verdict.rung):
            since = self.met_since.get(gate.id)
            early = since is None and not self._truly_met(gate, give=1.0)
            self.openings.append(Opening(gate.id, number, early, 0 if since is None else number - since))
        for session in week.sessions:
            for slot in session.slots:
                self._account_load(slot)

    def _account_load(self, slot: PlannedSlot) -> None:
        exercise = self.ladder.exercises[slot.exercise]
        if not exercise.strength_test or slot.load.added_kg < 0:
            return
        mass = self.body.body_mass_kg + slot.load.added_kg
        if self.heaviest is not None and slot.load.added_kg > self.heaviest:
            before = self.body.body_mass_kg + self.heaviest
            self.largest_step = max(self.largest_step, mass / before - 1)
        self.heaviest = max(self.heaviest or 0.0, slot.load.added_kg)

    def _truly_met(self, gate: Gate, give: float = 0.0) -> bool:
        return all(self.able.met(item, self.body.R, give) for item in gate.item if item.hard)

    def _gates_between(self, before: str | None, now: str) -> Iterable[Gate]:
        """Gates climbed through since the last plan (none on the first, none on the way down)."""
        passed: list[Gate] = []
        rung = before
        while rung is not None and rung != now and self.ladder.rungs[rung].gate:
            gate = self.ladder.gates[self.ladder.rungs[rung].gate]
            passed.append(gate)
            rung = gate.to_rung
        return passed if rung == now else ()

    def _largest_rise(self) -> float:
        rises = []
        for k in range(USED_TO_WEEKS, len(self.planned_reps)):
            most = max(self.done_reps[k - USED_TO_WEEKS : k])
            if most > 0:
                rises.append(self.planned_reps[k] / most - 1)
        return max(rises, default=0.0)

    # --- living --------------------------------------------------------------

    def _train(self, week: Week, monday: date, number: int) -> None:
        rng = self.rng
        away, ill = rng.random() < AWAY_WEEKS, rng.random() < ILL_WEEKS
        missed = rng.integers(len(week.sessions)) if week.sessions and rng.random() < MISSED_WEEKS else None
        self._soreness(monday)
        self.planned_reps.append(self._pull_reps(week))
        hard, reps = 0, 0
        asked = self._asked_now(week)
        before = monday - timedelta(days=2)
        for place, session in enumerate(sorted(week.sessions, key=lambda one: one.on)):
            on = max(session.on, monday)
            if away or ill or place == missed:
                reason = "travel" if away else "ill" if ill else "work"
                self.log.sessions.append(SessionLog(on, session.label, False, reason=reason))
                continue
            self.body.rest((on - before).days)
            before = on
            session_hard, session_reps = self._do(session, on, number)
            hard, reps = hard + session_hard, reps + session_reps
            if place < 2 and asked:
                self._tests(on, asked)
        self.done_reps.append(reps)
        share = float(1.05 * (1 - np.exp(-hard / USUAL_HARD_SETS)))
        self.body.live(7, share)
        if hard:
            self.able.practised += min(share, 1.0)
        self.body.body_mass_kg *= 1 + self.shrink + rng.normal(0, 0.001)

    def _do(self, session: PlannedSession, on: date, number: int) -> tuple[int, int]:
        """Do one session; returns its hard pulling sets and its pulling repetitions."""
        rng = self.rng
        sleep = float(np.clip(rng.normal(7.0, 0.6), 4, 9))
        mass = round(self.body.body_mass_kg * (1 + rng.normal(0, 0.003)), 1)
        self.log.body.append(BodyNote(on, mass, round(sleep, 1)))
        self.body.start_day(form=-0.006 * max(0.0, 6.5 - sleep))
        hard = reps = 0
        today: list[LoggedSet] = []
        self.days_done.update({slot.exercise for slot in session.slots})
        for slot in session.slots:
            for _ in range(slot.sets):
                exercise = self.ladder.exercises[slot.exercise]
                if slot.exercise == self.ladder.skill.attempt_exercise:
                    self._try(on, number)
                elif exercise.strength_test:
                    done = self._pull(slot, on, session.label)
                    today.append(done)
                    most = self.body.capacity(slot.load.added_kg)
                    hard += most - done.reps <= HARD_LEFT
                    reps += done.reps
                else:
                    self._other(slot, on, session.label, len(self.log.sets))
                    reps += slot.reps_low if exercise.volume == "pull" else 0
        self.log.sets.extend(today)
        self._learn(on, today)
        ended = float(np.clip(rng.normal(7, 0.8), 3, 10))
        self.log.sessions.append(SessionLog(on, session.label, True, round(ended, 1), 55.0))
        self._pain_report(on)
        return hard, reps

    def _pull(self, slot: PlannedSlot, on: date, label: str) -> LoggedSet:
        done = self.body.do_set(
            on,
            slot.load.added_kg,
            slot.reps_high or 1,
            keep=round(slot.reps_left or 0),
            report=bool(self.rng.random() < self.reports_left),
            speed=bool(slot.film or self.rng.random() < 0.1),
            to_failure=TEST in slot.why.split() and (slot.reps_high or 1) > 1,
            exercise=slot.exercise,
        )
        return replace(done, session=label)

    def _other(self, slot: PlannedSlot, on: date, label: str, order: int) -> None:
        """Log a set of an exercise that is not a strength test, as far as ability allows."""
        reps, seconds = slot.reps_high, slot.seconds
        for test_id in self.able.asked:
            reads = self.ladder.tests[test_id].reads
            if slot.exercise in reads.exercises:
                able = self.able.true_value(test_id, self.body.R)
                if able is None:
                    continue
                if reads.take == "seconds" and seconds is not None:
                    seconds = round(min(seconds, max(able, 0.5)), 1)
                elif reads.take == "reps":
                    reps = int(min(reps, max(np.floor(able + self.rng.normal(0, 0.5)), 0)))
        self.log.sets.append(
            LoggedSet(
                on,
                slot.exercise,
                round(self.body.body_mass_kg, 1),
                slot.load.added_kg,
                reps,
                session=label,
                order=order,
                seconds=seconds,
            )
        )

    def _try(self, on: date, number: int) -> None:
        """Try the skill: it comes off by height over what the gates ask, and by what was practised."""
        today = [one for one in self.log.attempts if one.on == on]
        wins = [k for k, one in enumerate(today) if one.outcome == "valid"]
        first_ever = self.first_success == number and bool(wins)
        if first_ever and len(today) - wins[0] > 2:
            return
        height, needed = self._height()
        tries = len(self.log.attempts)
        timing = 1 - np.exp(-(tries + 3) / 12)
        peak = height + self.rng.normal(0, 0.025)
        chance = float(ndtr((peak - needed) / 0.03)) * timing
        valid = self.rng.random() < chance
        outcome = "valid" if valid else ("over_not_clean" if self.rng.random() < 0.2 * chance else "failed")
        seen = round(peak + self.rng.normal(0, 0.017), 3)
        self.log.attempts.append(
            AttemptLog(on, len(today) + 1, outcome, seen, source="film", ref=f"film {on} {len(today) + 1}")  # type: ignore[arg-type]
        )
        if valid and self.first_success is None:
            self.first_success = number

    def _height(self) -> tuple[float, float]:
        """Return the hidden height that decides tries, and what the gates ask of it."""
        best = max(self.heights, key=lambda test: self.able.asked[test][1], default=None)
        if best is None:
            return 0.0, 0.0
        value = self.able.true_value(best, self.body.R)
        return value or 0.0, self.able.asked[best][1]

    # --- tests and pain ------------------------------------------------------

    def _asked_now(self, week: Week) -> list[str]:
        """Tests the week's questions ask for, and those the gate ahead still wants shown."""
        asks = {test.ask: test.id for test in self.ladder.tests.values() if test.ask}
        wanted = [asks[question] for question in week.verdict.questions if question in asks]
        gate = week.verdict.gate
        if gate is not None and not gate.open:
            wanted += [leaf.test for leaf in leaves(self.ladder.gates[gate.id].item)]
        return wanted

    def _every_test(self) -> list[str]:
        return list(self.able.asked)

    def _tests(self, on: date, tests: Iterable[str]) -> None:
        for test_id in dict.fromkeys(tests):
            test = self.ladder.tests[test_id]
            if test.reads.fact == PLACE and self.rng.random() < ANSWERS:
                self._photo(on)
            if test.reads.fact:
                continue
            if test.unit == "yes/no":
                self._answer(on, test_id)
                continue
            value = self.able.true_value(test_id, self.body.R)
            if value is None:
                continue
            noise = test.noise_sd or 0.0
            seen = value + self.rng.normal(0, noise or 0.05 * abs(value))
            if test.unit in ("reps", "s"):
                seen = max(np.floor(seen), 0.0)
            self.log.measurements.append(
                Measurement(on, test_id, round(float(seen), 3), noise or None, "film", str(on))
            )

    def _answer(self, on: date, test_id: str) -> None:
        """Answer a yes-or-no question; what is an exercise by that name, once it was practised."""
        if test_id in self.ladder.exercises and self.days_done[test_id] < SHOWN_AFTER_DAYS:
            return
        if self.rng.random() < ANSWERS:
            yes = float(self.rng.random() < YES)
            self.log.measurements.append(Measurement(on, test_id, yes, source="film", ref=str(on)))

    def _photo(self, on: date) -> None:
        """Send a new photo of the place."""
        bars = tuple(
            replace(bar, photo_checked_on=on) if bar.photo_checked_on else bar
            for bar in self.athlete.kit.bars
        )
        self.athlete = replace(self.athlete, kit=replace(self.athlete.kit, bars=bars))

    def _best_set(self, on: date) -> None:
        """Do the first test: one set of strict reps to failure."""
        tests = [one.id for one in self.ladder.exercises.values() if one.strength_test]
        self.body.start_day()
        done = self.body.do_set(on, 0.0, 30, to_failure=True, speed=True, exercise=tests[0])
        self.log.sets.append(done)
        self._learn(on, [done])

    def _learn(self, on: date, sets: list[LoggedSet]) -> None:
        for day, of_day in by_day(sets):
            before = self.belief or begin(day, of_day[0].body_mass_kg, prior_for(self.athlete.sex))
            self.belief = observe(advance(before, day), of_day)
            self.points.append(self.belief.point())
            self.pulls.extend(of_day)
            self.truth.append((day, self.body.R))

    def _soreness(self, monday: date) -> None:
        if monday <= self.sore_until:
            self.weeks_sore += 1
            return
        recent = [reps for reps in self.done_reps if reps][-4:]
        jump = len(recent) == 4 and recent[-1] > 1.4 * np.mean(recent[:3])
        if self.rng.random() < PAIN_PER_WEEK * (2 if jump else 1):
            self.sore_until = monday + timedelta(days=int(self.rng.integers(*PAIN_DAYS)))
            self.sore_level = float(np.round(np.clip(self.rng.normal(3.5, 1.2), 1, 8)))
            sites = list(self.ladder.sites.values())
            self.sore_site = sites[int(self.rng.integers(len(sites)))].name if sites else "elbow"
            self.weeks_sore += 1

    def _pain_report(self, on: date) -> None:
        if on <= self.sore_until:
            days_left = (self.sore_until - on).days
            level = max(0.0, min(self.sore_level, round(days_left / 4)))
            self.log.pain.append(PainReport(on, self.sore_site, level, max(level - 1, 0.0)))
        else:
            self.log.pain.append(PainReport(on, "", 0.0, 0.0))

    def _pull_reps(self, week: Week) -> int:
        slots = [slot for session in week.sessions for slot in session.slots]
        return sum(
            slot.sets * slot.reps_high
            for slot in slots
            if self.ladder.exercises[slot.exercise].volume == "pull"
        )


def _athlete(body: Training, rng: np.random.Generator, method: str, skill: str) -> Athlete:
    """Return what is known of the athlete, with the plates of a gym, a cellar or a doorway."""
    hidden = body.hidden
    kits = (
        Kit(
            "belt",
            tuple(Plate(mass, 2) for mass in (1.25, 2.5, 5.0, 10.0, 20.0)),
            bands=(Band("thin", 14.0, 8.0), Band("medium", 24.0, 14.0)),
        ),
        Kit("belt", tuple(Plate(kg_from_lb(lb), 2, "lb") for lb in (2.5, 5.0, 10.0, 25.0, 45.0))),
        Kit("backpack", backpack_litres=15.0),
        Kit("dumbbell", tuple(Plate(float(mass)) for mass in (2, 4, 6, 8, 10, 12))),
    )
    kit = kits[int(rng.choice(len(kits), p=(0.5, 0.25, 0.15, 0.10)))]
    checked = FIRST_MONDAY - timedelta(days=2)
    bars = (Bar("high bar", True, height_m=2.4, photo_checked_on=checked), Bar("low bar", low=True))
    return Athlete(
        id="simulated",
        name="Simulated",
        sex=hidden.sex,  # type: ignore[arg-type]
        born=date(2026 - int(rng.integers(22, 50)), 6, 1),
        stature_m=round(hidden.stature_m, 2),
        body_mass_kg=round(hidden.body_mass_kg, 1),
        joined=FIRST_MONDAY - timedelta(days=3),
        days_per_week=int(rng.choice((2, 3, 4), p=(0.2, 0.65, 0.15))),
        skill=skill,
        method=method,
        kit=replace(kit, bars=bars, box=True),
        screening=Screening(checked, True, False, False, False, False, False),
    )
