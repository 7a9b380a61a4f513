"""Lengths and masses as people type them: metres, centimetres, feet and inches, kilograms, pounds."""

from __future__ import annotations

import re

from overbar.errors import BadInput
from overbar.units import M_PER_INCH, kg_from_lb, m_from_inch

_NUMBER = r"([-+]?\d+(?:[.,]\d+)?)"
_LENGTH = re.compile(rf"{_NUMBER}\s*(m|metres?|meters?|cm|mm|in|inch|inches|\")?", re.IGNORECASE)
_FEET = re.compile(
    rf"{_NUMBER}\s*(?:ft|foot|feet|')\s*(?:{_NUMBER}\s*(?:in|inch|inches|\")?)?", re.IGNORECASE
)
_MASS = re.compile(rf"{_NUMBER}\s*(kg|lbs?|pounds?)?", re.IGNORECASE)
_METRES = {"m": 1.0, "c": 0.01, "mm": 0.001, "i": M_PER_INCH, '"': M_PER_INCH}
_INCHES_PER_FOOT = 12


def length_said(text: str, where: str = "") -> tuple[float, str]:
    """Return metres, and ``cm`` or ``in`` as the reader's unit, from a length as people write it.

    A bare number is in metres.

    Parameters
    ----------
    text : str
        For example 1.78, 178 cm, 70 in, 5 ft 10 or 5'10".
    where : str
        What was asked for, named in the error.

    Raises
    ------
    BadInput
        Not a length.

    Examples
    --------
    >>> length_said("178 cm"), length_said("5ft10")
    ((1.78, 'cm'), (1.778, 'in'))
    """
    if feet := _FEET.fullmatch(text.strip()):
        over = _said(feet[2]) if feet[2] else 0.0
        if not 0 <= over < _INCHES_PER_FOOT:
            raise BadInput(f"{text!r} has {over:g} inches beside its feet", where, do="Give 0 to 11 inches.")
        return round(m_from_inch(_INCHES_PER_FOOT * _said(feet[1]) + over), 6), "in"
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        raise BadInput(
            f"{text!r} is not a length", where, do="Write for example 1.78, 178 cm, 70 in or 5 ft 10."
        )
    unit = (found[2] or "m").lower()
    metres = _METRES["mm" if unit == "mm" else unit[0]]
    return round(_said(found[1]) * metres, 6), "in" if metres == M_PER_INCH else "cm"


def mass_said(text: str, where: str = "") -> tuple[float, str]:
    """Return kilograms, and ``kg`` or ``lb`` as the reader's unit; a bare number is in kg.

    Raises
    ------
    BadInput
        Not a mass.

    Examples
    --------
    >>> mass_said("80"), mass_said("176 lb")
    ((80.0, 'kg'), (79.832257, 'lb'))
    """
    found = _MASS.fullmatch(text.strip())
    if found is None:
        raise BadInput(f"{text!r} is not a mass", where, do="Write for example 80, 80 kg or 176 lb.")
    if (found[2] or "kg").lower() == "kg":
        return _said(found[1]), "kg"
    return round(kg_from_lb(_said(found[1])), 6), "lb"


def _said(number: str) -> float:
    return float(number.replace(",", "."))
