"""The film room's smoothing against a measured acceleration: `python -m benchmarks.pezzack FILE`.

FILE is the user's own copy of the benchmark of Pezzack, Norman and Winter
(Journal of Biomechanics 10, 1977), as reprinted by Vint and Hinrichs (Journal
of Biomechanics 29, 1996): four columns, time in s, angle in rad, angle with
noise, acceleration in rad/s^2. The publisher holds the rights, so the numbers
are not kept with the program.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from overbar.errors import BadInput
from overbar.film.smoothing import low_pass, smooth

Array = NDArray[np.float64]

EDGE = 3
"""Points left out at both ends, as in the published figures."""

CUT_OFFS_HZ = (4.0, 5.0, 6.0, 7.0, 8.0, 10.0)
PUBLISHED_NOISY = (5.04, 4.57, 4.79, 5.49, 6.57, 9.37)
"""Root mean square error in rad/s^2 of the noisy angle at these cut-offs (handbook science.md 6.2)."""


def read(path: Path) -> Array:
    """Return the rows of numbers, shape (n, 4); headings are passed over.

    Raises
    ------
    BadInput
        Where the file holds no row of four numbers.
    """
    rows = []
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            row = [float(word) for word in line.split()]
        except ValueError:
            continue
        if len(row) == 4:
            rows.append(row)
    if len(rows) < 20:
        raise BadInput(
            what=f"{len(rows)} rows of four numbers",
            where=str(path),
            do="Give the text file of the benchmark: time, angle, angle with noise, acceleration.",
        )
    return np.array(rows)


def second_difference(values: Array, step_s: float) -> Array:
    """Return the acceleration by central differences, NaN at both ends."""
    out = np.full(len(values), np.nan)
    out[1:-1] = (values[2:] - 2 * values[1:-1] + values[:-2]) / step_s**2
    return out


def best_jerk(t_s: Array, seen: Array, noise: float) -> float:
    """Return the jerk density under which the looks themselves are most likely, unit^2/s^5.

    The likelihood is that of the fit left out point by point: no look at the measured acceleration.
    """
    densities = np.geomspace(1e2, 1e7, 26)
    return float(min(densities, key=lambda q: _left_out_error(t_s, seen, noise, q)))


def _left_out_error(t_s: Array, seen: Array, noise: float, jerk: float) -> float:
    error = 0.0
    for start in range(5):
        held = np.arange(start, len(seen), 5)
        kept = seen.copy()
        kept[held] = np.nan
        placed = smooth(t_s, kept[None, :, None], np.full((1, len(seen), 1), noise), jerk).place[:, 0]
        error += float(np.sum((placed[held] - seen[held]) ** 2))
    return error


def main() -> None:
    """Print the errors of both filters, and the published ones beside them."""
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    t, raw, noisy, truth = read(Path(sys.argv[1])).T
    step = float(np.median(np.diff(t)))
    inner = slice(EDGE, -EDGE)

    def error(acceleration: Array) -> float:
        return float(np.sqrt(np.mean((acceleration[inner] - truth[inner]) ** 2)))

    print(f"no filter: {error(second_difference(noisy, step)):.2f} rad/s^2 (published 36.55)")
    for cut_off, published in zip(CUT_OFFS_HZ, PUBLISHED_NOISY, strict=True):
        ours = error(second_difference(low_pass(noisy, 1 / step, cut_off), step))
        print(f"low_pass at {cut_off:g} Hz: {ours:.2f} rad/s^2 (published {published:.2f})")
    noise = float(np.std(noisy - raw))
    for name, seen in (("noisy", noisy), ("raw", raw)):
        sd = noise if name == "noisy" else noise / 3
        jerk = best_jerk(t, seen, sd)
        smoothed = smooth(t, seen[None, :, None], np.full((1, len(t), 1), sd), jerk)
        found = smoothed.acceleration[:, 0]
        print(
            f"smoother, {name}: {error(found):.2f} rad/s^2, peaks {found.max():.1f} and {found.min():.1f} "
            f"(measured {truth.max():.1f} and {truth.min():.1f}), jerk density {jerk:.3g} rad^2/s^5"
        )


if __name__ == "__main__":
    main()
