"""Figures kept for speed, so that a new process need not work them out again. Begins empty."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the place for what was worked out."""
    op.create_table(
        "worked_out",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_worked_out"),
    )
