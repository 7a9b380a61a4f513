"""Slow motion: a swing keeps time, and a film four times too slow is told by it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import av
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from overbar.film import read_film
from overbar.film.bar import hang_at
from overbar.film.camera import camera_of
from overbar.film.clock import clock_of, of_time
from overbar.film.decode import look_at
from overbar.film.measures import swing_period
from overbar.film.motion import Motion, in_bar_frame
from overbar.film.phases import Phases, find_phases
from overbar.film.reading import BarPoint
from overbar.film.track import NAMES, Track, in_life, track_of, turn
from overbar.film.view import Looking, look_from
from overbar.settings import read_settings

from .conftest import FILMS
from .test_view import figure

INERTIA_M2, MASS_BELOW_M = 1.249, 1.020
"""Inertia about the grip over mass, and mass centre under the grip, of a man of 1.741 m (handbook science.md
section 3.3, from de Leva's tables): they make the period of 2.22 s checked here."""
STATURE_M = 1.741


def swing(seconds: float, slowed: float, amplitude_deg: float = 20.0, rate: int = 30) -> Track:
    """Return a straight body swinging under the bar by the equation of motion, played too slow."""
    count = int(seconds * slowed * rate)
    t_s = np.arange(count) / rate
    life = t_s / slowed
    law = solve_ivp(
        lambda t, s: [s[1], -9.80665 * MASS_BELOW_M / INERTIA_M2 * np.sin(s[0])],
        (0.0, life[-1]),
        [np.radians(amplitude_deg), 0.0],
        t_eval=life,
        rtol=1e-8,
    )
    still = figure(0, n=count)
    x, y = np.empty_like(still.x), np.empty_like(still.y)
    for i, angle in enumerate(np.degrees(law.y[0])):
        place = turn(np.stack([still.x[i], still.y[i]], -1), -float(angle), (600.0, 200.0))
        x[i], y[i] = place[:, 0], place[:, 1]
    speed = np.gradient(x, t_s, axis=0), np.gradient(y, t_s, axis=0)
    return replace(still, t_s=t_s, x=x, y=y, vx=speed[0], vy=speed[1])


def found(track: Track) -> tuple[Motion, Looking, Phases]:
    looking = look_from(track)
    hang = hang_at(track, looking, BarPoint(600.0, 200.0, 2.0))
    motion = in_bar_frame(track, looking, hang, camera_of(1280, 720, STATURE_M))
    return motion, looking, find_phases(motion, looking)


@pytest.mark.parametrize("slowed", [2.0, 4.0, 8.0])
def test_a_swing_tells_how_much_too_slow_a_film_plays(slowed):
    clock = clock_of(*found(swing(6.0, slowed)), STATURE_M, None)
    assert (clock.slowed, clock.trusted) == (slowed, True)
    assert "Slow motion" in clock.say


@pytest.mark.parametrize("amplitude", [8.0, 25.0, 50.0])
def test_a_swing_in_lifes_own_time_is_left_alone(amplitude):
    clock = clock_of(*found(swing(6.0, 1.0, amplitude)), STATURE_M, None)
    assert (clock.slowed, clock.trusted, clock.say) == (1.0, True, "")


@pytest.mark.parametrize("amplitude", [15.0, 30.0])
def test_the_period_of_a_swing_is_that_of_the_body_within_two_percent(amplitude):
    """Handbook science.md section 3.3: 2.22 s; a larger swing takes (1 + a^2 / 16) times as long."""
    motion, _, phases = found(swing(8.0, 1.0, amplitude))
    period, _ = swing_period(phases.turns, motion)
    expected = 2.22 * (1 + np.radians(amplitude) ** 2 / 16)
    assert period is not None
    assert period.value == pytest.approx(expected, rel=0.02)


def test_a_swing_between_two_factors_is_not_guessed_at():
    clock = clock_of(*found(swing(6.0, 2.9)), STATURE_M, None)
    assert not clock.trusted
    assert "not given" in clock.say


def test_what_the_file_says_of_its_rate_goes_before_everything():
    clock = clock_of(*found(swing(6.0, 1.0)), STATURE_M, 8.0)
    assert (clock.slowed, clock.trusted) == (8.0, True)


def test_a_track_in_lifes_time_has_lifes_speed():
    slow = swing(4.0, 4.0)
    live = in_life(slow, 4.0)
    foot = NAMES.index("left_ankle")
    assert live.t_s[-1] == pytest.approx(slow.t_s[-1] / 4)
    # Energy: at the bottom the fall of the mass centre is speed of the feet, 2.05 m down.
    fall = MASS_BELOW_M * (1 - np.cos(np.radians(20.0)))
    fastest = np.sqrt(2 * 9.80665 * fall / INERTIA_M2) * 2.05
    assert np.abs(live.vx[:, foot]).max() / 200.0 == pytest.approx(fastest, rel=0.02)


def test_measures_of_time_are_known_by_their_unit():
    assert of_time("stall_s")
    assert of_time("rise_mean_mps")
    assert of_time("peak_rise_speed_ms")
    assert not of_time("peak_shoulder_L")
    assert not of_time("elbow_at_pull_deg")


def retimed(path, source: str, slower: int, metadata: dict[str, str] | None = None):
    """Write a film of the tests again, played slower, without touching its pictures."""
    options = {"movflags": "use_metadata_tags"} if metadata else {}
    with av.open(str(FILMS / source)) as old, av.open(str(path), "w", options=options) as new:
        new.metadata.update(metadata or {})
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(video=0):
            if packet.pts is None:
                continue
            packet.pts, packet.dts = packet.pts * slower, packet.dts * slower
            packet.duration *= slower
            packet.stream = stream
            new.mux(packet)
    return path


def test_a_film_that_says_at_what_rate_it_was_taken_is_believed(tmp_path):
    film = look_at(retimed(tmp_path / "s.mp4", "early_side_gym.mp4", 1, {"com.android.capture.fps": "240.0"}))
    assert film.slowed == pytest.approx(8.0)
    assert look_at(FILMS / "early_side_gym.mp4").slowed is None


@pytest.mark.xdist_group("films")
def test_a_pull_out_of_a_swing_that_takes_seconds_gives_heights_but_no_speeds(tmp_path, good):
    # Played 1.15 times slower it would still pass; 4 times slower 30 pictures lie a tenth of a second apart.
    path = tmp_path / "slow.mp4"
    source, rate = FILMS / "good_side_gym.mp4", 30
    with av.open(str(source)) as old, av.open(str(path), "w") as new:
        stream = new.add_stream("libx264", rate=rate, options={"crf": "20", "preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = 1280, 720, "yuv420p"
        stream.time_base = Fraction(1, rate)
        for i, frame in enumerate(old.decode(video=0)):
            for again in range(4):
                frame.pts, frame.time_base = 4 * i + again, Fraction(1, rate)
                new.mux(stream.encode(frame))
        new.mux(stream.encode())
    slow = read_film(path, 1.78, cache=read_settings().cache)
    assert "wrong_clock" in {problem.id for problem in slow.problems}
    assert slow.reps[0].mean_speed_mps is None
    assert not any(of_time(name) for name in slow.attempts[0].measures)
    assert slow.reps[0].peak_shoulder_L.value == pytest.approx(
        good[0].reps[0].peak_shoulder_L.value, abs=0.03
    )


@pytest.mark.xdist_group("films")
def test_the_moments_of_a_slow_film_are_the_films_and_its_speeds_are_lifes(tmp_path, pull_ups):
    live, _ = pull_ups
    path = retimed(tmp_path / "s.mp4", "pullups_side_gym.mp4", 1, {"com.android.capture.fps": "60.0"})
    slow = read_film(path, 1.78, cache=read_settings().cache)
    assert slow.film.slowed == 2.0
    assert "slow_motion" in {problem.id for problem in slow.problems}
    one, other = live.reps[0], slow.reps[0]
    assert other.top_s == pytest.approx(one.top_s, abs=0.1)
    assert other.mean_speed_mps.value == pytest.approx(2 * one.mean_speed_mps.value, rel=0.1)
    assert slow.curves.t_s[-1] == pytest.approx(live.curves.t_s[-1], abs=0.01)


def test_two_free_half_swings_vouch_for_the_clock_and_a_still_hang_says_nothing():
    assert clock_of(*found(swing(6.0, 1.0)), STATURE_M, None).checked
    assert clock_of(*found(swing(0.3, 1.0, 1.0)), STATURE_M, None).say == ""


@pytest.mark.xdist_group("films")
def test_a_quick_pull_vouches_for_the_clock_and_slow_pull_ups_are_said_to_be_unchecked(good, pull_ups):
    assert "clock_unchecked" not in {problem.id for problem in good[0].problems}
    reading, _ = pull_ups
    track = in_life(track_of(reading), 0.5)
    looking = look_from(track)
    assert reading.bar is not None
    hang = hang_at(track, looking, reading.bar)
    motion = in_bar_frame(track, looking, hang, camera_of(1280, 720, 1.78))
    clock = clock_of(motion, looking, find_phases(motion, looking), 1.78, None)
    assert (clock.slowed, clock.trusted, clock.checked) == (1.0, True, False)
    assert "as the file gives them" in clock.say
