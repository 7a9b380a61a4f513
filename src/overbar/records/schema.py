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
    Column("swing_deg", Float),
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
    Column("problem", String(40), nullable=False, server_default=""),
    Column("known_length", JSON),
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

ladder_versions = Table(
    "ladder_versions",
    metadata,
    Column("fingerprint", String(64), primary_key=True),
    Column("skill", String(80), nullable=False),
    Column("name", String(200), nullable=False),
    Column("version", String(80), nullable=False),
    Column("files", JSON, nullable=False),
    Column("origin", String(12), nullable=False),
    Column("made_from", String(64)),
    Column("kept_at", Moment, nullable=False),
    Column("kept_by", String(100), nullable=False),
    Column("note", Text, nullable=False),
)
"""Ladders kept whole: ``files`` are the names and texts, ``fingerprint`` is their SHA-256."""

ladder_moves = Table(
    "ladder_moves",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("at", Moment, nullable=False),
    Column("skill", String(80), nullable=False),
    Column("from_version", ForeignKey("ladder_versions.fingerprint")),
    Column("to_version", ForeignKey("ladder_versions.fingerprint"), nullable=False),
    Column("reason", Text, nullable=False),
    Column("by", String(100), nullable=False),
    Index(None, "athlete_id", "id"),
)
"""Which ladder an athlete is planned under, from when on; the last row counts."""

ladder_drafts = Table(
    "ladder_drafts",
    metadata,
    Column("skill", String(80), primary_key=True),
    Column("made_from", String(64), nullable=False),
    Column("files", JSON, nullable=False),
    Column("changed_at", Moment, nullable=False),
)
"""What the coach is writing and has not saved yet; it may hold slips."""

ladder_trials = Table(
    "ladder_trials",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("version", ForeignKey("ladder_versions.fingerprint", ondelete="CASCADE"), nullable=False),
    Column("kind", String(12), nullable=False),
    Column("state", String(10), nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("seen_at", Moment, nullable=False),
    Column("share", Float, nullable=False),
    Column("doing", Text, nullable=False),
    Column("result", JSON),
    Index(None, "version", "kind"),
)
"""A version tried on the past or on simulated athletes: how far it is, and what came out of the latter."""

ladder_trial_athletes = Table(
    "ladder_trial_athletes",
    metadata,
    Column("trial_id", ForeignKey("ladder_trials.id", ondelete="CASCADE"), primary_key=True, nullable=False),
    _athlete(primary=True),
    Column("weeks", Integer, nullable=False),
    Column("otherwise", JSON, nullable=False),
    Column("why", Text, nullable=False),
)
"""What a version would have decided for one athlete: weeks made again, and those that differ, in words."""

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
    Column("ladder", ForeignKey("ladder_versions.fingerprint")),
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
    Column("began_at", Moment),
)
"""Films to be read: at most one row a film; a lease that ran out makes it free again."""

body_solves = Table(
    "body_solves",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("asked", JSON, nullable=False),
    Column("state", String(10), nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("worker", String(100), nullable=False),
    Column("lease_until", Moment),
    Column("tries", Integer, nullable=False),
    Column("share", Float, nullable=False),
    Column("doing", Text, nullable=False),
    Column("began_at", Moment),
    Column("done_at", Moment),
    Column("why", Text, nullable=False),
    Column("answer", JSON),
    Index(None, "athlete_id", "asked_at"),
)
"""Full solves of the body model, from being asked for to the answer; leased like the films."""

journal = Table(
    "journal",
    metadata,
    Column("id", Integer, primary_key=True),
    _athlete(),
    Column("at", Moment, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("key", String(400), nullable=False),
    Column("form", JSON, nullable=False),
    Index(None, "athlete_id", "kind"),
)
"""What arrived or was corrected, and when; nothing in it is ever changed. It says what was known at a time.

A row of a log without an entry here is older than the journal and counts as known on its own day.
"""

height_calibrations = Table(
    "height_calibrations",
    metadata,
    _athlete(primary=True),
    Column("made_at", Moment, nullable=False),
    Column("made_by", String(100), nullable=False),
    Column("film_sha256", String(64)),
    Column("holds", JSON, nullable=False),
    Column("value", JSON, nullable=False),
)
"""How far the film room reads an athlete's heights off, told by foot-assisted holds; the newest only."""

kept_strength = Table(
    "kept_strength",
    metadata,
    _athlete(primary=True),
    Column("log_keys", JSON, nullable=False),
    Column("beliefs", LargeBinary, nullable=False),
    Column("points", LargeBinary, nullable=False),
)
"""Strength as far as an athlete's log was read, to go on from; the log gives it again at any time."""

own_athletes = Table(
    "own_athletes",
    metadata,
    _athlete(primary=True),
    Column("log_key", String(64), nullable=False),
    Column("said_at", Moment, nullable=False),
    Column("says", JSON),
    Column("prior", JSON),
    Column("prior_at", Moment),
)
"""What an athlete's first log says for others (``says``), and what others say for the athlete (``prior``;
null with ``prior_at`` set is the published norm)."""

deletions = Table(
    "deletions",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("what", Text, nullable=False),
    Column("proof", Text, nullable=False),
)
"""What was erased and when, without saying whose it was."""
