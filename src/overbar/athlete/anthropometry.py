"""Body lengths from stature: ANSUR II (2012) means, ratios and regressions.

Source: Gordon et al. 2014, NATICK/TR-15/007; the values were computed from the
public data of 4,082 men and 1,986 women (handbook science.md section 4.4). US
soldiers, not gym-goers: body mass is not taken from here.
"""

from __future__ import annotations

from dataclasses import dataclass

from overbar.errors import BadInput

STATURE_RANGE_M = (1.30, 2.20)
"""Statures outside this are read as slips of the pen."""


@dataclass(frozen=True)
class Length:
    """A body length with its one-sigma spread, both in m."""

    m: float
    sd_m: float


@dataclass(frozen=True)
class Regression:
    """Length = slope x stature + intercept, in mm, with the standard error of estimate."""

    slope: float
    intercept_mm: float
    see_mm: float

    def at(self, stature_m: float) -> Length:
        """Return the length at a stature in m."""
        return Length((self.slope * stature_m * 1000 + self.intercept_mm) / 1000, self.see_mm / 1000)


REGRESSIONS: dict[str, dict[str, Regression]] = {
    "m": {
        "acromial_height": Regression(0.8926, -126.9, 16.2),
        "shoulder_elbow_length": Regression(0.2169, -17.2, 10.5),
        "forearm_hand_length": Regression(0.2674, 10.6, 14.4),
        "elbow_grip_length": Regression(0.1972, 2.6, 11.9),
        "span": Regression(1.0162, 29.4, 48.1),
        "biacromial_breadth": Regression(0.1486, 154.6, 16.2),
        "trochanter_height": Regression(0.6098, -169.9, 25.9),
    },
    "f": {
        "acromial_height": Regression(0.8793, -96.9, 13.7),
        "shoulder_elbow_length": Regression(0.2204, -24.6, 9.9),
        "forearm_hand_length": Regression(0.2744, -7.0, 15.4),
        "elbow_grip_length": Regression(0.2033, -13.4, 12.4),
        "span": Regression(1.0586, -63.6, 47.6),
        "biacromial_breadth": Regression(0.1612, 102.8, 15.1),
        "trochanter_height": Regression(0.5970, -126.9, 23.0),
    },
}
"""Regressions on stature (mm): ANSUR II, handbook science.md section 4.4."""

GRIP_ABOVE_CHIN: dict[str, tuple[float, float]] = {
    "m": (0.3493, 0.0495 / 1.7562),
    "f": (0.3395, 0.0464 / 1.6285),
}
"""Grip centre above the chin, arm overhead, as (mean, sd) fractions of stature: ANSUR II, derived there."""


def body_length(name: str, stature_m: float, sex: str = "unstated") -> Length:
    """Return one body length at a stature.

    Parameters
    ----------
    name : str
        A key of :data:`REGRESSIONS`.
    stature_m : float
        Stature in m, 1.30 to 2.20.
    sex : {"f", "m", "unstated"}
        "unstated" returns the mean of both, with half their difference added to
        the spread in quadrature.

    Returns
    -------
    Length
        In m, with the regression's standard error of estimate.

    Raises
    ------
    BadInput
        Stature outside the range.

    Examples
    --------
    >>> round(body_length("acromial_height", 1.80, "m").m, 4)
    1.4798
    """
    check_stature(stature_m)
    if sex in REGRESSIONS:
        return REGRESSIONS[sex][name].at(stature_m)
    one, other = (REGRESSIONS[key][name].at(stature_m) for key in ("m", "f"))
    return _mixed(one, other)


def pull_up_travel(stature_m: float, sex: str = "unstated") -> Length:
    """Return the shoulder travel of one strict pull-up, hang to chin at the bar, in m."""
    check_stature(stature_m)
    each = {key: Length(mean * stature_m, sd * stature_m) for key, (mean, sd) in GRIP_ABOVE_CHIN.items()}
    return each[sex] if sex in each else _mixed(each["m"], each["f"])


def check_stature(stature_m: float) -> None:
    """Raise BadInput when a stature in m cannot be meant."""
    low, high = STATURE_RANGE_M
    if not low <= stature_m <= high:
        raise BadInput(
            f"stature {stature_m:g} m is outside {low:g} to {high:g} m",
            do="Give the stature in metres, for example 1.78.",
        )


def _mixed(one: Length, other: Length) -> Length:
    half = abs(one.m - other.m) / 2
    spread = ((one.sd_m**2 + other.sd_m**2) / 2 + half**2) ** 0.5
    return Length((one.m + other.m) / 2, spread)
