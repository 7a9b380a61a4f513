"""Steps that bring older records up to date, run by Alembic when records are opened."""

VERSIONS = ("0001", "0002", "0003", "0004", "0005")
"""Every version there has been, oldest first."""
NEWEST = VERSIONS[-1]
