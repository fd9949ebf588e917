"""Finding entries: who said what, and words of notes. Filled from the entries after the revisions have run."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the index by person and kind, and the look-up of words."""
    op.create_index("ix_entry_who_what", "entry", ["by_whom", "kind", "at", "seq"])
    op.create_table(
        "entry_words",
        sa.Column("at", WHOLE, nullable=False, autoincrement=False),
        sa.Column("seq", WHOLE, nullable=False, autoincrement=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["seq"], ["entry.seq"], name="fk_entry_words_seq"),
        sa.PrimaryKeyConstraint("at", "seq", name="pk_entry_words"),
        sqlite_with_rowid=False,
    )
