"""Days as people write them, read against the day the message was written on."""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MONTH = r"(?P<month>jan|feb|mar|apr|may|jun|jul|aug|sept?|oct|nov|dec)[a-z]*\.?"
_WEEKDAY = r"(?P<weekday>mon|tue|wed|thu|fri|sat|sun)(?:day|sday|nesday|rsday|urday|s|r|rs)?\.?"
_YEAR = r"(?P<year>\d{4}|\d{2})"
_FORMS = tuple(
    re.compile(form + r"(?![\d/])", re.IGNORECASE)
    for form in (
        r"(?P<year>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})(?:[T ]\d{2}:\d{2}\S*)?",
        r"(?P<year>\d{4})[./](?P<m>\d{1,2})[./](?P<d>\d{1,2})",
        rf"(?P<d>\d{{1,2}})\.\s?(?P<m>\d{{1,2}})\.(?:\s?{_YEAR})?(?!\d)",
        rf"(?P<a>\d{{1,2}})/(?P<b>\d{{1,2}})(?:/{_YEAR})?",
        r"(?P<a>\d{1,2})-(?P<b>\d{1,2})-(?P<year>\d{4})",
        rf"(?P<d>\d{{1,2}})(?:st|nd|rd|th)?[\s-]+(?:of\s+)?{_MONTH}\b(?:[,\s-]+(?P<year>\d{{4}}))?",
        rf"{_MONTH}\s+(?P<d>\d{{1,2}})(?:st|nd|rd|th)?\b(?!\s*x)(?:,?\s+(?P<year>\d{{4}}))?",
    )
)
_NAMED = re.compile(rf"(?P<word>today|yesterday)\b|{_WEEKDAY}(?![a-z])", re.IGNORECASE)
OLDEST = timedelta(days=366 * 20)
FAR = timedelta(days=200)
"""A day without a year further back than this is more likely a slip (own judgement)."""


@dataclass(frozen=True)
class Day:
    """A day read from text: ``on`` or the reason there is none, and how much text it took."""

    on: date | None
    why: str
    length: int


def read_day(text: str, today: date, day_first: bool | None = None) -> Day | None:
    """Read a day at the beginning of a text.

    Parameters
    ----------
    text : str
        For example ``2026-01-05``, ``5.1.2026``, ``Mon 5 Jan``, ``Monday``,
        ``yesterday``.
    today : datetime.date
        Day the text was written; a day without a year is the last such day.
    day_first : bool or None
        How ``3/5`` is meant; None when nothing tells.

    Returns
    -------
    Day or None
        None when the text does not begin with a day. A day that cannot be, lies
        ahead, or could be one of two has ``on`` None and the reason in ``why``.

    Examples
    --------
    >>> read_day("Mon 5 Jan: pull-ups", date(2026, 4, 27)).on
    datetime.date(2026, 1, 5)
    >>> read_day("3/5", date(2026, 4, 27)).why
    'could be 3 May or 5 March'
    """
    start = len(text) - len(text.lstrip())
    named = _NAMED.match(text, start)
    weekday = named.group("weekday") if named else None
    begin = start
    if weekday:
        gap = re.compile(r"[\s,]*").match(text, named.end())  # type: ignore[union-attr]
        begin = gap.end() if gap else start
    for form in _FORMS:
        found = form.match(text, begin) or (form.match(text, start) if begin != start else None)
        if found:
            return _checked(found, today, day_first, weekday)
    if named is None:
        return None
    if weekday:
        back = (today.weekday() - WEEKDAYS.index(weekday.lower())) % 7
        return Day(today - timedelta(days=back), "", named.end())
    back = 1 if named.group("word").lower() == "yesterday" else 0
    return Day(today - timedelta(days=back), "", named.end())


def _checked(found: re.Match[str], today: date, day_first: bool | None, weekday: str | None) -> Day:
    parts = found.groupdict()
    year = _year(parts.get("year"))
    if parts.get("a") is not None:
        a, b = int(parts["a"]), int(parts["b"])
        pairs = {True: [(a, b)], False: [(b, a)], None: [(a, b), (b, a)]}[day_first]
    else:
        month = parts.get("month")
        number = MONTHS.index(month[:3].lower()) + 1 if month else int(parts["m"])
        pairs = [(int(parts["d"]), number)]
    days = {one for d, m in pairs if (one := _day(year, m, d, today)) is not None}
    if weekday and len(days) > 1:
        days = {one for one in days if one.weekday() == WEEKDAYS.index(weekday.lower())} or days
    past = {one for one in days if one <= today + timedelta(days=1)}
    if not days:
        return Day(None, "is no day of the calendar", found.end())
    if not past:
        return Day(None, f"lies ahead of {in_words(today)}", found.end())
    if len(past) > 1:
        named = " or ".join(in_words(one, year=False) for one in sorted(past, key=lambda one: one.day))
        return Day(None, f"could be {named}", found.end())
    (on,) = past
    if today - on > OLDEST:
        return Day(None, "is more than twenty years back", found.end())
    if year is None and today - on > FAR:
        return Day(None, f"would be {in_words(on)}: write the year with it", found.end())
    return Day(on, "", found.end())


def _year(text: str | None) -> int | None:
    if text is None:
        return None
    return int(text) + 2000 if len(text) == 2 else int(text)


def _day(year: int | None, month: int, day: int, today: date) -> date | None:
    """The day; without a year the last one that is not ahead of tomorrow."""
    years = [year] if year is not None else [today.year + 1, today.year, today.year - 1]
    for one in years:
        try:
            on = date(one, month, day)
        except ValueError:
            continue
        if year is not None or on <= today + timedelta(days=1):
            return on
    return None


def day_order(texts: Iterable[str]) -> bool | None:
    """Tell from a whole column whether ``a/b`` is day first; None when nothing tells, or both."""
    firsts, seconds = False, False
    for text in texts:
        found = re.match(r"\s*(\d{1,2})[/-](\d{1,2})(?:[/-]\d{2,4})?\s*$", text)
        if found:
            firsts |= int(found[1]) > 12
            seconds |= int(found[2]) > 12
    return None if firsts == seconds else firsts


def in_words(on: date, year: bool = True) -> str:
    """Write a day so that nobody can misread it.

    Examples
    --------
    >>> in_words(date(2026, 1, 5))
    '5 January 2026'
    """
    name = calendar.month_name[on.month]
    return f"{on.day} {name}" + (f" {on.year}" if year else "")
