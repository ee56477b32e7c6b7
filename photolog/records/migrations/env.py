"""What Alembic runs for each migration; the connection comes from photolog, never from a file."""

from alembic import context

from photolog.records import Base

__all__: list[str] = []

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
