"""However the same log arrives - in kg or lb, in any order, twice - the same week is planned."""

import random
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.records.conftest import someone

from overbar.athlete.kit import Bar, Kit, Plate
from overbar.planning import decide
from overbar.planning.verdict import Week
from overbar.records import Records, open_records
from overbar.records.take_in import take_in
from overbar.settings import Settings
from overbar.units import KG_PER_LB

MONDAY = date(2026, 4, 6)
SUNDAY = MONDAY + timedelta(days=20)
NOW = datetime(2026, 4, 26, 18, tzinfo=UTC)
POUNDS = (2.5, 5.0, 10.0, 12.5)

days = st.lists(
    st.tuples(
        st.integers(0, 20),
        st.lists(st.integers(1, 8), min_size=1, max_size=5),
        st.sampled_from((0.0, *POUNDS)),
        st.one_of(st.none(), st.integers(0, 4)),
        st.one_of(st.none(), st.integers(0, 4)),
    ),
    min_size=1,
    max_size=6,
    unique_by=lambda day: day[0],
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("same")


def message(log: list[tuple[int, list[int], float, int | None, int | None]], unit: str) -> str:
    lines = []
    for offset, reps, pounds, left, sore in log:
        on = MONDAY + timedelta(days=offset)
        load = pounds if unit == "lb" else round(pounds * KG_PER_LB, 3)
        added = f" +{load:g} {unit}" if pounds else ""
        rir = f" RIR {left}" if left is not None else ""
        lines += [f"{on:%d %b %Y}", f"pull-ups {' '.join(map(str, reps))}{added}{rir}"]
        if sore is not None:
            lines.append(f"inner elbow right {sore}/10, next morning {sore}/10")
    return "\n".join(lines)


def planned(folder: Path, messages: list[str], **who: object) -> Week:
    settings_ = Settings(folder / f"r{random.getrandbits(64):x}", folder / "cache")
    records: Records = open_records(settings_, clock=lambda: NOW)
    kit = Kit("belt", tuple(Plate(p * KG_PER_LB, 2, "lb") for p in (2.5, 5, 10)), bars=(Bar("rig", True),))
    records.save_athlete(someone(kit=kit, **who))
    for text in messages:
        taken = take_in(records, "tove", text, name="message")
        assert not taken.not_understood, taken.not_understood
    week = decide(records.history("tove", SUNDAY), records.ladder_for("tove"), SUNDAY)
    records.close()
    return replace(week, verdict=replace(week.verdict, on=SUNDAY))


def numbers(week: Week) -> list[tuple[object, ...]]:
    return [
        (slot.exercise, slot.sets, slot.reps_low, slot.reps_high, round(slot.load.added_kg, 2))
        for session in week.sessions
        for slot in session.slots
    ]


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(days, st.randoms(use_true_random=False))
def test_in_kilograms_or_pounds_in_any_order_and_twice(
    folder: Path, log: list, chance: random.Random
) -> None:
    one = planned(folder, [message(log, "lb")])
    mixed = list(log)
    chance.shuffle(mixed)
    singly = [message([day], "kg") for day in mixed]
    other = planned(folder, [*singly, singly[0]])
    assert numbers(one) == numbers(other)
    assert (one.verdict.decision, one.verdict.rung) == (other.verdict.decision, other.verdict.rung)
    assert [rule.id for rule in one.verdict.rules] == [rule.id for rule in other.verdict.rules]


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(days, st.sampled_from(["Pacific/Auckland", "America/Los_Angeles", "UTC"]))
def test_where_the_athlete_lives_changes_nothing_in_a_dated_log(folder: Path, log: list, zone: str) -> None:
    here = planned(folder, [message(log, "lb")], time_zone="Europe/Oslo")
    there = planned(folder, [message(log, "lb")], time_zone=zone)
    assert numbers(here) == numbers(there)
