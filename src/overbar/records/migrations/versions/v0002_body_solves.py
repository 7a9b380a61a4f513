"""Full solves of the body model, asked for and kept; the swing of a filmed try."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of solves and the column."""
    op.create_table(
        "body_solves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("asked", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("worker", sa.String(length=100), nullable=False),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("share", sa.Float(), nullable=False),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.Column("began_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("answer", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_body_solves_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_body_solves")),
    )
    op.create_index(
        op.f("ix_body_solves_athlete_id_asked_at"), "body_solves", ["athlete_id", "asked_at"], unique=False
    )
    with op.batch_alter_table("attempts") as attempts:
        attempts.add_column(sa.Column("swing_deg", sa.Float(), nullable=True))


def downgrade() -> None:
    """Remove them."""
    with op.batch_alter_table("attempts") as attempts:
        attempts.drop_column("swing_deg")
    op.drop_index(op.f("ix_body_solves_athlete_id_asked_at"), table_name="body_solves")
    op.drop_table("body_solves")
