"""What planning needs of a reading: dated test values, tries, counted sets and the faults seen.

Pure: a reading and what the athlete said about the film in, frozen values out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import asin, degrees

from overbar.film.measures import HIP_RADIUS
from overbar.film.reading import Attempt, Curves, FoundFault, Reading, Rep
from overbar.planning.history import AttemptLog, FilmFinding, Measurement
from overbar.strength.sets import LoggedSet

TURN_OVER_L = (0.40, -0.10)
"""Heights between which a lowering through the turn-over is timed (handbook trade.md 1.3, test T9)."""
SWING_FROM_L = 0.25
"""Hip travel from which a pull has a swing (handbook trade.md 2.6)."""
STRICT_PULLS = ("strict_pull_up", "weighted_pull_up", "neutral_grip_pull_up", "")
"""Exercises whose counted reps are a set of pull-ups ("" is a film without a name)."""
HEIGHT_TESTS = {
    "strict_high_pull": "strict_high_L",
    "cluster_high_pull": "strict_high_L",
    "swing_high_pull": "swing_high_L",
}
"""Exercises a film of which is a height test; without a name the swing tells which."""
TRIES = ("muscle_up", "")
"""Exercises whose tries count as tries of the skill."""


@dataclass(frozen=True)
class FilmedSet:
    """A set of pull-ups as the film counted it.

    Attributes
    ----------
    reps, seen : int
        Reps that meet the standard, and reps of any range.
    first_rep_speed_mps : float or None
        Mean speed of the first rep's way up, m/s.
    failed : bool
        The last rep did not meet the standard.
    """

    reps: int
    seen: int
    first_rep_speed_mps: float | None
    failed: bool


@dataclass(frozen=True)
class Findings:
    """Everything one film adds to the athlete's history, and the mark of the limits it was judged by."""

    film: FilmFinding
    measurements: tuple[Measurement, ...] = ()
    attempts: tuple[AttemptLog, ...] = ()
    filmed_set: FilmedSet | None = None
    judged_by: str = ""


def findings(reading: Reading, on: date, ref: str, exercise: str) -> Findings:
    """Return what one reading adds to the history.

    Parameters
    ----------
    reading : Reading
        As read, or as corrected.
    on : datetime.date
        Day of the film in the athlete's time zone.
    ref : str
        SHA-256 of the film.
    exercise : str
        Exercise id the athlete filmed, or "".

    Returns
    -------
    Findings
        Heights in L and times in s carry the reading's one-sigma uncertainty.
        Of several reps the best one is the value, as the test protocol says. A try
        has a height of the pull only when it failed: past the bar the greatest
        height is that of the press.
    """
    film = FilmFinding(
        on=on,
        ref=ref,
        exercise=exercise,
        usable=reading.usable,
        main_fault=reading.main_fault,
        faults=tuple((fault.id, fault.chance) for fault in reading.faults),
        view=reading.view.kind,
    )
    if not reading.usable:
        return Findings(film, judged_by=reading.judged_by)
    measured = [
        *_high_pulls(reading, exercise),
        *_counts(reading, exercise),
        *_negatives(reading),
    ]
    main = next((fault for fault in reading.faults if fault.id == reading.main_fault), None)
    return Findings(
        film,
        tuple(
            Measurement(on, test, round(value, 4), None if sd is None else round(sd, 4), "film", ref)
            for test, value, sd in measured
        ),
        tuple(_try(one, n, on, ref, main) for n, one in enumerate(_tries(reading, exercise), 1)),
        _filmed_set(reading, exercise),
        reading.judged_by,
    )


Value = tuple[str, float, float | None]


def _high_pulls(reading: Reading, exercise: str) -> list[Value]:
    """The best height of a film of high pulls; in a drill nobody pulls as high as they can."""
    test = HEIGHT_TESTS.get(exercise)
    if test is None and exercise != "":
        return []
    peaks = [(rep.peak_shoulder_L.value, rep.peak_shoulder_L.sd) for rep in _reps(reading, "high_pull")]
    if test is not None:
        tries = (attempt.measures.get("peak_shoulder_L") for attempt in reading.attempts)
        peaks += [(peak.value, peak.sd) for peak in tries if peak is not None]
    if not peaks:
        return []
    if test is None:
        travel = reading.swing.hip_travel_L.value if reading.swing else 0.0
        test = "swing_high_L" if travel >= SWING_FROM_L else "strict_high_L"
    return [(test, *max(peaks))]


def _counts(reading: Reading, exercise: str) -> list[Value]:
    found: list[Value] = []
    pulls = _reps(reading, "pull_up")
    if pulls and exercise in ("strict_pull_up", ""):
        found.append(("strict_pull_ups", float(sum(rep.counted for rep in pulls)), None))
        first = pulls[0].mean_speed_mps
        if first is not None:
            found.append(("first_rep_mps", first.value, first.sd))
    dips = _reps(reading, "dip")
    if dips:
        test = "deep_dips" if exercise == "deep_pause_dip" else "straight_bar_dips"
        found.append((test, float(sum(rep.counted for rep in dips)), None))
    return found


def _negatives(reading: Reading) -> list[Value]:
    times = [time for rep in _reps(reading, "negative") if (time := _lowering(reading.curves, rep))]
    return [("negative_s", *max(times))] if times else []


def _lowering(curves: Curves, rep: Rep) -> tuple[float, float] | None:
    high, low = TURN_OVER_L
    frames = [i for i, t in enumerate(curves.t_s) if rep.from_s <= t <= rep.to_s]
    start = _crossing(curves, frames, high)
    end = _crossing(curves, frames, low)
    if start is None or end is None or end[0] <= start[0]:
        return None
    return end[0] - start[0], (start[1] ** 2 + end[1] ** 2) ** 0.5


def _crossing(curves: Curves, frames: list[int], height: float) -> tuple[float, float] | None:
    """Time and its sd of the last passage downwards through a height."""
    for i, j in zip(reversed(frames[:-1]), reversed(frames[1:]), strict=True):
        above, below = curves.shoulder_L[i], curves.shoulder_L[j]
        if above > height >= below:
            span = curves.t_s[j] - curves.t_s[i]
            slope = (above - below) / span
            at = curves.t_s[i] + (above - height) / slope
            return at, (span**2 / 12 + (curves.shoulder_sd_L[j] / slope) ** 2) ** 0.5
    return None


def _tries(reading: Reading, exercise: str) -> Sequence[Attempt]:
    return reading.attempts if exercise in TRIES else ()


def _try(attempt: Attempt, n: int, on: date, ref: str, main: FoundFault | None) -> AttemptLog:
    def value(name: str) -> float | None:
        measured = attempt.measures.get(name)
        return None if measured is None else round(measured.value, 4)

    shows_fault = main is not None and attempt.from_s - 1e-6 <= main.at_s <= attempt.to_s + 1e-6
    return AttemptLog(
        on=on,
        n=n,
        outcome=attempt.outcome,  # type: ignore[arg-type]
        peak_L=value("peak_shoulder_L") if attempt.outcome == "failed" else None,
        pull_after_front_s=value("pull_after_front_s"),
        stall_s=value("stall_s"),
        elbow_gap_s=value("elbow_gap_s"),
        fault=main.id if main is not None and shows_fault else None,
        source="film",
        ref=ref,
        swing_deg=swing_of(attempt),
    )


def swing_of(attempt: Attempt) -> float | None:
    """Return the swing to each side in degrees: half the hips' travel at the hips' distance from the bar."""
    travel = attempt.measures.get("hip_travel_L")
    if travel is None:
        return None
    return round(degrees(asin(min(travel.value / 2 / HIP_RADIUS, 1.0))), 1)


def _filmed_set(reading: Reading, exercise: str) -> FilmedSet | None:
    pulls = _reps(reading, "pull_up")
    if not pulls or exercise not in STRICT_PULLS:
        return None
    first = pulls[0].mean_speed_mps if pulls[0].counted else None
    speed = first.value if first is not None else None
    return FilmedSet(sum(rep.counted for rep in pulls), len(pulls), speed, not pulls[-1].counted)


def _reps(reading: Reading, kind: str) -> list[Rep]:
    return [rep for rep in reading.reps if rep.kind == kind]


def with_filmed_set(
    sets: tuple[LoggedSet, ...],
    filmed: FilmedSet,
    on: date,
    exercise: str,
    body_mass_kg: float,
    added_kg: float | None,
) -> tuple[LoggedSet, ...]:
    """Let the film's count stand for the set it shows.

    The logged set of that day with the same exercise (and load, when said) whose
    reps are nearest to those the film saw takes the film's count and first-rep
    speed, because a rep out of range is not a rep. When none was logged, the
    filmed set is added, provided its load is known.
    """
    names = (exercise,) if exercise else STRICT_PULLS
    same_day = [
        i
        for i, one in enumerate(sets)
        if one.on == on
        and one.exercise in names
        and one.counted_by == "log"
        and (added_kg is None or abs(one.added_kg - added_kg) < 0.05)
    ]
    if same_day:
        i = min(same_day, key=lambda i: abs(sets[i].reps - filmed.seen))
        shown = replace(
            sets[i],
            reps=filmed.reps,
            first_rep_speed_mps=filmed.first_rep_speed_mps or sets[i].first_rep_speed_mps,
            counted_by="film",
        )
        return (*sets[:i], shown, *sets[i + 1 :])
    if added_kg is None and exercise not in ("strict_pull_up", "neutral_grip_pull_up"):
        return sets
    shown = LoggedSet(
        on=on,
        exercise=exercise,
        body_mass_kg=body_mass_kg,
        added_kg=added_kg or 0.0,
        reps=filmed.reps,
        first_rep_speed_mps=filmed.first_rep_speed_mps,
        counted_by="film",
        failed=filmed.failed,
    )
    return (*sets, shown)


def with_filmed_tries(
    logged: tuple[AttemptLog, ...], filmed: tuple[AttemptLog, ...]
) -> tuple[AttemptLog, ...]:
    """Let the film's judgement stand for the try it shows.

    A filmed try takes the place of the first logged one of that day with the
    same outcome, else of the first logged one left; tries nobody logged are added.
    """
    by_day: dict[date, list[AttemptLog]] = {}
    for one in sorted(logged, key=lambda one: (one.on, one.n)):
        by_day.setdefault(one.on, []).append(one)
    for seen in filmed:
        day = by_day.setdefault(seen.on, [])
        left = [i for i, one in enumerate(day) if one.source == "log"]
        same = [i for i in left if day[i].outcome == seen.outcome]
        if left:
            i = (same or left)[0]
            day[i] = replace(seen, n=day[i].n)
        else:
            day.append(replace(seen, n=max((one.n for one in day), default=0) + 1))
    return tuple(one for on in sorted(by_day) for one in by_day[on])
