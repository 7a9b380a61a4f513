"""The filter and the smoother against SciPy, exact parabolas and the handbook's numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from overbar.film.smoothing import design_cut_off, low_pass, smooth
from overbar.film.track import JERK


def test_the_design_cut_off_is_the_exact_one():
    # science.md 6.1, measured there with SciPy: 7.0275, 7.3495, 7.4454 Hz for 6 Hz at 30, 60, 120 frames/s.
    for rate, designed in ((30, 7.0275), (60, 7.3495), (120, 7.4454)):
        assert design_cut_off(6, rate) == pytest.approx(designed, abs=5e-5)


@pytest.mark.parametrize("rate", [30, 60, 120])
@pytest.mark.parametrize("cut_off", [4.0, 6.0])
def test_two_passes_leave_seven_tenths_at_the_cut_off(rate, cut_off):
    # science.md section 10 case 16: 0.7071 within 0.0005, against SciPy's frequency response.
    b, a = signal.butter(2, design_cut_off(cut_off, rate), fs=rate)
    _, response = signal.freqz(b, a, worN=[cut_off], fs=rate)
    assert abs(response[0]) ** 2 == pytest.approx(2**-0.5, abs=5e-4)


def test_simple_division_would_have_been_wrong():
    # science.md section 10 case 16: the simple rule at 30 frames/s and 6 Hz gives 0.779.
    b, a = signal.butter(2, 6 / 0.8022, fs=30)
    _, response = signal.freqz(b, a, worN=[6], fs=30)
    assert abs(response[0]) ** 2 == pytest.approx(0.779, abs=1e-3)


def test_the_low_pass_keeps_slow_motion_in_place_and_removes_tremor():
    t = np.arange(0, 4, 1 / 60)
    slow = np.sin(2 * np.pi * 0.5 * t)
    out = low_pass(slow + 0.05 * np.sin(2 * np.pi * 20 * t), 60, 6)
    assert np.abs(out - slow)[20:-20].max() < 0.002


def test_free_fall_fit_of_an_exact_parabola_gives_standard_gravity():
    # science.md section 10 case 18.
    t = np.arange(0, 0.4, 1 / 60)
    fitted = np.polyfit(t, 1.3 + 0.2 * t - 0.5 * 9.80665 * t**2, 2)
    assert -2 * fitted[0] == pytest.approx(9.80665, abs=1e-6)


def test_free_fall_scatter_is_the_handbooks():
    # science.md section 10 case 18: sd 5 mm, 0.4 s at 60 frames/s -> SE(g) 0.155 m/s^2.
    n, dt, sd = 25, 1 / 60, 0.005
    by_formula = sd * np.sqrt(720 / (n * (n**2 - 1) * (n**2 - 4))) / dt**2
    assert by_formula == pytest.approx(0.155, abs=0.002)
    t = np.arange(n) * dt
    rng = np.random.default_rng(1)
    fits = [2 * np.polyfit(t, rng.normal(0, sd, n), 2)[0] for _ in range(4000)]
    assert np.std(fits) == pytest.approx(by_formula, rel=0.05)


def track(sd: float, rate: float = 30.0, seed: int = 0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    t = np.arange(0, 6, 1 / rate)
    true = 0.3 * np.sin(2 * np.pi * 0.45 * t)
    return t, true, (true + rng.normal(0, sd, len(t)))[None, :, None]


def test_the_smoother_states_its_own_error_honestly():
    inside = []
    for seed in range(8):
        t, true, seen = track(0.02, seed=seed)
        out = smooth(t, seen, np.full(seen.shape, 0.02), jerk=3.0)
        inside.append(np.abs(out.place[:, 0] - true) <= out.place_sd[:, 0])
    assert 0.55 <= np.mean(inside) <= 0.85


def test_a_gap_is_filled_and_its_uncertainty_grows():
    t, true, seen = track(0.01)
    seen[0, 60:72] = np.nan
    out = smooth(t, seen, np.full(seen.shape, 0.01), jerk=3.0)
    assert np.abs(out.place[60:72, 0] - true[60:72]).max() < 0.03
    assert out.place_sd[66, 0] > 2 * out.place_sd[30, 0]


def test_an_outlier_loses_its_say():
    t, true, seen = track(0.01)
    seen[0, 90] += 1.0
    out = smooth(t, seen, np.full(seen.shape, 0.01), jerk=3.0)
    assert abs(out.place[90, 0] - true[90]) < 0.1


def test_uneven_times_are_taken_as_they_are():
    rng = np.random.default_rng(3)
    t = np.sort(rng.uniform(0, 6, 200))
    true = 0.3 * np.sin(2 * np.pi * 0.45 * t)
    seen = (true + rng.normal(0, 0.01, len(t)))[None, :, None]
    out = smooth(t, seen, np.full(seen.shape, 0.01), jerk=3.0)
    assert np.sqrt(np.mean((out.place[:, 0] - true) ** 2)) < 0.01
    speed = 0.3 * 2 * np.pi * 0.45 * np.cos(2 * np.pi * 0.45 * t)
    assert np.sqrt(np.mean((out.speed[10:-10, 0] - speed[10:-10]) ** 2)) < 0.08


# A busy machine is no fault of the smoother.
@settings(deadline=None)
@given(st.floats(0.5, 200.0), st.floats(-1e3, 1e3))
def test_smoothing_does_not_depend_on_unit_or_origin(scale, origin):
    t, _, seen = track(0.02)
    plain = smooth(t, seen, np.full(seen.shape, 0.02), jerk=3.0)
    other = smooth(t, seen * scale + origin, np.full(seen.shape, 0.02 * scale), jerk=3.0 * scale**2)
    assert np.allclose(other.place, plain.place * scale + origin, atol=2e-3 * scale)


@pytest.mark.parametrize(
    ("length_s", "kept"),
    [
        (0.10, (0.600, 0.779, 0.888, 0.947)),
        (0.15, (0.781, 0.924, 0.978, 0.994)),
        (0.20, (0.890, 0.979, 0.996, 0.998)),
        (0.30, (0.979, 0.998, 0.999, 0.999)),
    ],
)
def test_a_snap_of_speed_keeps_the_share_the_handbook_measured(length_s, kept):
    # science.md 6.1: a half-cosine pulse of speed through the exact dual pass at 4, 6, 8, 10 Hz.
    t = np.arange(0, 4, 1 / 240)
    pulse = np.where(np.abs(t - 2) < length_s / 2, np.cos(np.pi * (t - 2) / length_s), 0.0)
    for cut_off, share in zip((4, 6, 8, 10), kept, strict=True):
        assert low_pass(pulse, 240, cut_off).max() == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("rate", [30, 60])
def test_speeds_of_a_pull_are_kept_and_steadier_than_differences(rate):
    # science.md 6.1: central differences of 5 mm noise scatter by sd * sqrt(2) * rate / 2: 0.106 m/s at 30.
    # A pull to the bar lasts about 0.6 s; trunk 0.5 m. (Time and trunk: common practice, no source.)
    t = np.arange(0, 4, 1 / rate)
    inside = np.clip((t - 1.7) / 0.6, 0, 1)
    place = 0.5 * 1.6 * 0.6 / np.pi * (1 - np.cos(np.pi * inside))
    speed = np.where((t > 1.7) & (t < 2.3), 0.8 * np.sin(np.pi * inside), 0.0)
    noise = 0.005 * np.random.default_rng(3).standard_normal((40, len(t)))
    seen = (place + noise).T[None]
    smoothed = smooth(t, seen, np.full(seen.shape, 0.005), JERK * 0.5**2)
    assert smoothed.speed.mean(1).max() == pytest.approx(0.8, abs=0.04)
    middle = slice(10, -10)
    assert (smoothed.speed.T - speed)[:, middle].std() < 0.005 * np.sqrt(2) * rate / 2
