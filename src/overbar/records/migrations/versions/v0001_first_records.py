"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "athletes",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("time_zone", sa.String(length=64), nullable=False),
        sa.Column("form", sa.JSON(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_athletes")),
    )
    op.create_table(
        "deletions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("proof", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deletions")),
    )
    op.create_table(
        "house",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_house")),
    )
    op.create_table(
        "attempts",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("peak_L", sa.Float(), nullable=True),
        sa.Column("pull_after_front_s", sa.Float(), nullable=True),
        sa.Column("stall_s", sa.Float(), nullable=True),
        sa.Column("elbow_gap_s", sa.Float(), nullable=True),
        sa.Column("fault", sa.String(length=20), nullable=True),
        sa.Column("source", sa.String(length=8), nullable=False),
        sa.Column("ref", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_attempts_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", "on", "n", name=op.f("pk_attempts")),
    )
    op.create_table(
        "body",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("body_mass_kg", sa.Float(), nullable=True),
        sa.Column("sleep_h", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_body_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", "on", name=op.f("pk_body")),
    )
    op.create_table(
        "coach_words",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("about", sa.String(length=100), nullable=False),
        sa.Column("choice", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_coach_words_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_coach_words")),
    )
    op.create_index(
        op.f("ix_coach_words_athlete_id_said_at"), "coach_words", ["athlete_id", "said_at"], unique=False
    )
    op.create_table(
        "films",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("filmed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("exercise", sa.String(length=80), nullable=False),
        sa.Column("view", sa.String(length=20), nullable=False),
        sa.Column("added_kg", sa.Float(), nullable=True),
        sa.Column("stored_as", sa.String(length=200), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("status", sa.String(length=12), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("may_coach", sa.Boolean(), nullable=False),
        sa.Column("may_keep", sa.Boolean(), nullable=False),
        sa.Column("may_show", sa.Boolean(), nullable=False),
        sa.Column("may_improve", sa.Boolean(), nullable=False),
        sa.Column("first_seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reviewed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("keep_until", sa.Date(), nullable=True),
        sa.Column("deleted_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_films_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_films")),
    )
    op.create_index(op.f("ix_films_athlete_id_filmed_at"), "films", ["athlete_id", "filmed_at"], unique=False)
    op.create_table(
        "measurements",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("test", sa.String(length=60), nullable=False),
        sa.Column("source", sa.String(length=8), nullable=False),
        sa.Column("ref", sa.String(length=200), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.Column("sd", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_measurements_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint(
            "athlete_id", "on", "test", "source", "ref", "value", name=op.f("pk_measurements")
        ),
    )
    op.create_table(
        "pain",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("site", sa.String(length=80), nullable=False),
        sa.Column("side", sa.String(length=8), nullable=False),
        sa.Column("worst", sa.Float(), nullable=False),
        sa.Column("next_morning", sa.Float(), nullable=True),
        sa.Column("at_night", sa.Boolean(), nullable=False),
        sa.Column("flags", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_pain_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", "on", "site", "side", name=op.f("pk_pain")),
    )
    op.create_table(
        "sessions",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("label", sa.String(length=20), nullable=False),
        sa.Column("done", sa.Boolean(), nullable=False),
        sa.Column("effort", sa.Float(), nullable=True),
        sa.Column("minutes", sa.Float(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_sessions_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", "on", "label", name=op.f("pk_sessions")),
    )
    op.create_table(
        "sets",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("exercise", sa.String(length=80), nullable=False),
        sa.Column("body_mass_kg", sa.Float(), nullable=False),
        sa.Column("added_kg", sa.Float(), nullable=False),
        sa.Column("reps", sa.Integer(), nullable=False),
        sa.Column("reps_left", sa.Float(), nullable=True),
        sa.Column("first_rep_speed_mps", sa.Float(), nullable=True),
        sa.Column("counted_by", sa.String(length=8), nullable=False),
        sa.Column("failed", sa.Boolean(), nullable=False),
        sa.Column("session", sa.String(length=20), nullable=False),
        sa.Column("order", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Float(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("what", sa.String(length=160), nullable=False),
        sa.Column("nth", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_sets_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sets")),
        sa.UniqueConstraint("athlete_id", "on", "what", "nth", name=op.f("uq_sets_athlete_id_on_what_nth")),
    )
    op.create_table(
        "weeks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("week_starts", sa.Date(), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("decision", sa.String(length=30), nullable=False),
        sa.Column("urgent", sa.Integer(), nullable=False),
        sa.Column("headline", sa.Text(), nullable=False),
        sa.Column("form", sa.JSON(), nullable=False),
        sa.Column("standing", sa.String(length=12), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("changed", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_weeks_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_weeks")),
    )
    op.create_index(
        op.f("ix_weeks_athlete_id_week_starts"), "weeks", ["athlete_id", "week_starts"], unique=False
    )
    op.create_table(
        "readings",
        sa.Column("film_sha256", sa.String(length=64), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("original", sa.LargeBinary(), nullable=False),
        sa.Column("corrected", sa.LargeBinary(), nullable=True),
        sa.Column("corrections", sa.JSON(), nullable=True),
        sa.Column("corrected_by", sa.String(length=100), nullable=True),
        sa.Column("corrected_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("findings", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["film_sha256"], ["films.sha256"], name=op.f("fk_readings_film_sha256"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("film_sha256", name=op.f("pk_readings")),
    )
    op.create_table(
        "work",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("film_sha256", sa.String(length=64), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("worker", sa.String(length=100), nullable=False),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("share", sa.Float(), nullable=False),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["film_sha256"], ["films.sha256"], name=op.f("fk_work_film_sha256"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work")),
        sa.UniqueConstraint("film_sha256", name=op.f("uq_work_film_sha256")),
    )


def downgrade() -> None:
    """Remove the tables."""
    op.drop_table("work")
    op.drop_table("readings")
    op.drop_index(op.f("ix_weeks_athlete_id_week_starts"), table_name="weeks")
    op.drop_table("weeks")
    op.drop_table("sets")
    op.drop_table("sessions")
    op.drop_table("pain")
    op.drop_table("measurements")
    op.drop_index(op.f("ix_films_athlete_id_filmed_at"), table_name="films")
    op.drop_table("films")
    op.drop_index(op.f("ix_coach_words_athlete_id_said_at"), table_name="coach_words")
    op.drop_table("coach_words")
    op.drop_table("body")
    op.drop_table("attempts")
    op.drop_table("house")
    op.drop_table("deletions")
    op.drop_table("athletes")
