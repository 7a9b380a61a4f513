"""Alembic's entry: run the steps on the connection the caller holds."""

from alembic import context

from overbar.records.schema import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
