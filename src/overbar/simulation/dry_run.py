"""A ladder tried on many simulated athletes before a real one uses it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from overbar.errors import BadInput
from overbar.ladder.form import Ladder
from overbar.ladder.loader import ladder_of
from overbar.ladder.source import read_text
from overbar.progress import Progress, silent
from overbar.simulation.ability import has_hidden, leaves
from overbar.simulation.life import LifeReport, live
from overbar.simulation.standstill import together

WEEKS = 60
PACES = {"slow": (0.0, 0.8), "usual": (0.8, 1.4), "fast": (1.4, 99.0)}
"""Groups by hidden gain multiple (own judgement)."""
PAIN = "PAIN"
"""Rules whose id starts so are counted as pain rules."""

Job = tuple[tuple[tuple[str, str], ...], tuple[int, ...], int, str]
"""A ladder's texts, seeds, weeks, and the method: all a worker needs, wherever it runs."""
Spread = Callable[[Callable[[Job], list[LifeReport]], Sequence[Job]], Iterable[list[LifeReport]]]
"""Runs a function on every job, anywhere, in any order it likes; results in the order done."""


@dataclass(frozen=True)
class GateTimes:
    """When one gate opened for those for whom it did.

    Attributes
    ----------
    gate, name : str
    opened : float
        Share of the athletes.
    weeks : tuple of float
        10, 50 and 90 % points of the week it opened in.
    early : float or None
        Share of openings while a hidden value was short by more than its test's retest sigma.
    late_weeks : float or None
        Mean weeks it opened after they had first met it, of those not early. Both are None for
        a gate without a hidden number (tries, films, photos).
    """

    gate: str
    name: str
    opened: float
    weeks: tuple[float, float, float]
    early: float | None
    late_weeks: float | None


@dataclass(frozen=True)
class DryRun:
    """What a ladder did to its simulated athletes.

    Attributes
    ----------
    ladder, version, method : str
    athletes, weeks, seed : int
    gates : tuple of GateTimes
        In the order of the ladder.
    success : float
        Share with a valid try.
    success_weeks : dict
        10, 50 and 90 % points of its week, by pace and for "all".
    largest_step, largest_rise : float
        Largest rise of a pulling load and of the week's pulling reps that any plan asked for.
    weekly_reps : tuple of float
        10, 50 and 90 % points of pulling repetitions done in trained weeks.
    first_and_last_reps : (float, float)
        Mean weekly repetitions done in the first and the last eight weeks.
    pain_weeks : float
        Mean weeks with a pain rule; ``sore_weeks`` had a hidden sore place.
    sore_weeks : float
    never_stalled : float
        Share of athletes in whom no rule of stalled strength ever fired.
    stall_weeks : float
        Mean weeks with such a rule.
    stall_wrong : float or None
        Share of those weeks in which true strength had risen by 1 % or more in eight weeks.
    stall_found : float or None
        Share of the true standstills of six weeks that were called within four weeks.
    stall_false : float or None
        Share of the weeks with a true rise of 2 % or more in eight weeks that were called.
    gain : float
        Mean rise of hidden strength over the whole time, as a share.
    rules : dict
        Mean weeks an athlete in which each rule fired, most frequent first.
    """

    ladder: str
    version: str
    method: str
    athletes: int
    weeks: int
    seed: int
    gates: tuple[GateTimes, ...]
    success: float
    success_weeks: dict[str, tuple[float, float, float] | None]
    largest_step: float
    largest_rise: float
    weekly_reps: tuple[float, float, float]
    first_and_last_reps: tuple[float, float]
    pain_weeks: float
    sore_weeks: float
    never_stalled: float
    stall_weeks: float
    stall_wrong: float | None
    stall_found: float | None
    stall_false: float | None
    gain: float
    rules: dict[str, float]


def here(work: Callable[[Job], list[LifeReport]], jobs: Sequence[Job]) -> Iterator[list[LifeReport]]:
    """Run the jobs one after the other in this process."""
    return map(work, jobs)


def dry_run(
    ladder: Ladder,
    athletes: int,
    seed: int = 1,
    weeks: int = WEEKS,
    method: str = "",
    spread: Spread = here,
    progress: Progress = silent,
    batch: int = 10,
) -> DryRun:
    """Let simulated athletes live under a ladder and say what it did to them.

    Parameters
    ----------
    ladder : Ladder
    athletes : int
    seed : int
        The same seed gives the same athletes, also under another ladder.
    weeks : int
    method : str
        Method of the pulling strand; the ladder's own when empty.
    spread : callable
        Where the jobs run (:func:`here`, or a pool or cluster of the caller).
    progress : callable
    batch : int
        Athletes a job.

    Raises
    ------
    BadInput
        No athlete, no week, or a method the ladder does not have.
    """
    if athletes < 1 or weeks < 1:
        raise BadInput(f"{athletes} athletes for {weeks} weeks", do="Give one or more of each.")
    if method and method not in ladder.methods:
        raise BadInput(f"no method {method!r}", ladder.name, f"There are: {', '.join(ladder.methods)}.")
    seeds = [seed * 1_000_003 + k for k in range(athletes)]
    jobs: list[Job] = [
        (ladder.files, tuple(seeds[k : k + batch]), weeks, method) for k in range(0, athletes, batch)
    ]
    lives: list[LifeReport] = []
    for done in spread(live_through, jobs):
        lives.extend(done)
        progress(len(lives) / athletes, f"{len(lives)} of {athletes} athletes under {ladder.name}")
    lives.sort(key=lambda life: (life.R_first, life.gain))
    return _summary(ladder, lives, seed, weeks, method or ladder.skill.default_method)


def live_through(job: Job) -> list[LifeReport]:
    """Live one job's athletes (what a worker runs)."""
    files, seeds, weeks, method = job
    ladder = _ladder_from(files)
    return [live(ladder, seed, weeks, method) for seed in seeds]


@lru_cache(maxsize=4)
def _ladder_from(files: tuple[tuple[str, str], ...]) -> Ladder:
    return ladder_of(tuple(read_text(name, text) for name, text in files))


def _summary(ladder: Ladder, lives: Sequence[LifeReport], seed: int, weeks: int, method: str) -> DryRun:
    trained = [reps for life in lives for reps in life.pull_reps if reps > 0]
    rules = sorted({rule for life in lives for rule in life.rules})
    mean_weeks = {rule: float(np.mean([life.rules.get(rule, 0) for life in lives])) for rule in rules}
    stalls = together(life.stalls for life in lives)
    success = {
        pace: _points(
            [x.first_success for x in lives if low <= x.gain < high and x.first_success is not None]
        )
        for pace, (low, high) in {"all": (0.0, 99.0), **PACES}.items()
    }
    return DryRun(
        ladder=ladder.name,
        version=ladder.version,
        method=method,
        athletes=len(lives),
        weeks=weeks,
        seed=seed,
        gates=tuple(_gate_times(ladder, gate, lives) for gate in ladder.gates),
        success=float(np.mean([life.first_success is not None for life in lives])),
        success_weeks=success,
        largest_step=max(life.largest_step for life in lives),
        largest_rise=max(life.largest_rise for life in lives),
        weekly_reps=_points(trained) or (0.0, 0.0, 0.0),
        first_and_last_reps=(
            float(np.mean([np.mean(life.pull_reps[:8]) for life in lives])),
            float(np.mean([np.mean(life.pull_reps[-8:]) for life in lives])),
        ),
        pain_weeks=_weeks_with(lives, PAIN),
        sore_weeks=float(np.mean([life.weeks_sore for life in lives])),
        never_stalled=float(np.mean([life.stalls.weeks == 0 for life in lives])),
        stall_weeks=stalls.weeks / len(lives),
        stall_wrong=_share(stalls.wrong, stalls.weeks),
        stall_found=_share(stalls.found, stalls.spells),
        stall_false=_share(stalls.called, stalls.rising),
        gain=float(np.mean([life.R_last / life.R_first - 1 for life in lives])),
        rules=dict(sorted(mean_weeks.items(), key=lambda item: -item[1])),
    )


def _gate_times(ladder: Ladder, gate: str, lives: Sequence[LifeReport]) -> GateTimes:
    first = [next((one for one in life.openings if one.gate == gate), None) for life in lives]
    opened = [one for one in first if one is not None]
    late = [one.late_weeks for one in opened if not one.early]
    judged = opened and any(has_hidden(ladder, leaf.test) for leaf in leaves(ladder.gates[gate].item))
    return GateTimes(
        gate=gate,
        name=ladder.gates[gate].name,
        opened=len(opened) / len(lives),
        weeks=_points([one.week for one in opened]) or (0.0, 0.0, 0.0),
        early=float(np.mean([one.early for one in opened])) if judged else None,
        late_weeks=float(np.mean(late)) if judged and late else None,
    )


def _share(part: int, whole: int) -> float | None:
    return part / whole if whole else None


def _points(values: Sequence[float]) -> tuple[float, float, float] | None:
    if not values:
        return None
    low, middle, high = np.percentile(values, (10, 50, 90))
    return float(low), float(middle), float(high)


def _weeks_with(lives: Sequence[LifeReport], start: str) -> float:
    """Mean number of weeks a rule with this start of its id fired, each rule counted."""
    return float(
        np.mean([sum(n for rule, n in life.rules.items() if rule.startswith(start)) for life in lives])
    )


def plain(run: DryRun) -> dict[str, Any]:
    """Return a dry run as plain data."""
    return asdict(run)
