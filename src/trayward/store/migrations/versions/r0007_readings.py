"""What sensors say, beside the entries. Begins empty."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from trayward.store.schema import set_reading_guards

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the place for readings, guarded like the entries."""
    op.create_table(
        "sensor_reading",
        sa.Column("sensor", sa.Text(), nullable=False),
        sa.Column("at", WHOLE, nullable=False, autoincrement=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("taken", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("sensor", "at", name="pk_sensor_reading"),
        sqlite_with_rowid=False,
    )
    set_reading_guards(op.get_bind())
