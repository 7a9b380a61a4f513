"""What was wrong with a film, its marked length, when its reading began; an athlete's height calibration."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns and the table."""
    with op.batch_alter_table("films") as films:
        films.add_column(sa.Column("problem", sa.String(length=40), nullable=False, server_default=""))
        films.add_column(sa.Column("known_length", sa.JSON(), nullable=True))
    with op.batch_alter_table("work") as work:
        work.add_column(sa.Column("began_at", sa.DateTime(timezone=True), nullable=True))
    op.create_table(
        "height_calibrations",
        sa.Column("athlete_id", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(length=100), nullable=False),
        sa.Column("film_sha256", sa.String(length=64), nullable=True),
        sa.Column("holds", sa.JSON(), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["athlete_id"],
            ["athletes.id"],
            name=op.f("fk_height_calibrations_athlete_id"),
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("athlete_id", name=op.f("pk_height_calibrations")),
    )


def downgrade() -> None:
    """Remove them."""
    op.drop_table("height_calibrations")
    with op.batch_alter_table("work") as work:
        work.drop_column("began_at")
    with op.batch_alter_table("films") as films:
        films.drop_column("known_length")
        films.drop_column("problem")
