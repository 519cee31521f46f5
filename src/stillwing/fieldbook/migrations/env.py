"""What Alembic runs: the upgrade happens inside the transaction that ``fieldbook.book`` has begun."""

from alembic import context

from stillwing.fieldbook.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    # SQLite cannot alter most of a table in place; batch operations copy it.
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
