"""How the desk writes numbers: every measured one with its uncertainty, in the reader's units."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from math import floor, log10
from zoneinfo import ZoneInfo

from overbar.units import M_PER_INCH, lb_from_kg

MINUS = "−"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def number(value: float, digits: int = 2, signed: bool = False) -> str:
    """Write a number with a true minus sign.

    Examples
    --------
    >>> number(-0.064, 2)
    '−0.06'
    >>> number(0.18, 2, signed=True)
    '+0.18'
    """
    shown = f"{value:+.{digits}f}" if signed else f"{value:.{digits}f}"
    if float(shown) == 0:
        shown = f"{0:.{digits}f}"
    return shown.replace("-", MINUS)


def digits_for(sd: float) -> int:
    """Return the decimals that an uncertainty is worth: its first figure, at most three.

    Examples
    --------
    >>> digits_for(0.021), digits_for(0.05), digits_for(0.6), digits_for(1.4), digits_for(0.0004)
    (2, 2, 1, 0, 3)
    """
    return min(max(-floor(log10(sd)), 0), 3)


def measured(value: float, sd: float | None, unit: str = "", signed: bool = False) -> str:
    """Write a value with its one-sigma uncertainty, rounded to what the uncertainty is worth.

    Parameters
    ----------
    value, sd : float, float or None
        In ``unit``. None: exact or not known, written without a spread.
    unit : str
        Written behind; "" writes none.
    signed : bool
        Put ``+`` before what is above zero.

    Examples
    --------
    >>> measured(0.1834, 0.021, "L", signed=True)
    '+0.18 ± 0.02 L'
    >>> measured(12, None, "reps")
    '12 reps'
    """
    if sd is None or sd <= 0:
        shown = number(value, 2, signed)
        shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    else:
        digits = digits_for(sd)
        shown = f"{number(value, digits, signed)} ± {number(sd, digits)}"
    return f"{shown} {unit}".strip()


def length(metres: float, sd_m: float | None, unit: str = "cm", signed: bool = False) -> str:
    """Write a length in cm or inches with its uncertainty.

    Examples
    --------
    >>> length(0.041, 0.012)
    '4 ± 1 cm'
    """
    scale = 1 / M_PER_INCH if unit == "in" else 100.0
    return measured(metres * scale, None if sd_m is None else sd_m * scale, unit, signed)


def ratio_interval(value: float, low: float, high: float) -> str:
    """Write strength per body mass with its 90 % interval.

    Examples
    --------
    >>> ratio_interval(1.353, 1.31, 1.4)
    '1.35 (1.31 to 1.40)'
    """
    return f"{value:.2f} ({low:.2f} to {high:.2f})"


def mass(kilograms: float, unit: str = "kg", digits: int = 1) -> str:
    """Write a mass in the reader's unit with fixed decimals.

    Examples
    --------
    >>> mass(76.3), mass(76.3, "lb", 0)
    ('76.3 kg', '168 lb')
    """
    value = lb_from_kg(kilograms) if unit == "lb" else kilograms
    return f"{number(value, digits)} {unit}"


def seconds(value: float) -> str:
    """Write a length of time as a person says it.

    Examples
    --------
    >>> seconds(20), seconds(150), seconds(180)
    ('20 s', '2 min 30 s', '3 min')
    """
    whole = round(value)
    if whole < 120:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def day(value: date, today: date | None = None) -> str:
    """Write a date; near today, the weekday says it best.

    Examples
    --------
    >>> day(date(2026, 3, 4))
    '4 Mar 2026'
    >>> day(date(2026, 3, 4), date(2026, 3, 6))
    'Wed 4 Mar'
    """
    month = MONTHS[value.month - 1]
    if today is not None and abs((value - today).days) <= 300:
        return f"{DAYS[value.weekday()]} {value.day} {month}"
    return f"{value.day} {month} {value.year}"


def ago(value: date, today: date) -> str:
    """Write how long ago a date was.

    Examples
    --------
    >>> ago(date(2026, 3, 4), date(2026, 3, 4)), ago(date(2026, 3, 3), date(2026, 3, 4))
    ('today', 'yesterday')
    >>> ago(date(2026, 2, 20), date(2026, 3, 4)), ago(date(2026, 3, 6), date(2026, 3, 4))
    ('12 days ago', 'in 2 days')
    """
    days = (today - value).days
    if days < 0:
        return "tomorrow" if days == -1 else f"in {-days} days"
    if days < 2:
        return ("today", "yesterday")[days]
    return f"{days} days ago" if days < 60 else f"{days // 7} weeks ago"


def monday(on: date) -> date:
    """Return the Monday of the week a day lies in."""
    return on - timedelta(days=on.weekday())


def local_day(at: datetime, zone: str) -> date:
    """Return the calendar day of a moment where the athlete lives."""
    return at.astimezone(ZoneInfo(zone)).date()


def sentence(text: str) -> str:
    """Begin a text with a capital letter, and give its negative numbers a true minus sign.

    Examples
    --------
    >>> sentence("inner elbow at 4 of 10, height -0.32 L, 3-5 reps")
    'Inner elbow at 4 of 10, height −0.32 L, 3-5 reps'
    """
    return re.sub(r"(?<!\w)-(?=\d)", MINUS, text[:1].upper() + text[1:])


def plural(count: int, one: str, many: str = "") -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> plural(1, "film"), plural(3, "film")
    ('1 film', '3 films')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
