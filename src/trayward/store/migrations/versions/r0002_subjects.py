"""Entries by subject, so that a tray's story is found at once. Filled from the entries after the revisions have run."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the look-up by subject."""
    op.create_table(
        "entry_subject",
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("seq", WHOLE, nullable=False, autoincrement=False),
        sa.ForeignKeyConstraint(["seq"], ["entry.seq"], name="fk_entry_subject_seq"),
        sa.PrimaryKeyConstraint("subject", "seq", name="pk_entry_subject"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_entry_subject_seq", "entry_subject", ["seq"])
