"""Unit constants and the conversions made at the edges; inside, everything is SI.

Exact values: the pound is 0.453 592 37 kg and the inch 25.4 mm (international
yard and pound agreement, 1959); standard gravity is 9.806 65 m/s^2 (3rd CGPM,
1901).
"""

from __future__ import annotations

KG_PER_LB = 0.453_592_37
M_PER_INCH = 0.0254
STANDARD_GRAVITY = 9.806_65
"""Standard acceleration of free fall, m/s^2."""


def kg_from_lb(pounds: float) -> float:
    """Return kilograms for a mass in pounds.

    Examples
    --------
    >>> round(kg_from_lb(10), 3)
    4.536
    """
    return pounds * KG_PER_LB


def lb_from_kg(kilograms: float) -> float:
    """Return pounds for a mass in kilograms.

    Examples
    --------
    >>> round(lb_from_kg(20), 2)
    44.09
    """
    return kilograms / KG_PER_LB


def m_from_inch(inches: float) -> float:
    """Return metres for a length in inches."""
    return inches * M_PER_INCH


WRITTEN_IN_KG = 0.025
"""A load of quarter pounds that was written down in kg to 0.01 kg is still that load, lb."""


def mass_in_words(kilograms: float, unit: str = "kg", signed: bool = False) -> str:
    """Write a mass in the reader's unit, without needless zeros.

    Parameters
    ----------
    kilograms : float
        Mass in kg.
    unit : {"kg", "lb"}
        The reader's unit.
    signed : bool
        Put ``+`` before what is added.

    Examples
    --------
    >>> mass_in_words(12.5, signed=True)
    '+12.5 kg'
    >>> mass_in_words(4.53592, "lb"), mass_in_words(6.8, "lb")
    ('10 lb', '15 lb')
    """
    value = lb_from_kg(kilograms) if unit == "lb" else kilograms
    if unit == "lb" and abs(value - round(4 * value) / 4) < WRITTEN_IN_KG:
        value = round(4 * value) / 4
    digits = f"{value:+.2f}" if signed else f"{value:.2f}"
    return f"{digits.rstrip('0').rstrip('.')} {unit}"
