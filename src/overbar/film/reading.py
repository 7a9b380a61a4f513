"""What a film says: frozen values, and their JSON form ``overbar.reading/1``.

Heights are (point - bar) / L, up positive, where L is the athlete's own hang
length. Every measured number is a :class:`Measured` with a one-sigma
uncertainty; times are seconds of presentation time from the film's first frame.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from overbar.errors import BadInput

SCHEMA = "overbar.reading/1"

EVENT_KINDS = (
    "hang_start",
    "front_turn",
    "back_turn",
    "pull_start",
    "chin_over",
    "shoulder_over",
    "peak",
    "catch",
    "support",
    "descent_start",
    "hang_end",
)
REP_KINDS = ("pull_up", "high_pull", "muscle_up", "dip", "negative")
OUTCOMES = ("valid", "over_not_clean", "failed")
SWING_KINDS = ("no_swing", "swing", "kip")


@dataclass(frozen=True)
class Measured:
    """A number with its one-sigma uncertainty, both in the same unit."""

    value: float
    sd: float


@dataclass(frozen=True)
class Film:
    """The file as it was read.

    Attributes
    ----------
    name, sha256 : str
        File name without its folder, and the SHA-256 of its bytes.
    width, height : int
        Upright size in pixels, after the rotation flag.
    frames : int
        Frames read.
    duration_s : float
        From the first to the end of the last frame, in s.
    variable_rate : bool
        Whether frame spacing varies by more than a tenth.
    rotation_deg : int
        Rotation flag that was applied: 0, 90, 180 or 270.
    slowed : float
        The film plays this many times slower than life. Moments (``at_s``, ``from_s``, ...) are seconds of
        the film, so that they can be jumped to; durations and speeds are those of life.
    """

    name: str
    sha256: str
    width: int
    height: int
    frames: int
    duration_s: float
    variable_rate: bool
    rotation_deg: int
    slowed: float = 1.0


@dataclass(frozen=True)
class View:
    """From where the camera looks.

    Attributes
    ----------
    kind : {"side", "oblique", "front", "rear"}
        Class of the view.
    facing : {"left", "right", "none"}
        Side of the picture the athlete faces.
    off_side : Measured
        Angle between the camera's view and a square side view, in degrees.
    roll : Measured
        How far the picture leans clockwise, in degrees; taken out of every height and place.
    """

    kind: str
    facing: str
    off_side: Measured = Measured(0.0, 10.0)
    roll: Measured = Measured(0.0, 3.0)


@dataclass(frozen=True)
class Problem:
    """Why a film, or a part of what it could show, cannot be used: stable id and one sentence."""

    id: str
    say: str


@dataclass(frozen=True)
class BarPoint:
    """The bar between the hands, in pixels of the upright picture."""

    x_px: float
    y_px: float
    sd_px: float


@dataclass(frozen=True)
class HangLength:
    """L, the mid-shoulder's distance below the bar in the straight hang."""

    px: float
    m: float
    sd_m: float


@dataclass(frozen=True)
class KnownLength:
    """A length the coach marked in the first picture: two points in upright pixels, metres between."""

    x1_px: float
    y1_px: float
    x2_px: float
    y2_px: float
    length_m: float


@dataclass(frozen=True)
class Offset:
    """What a hold of known height showed: the height read there, and how much too high that is, both in L."""

    read_L: float
    too_high_L: Measured


@dataclass(frozen=True)
class Calibration:
    """How much too high one athlete's shoulders read, by holds of known height, lowest first."""

    holds: tuple[Offset, ...]


@dataclass(frozen=True)
class Swing:
    """The swing on straight arms: period in s (NaN-free; None when under one period) and hip travel in L."""

    period_s: Measured | None
    hip_travel_L: Measured


@dataclass(frozen=True)
class Event:
    """A moment of the motion.

    Attributes
    ----------
    kind : str
        One of :data:`EVENT_KINDS`.
    at_s, sd_s : float
        When, with its one-sigma uncertainty, in s.
    """

    kind: str
    at_s: float
    sd_s: float


@dataclass(frozen=True)
class Rep:
    """One repetition.

    Attributes
    ----------
    kind : str
        One of :data:`REP_KINDS`.
    from_s, top_s, to_s : float
        Start, highest point (lowest for a dip) and end in s.
    counted : bool
        Whether it meets the standard of its kind.
    why_not : str
        The reason in words when it does not count, else empty.
    chin_over_bar : bool
        Whether the chin rose above the bar.
    peak_shoulder_L, peak_chin_L : Measured
        Greatest height of mid-shoulder and chin in L.
    mean_speed_mps, peak_speed_mps : Measured
        Rise speed of the mid-shoulder in m/s (for a negative: of the descent); None where the film's clock
        cannot be trusted.
    bottom_elbow_deg : Measured or None
        Elbow angle at the start, 180 = straight.
    measures : dict of str to Measured
        More named measures, see :data:`overbar.film.measures.MEASURES`.
    close : bool
        Whether the chin came as near to the bar as its height is uncertain, so that it might be told the
        other way.
    """

    kind: str
    from_s: float
    top_s: float
    to_s: float
    counted: bool
    why_not: str
    chin_over_bar: bool
    peak_shoulder_L: Measured
    peak_chin_L: Measured
    mean_speed_mps: Measured | None
    peak_speed_mps: Measured | None
    bottom_elbow_deg: Measured | None = None
    measures: dict[str, Measured] = field(default_factory=dict)
    close: bool = False

    @property
    def verdict(self) -> str:
        """Return whether it counts, in words."""
        if self.counted:
            return "counts, close: the chin's height is uncertain by more" if self.close else "counts"
        return f"does not count{', close' if self.close else ''}: {self.why_not}"


@dataclass(frozen=True)
class Attempt:
    """One try at the muscle-up.

    Attributes
    ----------
    from_s, to_s : float
        From the swing's start (or the pull's) to the support or the next hang, in s.
    outcome : {"valid", "over_not_clean", "failed"}
        The result.
    kind : {"no_swing", "swing", "kip"}
        Class by hip travel.
    measures : dict of str to Measured
        Named measures, see :data:`overbar.film.measures.MEASURES`.
    or_kind : str
        The class next to it where the hips' travel lies within its one-sigma error of the limit between the
        two; empty where the class is sure.
    """

    from_s: float
    to_s: float
    outcome: str
    kind: str
    measures: dict[str, Measured] = field(default_factory=dict)
    or_kind: str = ""


@dataclass(frozen=True)
class FoundFault:
    """A fault the film shows.

    Attributes
    ----------
    id, name : str
        Ladder id and trade name.
    at_s : float
        Where to jump to, in s.
    measure : str
        Name of the measure that decided.
    value, sd, threshold : float
        Its value, one-sigma uncertainty and limit.
    chance : float
        Chance, given the uncertainty, that the limit is passed.
    rank : int
        1 is the main one.
    """

    id: str
    name: str
    at_s: float
    measure: str
    value: float
    sd: float
    threshold: float
    chance: float
    rank: int


@dataclass(frozen=True)
class Joints:
    """The pixel track the numbers rest on, before any smoothing.

    Attributes
    ----------
    names : tuple of str
        Joint names, such as ``left_shoulder``.
    t_s : tuple of float
        Presentation time of each frame in s.
    x_px, y_px, sd_px : tuple of tuple of float
        One row a frame, one column a joint; sd of a joint not seen is 0 with
        coordinates repeated from the last sight of it.
    shift_px : tuple of (float, float)
        How far a hand-held camera has moved the picture since the first frame, one
        pair a frame; empty when it stood still. The bar is placed in the first frame.
    """

    names: tuple[str, ...]
    t_s: tuple[float, ...]
    x_px: tuple[tuple[float, ...], ...]
    y_px: tuple[tuple[float, ...], ...]
    sd_px: tuple[tuple[float, ...], ...]
    shift_px: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True)
class Curves:
    """Smoothed motion of each frame, for the curves beside the picture.

    Attributes
    ----------
    t_s : tuple of float
        Time in s.
    shoulder_L, shoulder_sd_L, chin_L, hip_x_L : tuple of float
        Height of mid-shoulder (with sd) and chin, and hip place before (+) or
        behind (-) the bar, in L.
    rise_mps : tuple of float
        Rise speed of the mid-shoulder in m/s.
    elbow_deg : tuple of float
        Elbow angle, 180 = straight.
    phase : tuple of str
        Phase of each frame, see :mod:`overbar.film.phases`.
    """

    t_s: tuple[float, ...]
    shoulder_L: tuple[float, ...]
    shoulder_sd_L: tuple[float, ...]
    chin_L: tuple[float, ...]
    hip_x_L: tuple[float, ...]
    rise_mps: tuple[float, ...]
    elbow_deg: tuple[float, ...]
    phase: tuple[str, ...]


@dataclass(frozen=True)
class Reading:
    """Everything one film says.

    Attributes
    ----------
    stature_m, mass_kg : float, float or None
        What the reading was given.
    limit : str
        'technique', 'speed' or empty: what holds the attempts back as far as film
        alone can tell (whether strength does needs the log: planning settles it).
    margins : str
        The same as numbers in words: how far height, timing and path are off.
    known_length : KnownLength or None
        A marked length the scale rests on beside the stature.
    calibration : Calibration or None
        What was taken from the heights for this athlete.
    measures : dict of str to Measured
        What the whole film shows beside its reps and attempts: grip, mount, support, evenness.
    judged_by : str
        Mark of the limits its faults were judged by, see :func:`overbar.film.faults.limits_mark`.
    """

    film: Film
    stature_m: float
    mass_kg: float | None
    view: View
    usable: bool
    problems: tuple[Problem, ...]
    bar: BarPoint | None
    hang_length: HangLength | None
    swing: Swing | None
    events: tuple[Event, ...]
    reps: tuple[Rep, ...]
    attempts: tuple[Attempt, ...]
    faults: tuple[FoundFault, ...]
    main_fault: str | None
    cue: str
    drill: str
    next_week: str
    limit: str
    margins: str
    joints: Joints
    curves: Curves
    measures: dict[str, Measured] = field(default_factory=dict)
    known_length: KnownLength | None = None
    calibration: Calibration | None = None
    judged_by: str = ""

    @property
    def counted(self) -> int:
        """Number of counted strict pull-ups."""
        return sum(rep.counted for rep in self.reps if rep.kind == "pull_up")

    def to_json(self) -> dict[str, Any]:
        """Return the JSON form: plain dicts, lists, numbers and strings."""
        return {"schema": SCHEMA, **asdict(self)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Reading:
        """Build a reading from its JSON form.

        Raises
        ------
        BadInput
            Another schema, or a field missing or misplaced.
        """
        if data.get("schema") != SCHEMA:
            raise BadInput(
                f"schema {data.get('schema')!r} is not {SCHEMA!r}",
                do="Read the film again with this version.",
            )
        try:
            return cls(
                film=Film(**data["film"]),
                stature_m=data["stature_m"],
                mass_kg=data.get("mass_kg"),
                view=_view(data["view"]),
                usable=data["usable"],
                problems=tuple(Problem(**p) for p in data["problems"]),
                bar=BarPoint(**data["bar"]) if data["bar"] else None,
                hang_length=HangLength(**data["hang_length"]) if data["hang_length"] else None,
                swing=_swing(data["swing"]),
                events=tuple(Event(**e) for e in data["events"]),
                reps=tuple(_rep(r) for r in data["reps"]),
                attempts=tuple(_attempt(a) for a in data["attempts"]),
                faults=tuple(FoundFault(**f) for f in data["faults"]),
                main_fault=data["main_fault"],
                cue=data["cue"],
                drill=data["drill"],
                next_week=data.get("next_week", ""),
                limit=data.get("limit", ""),
                margins=data.get("margins", ""),
                joints=Joints(**{k: _frozen(v) for k, v in data["joints"].items()}),
                curves=Curves(**{k: _frozen(v) for k, v in data["curves"].items()}),
                measures=_named(data.get("measures", {})),
                known_length=KnownLength(**data["known_length"]) if data.get("known_length") else None,
                calibration=_calibration(data.get("calibration")),
                judged_by=data.get("judged_by", ""),
            )
        except (KeyError, TypeError) as error:
            raise BadInput(f"reading is incomplete: {error}", do="Read the film again.") from error


def read_reading(path: Path) -> Reading:
    """Read a reading from a JSON file."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise BadInput(f"no reading could be read: {error}", where=str(path)) from error
    return Reading.from_json(data)


def _frozen(value: Any) -> Any:
    return tuple(_frozen(v) for v in value) if isinstance(value, list | tuple) else value


def _measured(value: dict[str, float] | None) -> Measured | None:
    return Measured(**value) if value else None


def _view(data: dict[str, Any]) -> View:
    roll = Measured(**data["roll"]) if "roll" in data else View.roll
    return View(data["kind"], data["facing"], Measured(**data["off_side"]), roll)


def _calibration(data: dict[str, Any] | None) -> Calibration | None:
    if not data:
        return None
    return Calibration(tuple(Offset(one["read_L"], Measured(**one["too_high_L"])) for one in data["holds"]))


def _swing(data: dict[str, Any] | None) -> Swing | None:
    if not data:
        return None
    return Swing(_measured(data["period_s"]), Measured(**data["hip_travel_L"]))


def _rep(data: dict[str, Any]) -> Rep:
    named = ("peak_shoulder_L", "peak_chin_L", "mean_speed_mps", "peak_speed_mps", "bottom_elbow_deg")
    measured: dict[str, Any] = {name: _measured(data[name]) for name in named}
    return Rep(**{**data, **measured, "measures": _named(data.get("measures", {}))})


def _attempt(data: dict[str, Any]) -> Attempt:
    return Attempt(**{**data, "measures": _named(data["measures"])})


def _named(data: dict[str, dict[str, float]]) -> dict[str, Measured]:
    return {name: Measured(**value) for name, value in data.items()}
