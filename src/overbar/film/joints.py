"""The two nets: where the person is, and where the joints are in each frame.

The person finder (17 joints) looks at a square region and sets the region of the
landmark net (33 points). Neither is ever trusted with a whole wide picture of a
side-on hang: there both place the body upside down with full confidence.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from overbar.errors import UnusableFilm
from overbar.film.decode import FilmFile, Frame, Picture, frames, samples
from overbar.film.hands import HIGH, MOST_STRIPS, WIDE, Strips, cut_strip
from overbar.film.plumb import uprights
from overbar.film.steady import Steadier, settled
from overbar.film.weights import net_file
from overbar.progress import Progress, silent

Array = NDArray[np.float64]

FINDER_JOINTS = [
    "nose",
    "left_eye",
    "right_eye",
    "left_ear",
    "right_ear",
    "left_shoulder",
    "right_shoulder",
    "left_elbow",
    "right_elbow",
    "left_wrist",
    "right_wrist",
    "left_hip",
    "right_hip",
    "left_knee",
    "right_knee",
    "left_ankle",
    "right_ankle",
]
LANDMARKS = [
    "nose",
    "left_eye_inner",
    "left_eye",
    "left_eye_outer",
    "right_eye_inner",
    "right_eye",
    "right_eye_outer",
    "left_ear",
    "right_ear",
    "left_mouth",
    "right_mouth",
    "left_shoulder",
    "right_shoulder",
    "left_elbow",
    "right_elbow",
    "left_wrist",
    "right_wrist",
    "left_pinky",
    "right_pinky",
    "left_index",
    "right_index",
    "left_thumb",
    "right_thumb",
    "left_hip",
    "right_hip",
    "left_knee",
    "right_knee",
    "left_ankle",
    "right_ankle",
    "left_heel",
    "right_heel",
    "left_toe",
    "right_toe",
]

FINDER_RATE_HZ = 10.0
"""How often the finder looks; between its looks the region stands (own measurement: speed)."""
LOOK_AGAIN_APART = 0.22
"""Median distance between the nets' shoulders, hips and knees, in trunk lengths, from which the finder looks
at the next frame too: the landmarks lose the body at the turn of a fast pull (own measurement: one frame in
thirty)."""
LOOK_AT = (0.0, 0.2, 0.4, 0.6, 0.8)
"""Shares of the film at which the athlete is looked for, until one hangs from the bar."""
SURE = 0.2
"""Finder joints under this score are not used for the region."""
LOWEST_SCORE = 0.33
"""Mean finder score under which a pose is refused (handbook pose.md section 2: wrong ones lay under 0.30)."""
HANDS_ABOVE_HIPS = 2.5
"""Hands of a straight hang above the hips, in trunk lengths (1 + 0.68 m / 0.50 m, and a little)."""
_SIDE = 256
_WINDOW = 7
_GRID = 64
_BODY = slice(5, 17)
_FIRM = ([5, 6, 11, 12, 13, 14], [11, 12, 23, 24, 25, 26])
"""Shoulders, hips and knees of the finder and of the landmark net."""


@dataclass(frozen=True)
class Region:
    """A square of the picture: centre and side in pixels."""

    x: float
    y: float
    side: float


@dataclass(frozen=True)
class Sights:
    """What the nets saw, one row a frame; NaN where a net did not look or was refused.

    Attributes
    ----------
    t_s : ndarray, shape (n,)
        Presentation times in s.
    finder : ndarray, shape (n, 17, 3)
        x and y in pixels of the upright picture, and score.
    marks : ndarray, shape (n, 33, 4)
        x, y and depth (towards the camera negative) in pixels, and visibility.
    presence : ndarray, shape (n,)
        The landmark net's own presence.
    region : ndarray, shape (n, 3)
        Centre and side of the landmark region in pixels.
    others : int
        Other people seen while looking for the athlete: 0, 1 (standing by), 2 (also on the bar).
    hands : Strips
        Strips of the picture along raised forearms.
    shift : ndarray, shape (n, 2)
        How far the still ground has moved since the first frame, in pixels; zeros when the camera stands.
    uprights : ndarray, shape (j, 3)
        Lines near plumb in the first picture, see :func:`overbar.film.plumb.uprights`.
    light : float
        Median brightness of the first picture around the athlete, 0 to 255.
    """

    t_s: Array
    finder: Array
    marks: Array
    presence: Array
    region: Array
    others: int
    hands: Strips
    shift: Array
    uprights: Array
    light: float


def _session(path: Path) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    # Spinning threads starve a shared machine: 2 to 4 times slower (handbook pose.md section 5).
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def cut(picture: Picture, region: Region, border: int) -> NDArray[np.float32]:
    """Return a region of a picture as (1, 256, 256, 3) values 0 to 255."""
    scale = _SIDE / region.side
    move = np.array(
        [
            [scale, 0.0, _SIDE / 2 - scale * region.x],
            [0.0, scale, _SIDE / 2 - scale * region.y],
        ]
    )
    made = cv2.warpAffine(picture, move, (_SIDE, _SIDE), flags=cv2.INTER_LINEAR, borderMode=border)
    return made[None].astype(np.float32)


def _chance(value: NDArray[Any]) -> NDArray[Any]:
    return 1.0 / (1.0 + np.exp(-np.clip(value, -60, 60)))


class Finder:
    """The person finder: 17 joints of the person nearest the middle of a region."""

    def __init__(self, cache: Path) -> None:
        self.net = _session(net_file(cache, "finder"))
        self.row, self.column = np.mgrid[:_GRID, :_GRID]

    def look(self, picture: Picture, region: Region) -> Array:
        """Return (17, 3): x, y in pixels and score of each joint."""
        heat, centre, rough, fine = self.net.run(
            ["heat", "centre", "rough", "fine"], {"picture": cut(picture, region, cv2.BORDER_CONSTANT)}
        )
        heat = _chance(heat[0])
        at_row, at_column = divmod(int(centre[0, ..., 0].argmax()), _GRID)
        guess = rough[0, at_row, at_column].reshape(17, 2) + np.array([at_row, at_column])
        away = np.hypot(self.row[..., None] - guess[:, 0], self.column[..., None] - guess[:, 1]) + 1.8
        best = (heat / away).reshape(-1, 17).argmax(0)
        rows, columns = np.divmod(best, _GRID)
        joint = np.arange(17)
        offset = fine[0, rows, columns].reshape(17, 17, 2)[joint, joint]
        x = (columns + offset[:, 1]) / _GRID
        y = (rows + offset[:, 0]) / _GRID
        found = np.empty((17, 3))
        found[:, 0] = region.x + (x - 0.5) * region.side
        found[:, 1] = region.y + (y - 0.5) * region.side
        found[:, 2] = heat[rows, columns, joint]
        return found


class Landmarks:
    """The landmark net: 33 points of the person that fills a region."""

    def __init__(self, cache: Path, careful: bool) -> None:
        self.net = _session(net_file(cache, "landmarks_careful" if careful else "landmarks"))

    def look(self, picture: Picture, region: Region) -> tuple[Array, float]:
        """Return (33, 4): x, y, depth in pixels and visibility; and the net's presence."""
        points, presence, heat = self.net.run(
            ["points", "presence", "heat"],
            {"picture": cut(picture, region, cv2.BORDER_REPLICATE) / np.float32(255)},
        )
        raw = points.reshape(39, 5)[:33].astype(np.float64)
        place = raw[:, :2] / _SIDE
        column, row = (np.clip(place * _GRID, 0, _GRID - 1).astype(int) + _WINDOW // 2).T
        # The heat map refines a point only where it is sure of one.
        padded = np.pad(heat[0, :, :, :33], ((3, 3), (3, 3), (0, 0)), constant_values=-60.0)
        near = np.arange(-3, 4)
        rows, columns = row[:, None, None] + near[:, None], column[:, None, None] + near
        window = _chance(padded[rows, columns, np.arange(33)[:, None, None]])
        total = window.sum((1, 2))
        sure = window.max((1, 2)) >= 0.5
        inside = ((place >= 0) & (place < 1)).all(1) & sure
        refined = np.stack([(window * (columns - 3)).sum((1, 2)), (window * (rows - 3)).sum((1, 2))], 1)
        place[inside] = refined[inside] / total[inside, None] / _GRID
        found = np.empty((33, 4))
        found[:, 0] = region.x + (place[:, 0] - 0.5) * region.side
        found[:, 1] = region.y + (place[:, 1] - 0.5) * region.side
        found[:, 2] = raw[:, 2] / _SIDE * region.side
        found[:, 3] = _chance(raw[:, 3])
        return found, float(presence.ravel()[0])


def acceptable(pose: Array) -> bool:
    """Say whether a finder pose can be a person at a bar: sure enough, and not upside down."""
    if pose[:, 2].mean() < LOWEST_SCORE:
        return False
    shoulder, hip = pose[[5, 6], :2].mean(0), pose[[11, 12], :2].mean(0)
    return bool(hip[1] - shoulder[1] > -0.3 * _trunk(pose))


def on_bar(pose: Array) -> bool:
    """Say whether both hands of a finder pose are above its nose, as in a hang."""
    return bool((pose[[9, 10], 1] < pose[0, 1]).all() and (pose[[9, 10], 2] > SURE).all())


def region_of(pose: Array) -> Region:
    """Return the square the finder should look at next: around the hips, reaching beyond hands and feet."""
    sure = pose[:, 2] > SURE
    hip = pose[[11, 12], :2].mean(0)
    trunk = _trunk(pose)
    reach = np.abs(pose[sure, :2] - hip).max() if sure.any() else trunk
    return Region(float(hip[0]), float(hip[1]), float(2 * max(HANDS_ABOVE_HIPS * trunk, 1.2 * reach)))


def landmark_region(pose: Array) -> Region:
    """Return the square the landmark net should look at: all sure joints, where hands can be, a margin."""
    sure = pose[pose[:, 2] > SURE, :2] if (pose[:, 2] > SURE).sum() >= 6 else pose[:, :2]
    shoulder = pose[[5, 6], :2].mean(0)
    if pose[[7, 8], 1].min() < shoulder[1]:
        # With raised arms unsure hands must not fall outside, or they stay lost.
        sure = np.vstack([sure, shoulder - [0.0, (HANDS_ABOVE_HIPS - 1.0) * _trunk(pose)]])
    low, high = sure.min(0), sure.max(0)
    middle = (low + high) / 2
    return Region(float(middle[0]), float(middle[1]), float(1.25 * (high - low).max()))


def _trunk(pose: Array) -> float:
    return float(np.hypot(*(pose[[5, 6], :2].mean(0) - pose[[11, 12], :2].mean(0))))


def find_person(finder: Finder, film: FilmFile) -> tuple[Array, int]:
    """Find the athlete in a few frames spread over the film.

    Returns
    -------
    pose : ndarray, shape (17, 3)
        The surest pose, one that holds a bar before any that does not.
    others : int
        0, 1 (someone else is in the picture) or 2 (a second person is on the bar).

    Raises
    ------
    UnusableFilm
        Nobody was found.
    """
    for tiles in (1.0, 0.6):
        lead: Array | None = None
        others = 0
        for frame in samples(film, LOOK_AT):
            regions = _squares(frame.picture, tiles)
            poses = [pose for one in regions if (pose := _settled(finder, frame.picture, one)) is not None]
            if not poses:
                continue
            best = max(poses, key=_rank)
            company = [pose for pose in poses if _apart(best, pose)]
            if any(on_bar(pose) for pose in company) and on_bar(best):
                others = 2
            elif company:
                others = max(others, 1)
            if lead is None or _rank(best) > _rank(lead):
                lead = best
            if on_bar(lead):
                break
        if lead is not None:
            return lead, others
    raise UnusableFilm(
        "no_person",
        "no person was found in the film.",
        "Film side-on, whole body and bar, from 4 to 6 m away.",
    )


def _rank(pose: Array) -> tuple[bool, float]:
    return on_bar(pose), float(pose[:, 2].mean())


def _squares(picture: Picture, share: float) -> list[Region]:
    """Return overlapping squares, ``share`` of the picture's short side wide, that cover it."""
    high, wide = picture.shape[:2]
    side = share * min(high, wide)

    def middles(length: int) -> Array:
        count = 1 if length < 1.2 * side else 1 + int(np.ceil((length - side) / (0.5 * side)))
        return np.linspace(side / 2, length - side / 2, count) if count > 1 else np.array([length / 2])

    return [Region(float(x), float(y), side) for y in middles(high) for x in middles(wide)]


def _settled(finder: Finder, picture: Picture, region: Region) -> Array | None:
    pose = finder.look(picture, region)
    if pose[:, 2].mean() < 0.5 * LOWEST_SCORE:
        return None
    pose = finder.look(picture, region_of(pose))
    return pose if acceptable(pose) else None


def _apart(lead: Array, other: Array) -> bool:
    """Say whether two poses are two people of like size rather than one seen twice."""
    trunk, trunk_other = _trunk(lead), _trunk(other)
    gap = np.hypot(*(lead[_BODY, :2].mean(0) - other[_BODY, :2].mean(0)))
    return bool(gap > 1.2 * trunk and trunk_other > 0.5 * trunk and other[:, 2].mean() > 0.4)


def see(film: FilmFile, cache: Path, careful: bool = False, progress: Progress = silent) -> Sights:
    """Run both nets over a film.

    Parameters
    ----------
    film : FilmFile
        The film.
    cache : pathlib.Path
        Where set-up put the nets.
    careful : bool
        Use the larger landmark net, and the finder on every frame.
    progress : Progress
        Told the share of frames done.

    Raises
    ------
    UnusableFilm
        Nobody was found.
    NotSetUp
        The nets are missing.
    """
    cv2.setNumThreads(1)
    progress(0.0, "finding the athlete")
    finder, landmarks = Finder(cache), Landmarks(cache, careful)
    home, others = find_person(finder, film)
    first = next(samples(film, (0.0,)), None)
    if first is None:
        raise UnusableFilm("no_frames", "no picture of the film can be decoded.", "Send the film again.")
    around = landmark_region(home)
    lines = uprights(first.picture, (around.x, around.y, around.side))
    light = float(np.median(cut(first.picture, around, cv2.BORDER_REPLICATE)))
    strips = _HandStrips()
    rows = list(_rows(film, finder, landmarks, home, careful, strips, progress))
    if not rows:
        raise UnusableFilm("no_frames", "no picture of the film can be decoded.", "Send the film again.")
    t_s, poses, marks, presence, region, shift = (np.array(column) for column in zip(*rows, strict=True))
    k = film.shrink
    poses[..., :2] *= k
    marks[..., :3] *= k
    shift = settled(shift * k, film.width)
    return Sights(t_s, poses, marks, presence, region * k, others, strips.done(k, shift), shift, lines, light)


class _HandStrips:
    """Collects hand strips; when there are many, every second one is dropped and the spacing doubled."""

    def __init__(self) -> None:
        self.kept: list[tuple[int, list[tuple[Picture, Array]]]] = []
        self.spacing, self.seen = 1, 0

    def take(self, count: int, picture: Picture, pose: Array) -> None:
        self.seen += 1
        if self.seen % self.spacing:
            return
        arms = [cut_strip(picture, pose[7 + arm, :2], pose[9 + arm, :2], _trunk(pose)) for arm in (0, 1)]
        self.kept.append((count, arms))
        if len(self.kept) >= MOST_STRIPS:
            self.kept = self.kept[::2]
            self.spacing *= 2

    def done(self, shrink: int, shift: Array) -> Strips:
        k = len(self.kept)
        pictures = np.array([[strip for strip, _ in arms] for _, arms in self.kept], np.uint8)
        place = np.array([[where for _, where in arms] for _, arms in self.kept], np.float64)
        place = place.reshape(k, 2, 4) * [shrink, shrink, shrink, 1]
        frame = np.array([count for count, _ in self.kept], np.int64)
        place[:, :, :2] -= shift[frame][:, None]
        return Strips(frame, pictures.reshape(k, 2, HIGH, WIDE, 3), place)


_Row = tuple[float, Array, Array, float, tuple[float, float, float], Array]


def _rows(
    film: FilmFile,
    finder: Finder,
    landmarks: Landmarks,
    home: Array,
    careful: bool,
    strips: _HandStrips,
    progress: Progress,
) -> Iterator[_Row]:
    search, target = region_of(home), landmark_region(home)
    blind = np.full((17, 3), np.nan)
    trunk = _trunk(home)
    lost = True
    next_look = -1.0
    steadier: Steadier | None = None
    for count, frame in enumerate(frames(film)):
        if steadier is None:
            steadier = Steadier(frame.picture, (target.x, target.y), target.side)
        pose = blind
        if careful or frame.t_s >= next_look:
            next_look = frame.t_s + 0.999 / FINDER_RATE_HZ
            pose = _follow(finder, frame, search, again=lost)
            strayed = np.hypot(*(pose[_BODY, :2].mean(0) - home[_BODY, :2].mean(0))) > 3.0 * trunk
            lost = not acceptable(pose) or bool(strayed)
            if lost:
                pose, search, target = blind, region_of(home), landmark_region(home)
            else:
                search = region_of(pose)
                target = _eased(target, landmark_region(pose), 0.6)
        seen, presence = landmarks.look(frame.picture, target)
        if not np.isnan(pose).any():
            apart = np.hypot(*(pose[_FIRM[0], :2] - seen[_FIRM[1], :2]).T)
            if np.median(apart) > LOOK_AGAIN_APART * _trunk(pose):
                next_look = frame.t_s
            arms = pose if on_bar(pose) else _arms_of(seen, pose)
            if (arms[[9, 10], 1] < arms[0, 1]).any():
                strips.take(count, frame.picture, arms)
        if film.frames_expected:
            progress(min(1.0, (count + 1) / film.frames_expected), "reading joints")
        yield (
            frame.t_s,
            pose,
            seen,
            presence,
            (target.x, target.y, target.side),
            steadier.shift(frame.picture),
        )


def _arms_of(seen: Array, pose: Array) -> Array:
    """Return a finder pose with the landmark net's arms: it keeps raised arms where the finder loses them."""
    arms = pose.copy()
    arms[7:11, :2] = seen[13:17, :2]
    return arms


def _follow(finder: Finder, frame: Frame, search: Region, again: bool) -> Array:
    pose = finder.look(frame.picture, search)
    return finder.look(frame.picture, region_of(pose)) if again else pose


def _eased(old: Region, new: Region, share: float) -> Region:
    keep = 1.0 - share
    return Region(
        keep * old.x + share * new.x, keep * old.y + share * new.y, keep * old.side + share * new.side
    )
