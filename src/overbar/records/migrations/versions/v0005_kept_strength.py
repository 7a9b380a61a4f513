"""Strength kept between weeks, and what an athlete's first log says for others and others for the athlete."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables."""
    op.create_table(
        "kept_strength",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("log_keys", sa.JSON(), nullable=False),
        sa.Column("beliefs", sa.LargeBinary(), nullable=False),
        sa.Column("points", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_kept_strength_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", name=op.f("pk_kept_strength")),
    )
    op.create_table(
        "own_athletes",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("log_key", sa.String(length=64), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("says", sa.JSON(), nullable=True),
        sa.Column("prior", sa.JSON(), nullable=True),
        sa.Column("prior_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_own_athletes_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", name=op.f("pk_own_athletes")),
    )


def downgrade() -> None:
    """Remove them."""
    op.drop_table("own_athletes")
    op.drop_table("kept_strength")
