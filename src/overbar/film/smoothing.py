"""Smoothing of a track that carries its uncertainty, and the exact dual-pass filter.

The smoother is a Rauch-Tung-Striebel pass over a Kalman filter whose state is
place, speed and acceleration, driven by white jerk; it takes uneven times,
missing points and outliers. Source of the recursions: Rauch, Tung and Striebel
1965. The filter is Butterworth's, run forwards and backwards with its cut-off
corrected exactly (handbook science.md section 6.1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import signal

Array = NDArray[np.float64]

OUTLIER_SD = 3.0
"""Points further than this from the first pass lose weight as Huber's rule says."""


@dataclass(frozen=True)
class Smoothed:
    """Place, speed and acceleration with their standard deviations, each (n, m)."""

    place: Array
    speed: Array
    acceleration: Array
    place_sd: Array
    speed_sd: Array


def design_cut_off(cut_off_hz: float, rate_hz: float, order: int = 2) -> float:
    """Return the cut-off to design a filter with so that two passes give the wanted one.

    Parameters
    ----------
    cut_off_hz, rate_hz : float
        Wanted cut-off (gain 0.7071 after both passes) and sampling rate in Hz.
    order : int
        Order of one pass.

    Examples
    --------
    >>> round(design_cut_off(6, 30), 4)
    7.0275
    """
    correction = (2 ** (1 / order) - 1) ** 0.25
    warped = np.tan(np.pi * cut_off_hz / rate_hz) / correction
    return float(rate_hz / np.pi * np.arctan(warped))


def low_pass(values: Array, rate_hz: float, cut_off_hz: float = 6.0) -> Array:
    """Return evenly spaced values (n, ...) without what is faster than the cut-off, and without lag."""
    b, a = signal.butter(2, design_cut_off(cut_off_hz, rate_hz), fs=rate_hz)
    padding = min(3 * max(len(a), len(b)), len(values) - 1)
    return np.asarray(signal.filtfilt(b, a, values, axis=0, padlen=padding))


def smooth(t_s: Array, seen: Array, sd: Array, jerk: float) -> Smoothed:
    """Smooth m coordinates at once.

    Parameters
    ----------
    t_s : ndarray, shape (n,)
        Times in s, rising.
    seen, sd : ndarray, shape (k, n, m)
        Up to k looks at each coordinate and their one-sigma errors; NaN is no look.
    jerk : float
        Spectral density of the jerk that drives the motion, unit^2/s^5.

    Returns
    -------
    Smoothed
        Two passes; the second gives outliers of the first less weight.
    """
    first = _pass(t_s, seen, sd, jerk)
    away = np.abs(seen - first.place) / np.sqrt(sd**2 + first.place_sd**2)
    loosened = (
        sd * np.sqrt(np.maximum(1.0, away / OUTLIER_SD)) * np.where(away > OUTLIER_SD, away / OUTLIER_SD, 1.0)
    )
    return _pass(t_s, seen, loosened, jerk)


def _pass(t_s: Array, seen: Array, sd: Array, jerk: float) -> Smoothed:
    _, n, m = seen.shape
    # One look of the joint precision is the same as the looks one after another.
    weight = np.where(np.isfinite(seen), 1.0 / np.square(sd), 0.0)
    total = weight.sum(0)
    mean = np.divide((weight * np.nan_to_num(seen)).sum(0), total, out=np.zeros((n, m)), where=total > 0)
    filtered_x = np.zeros((n, m, 3))
    filtered_P = np.zeros((n, m, 3, 3))
    ahead_x = np.zeros((n, m, 3))
    ahead_P = np.zeros((n, m, 3, 3))
    first_seen = np.array([mean[np.argmax(total[:, j] > 0), j] for j in range(m)])
    x = np.stack([first_seen, np.zeros(m), np.zeros(m)], 1)
    scale = float(np.nanmedian(sd))
    P = np.broadcast_to(np.diag([1e4, 1e4, 1e6]) * scale**2, (m, 3, 3)).copy()
    steps = [_step(float(dt), jerk) for dt in np.diff(t_s, prepend=t_s[0])]
    for i in range(n):
        if i:
            F, Q = steps[i]
            x = x @ F.T
            P = F @ P @ F.T + Q
        ahead_x[i], ahead_P[i] = x, P
        used = total[i] > 0
        gain = (
            P[:, :, 0] / (P[:, 0, 0] + np.where(used, 1.0 / np.where(used, total[i], 1.0), np.inf))[:, None]
        )
        x = x + gain * (mean[i] - x[:, 0])[:, None]
        P = P - gain[:, :, None] * P[:, None, 0, :]
        filtered_x[i], filtered_P[i] = x, P
    out_x, out_P = filtered_x.copy(), filtered_P.copy()
    for i in range(n - 2, -1, -1):
        F, _ = steps[i + 1]
        back = filtered_P[i] @ F.T @ np.linalg.inv(ahead_P[i + 1] + 1e-12 * scale**2 * np.eye(3))
        out_x[i] = filtered_x[i] + np.einsum("mij,mj->mi", back, out_x[i + 1] - ahead_x[i + 1])
        out_P[i] = filtered_P[i] + back @ (out_P[i + 1] - ahead_P[i + 1]) @ back.transpose(0, 2, 1)
    spread = np.sqrt(np.maximum(np.diagonal(out_P, axis1=2, axis2=3), 0.0))
    return Smoothed(out_x[..., 0], out_x[..., 1], out_x[..., 2], spread[..., 0], spread[..., 1])


def _step(dt: float, jerk: float) -> tuple[Array, Array]:
    F = np.array([[1, dt, dt**2 / 2], [0, 1, dt], [0, 0, 1]])
    Q = jerk * np.array(
        [
            [dt**5 / 20, dt**4 / 8, dt**3 / 6],
            [dt**4 / 8, dt**3 / 3, dt**2 / 2],
            [dt**3 / 6, dt**2 / 2, dt],
        ]
    )
    return F, Q
