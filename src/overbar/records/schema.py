"""The tables. Days are in the athlete's own time zone; moments are UTC."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC; a time without a zone is refused, since nobody could say when it was."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give the zone back, which SQLite does not keep."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def _athlete(primary: bool = False) -> Column[str]:
    return Column(
        "athlete_id",
        ForeignKey("athletes.id", ondelete="CASCADE", onupdate="CASCADE"),
        primary_key=primary,
        nullable=False,
    )


def _film(primary: bool = False) -> Column[str]:
    return Column(
        "film_sha256", ForeignKey("films.sha256", ondelete="CASCADE"), primary_key=primary, nullable=False
    )


house = Table(
    "house",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("value", Text, nullable=False),
)
"""Facts about the whole: the coach, the place, whether the people are invented."""

athletes = Table(
    "athletes",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("time_zone", String(64), nullable=False),
    Column("form", JSON, nullable=False),
    Column("added_at", Moment, nullable=False),
)

sets = Table(
    "sets",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("on", Date, nullable=False),
    Column("exercise", String(80), nullable=False),
    Column("body_mass_kg", Float, nullable=False),
    Column("added_kg", Float, nullable=False),
    Column("reps", Integer, nullable=False),
    Column("reps_left", Float),
    Column("first_rep_speed_mps", Float),
    Column("counted_by", String(8), nullable=False),
    Column("failed", Boolean, nullable=False),
    Column("session", String(20), nullable=False),
    Column("order", Integer, nullable=False),
    Column("seconds", Float),
    Column("note", Text, nullable=False),
    Column("what", String(160), nullable=False),
    Column("nth", Integer, nullable=False),
    Column("source", Text, nullable=False),
    Column("added_at", Moment, nullable=False),
    UniqueConstraint("athlete_id", "on", "what", "nth"),
)
"""``what`` names what makes a set the same set; ``nth`` tells apart equal sets of one day."""

sessions = Table(
    "sessions",
    metadata,
    _athlete(primary=True),
    Column("on", Date, primary_key=True),
    Column("label", String(20), primary_key=True),
    Column("done", Boolean, nullable=False),
    Column("effort", Float),
    Column("minutes", Float),
    Column("reason", Text, nullable=False),
)

pain = Table(
    "pain",
    metadata,
    _athlete(primary=True),
    Column("on", Date, primary_key=True),
    Column("site", String(80), primary_key=True),
    Column("side", String(8), primary_key=True),
    Column("worst", Float, nullable=False),
    Column("next_morning", Float),
    Column("at_night", Boolean, nullable=False),
    Column("flags", JSON, nullable=False),
)

body = Table(
    "body",
    metadata,
    _athlete(primary=True),
    Column("on", Date, primary_key=True),
    Column("body_mass_kg", Float),
    Column("sleep_h", Float),
)

measurements = Table(
    "measurements",
    metadata,
    _athlete(primary=True),
    Column("on", Date, primary_key=True),
    Column("test", String(60), primary_key=True),
    Column("source", String(8), primary_key=True),
    Column("ref", String(200), primary_key=True),
    Column("value", Float, primary_key=True),
    Column("sd", Float),
)

attempts = Table(
    "attempts",
    metadata,
    _athlete(primary=True),
    Column("on", Date, primary_key=True),
    Column("n", Integer, primary_key=True),
    Column("outcome", String(20), nullable=False),
    Column("peak_L", Float),
    Column("pull_after_front_s", Float),
    Column("stall_s", Float),
    Column("elbow_gap_s", Float),
    Column("fault", String(20)),
    Column("source", String(8), nullable=False),
    Column("ref", String(200), nullable=False),
)

films = Table(
    "films",
    metadata,
    Column("sha256", String(64), primary_key=True),
    _athlete(),
    Column("name", String(200), nullable=False),
    Column("filmed_at", Moment, nullable=False),
    Column("exercise", String(80), nullable=False),
    Column("view", String(20), nullable=False),
    Column("added_kg", Float),
    Column("stored_as", String(200), nullable=False),
    Column("size_bytes", Integer, nullable=False),
    Column("status", String(12), nullable=False),
    Column("why", Text, nullable=False),
    Column("may_coach", Boolean, nullable=False),
    Column("may_keep", Boolean, nullable=False),
    Column("may_show", Boolean, nullable=False),
    Column("may_improve", Boolean, nullable=False),
    Column("first_seen_at", Moment, nullable=False),
    Column("reviewed_at", Moment),
    Column("keep_until", Date),
    Column("deleted_on", Date),
    Index(None, "athlete_id", "filmed_at"),
)

readings = Table(
    "readings",
    metadata,
    _film(primary=True),
    Column("read_at", Moment, nullable=False),
    Column("original", LargeBinary, nullable=False),
    Column("corrected", LargeBinary),
    Column("corrections", JSON),
    Column("corrected_by", String(100)),
    Column("corrected_at", Moment),
    Column("findings", JSON, nullable=False),
)
"""Readings are kept whole (compressed JSON); ``findings`` is the little that planning needs of it."""

weeks = Table(
    "weeks",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("week_starts", Date, nullable=False),
    Column("decided_at", Moment, nullable=False),
    Column("decision", String(30), nullable=False),
    Column("urgent", Integer, nullable=False),
    Column("headline", Text, nullable=False),
    Column("form", JSON, nullable=False),
    Column("standing", String(12), nullable=False),
    Column("reason", Text, nullable=False),
    Column("settled_at", Moment),
    Column("changed", JSON),
    Index(None, "athlete_id", "week_starts"),
)

coach_words = Table(
    "coach_words",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("said_at", Moment, nullable=False),
    Column("about", String(100), nullable=False),
    Column("choice", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("until", Date),
    Index(None, "athlete_id", "said_at"),
)

work = Table(
    "work",
    metadata,
    Column("id", Integer, primary_key=True),
    _film(),
    Column("state", String(10), nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("worker", String(100), nullable=False),
    Column("lease_until", Moment),
    Column("tries", Integer, nullable=False),
    Column("share", Float, nullable=False),
    Column("doing", Text, nullable=False),
    UniqueConstraint("film_sha256"),
)
"""Films to be read: at most one row a film; a lease that ran out makes it free again."""

deletions = Table(
    "deletions",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("what", Text, nullable=False),
    Column("proof", Text, nullable=False),
)
"""What was erased and when, without saying whose it was."""
