"""The entries, where the book ends, and folded states; the database guards the log."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

SQLITE_GUARDS = (
    """CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry cannot be changed'); END""",
    """CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry cannot be removed'); END""",
    """CREATE TRIGGER entry_in_order BEFORE INSERT ON entry
WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entry) OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry takes the next number and a new id'); END""",
)

POSTGRES_GUARDS = (
    """CREATE OR REPLACE FUNCTION entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the book is append-only: an entry cannot be changed or removed'; END $$""",
    """CREATE OR REPLACE FUNCTION entry_take_next() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entry) THEN
    RAISE EXCEPTION 'the book is append-only: an entry takes the next number';
  END IF;
  RETURN NEW;
END $$""",
    """CREATE TRIGGER entry_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON entry
FOR EACH STATEMENT EXECUTE FUNCTION entry_refuse()""",
    """CREATE TRIGGER entry_in_order BEFORE INSERT ON entry
FOR EACH ROW EXECUTE FUNCTION entry_take_next()""",
)


def upgrade() -> None:
    """Make the first schema."""
    _entry()
    head = op.create_table(
        "book_head",
        sa.Column("one", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("seq", WHOLE, nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.CheckConstraint("one = 1", name="ck_book_head_one"),
        sa.PrimaryKeyConstraint("one", name="pk_book_head"),
    )
    op.bulk_insert(head, [{"one": 1, "seq": 0, "hash": ""}])
    op.create_table(
        "checkpoint",
        sa.Column("seq", WHOLE, nullable=False, autoincrement=False),
        sa.Column("horizon", WHOLE, nullable=False),
        sa.Column("state", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_checkpoint"),
    )
    for guard in POSTGRES_GUARDS if op.get_bind().dialect.name == "postgresql" else SQLITE_GUARDS:
        op.get_bind().exec_driver_sql(guard)


def _entry() -> None:
    op.create_table(
        "entry",
        sa.Column("seq", WHOLE, nullable=False, autoincrement=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("at", WHOLE, nullable=False),
        sa.Column("recorded", WHOLE, nullable=False),
        sa.Column("by_whom", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("canonical", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_entry"),
        sa.UniqueConstraint("id", name="uq_entry_id"),
    )
    op.create_index("ix_entry_at_seq", "entry", ["at", "seq"])
    strikes = sa.text("kind = 'struck'")
    op.create_index("ix_entry_struck", "entry", ["seq"], sqlite_where=strikes, postgresql_where=strikes)
