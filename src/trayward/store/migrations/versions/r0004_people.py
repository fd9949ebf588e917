"""The people who may use the pages, beside the book: roles, secrets as hashes, sessions. Begins empty."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the places for people, where they are logged in, and what may act for them."""
    _people()
    _sessions()
    _access()
    _record()


def _people() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("password", sa.Text()),
        sa.Column("pin", sa.Text()),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("units", sa.Text(), nullable=False),
        sa.Column("since", WHOLE, nullable=False),
        sa.Column("removed", WHOLE),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
    )
    op.create_table(
        "person_name",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("whose", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_person_name"),
    )


def _sessions() -> None:
    op.create_table(
        "session",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("since", WHOLE, nullable=False),
        sa.Column("used", WHOLE, nullable=False),
        sa.Column("ends", WHOLE, nullable=False),
        sa.Column("locked", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_session"),
        sa.UniqueConstraint("hash", name="uq_session_hash"),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name="fk_session_person"),
    )
    op.create_table(
        "session_person",
        sa.Column("session", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("since", WHOLE, nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("session", "person", name="pk_session_person"),
        sa.ForeignKeyConstraint(["session"], ["session.id"], name="fk_session_person_session"),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name="fk_session_person_person"),
    )


def _access() -> None:
    op.create_table(
        "pairing",
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("ends", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("hash", name="pk_pairing"),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name="fk_pairing_person"),
    )
    op.create_table(
        "token",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("since", WHOLE, nullable=False),
        sa.Column("used", WHOLE),
        sa.PrimaryKeyConstraint("id", name="pk_token"),
        sa.UniqueConstraint("hash", name="uq_token_hash"),
    )


def _record() -> None:
    op.create_table(
        "login_try",
        sa.Column("whose", sa.Text(), nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.Column("free", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("whose", name="pk_login_try"),
    )
    op.create_table(
        "people_log",
        sa.Column("number", WHOLE, nullable=False, autoincrement=False),
        sa.Column("at", WHOLE, nullable=False),
        sa.Column("by_whom", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_people_log"),
    )
    op.create_table(
        "people_setting",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_people_setting"),
    )
