"""One film on one page: what was seen, when, how sure, and what the player needs to draw it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from overbar.desk.figures import length, measured, number, plural, sentence
from overbar.film.measure_names import MEASURE_NAMES, name_of, unit_of
from overbar.film.measures import LEAST_SWING_L
from overbar.film.reading import Event, FoundFault, Measured, Reading, Rep
from overbar.ladder import Fault, Ladder

EVENT_NAMES = {
    "hang_start": "Hang begins",
    "front_turn": "Front of the swing",
    "back_turn": "Back of the swing",
    "pull_start": "Pull begins",
    "chin_over": "Chin over the bar",
    "shoulder_over": "Shoulder over the bar",
    "peak": "Highest point",
    "catch": "Catch",
    "support": "Support",
    "descent_start": "Way down begins",
    "hang_end": "Hang ends",
}
REP_NAMES = {
    "pull_up": "Pull-up",
    "high_pull": "High pull",
    "muscle_up": "Muscle-up",
    "dip": "Dip",
    "negative": "Negative",
}
OUTCOMES = {"valid": "valid", "over_not_clean": "over, not clean", "failed": "not over"}
SWINGS = {"no_swing": "no swing", "swing": "swing", "kip": "kip"}
VIEWS = {"side": "from the side", "oblique": "at an angle", "front": "from the front", "rear": "from behind"}
LIMITS = {
    "strength": "strength",
    "speed": "speed",
    "technique": "technique",
    "close": "both just short",
}

SEEN_BY = {"photo": "the photo of the place", "coach": "your own eye", "athlete": "the athlete's word"}
"""What else than a film shows a fault."""

BONES = (
    ("left_shoulder", "right_shoulder"),
    ("left_shoulder", "left_elbow"),
    ("left_elbow", "left_wrist"),
    ("right_shoulder", "right_elbow"),
    ("right_elbow", "right_wrist"),
    ("left_shoulder", "left_hip"),
    ("right_shoulder", "right_hip"),
    ("left_hip", "right_hip"),
    ("left_hip", "left_knee"),
    ("left_knee", "left_ankle"),
    ("right_hip", "right_knee"),
    ("right_knee", "right_ankle"),
)
"""Pairs of joints a line is drawn between, when the reading has both."""

FIRST_SHOWN = 12
"""So many of them are shown at once; the rest when asked for."""


@dataclass(frozen=True)
class Moment:
    """An event to jump to."""

    name: str
    at_s: float
    say: str


@dataclass(frozen=True)
class RepRow:
    """One repetition or try in words."""

    name: str
    verdict: str
    from_s: float
    top_s: float
    numbers: tuple[tuple[str, str], ...]
    more: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class FaultRow:
    """A fault with how sure it is and where to look."""

    id: str
    name: str
    look: str
    cause: str
    at_s: float
    says: str
    chance: str
    main: bool


@dataclass(frozen=True)
class Unseen:
    """A fault this film cannot show, and what shows it."""

    id: str
    name: str
    look: str
    how: str


@dataclass(frozen=True)
class FilmView:
    """What the film page shows beside the picture."""

    title: str
    facts: tuple[str, ...]
    usable: bool
    problems: tuple[str, ...]
    verdict: str
    moments: tuple[Moment, ...]
    rows: tuple[RepRow, ...]
    faults: tuple[FaultRow, ...]
    cue: str
    drill: str
    limit: str
    margins: str
    unseen: tuple[Unseen, ...] = ()


def film_view(reading: Reading, ladder: Ladder) -> FilmView:
    """Return the numbers of a reading in words, every measured one with its uncertainty."""
    hang = reading.hang_length
    facts = [
        f"seen {VIEWS[reading.view.kind]}" + _facing(reading),
        f"{reading.film.duration_s:.1f} s, {plural(reading.film.frames, 'frame')}"
        + (", uneven frame times" if reading.film.variable_rate else ""),
        f"hang length {length(hang.m, hang.sd_m)}" if hang else "",
    ]
    if reading.swing and reading.swing.period_s and reading.swing.hip_travel_L.value >= LEAST_SWING_L:
        period, travel = reading.swing.period_s, reading.swing.hip_travel_L
        facts.append(f"swing {said(period, 's')}, hip travel {said(travel, 'L')}")
    rows = [_attempt_row(reading, n) for n in range(len(reading.attempts))]
    rows += [_rep_row(rep, n, hang.m if hang else None) for n, rep in enumerate(reading.reps, 1)]
    if reading.measures:
        rows.append(RepRow("Whole film", "grip, mount, support", 0.0, 0.0, _named(reading.measures)))
    drill = ladder.exercises.get(reading.drill)
    return FilmView(
        title=verdict_line(reading),
        facts=tuple(fact for fact in facts if fact),
        usable=reading.usable,
        problems=tuple(problem.say for problem in reading.problems),
        verdict=verdict_line(reading),
        moments=tuple(_moment(event) for event in sorted(reading.events, key=lambda event: event.at_s)),
        rows=tuple(rows),
        faults=tuple(
            _fault_row(fault, reading.main_fault, ladder)
            for fault in sorted(reading.faults, key=lambda f: f.rank)
        ),
        cue=reading.cue,
        drill=drill.name if drill else "",
        limit=LIMITS.get(reading.limit, ""),
        margins=sentence(reading.margins),
        unseen=unseen(reading, ladder),
    )


def unseen(reading: Reading, ladder: Ladder) -> tuple[Unseen, ...]:
    """Return the faults this film cannot show, or not whole (a place wants a photo), with what shows them."""
    return tuple(
        Unseen(fault.id, fault.name, fault.look, _how(fault))
        for fault in ladder.faults.values()
        if "problem" not in fault.seen_by
        and ("photo" in fault.seen_by or not fault.shown_from(reading.view.kind))
    )


def _how(fault: Fault) -> str:
    ways = [SEEN_BY[way] for way in fault.seen_by if way != "film"]
    if "film" in fault.seen_by:
        views = [VIEWS[view] for view in fault.view.split("/") if view in VIEWS]
        if views:
            ways.insert(0, f"a film {' or '.join(views)}")
        else:
            ways.append("a film in part")
    return ", ".join(ways)


def verdict_line(reading: Reading) -> str:
    """Say in one line what the film holds.

    Counts are exact; heights are in the rows.
    """
    if not reading.usable:
        return "This film cannot be measured"
    parts = []
    if reading.attempts:
        tries = plural(len(reading.attempts), "try", "tries")
        outcomes = ", ".join(OUTCOMES[attempt.outcome] for attempt in reading.attempts)
        parts.append(f"{tries} at the muscle-up: {outcomes}")
    others = [
        rep
        for rep in reading.reps
        if rep.kind != "muscle_up"
        and not any(one.from_s <= rep.top_s <= one.to_s for one in reading.attempts)
    ]
    for kind, group in groupby(sorted(others, key=lambda rep: rep.kind), key=lambda rep: rep.kind):
        reps = list(group)
        counted = sum(rep.counted for rep in reps)
        name = REP_NAMES[kind].lower()
        parts.append(
            plural(counted, name)
            if counted == len(reps)
            else f"{counted} of {plural(len(reps), name)} counted"
        )
    return "; ".join(parts) if parts else "A hang without a repetition"


def said(value: Measured, unit: str, signed: bool = False) -> str:
    """Write a measured value with its one-sigma uncertainty."""
    return measured(value.value, value.sd, unit, signed)


def height_said(value: Measured, hang_m: float | None) -> str:
    """Write a height over (+) or under (−) the bar in L and, when the scale is known, in cm."""
    in_L = said(value, "L", signed=True)
    if hang_m is None:
        return in_L
    return f"{in_L} ({length(value.value * hang_m, value.sd * hang_m, signed=True)})"


def player_data(reading: Reading) -> dict[str, Any]:
    """Return what the player draws: joints, bar, curves, phases, events, in plain numbers."""
    joints, curve = reading.joints, reading.curves
    known = set(joints.names)
    return {
        "width": reading.film.width,
        "height": reading.film.height,
        "t": [round(t, 5) for t in joints.t_s],
        "names": list(joints.names),
        "x": [[round(x, 1) for x in row] for row in joints.x_px],
        "y": [[round(y, 1) for y in row] for row in joints.y_px],
        "sd": [[round(sd, 1) for sd in row] for row in joints.sd_px],
        "bones": [
            [joints.names.index(a), joints.names.index(b)] for a, b in BONES if a in known and b in known
        ],
        "bar": (
            {"x": reading.bar.x_px, "y": reading.bar.y_px, "sd": reading.bar.sd_px} if reading.bar else None
        ),
        "hang_px": reading.hang_length.px if reading.hang_length else None,
        "hang_m": reading.hang_length.m if reading.hang_length else None,
        "curves": {
            "t": list(curve.t_s),
            "shoulder_L": [round(v, 4) for v in curve.shoulder_L],
            "shoulder_sd_L": [round(v, 4) for v in curve.shoulder_sd_L],
            "chin_L": [round(v, 4) for v in curve.chin_L],
            "rise_mps": [round(v, 3) for v in curve.rise_mps],
        },
        "phases": phase_runs(reading),
        "events": [
            {"kind": event.kind, "name": EVENT_NAMES[event.kind], "at": round(event.at_s, 4)}
            for event in sorted(reading.events, key=lambda event: event.at_s)
        ],
        "faults": [{"id": f.id, "name": f.name, "at": round(f.at_s, 4)} for f in reading.faults],
    }


def phase_runs(reading: Reading) -> list[dict[str, Any]]:
    """Return the phases as runs of frames: name, from and to in s."""
    curve = reading.curves
    runs = []
    place = 0
    for name, frames in groupby(curve.phase):
        count = len(list(frames))
        last = min(place + count, len(curve.t_s) - 1)
        if last > place:
            runs.append({"name": name.replace("_", " "), "from": curve.t_s[place], "to": curve.t_s[last]})
        place += count
    return runs


def _facing(reading: Reading) -> str:
    return "" if reading.view.facing == "none" else f", facing {reading.view.facing}"


def _moment(event: Event) -> Moment:
    return Moment(
        EVENT_NAMES[event.kind],
        event.at_s,
        f"{number(event.at_s, 2)} s ± {number(event.sd_s, 2)} s",
    )


def _rep_row(rep: Rep, place: int, hang_m: float | None) -> RepRow:
    numbers = [
        ("shoulder peak", height_said(rep.peak_shoulder_L, hang_m)),
        ("chin peak", height_said(rep.peak_chin_L, hang_m)),
    ]
    for name, speed in (("mean speed", rep.mean_speed_mps), ("peak speed", rep.peak_speed_mps)):
        if speed is not None:
            numbers.append((name, said(speed, "m/s")))
    if rep.bottom_elbow_deg:
        numbers.append(("elbow at the bottom", said(rep.bottom_elbow_deg, "°")))
    numbers += _named(rep.measures)
    return RepRow(
        f"{REP_NAMES[rep.kind]} {place}",
        rep.verdict,
        rep.from_s,
        rep.top_s,
        tuple(numbers),
    )


def _named(measures: Mapping[str, Measured]) -> tuple[tuple[str, str], ...]:
    return tuple((name_of(name), said(value, unit_of(name))) for name, value in measures.items())


def _attempt_row(reading: Reading, place: int) -> RepRow:
    attempt = reading.attempts[place]
    hang_m = reading.hang_length.m if reading.hang_length else None
    order = {name: place for place, name in enumerate(MEASURE_NAMES)}
    numbers: list[tuple[str, str]] = []
    more: list[tuple[str, str]] = []
    for name in sorted(attempt.measures, key=lambda name: order.get(name, len(order))):
        value, unit = attempt.measures[name], unit_of(name)
        shown = height_said(value, hang_m) if unit == "L" and "peak" in name else said(value, unit)
        (numbers if order.get(name, len(order)) < FIRST_SHOWN else more).append((name_of(name), shown))
    return RepRow(
        f"Try {place + 1}, {' or '.join(SWINGS[one] for one in (attempt.kind, attempt.or_kind) if one)}",
        OUTCOMES[attempt.outcome],
        attempt.from_s,
        _top_of(reading, attempt.from_s, attempt.to_s),
        tuple(numbers),
        tuple(more),
    )


def _top_of(reading: Reading, from_s: float, to_s: float) -> float:
    curve = reading.curves
    inside = [
        (height, at) for at, height in zip(curve.t_s, curve.shoulder_L, strict=True) if from_s <= at <= to_s
    ]
    return max(inside)[1] if inside else from_s


def _fault_row(fault: FoundFault, main_fault: str | None, ladder: Ladder) -> FaultRow:
    known = ladder.faults.get(fault.id)
    unit = unit_of(fault.measure)
    value = measured(fault.value, fault.sd, unit)
    return FaultRow(
        fault.id,
        fault.name,
        known.look if known else "",
        known.cause if known else "",
        fault.at_s,
        f"{name_of(fault.measure)} {value}, limit {measured(fault.threshold, None, unit)}",
        f"{round(min(max(fault.chance, 0.01), 0.99) * 100)}\u00a0%",
        fault.id == main_fault,
    )
