"""When it is likely: each gate item's range of dates as a bar, the latest marked, and what would move it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from overbar.desk.figures import MONTHS, mass, number, sentence
from overbar.errors import BadInput
from overbar.ladder import Ladder
from overbar.planning.coach_words import FIRST_REP, CoachDate
from overbar.planning.gates import item_key
from overbar.planning.outlook import CAVEAT, Ahead, Changed, GateOutlook
from overbar.strength.forecast import Habits, When
from overbar.units import kg_from_lb

SPAN = 100.0
"""Width of the drawing in its own units; pages scale it."""
LEAST_WEEKS, MOST_WEEKS = 12, 104
"""The drawing spans at least and at most so many weeks."""
MOST_MISSED_DAYS, MOST_LIGHT_WEEKS = 42, 4
ASKED = ("sleep", "mass", "light", "missed")
"""Fields of the form of what-ifs beside the days a week."""
MOST_MASS_SHARE = 0.15
"""What-ifs beyond these are read as a slip of the finger (own judgement)."""


@dataclass(frozen=True)
class Bar:
    """A range of dates as places on a line of :data:`SPAN` units.

    Attributes
    ----------
    left, right : float
        Ends of the range.
    likely : float or None
        Its middle; None when it lies beyond the drawing.
    open : bool
        The range has no end that can be named.
    """

    left: float
    right: float
    likely: float | None
    open: bool


@dataclass(frozen=True)
class ItemRow:
    """One item: its range in words and drawn, beside how it is without the what-if.

    ``own`` is the coach's own range of dates as drawn.
    """

    name: str
    say: str
    bar: Bar | None
    usual: Bar | None
    decides: bool
    reached: bool
    own: Bar | None = None


@dataclass(frozen=True)
class OwnRow:
    """A date of the coach's own: what it is about, in words, the dates, and why."""

    about: str
    name: str
    say: str
    reason: str


@dataclass(frozen=True)
class GateBlock:
    """One gate: its dated items, what has to stay as it is, and what has to be shown."""

    name: str
    rows: tuple[ItemRow, ...]
    held: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class MovedRow:
    """A what-if and what it does to the last gate."""

    name: str
    say: str


@dataclass(frozen=True)
class OutlookView:
    """The forecast as the page shows it.

    Attributes
    ----------
    say : str
        The whole in one sentence.
    gates : tuple of GateBlock
    ticks : tuple of (float, str)
        Months along the drawing: place and name.
    assumes : str
    moved : tuple of MovedRow
        The usual what-ifs.
    asked : mapping
        What the form of what-ifs holds.
    then : str
        What the asked what-if does; "" when none was asked.
    caveat : str
    unit : str
        The athlete's unit of mass.
    own : tuple of OwnRow
        The coach's own dates.
    may_date : tuple of (str, str)
        What the coach can give a date for: key and name.
    """

    say: str
    gates: tuple[GateBlock, ...]
    ticks: tuple[tuple[float, str], ...]
    assumes: str
    moved: tuple[MovedRow, ...]
    asked: Mapping[str, str]
    then: str
    caveat: str
    unit: str
    own: tuple[OwnRow, ...] = ()
    may_date: tuple[tuple[str, str], ...] = ()


def habits_from_form(usual: Habits, form: Mapping[str, str], body_mass_kg: float, unit: str) -> Habits:
    """Return how the coming weeks are lived in a what-if.

    Parameters
    ----------
    usual : Habits
        As so far; what the form leaves empty stays.
    form : mapping
        ``days`` a week, ``sleep`` in h, ``mass`` gained in ``unit`` over eight weeks,
        ``light`` weeks soon, ``missed`` days.
    body_mass_kg : float
        Body mass today, kg.
    unit : {"kg", "lb"}

    Raises
    ------
    BadInput
        A value that is no number, or out of range.
    """
    gained = _number(form, "mass", 0.0, -200, 200, f"body mass, {unit}")
    gained_kg = kg_from_lb(gained) if unit == "lb" else gained
    if abs(gained_kg) > MOST_MASS_SHARE * body_mass_kg:
        raise BadInput(
            f"{number(gained, 1, signed=True)} {unit} in eight weeks",
            "body mass",
            f"Give at most {round(100 * MOST_MASS_SHARE)} % of body mass.",
        )
    slept = form.get("sleep", "").strip()
    sleep = _number(form, "sleep", 7.0, 3, 12, "hours of sleep") if slept else usual.sleep_h
    return replace(
        usual,
        days_a_week=round(_number(form, "days", usual.days_a_week, 1, 5, "days a week")),
        sleep_h=sleep,
        used_to_sleep_h=usual.used_to_sleep_h if usual.used_to_sleep_h is not None or not slept else 7.0,
        body_mass_change=gained_kg / body_mass_kg,
        light_weeks=round(_number(form, "light", 0, 0, MOST_LIGHT_WEEKS, "light weeks")),
        missed_days=_number(form, "missed", 0, 0, MOST_MISSED_DAYS, "days missed"),
    )


def outlook_view(
    ahead: Ahead,
    lived: Habits,
    form: Mapping[str, str],
    body_mass_kg: float,
    unit: str,
    own: Mapping[str, CoachDate],
    ladder: Ladder,
) -> OutlookView:
    """Return the forecast in words and bars.

    Parameters
    ----------
    ahead : Ahead
        What is known of the gates ahead.
    lived : Habits
        The what-if asked for; as so far when none was.
    form : mapping
        What the form of what-ifs held.
    body_mass_kg : float
    unit : {"kg", "lb"}
    own : mapping
        The coach's own dates, by what they are about.
    ladder : Ladder
    """
    usual, asked = ahead.look(), lived != ahead.usual
    then = ahead.look(lived) if asked else usual
    weeks = _span(ahead.on, (*usual, *then) if asked else usual, own.values())
    blocks = tuple(
        _block(gate, before, asked, ahead.on, weeks, own) for gate, before in zip(then, usual, strict=True)
    )
    names = dict(_may_date(usual, ladder))
    return OutlookView(
        say=_whole(usual),
        gates=blocks,
        ticks=_ticks(ahead.on, weeks),
        assumes=sentence("; ".join(lived.assumes())) + ".",
        moved=tuple(_moved(one) for one in ahead.what_ifs()) if _open(usual) else (),
        asked={"days": str(lived.days_a_week)} | {name: form.get(name, "") for name in ASKED},
        then=_then(usual, then, body_mass_kg, lived, unit) if asked else "",
        caveat=CAVEAT,
        unit=unit,
        own=tuple(
            OwnRow(about, names.get(about, about.partition(":")[2]), own_in_words(said), said.reason)
            for about, said in own.items()
        ),
        may_date=tuple(names.items()),
    )


def _may_date(gates: tuple[GateOutlook, ...], ladder: Ladder) -> Iterator[tuple[str, str]]:
    """Yield what can be given a date: the first valid rep, and the hard items of the gates ahead."""
    yield f"forecast:{FIRST_REP}", "First valid rep"
    for gate in gates:
        for needed in ladder.gates[gate.id].item:
            if needed.hard:
                tests = " or ".join(ladder.tests[leaf.test].name for leaf in needed.leaves)
                name = sentence(needed.say or tests)
                yield f"forecast:{gate.id}:{item_key(needed)}", f"{name} ({gate.name.lower()})"


def own_in_words(said: CoachDate) -> str:
    """Write the coach's own dates."""
    early, late = said.early, said.late
    if early == late:
        return f"{_day(early)} {early.year}"
    first = _day(early) if early.year == late.year else f"{_day(early)} {early.year}"
    return f"{first} to {_day(late)} {late.year}"


def dates_from_form(form: Mapping[str, str]) -> str:
    """Return the coach's own dates of a form as a word writes them: one ISO 8601 day, or two.

    Raises
    ------
    BadInput
        The first day is not given.
    """
    early, late = form.get("early", "").strip(), form.get("late", "").strip()
    if not early:
        raise BadInput("no day was given", "your date", "Give a day, or the first and last of a range.")
    return f"{early}/{late}" if late else early


def range_in_words(when: When) -> str:
    """Write a range of dates.

    Examples
    --------
    >>> from datetime import date
    >>> range_in_words(When("height", False, date(2026, 6, 30), date(2026, 8, 1), date(2026, 9, 22), 1.0,
    ...     date(2028, 4, 24)))
    '30 Jun to 22 Sep 2026'
    """
    if when.reached:
        return "reached"
    if when.early is None:
        return "not within two years at this rate"
    if when.late is None:
        return f"not before {_day(when.early)} {when.early.year}, no end to name"
    if when.early.year == when.late.year:
        return f"{_day(when.early)} to {_day(when.late)} {when.late.year}"
    return f"{_day(when.early)} {when.early.year} to {_day(when.late)} {when.late.year}"


def _block(
    gate: GateOutlook,
    before: GateOutlook,
    asked: bool,
    on: date,
    weeks: float,
    own: Mapping[str, CoachDate],
) -> GateBlock:
    said = [own.get(f"forecast:{gate.id}:{key}") for key in gate.keys]
    rows = tuple(
        ItemRow(
            name=sentence(item.item),
            say=range_in_words(item),
            bar=_bar(item, on, weeks),
            usual=_bar(other, on, weeks) if asked else None,
            decides=item is gate.decides,
            reached=item.reached,
            own=_own_bar(mine, on, weeks) if mine else None,
        )
        for item, other, mine in zip(gate.items, before.items, said, strict=True)
    )
    return GateBlock(sentence(gate.name), rows, gate.held, gate.unknown)


def _own_bar(said: CoachDate, on: date, weeks: float) -> Bar:
    left, right = _place(said.early, on, weeks), _place(said.late, on, weeks)
    return Bar(left, right, None, (said.late - on).days > 7 * weeks)


def _place(day: date, on: date, weeks: float) -> float:
    return round(min(max((day - on).days / (7 * weeks), 0.0), 1.0) * SPAN, 2)


def _bar(when: When, on: date, weeks: float) -> Bar | None:
    if when.reached or when.early is None:
        return None

    ends = when.late is not None and (when.late - on).days <= 7 * weeks
    likely = _place(when.likely, on, weeks) if when.likely and (when.likely - on).days <= 7 * weeks else None
    right = _place(when.late, on, weeks) if when.late and ends else SPAN
    return Bar(_place(when.early, on, weeks), right, likely, not ends)


def _span(on: date, gates: tuple[GateOutlook, ...], own: Iterable[CoachDate] = ()) -> float:
    """Return the weeks the drawing spans: all that is dated, and some room for what has no end."""
    items = [item for gate in gates for item in gate.items if not item.reached]
    far = [item.late or item.likely or item.early for item in items] + [said.late for said in own]
    weeks = max(((day - on).days / 7 for day in far if day is not None), default=0.0)
    return min(max(weeks * 1.08, LEAST_WEEKS), MOST_WEEKS)


def _ticks(on: date, weeks: float) -> tuple[tuple[float, str], ...]:
    """Return the firsts of months along the drawing, few enough for their names to stand apart."""
    every = 1 if weeks <= 26 else 2 if weeks <= 52 else 4
    last = on + timedelta(weeks=weeks)
    found = []
    months = on.year * 12 + on.month
    while (day := date(months // 12, months % 12 + 1, 1)) <= last:
        if months % every == 0:
            name = MONTHS[day.month - 1] + (f" {day.year}" if day.month == 1 else "")
            found.append((round((day - on).days / (7 * weeks) * SPAN, 2), name))
        months += 1
    return tuple(found)


def _open(gates: tuple[GateOutlook, ...]) -> bool:
    return bool(gates) and gates[-1].all_of_it is not None and not gates[-1].all_of_it.reached


def _whole(gates: tuple[GateOutlook, ...]) -> str:
    if not gates:
        return "No gate stands between this athlete and the tries."
    last = gates[-1]
    slow = max(
        (gate.decides for gate in gates if gate.decides is not None),
        key=lambda item: item.likely or date.max,
        default=None,
    )
    if last.all_of_it is None or slow is None:
        return (
            f"{sentence(last.name)}: no date can be named; what is missing has to be shown, not grown into."
        )
    say = f"{sentence(last.name)}: {range_in_words(last.all_of_it)}, 8 times in 10. Slowest: {slow.item}."
    if last.unknown:
        say += " What has no date has to be shown beside it."
    return say


def _moved(one: Changed) -> MovedRow:
    whole = one.gates[-1].all_of_it
    return MovedRow(sentence(one.name), _middle(whole))


def _middle(when: When | None) -> str:
    if when is None or when.likely is None:
        return "beyond two years"
    return f"{_day(when.likely)} {when.likely.year}"


def _then(
    usual: tuple[GateOutlook, ...],
    then: tuple[GateOutlook, ...],
    body_mass_kg: float,
    lived: Habits,
    unit: str,
) -> str:
    if not then or then[-1].all_of_it is None:
        return "Nothing of it has a date to move."
    before, after = usual[-1].all_of_it, then[-1].all_of_it
    say = f"{sentence(then[-1].name)} then: {range_in_words(after)}"
    if before is not None and before.likely and after.likely:
        days = (after.likely - before.likely).days
        if abs(days) < 7:
            say += "; the middle of the range stays within a week"
        else:
            say += f"; the middle {abs(days) // 7} {'weeks' if abs(days) >= 14 else 'week'} "
            say += "later" if days > 0 else "sooner"
    if lived.body_mass_change:
        now = mass(body_mass_kg * (1 + lived.body_mass_change), unit)
        say += f". Body mass {now} is a sum, not advice"
    return say + "."


def _number(form: Mapping[str, str], name: str, default: float, low: float, high: float, what: str) -> float:
    text = form.get(name, "").strip().replace(",", ".").replace("−", "-")
    if not text:
        return default
    try:
        value = float(text)
    except ValueError as error:
        raise BadInput(f"{text!r}", what, "Give a number.") from error
    if not low <= value <= high:
        raise BadInput(f"{text}", what, f"Give a number from {low:g} to {high:g}.")
    return value


def _day(on: date) -> str:
    return f"{on.day} {MONTHS[on.month - 1]}"
