"""Ladders kept by version, the moves of athletes between them, and the journal of what arrived when."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, and keep the ladder under which athletes were planned so far."""
    op.create_table(
        "ladder_versions",
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("skill", sa.String(length=80), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("version", sa.String(length=80), nullable=False),
        sa.Column("files", sa.JSON(), nullable=False),
        sa.Column("origin", sa.String(length=12), nullable=False),
        sa.Column("made_from", sa.String(length=64), nullable=True),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kept_by", sa.String(length=100), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("fingerprint", name=op.f("pk_ladder_versions")),
    )
    op.create_table(
        "ladder_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("skill", sa.String(length=80), nullable=False),
        sa.Column("from_version", sa.String(length=64), nullable=True),
        sa.Column("to_version", sa.String(length=64), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by", sa.String(length=100), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_ladder_moves_athlete_id"),
            ondelete="CASCADE",
            onupdate="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["from_version"], ["ladder_versions.fingerprint"], name=op.f("fk_ladder_moves_from_version")
        ),
        sa.ForeignKeyConstraint(
            ["to_version"], ["ladder_versions.fingerprint"], name=op.f("fk_ladder_moves_to_version")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ladder_moves")),
    )
    op.create_index(op.f("ix_ladder_moves_athlete_id_id"), "ladder_moves", ["athlete_id", "id"])
    op.create_table(
        "ladder_drafts",
        sa.Column("skill", sa.String(length=80), nullable=False),
        sa.Column("made_from", sa.String(length=64), nullable=False),
        sa.Column("files", sa.JSON(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("skill", name=op.f("pk_ladder_drafts")),
    )
    op.create_table(
        "ladder_trials",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=12), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("share", sa.Float(), nullable=False),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(
            ["version"],
            ["ladder_versions.fingerprint"],
            name=op.f("fk_ladder_trials_version"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ladder_trials")),
    )
    op.create_index(op.f("ix_ladder_trials_version_kind"), "ladder_trials", ["version", "kind"])
    op.create_table(
        "ladder_trial_athletes",
        sa.Column("trial_id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("weeks", sa.Integer(), nullable=False),
        sa.Column("otherwise", sa.JSON(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_ladder_trial_athletes_athlete_id"),
            ondelete="CASCADE",
            onupdate="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["trial_id"],
            ["ladder_trials.id"],
            name=op.f("fk_ladder_trial_athletes_trial_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("trial_id", "athlete_id", name=op.f("pk_ladder_trial_athletes")),
    )
    op.create_table(
        "journal",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("key", sa.String(length=400), nullable=False),
        sa.Column("form", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_journal_athlete_id"),
            ondelete="CASCADE",
            onupdate="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_journal")),
    )
    op.create_index(op.f("ix_journal_athlete_id_kind"), "journal", ["athlete_id", "kind"])
    with op.batch_alter_table("weeks") as weeks:
        weeks.add_column(sa.Column("ladder", sa.String(length=64), nullable=True))
        weeks.create_foreign_key(op.f("fk_weeks_ladder"), "ladder_versions", ["ladder"], ["fingerprint"])
    from overbar.records.ladders import adopt

    adopt(op.get_bind())


def downgrade() -> None:
    """Remove the tables."""
    with op.batch_alter_table("weeks") as weeks:
        weeks.drop_constraint(op.f("fk_weeks_ladder"), type_="foreignkey")
        weeks.drop_column("ladder")
    op.drop_index(op.f("ix_journal_athlete_id_kind"), table_name="journal")
    op.drop_table("journal")
    op.drop_table("ladder_trial_athletes")
    op.drop_index(op.f("ix_ladder_trials_version_kind"), table_name="ladder_trials")
    op.drop_table("ladder_trials")
    op.drop_table("ladder_drafts")
    op.drop_index(op.f("ix_ladder_moves_athlete_id_id"), table_name="ladder_moves")
    op.drop_table("ladder_moves")
    op.drop_table("ladder_versions")
