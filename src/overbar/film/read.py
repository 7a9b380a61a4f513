"""A film from first to last step: file in, reading out; and a reading from corrected points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from overbar.athlete.anthropometry import check_stature
from overbar.errors import BadInput, UnusableFilm
from overbar.film import hands
from overbar.film.attempts import find_attempts
from overbar.film.bar import Hang, find_hang, hang_at, hang_lean_deg
from overbar.film.camera import camera_of
from overbar.film.clock import Clock, clock_of, in_film_time, remark, without_times
from overbar.film.decode import FEWEST_FRAMES, FilmFile, look_at, variable_rate
from overbar.film.events import find_events
from overbar.film.faults import (
    fault_data,
    find_faults,
    holds_back,
    limits_mark,
    main_fault,
    margins,
    subject_of_attempt,
    subject_of_film,
    subject_of_lowering,
    subject_of_rep,
)
from overbar.film.joints import Sights, see
from overbar.film.measures import hip_travel, swing_period
from overbar.film.motion import Motion, in_bar_frame
from overbar.film.phases import Phases, find_phases
from overbar.film.plumb import roll_of
from overbar.film.reading import (
    BarPoint,
    Calibration,
    Curves,
    Film,
    HangLength,
    Joints,
    KnownLength,
    Measured,
    Problem,
    Reading,
    Swing,
)
from overbar.film.reps import find_reps
from overbar.film.scale import by_proportions, check_known_length, scaled
from overbar.film.track import Track, follow, in_life, middle_of, plumb, to_joints, track_of
from overbar.film.view import Looking, look_from
from overbar.film.wobble import bar_shift
from overbar.mechanics.segments import check_body_mass
from overbar.progress import Progress, silent

SLOWEST_RATE_HZ, FEW_FRAMES_HZ = 23.5, 24.5
"""Films slower than 24 frames/s, the cinema rate of many phones, are refused; from 25 (handbook trade.md F26)
nothing is said. Between them the film is read and its wider times are said. Room for 23.98 and 24.97."""
CUT_OFF_MARGIN = 0.004
"""Joints closer to the edge than this share of the picture are cut off."""
DARK, CAMERA_MOVES = 28.0, 0.06
"""Brightness (of 255) under which a film is dark, and wandering of the camera, in long sides of the picture,
from which it moves: a steady hand stays within 0.03 (own judgement)."""
ROOM_UNDER_HIPS, ROOM_UNDER_KNEES = 0.5, 0.3
"""Least room under them in a hang, in trunk lengths: a thigh or a shin is 0.8 to 0.9 long."""


def read_film(
    path: Path,
    stature_m: float,
    mass_kg: float | None = None,
    careful: bool = False,
    progress: Progress = silent,
    cache: Path | None = None,
    known_length: KnownLength | None = None,
    calibration: Calibration | None = None,
) -> Reading:
    """Read one film.

    Parameters
    ----------
    path : pathlib.Path
        The film, as the phone made it.
    stature_m : float
        The athlete's stature in m: the scale of every length in m.
    mass_kg : float, optional
        Body mass in kg, kept with the reading.
    careful : bool
        Use the larger landmark net and look for the person in every frame: slower.
    progress : Progress
        Told how far it is.
    cache : pathlib.Path, optional
        Where set-up put the nets; the user's cache by default.
    known_length : KnownLength, optional
        A length marked in the first picture, that refines the scale.
    calibration : Calibration, optional
        What three holds said of this athlete's heights, see :mod:`overbar.film.calibration`.

    Returns
    -------
    Reading
        Everything the film says.

    Raises
    ------
    BadInput
        No such file, or a stature or marked length that cannot be meant.
    UnusableFilm
        Nothing can be measured: the reason is in words.
    NotSetUp
        The nets are missing.
    """
    check_stature(stature_m)
    if mass_kg is not None:
        check_body_mass(mass_kg)
    if cache is None:
        from overbar.settings import read_settings

        cache = read_settings().cache
    file = look_at(path)
    if known_length is not None:
        check_known_length(known_length, file.width, file.height)
    sights = see(file, cache, careful, lambda share, doing: progress(0.95 * share, doing))
    progress(0.95, "measuring")
    _check_frames(sights.t_s, file.frames_expected)
    if sights.others == 2:
        raise UnusableFilm(
            "two_people", "two people hang from the bar in this film.", "Film one athlete at a time."
        )
    pivot = middle_of(file.width, file.height)
    askew = follow(sights)
    seen = look_from(askew)
    roll = roll_of(sights.uprights, hang_lean_deg(askew, seen))
    track = plumb(askew, roll.value, pivot)
    looking = replace(seen, view=replace(seen.view, roll=roll))
    strips = hands.plumb(sights.hands, roll.value, pivot)
    hang = find_hang(track, looking, strips, camera_of(file.width, file.height, stature_m))
    _check_in_picture(askew, track.in_picture(hang.bar.x_px, hang.bar.y_px)[1], hang, file)
    given = _Given(
        _film(file, sights.t_s),
        stature_m,
        mass_kg,
        file.slowed,
        known_length,
        calibration,
        bar_shift(track, looking, hang, strips),
    )
    reading = _reading(given, track, looking, hang)
    reading = replace(reading, problems=(*reading.problems, *_circumstances(sights, file)))
    progress(1.0, "read")
    return reading


def reread(reading: Reading, corrections: Mapping[str, Any] | Sequence[Mapping[str, Any]]) -> Reading:
    """Reckon every number anew from corrected points, without the film or the nets.

    Parameters
    ----------
    reading : Reading
        The reading to correct.
    corrections : mapping or sequence of mappings
        Each has ``frame`` (int), ``joint`` (one of the reading's, or ``bar``), ``x_px`` and ``y_px``.
        A corrected joint pulls its neighbours in time along as far as the smoother lets it.

    Returns
    -------
    Reading
        A new reading; the given one stays as it is.

    Raises
    ------
    BadInput
        A frame or joint that is not in the reading.
    """
    listed = [corrections] if isinstance(corrections, Mapping) else list(corrections)
    if not listed:
        return reading
    x, y, sd = (np.array(v) for v in (reading.joints.x_px, reading.joints.y_px, reading.joints.sd_px))
    bar = reading.bar
    for one in listed:
        try:
            frame, joint = int(one["frame"]), str(one["joint"])
            place = float(one["x_px"]), float(one["y_px"])
        except (KeyError, TypeError, ValueError) as error:
            raise BadInput(
                f"correction {dict(one)} is not complete", do="Give frame, joint, x_px, y_px."
            ) from error
        if joint == "bar":
            if bar is None:
                raise BadInput("this reading has no bar to correct", do="Read a film with a hang in it.")
            bar = replace(bar, x_px=place[0], y_px=place[1], sd_px=1.0)
            continue
        if joint not in reading.joints.names or not 0 <= frame < len(x):
            raise BadInput(f"there is no joint {joint!r} in frame {frame}", do="Take one that is drawn.")
        _pull_along(reading.joints, x, y, sd, frame, reading.joints.names.index(joint), place)
    joints = replace(reading.joints, x_px=_rows(x), y_px=_rows(y), sd_px=_rows(sd))
    made = _again(replace(reading, joints=joints, bar=bar))
    return replace(made, joints=joints)


def rescale(reading: Reading, known_length: KnownLength | None) -> Reading:
    """Return a reading with the scale refined by a marked length, or with that taken back, without the film.

    Raises
    ------
    BadInput
        A marked length that cannot be meant.
    """
    if known_length is not None:
        check_known_length(known_length, reading.film.width, reading.film.height)
    return replace(_again(replace(reading, known_length=known_length)), joints=reading.joints)


def recalibrate(reading: Reading, calibration: Calibration | None) -> Reading:
    """Return a reading with the athlete's own calibration in its heights, or with that taken back."""
    return replace(_again(replace(reading, calibration=calibration)), joints=reading.joints)


def rejudge(reading: Reading) -> Reading:
    """Return a reading whose faults are judged by the limits in force, without the film; the rest stays.

    A reading that shows no bar has no faults to judge.
    """
    if not reading.usable or reading.bar is None:
        return replace(reading, judged_by=limits_mark())
    judged = _again(reading)
    return replace(
        reading,
        faults=judged.faults,
        main_fault=judged.main_fault,
        cue=judged.cue,
        drill=judged.drill,
        next_week=judged.next_week,
        limit=judged.limit,
        judged_by=judged.judged_by,
    )


def _again(reading: Reading) -> Reading:
    """Reckon every number from a reading's joints, bar and what it was given."""
    if reading.bar is None:
        raise BadInput("this reading has no bar", do="Read a film with a hang in it.")
    track = track_of(reading)
    seen = look_from(track)
    looking = replace(seen, view=replace(seen.view, roll=reading.view.roll))
    hang = hang_at(track, looking, reading.bar)
    slowed = reading.film.slowed
    given = _Given(
        reading.film,
        reading.stature_m,
        reading.mass_kg,
        slowed if slowed > 1 else None,
        reading.known_length,
        reading.calibration,
        reading.measures.get("bar_shift_L"),
    )
    return replace(_reading(given, track, looking, hang), problems=reading.problems)


PULL_ALONG_S = 0.12
"""A corrected point moves its neighbours by a share that falls to a third over this time (own judgement)."""


def _pull_along(
    joints: Joints, x: Any, y: Any, sd: Any, frame: int, column: int, place: tuple[float, float]
) -> None:
    share = np.exp(-(((np.array(joints.t_s) - joints.t_s[frame]) / PULL_ALONG_S) ** 2))
    x[:, column] += share * (place[0] - x[frame, column])
    y[:, column] += share * (place[1] - y[frame, column])
    sd[frame, column] = 1.0


def _rows(values: Any) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in np.round(values, 1).tolist())


@dataclass(frozen=True)
class _Given:
    """What a reading rests on beside what was seen."""

    film: Film
    stature_m: float
    mass_kg: float | None
    slowed: float | None
    known_length: KnownLength | None
    calibration: Calibration | None
    bar_shift_L: Measured | None


def _reading(given: _Given, track: Track, looking: Looking, hang: Hang) -> Reading:
    camera = camera_of(given.film.width, given.film.height, given.stature_m)
    camera = by_proportions(camera, track, looking, hang, given.stature_m)
    camera = scaled(camera, hang, looking, given.known_length)
    motion = in_bar_frame(track, looking, hang, camera, given.calibration)
    phases = find_phases(motion, looking)
    clock = clock_of(motion, looking, phases, given.stature_m, given.slowed)
    if clock.slowed != 1.0:
        track = in_life(track, clock.slowed)
        motion = in_bar_frame(track, looking, hang, camera, given.calibration)
        phases = find_phases(motion, looking)
    events = find_events(motion, phases)
    reps = find_reps(motion, looking, phases)
    tried = find_attempts(motion, looking, phases)
    attempts = tuple(attempt for attempt, _ in tried)
    strict = [rep for rep in reps if rep.kind == "pull_up"]
    subjects = tuple(subject_of_attempt(motion, looking, attempt, pull) for attempt, pull in tried) + tuple(
        subject_of_rep(rep, first=rep is strict[0]) for rep in strict
    )
    subjects += tuple(subject_of_lowering(rep) for rep in reps if rep.kind == "negative")
    whole = subject_of_film(motion, looking, phases, given.bar_shift_L)
    subjects += (whole,)
    faults = find_faults(subjects, looking)
    limit, shortfalls = holds_back(attempts, reps, faults), margins(attempts, motion)
    if not clock.trusted:
        reps, attempts, faults = without_times(reps, attempts, faults)
        limit, shortfalls = "", ""
    main = main_fault(faults)
    known = fault_data().faults[main.id] if main else None
    made = Reading(
        film=replace(given.film, slowed=clock.slowed),
        stature_m=given.stature_m,
        mass_kg=given.mass_kg,
        view=looking.view,
        usable=True,
        problems=(*remark(clock), *_remarks(looking, phases)),
        bar=BarPoint(*track.in_picture(hang.bar.x_px, hang.bar.y_px), hang.bar.sd_px),
        hang_length=HangLength(hang.length_px, motion.length_m, motion.length_sd_m),
        swing=_swing(motion, looking, phases, clock),
        events=events,
        reps=reps,
        attempts=attempts,
        faults=faults,
        main_fault=main.id if main else None,
        cue=known.cue if known else "",
        drill=known.drills[0] if known and known.drills else "",
        next_week=known.next_week if known else "",
        limit=limit,
        margins=shortfalls,
        joints=to_joints(track),
        curves=_curves(motion, phases),
        measures=whole.measures,
        known_length=given.known_length,
        calibration=given.calibration,
        judged_by=limits_mark(),
    )
    return in_film_time(made, clock.slowed)


def _swing(motion: Motion, looking: Looking, phases: Phases, clock: Clock) -> Swing | None:
    if not looking.shows_depth_plane or not phases.turns:
        return None
    hanging = np.nonzero(phases.hanging)[0]
    if not len(hanging):
        return None
    first_pull = phases.pulls[0].start if phases.pulls else int(hanging[-1])
    swinging = hanging[hanging <= first_pull] if (hanging <= first_pull).sum() > 3 else hanging
    period, _ = swing_period(phases.turns, motion)
    return Swing(
        period if clock.trusted else None, hip_travel(motion, slice(int(swinging[0]), int(swinging[-1]) + 1))
    )


def _remarks(looking: Looking, phases: Phases) -> tuple[Problem, ...]:
    found = []
    if looking.view.kind == "oblique":
        found.append(
            Problem(
                "oblique",
                "The camera stands askew: timing and gaps are less sure. Film square from the side.",
            )
        )
    if not looking.shows_depth_plane:
        found.append(
            Problem(
                "no_fore_aft", "Seen from the front or back: swing, timing and gap to the bar cannot be told."
            )
        )
    if not phases.pulls:
        found.append(Problem("no_pull", "No pull was seen in this film."))
    return tuple(found)


def _circumstances(sights: Sights, file: FilmFile) -> tuple[Problem, ...]:
    """Return what of the filming makes a reading less sure."""
    found = []
    if sights.others:
        found.append(
            Problem("someone_else", "Someone else is in the picture; the athlete on the bar was read.")
        )
    rate = 1.0 / float(np.median(np.diff(sights.t_s)))
    if rate < FEW_FRAMES_HZ:
        found.append(
            Problem(
                "few_frames",
                f"The film has {rate:.0f} frames a second: times are less sure. Film at 60 frames a second.",
            )
        )
    if sights.light < DARK:
        found.append(Problem("dark", "The film is dark: joints are less sure. Film with more light."))
    wandered = float(np.hypot(*np.ptp(sights.shift, axis=0))) / max(file.width, file.height)
    if wandered > CAMERA_MOVES:
        found.append(
            Problem("camera_moves", "The camera moves: heights are less sure. Put the phone on a stand.")
        )
    return tuple(found)


def _curves(motion: Motion, phases: Phases) -> Curves:
    def row(values: Any, digits: int = 3) -> tuple[float, ...]:
        return tuple(np.round(values, digits).tolist())

    return Curves(
        t_s=row(motion.t_s, 4),
        shoulder_L=row(motion.shoulder),
        shoulder_sd_L=row(motion.shoulder_sd),
        chin_L=row(motion.chin),
        hip_x_L=row(motion.hip_x),
        rise_mps=row(motion.rise * motion.length_m),
        elbow_deg=row(motion.elbow_deg, 1),
        phase=phases.label,
    )


def _film(file: FilmFile, t_s: Any) -> Film:
    return Film(
        name=file.path.name,
        sha256=file.sha256,
        width=file.width,
        height=file.height,
        frames=len(t_s),
        duration_s=round(float(t_s[-1] + np.median(np.diff(t_s))), 4),
        variable_rate=variable_rate(t_s),
        rotation_deg=file.rotation_deg,
    )


def _check_frames(t_s: Any, expected: int) -> None:
    if len(t_s) < FEWEST_FRAMES <= expected:
        raise UnusableFilm(
            "not_a_film",
            f"the film breaks off after {len(t_s)} of {expected} frames.",
            "Send the film again.",
        )
    if len(t_s) < FEWEST_FRAMES:
        raise UnusableFilm(
            "too_short", f"the film has {len(t_s)} frames.", "Start two seconds before the first hang."
        )
    rate = 1.0 / float(np.median(np.diff(t_s)))
    if rate < SLOWEST_RATE_HZ:
        raise UnusableFilm(
            "slow_rate",
            f"the film has {rate:.0f} frames a second.",
            "Film at 60 frames a second, at least 25.",
        )


def _check_in_picture(track: Track, bar_y_px: float, hang: Hang, file: FilmFile) -> None:
    margin = CUT_OFF_MARGIN * max(file.width, file.height)
    if bar_y_px < margin:
        raise UnusableFilm(
            "cut_off", "the bar is above the picture.", "Keep a hand's width over the bar in the picture."
        )
    for part, word, room in (
        ("hip", "the hips are", ROOM_UNDER_HIPS),
        ("knee", "the legs are", ROOM_UNDER_KNEES),
    ):
        path = track.middle(part)[hang.frames]
        # The nets draw a body that is cut off into what they see of it: its last joint lies at the edge.
        lowest = file.height - room * track.trunk_px
        outside = (path[:, 0] < margin) | (path[:, 0] > file.width - margin) | (path[:, 1] > lowest)
        if outside.mean() > 0.5:
            raise UnusableFilm(
                "cut_off", f"{word} outside the picture.", "Keep the whole body in the picture."
            )
