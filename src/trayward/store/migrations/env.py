"""What alembic runs: the revisions, on the connection it is given, inside the transaction that is open there."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)

with context.begin_transaction():
    context.run_migrations()
