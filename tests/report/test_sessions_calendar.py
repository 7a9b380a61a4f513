"""Sessions as iCalendar, checked against RFC 5545 by its own rules and by a second reader written here."""

from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest
from icalendar import Calendar

from overbar.athlete.kit import Load
from overbar.athlete.person import Athlete
from overbar.planning.verdict import PlannedSession, PlannedSlot, Verdict, Week
from overbar.report.sessions_calendar import calendar_of

NOW = datetime(2026, 4, 27, 7, 30, tzinfo=UTC)
ATHLETE = Athlete("tove", "Tove", "f", None, 1.7, 64.0, date(2026, 1, 5), time_zone="Pacific/Auckland")
SLOT = PlannedSlot("weighted_pull_up", "Weighted pull-up", 1, 3, 5, Load(12.5, ("10 kg", "2.5 kg")))
CAUTION = "Über die Stange; never hang on the bar by armpits, chin: grip, lower, step down. " * 3
WEEK = Week(
    Verdict("tove", NOW.date(), date(2026, 4, 27), "S2", "Loaded", "hold", "Hold.", 0, (), None, None),
    (
        PlannedSession("A", date(2026, 4, 27), "Heavy, then dips; slowly", (SLOT,), (CAUTION,)),
        PlannedSession("B", date(2026, 4, 29), "Speed", (replace(SLOT, reps_low=5),)),
    ),
)


def unfolded(raw: bytes) -> list[str]:
    """RFC 5545 3.1: a line break followed by a space is no break."""
    return raw.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")


def test_every_line_ends_in_crlf_and_has_at_most_75_octets() -> None:
    """RFC 5545 section 3.1."""
    raw = calendar_of(ATHLETE, WEEK, NOW)
    assert raw.endswith(b"\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n") == raw.count(b"\r")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    for line in raw.split(b"\r\n"):
        line.decode("utf-8")  # folding never splits a character


def test_every_entry_has_what_the_standard_requires() -> None:
    """RFC 5545 3.6: PRODID and VERSION; 3.6.1: UID and DTSTAMP, DTSTAMP in UTC."""
    lines = unfolded(calendar_of(ATHLETE, WEEK, NOW))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert "VERSION:2.0" in lines
    assert any(line.startswith("PRODID:") for line in lines)
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 2
    assert sum(line.startswith("UID:") for line in lines) == 2
    assert lines.count("DTSTAMP:20260427T073000Z") == 2


def test_a_whole_day_ends_on_the_next_day() -> None:
    """RFC 5545 3.6.1: DTEND is not part of the event."""
    lines = unfolded(calendar_of(ATHLETE, WEEK, NOW))
    assert "DTSTART;VALUE=DATE:20260427" in lines
    assert "DTEND;VALUE=DATE:20260428" in lines


def test_a_time_of_day_is_the_athletes_own() -> None:
    """18:00 in Auckland on 27 April 2026 (UTC+12) is 06:00 UTC."""
    lines = unfolded(calendar_of(ATHLETE, WEEK, NOW, starts_at=time(18, 0)))
    assert "DTSTART:20260427T060000Z" in lines
    assert "DTEND:20260427T070500Z" in lines


def test_commas_semicolons_and_line_breaks_are_escaped() -> None:
    """RFC 5545 3.3.11."""
    lines = unfolded(calendar_of(ATHLETE, WEEK, NOW))
    assert "SUMMARY:Session A: Heavy\\, then dips\\; slowly" in lines
    (description,) = (line for line in lines if line.startswith("DESCRIPTION:Weighted") and "Über" in line)
    assert "\\n" in description


def test_another_reader_reads_the_same() -> None:
    events = Calendar.from_ical(calendar_of(ATHLETE, WEEK, NOW)).walk("VEVENT")
    assert [event.decoded("dtstart") for event in events] == [date(2026, 4, 27), date(2026, 4, 29)]
    assert CAUTION.strip() in str(events[0]["description"])
    assert "+12.5 kg (10 kg + 2.5 kg)" in str(events[0]["description"])


def test_a_newer_file_replaces_the_entries_of_the_older() -> None:
    def uids(week: Week) -> list[str]:
        return [
            str(event["uid"]) for event in Calendar.from_ical(calendar_of(ATHLETE, week, NOW)).walk("VEVENT")
        ]

    moved = replace(WEEK, sessions=(replace(WEEK.sessions[0], on=date(2026, 4, 28)), WEEK.sessions[1]))
    assert uids(moved) == uids(WEEK)
    assert len(set(uids(WEEK))) == 2


@pytest.mark.parametrize(("agreed", "status"), [(True, "CONFIRMED"), (False, "TENTATIVE")])
def test_a_proposal_is_marked_as_one(agreed: bool, status: str) -> None:
    assert f"STATUS:{status}" in unfolded(calendar_of(ATHLETE, WEEK, NOW, agreed))
