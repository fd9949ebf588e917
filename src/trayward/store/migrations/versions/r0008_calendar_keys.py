"""Keys of calendars that phones subscribe to, one for each person, as hashes. Begins empty."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the place for the keys."""
    op.create_table(
        "calendar_key",
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("since", WHOLE, nullable=False),
        sa.Column("used", WHOLE),
        sa.PrimaryKeyConstraint("person", name="pk_calendar_key"),
        sa.UniqueConstraint("hash", name="uq_calendar_key_hash"),
    )
