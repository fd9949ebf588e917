"""Photos beside the entries that name them. Begins empty."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the place for pictures."""
    op.create_table(
        "photo",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("picture", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
    )
