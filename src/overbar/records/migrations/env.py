"""Alembic's entry: run the steps on the connection the caller holds."""

from alembic import context

from overbar.records.schema import metadata


def run() -> None:
    """Bring the tables of the caller's connection to the version asked for."""
    connection = context.config.attributes["connection"]
    context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()


if hasattr(context, "config"):  # only while Alembic runs this file; a mere import does nothing
    run()
