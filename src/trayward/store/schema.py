"""The tables of a book, and the guards that make the database itself refuse to break the log.

Two kinds of table. `entry` is the record: rows are only ever added, each with the next number. Everything else can be
made again from it: `entry_subject` for looking up what a tray or a lot went through, `checkpoint` for folded states,
`worked_out` for figures that take long to work out.
`book_head` says where the book ends, so that entries lost from the end are noticed.

A new book gets these tables at once; an older one is brought here by `migrations`. A test holds the two ways equal.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Connection,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    literal_column,
)

REVISIONS = ("0001", "0002", "0003")
"""Every schema there has been, oldest first; the last is what this code reads and writes."""

CURRENT = REVISIONS[-1]

APPLICATION_ID = 0x54524159
"""Marks an SQLite file as a book (the letters TRAY), in the header field made for it."""

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
    }
)

WHOLE = BigInteger().with_variant(Integer(), "sqlite")
"""64 bits on both; SQLite makes it the row's own number only under the name INTEGER."""

ENTRY = Table(
    "entry",
    METADATA,
    Column("seq", WHOLE, primary_key=True, autoincrement=False),
    Column("id", Text, nullable=False, unique=True),
    Column("at", WHOLE, nullable=False),
    Column("recorded", WHOLE, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("canonical", Text, nullable=False),
    Column("hash", Text, nullable=False),
)
Index("ix_entry_at_seq", ENTRY.c.at, ENTRY.c.seq)
STRIKES_ONLY = ENTRY.c.kind == literal_column("'struck'")
"""Written out, not bound: only then do both databases use the small index for it."""
STRIKES_INDEX = "CREATE INDEX ix_entry_struck ON entry (seq) WHERE kind = 'struck'"
"""In words of its own: said as a part of the table, it would load PostgreSQL's dialect at every start."""

BOOK_HEAD = Table(
    "book_head",
    METADATA,
    Column("one", Integer, primary_key=True, autoincrement=False),
    Column("seq", WHOLE, nullable=False),
    Column("hash", Text, nullable=False),
    CheckConstraint("one = 1", name="one"),
)

CHECKPOINT = Table(
    "checkpoint",
    METADATA,
    Column("seq", WHOLE, primary_key=True, autoincrement=False),
    Column("horizon", WHOLE, nullable=False),
    Column("state", LargeBinary, nullable=False),
)

WORKED_OUT = Table(
    "worked_out",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", LargeBinary, nullable=False),
)

ENTRY_SUBJECT = Table(
    "entry_subject",
    METADATA,
    Column("subject", Text, primary_key=True),
    Column("seq", WHOLE, ForeignKey(ENTRY.c.seq), primary_key=True, autoincrement=False),
    sqlite_with_rowid=False,
)
Index("ix_entry_subject_seq", ENTRY_SUBJECT.c.seq)

VERSION = Table(
    "alembic_version",
    MetaData(),
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)

SQLITE_GUARDS = {
    "entry_no_update": """CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry cannot be changed'); END""",
    "entry_no_delete": """CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry cannot be removed'); END""",
    "entry_in_order": """CREATE TRIGGER entry_in_order BEFORE INSERT ON entry
WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entry) OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book is append-only: an entry takes the next number and a new id'); END""",
}

POSTGRES_FUNCTIONS = {
    "entry_refuse": """CREATE OR REPLACE FUNCTION entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the book is append-only: an entry cannot be changed or removed'; END $$""",
    "entry_take_next": """CREATE OR REPLACE FUNCTION entry_take_next() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entry) THEN
    RAISE EXCEPTION 'the book is append-only: an entry takes the next number';
  END IF;
  RETURN NEW;
END $$""",
}

POSTGRES_GUARDS = {
    "entry_no_change": """CREATE TRIGGER entry_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON entry
FOR EACH STATEMENT EXECUTE FUNCTION entry_refuse()""",
    "entry_in_order": """CREATE TRIGGER entry_in_order BEFORE INSERT ON entry
FOR EACH ROW EXECUTE FUNCTION entry_take_next()""",
}


def create_schema(connection: Connection) -> None:
    """Make every table and guard of the current schema in an empty database, stamp it and mark it as ours."""
    METADATA.create_all(connection, checkfirst=False)
    connection.exec_driver_sql(STRIKES_INDEX)
    set_guards(connection)
    connection.execute(BOOK_HEAD.insert().values(one=1, seq=0, hash=""))
    VERSION.create(connection)
    connection.execute(VERSION.insert().values(version_num=CURRENT))
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def set_guards(connection: Connection) -> None:
    """Put the guards on `entry`, afresh where they are there already."""
    postgres = connection.dialect.name == "postgresql"
    for function in POSTGRES_FUNCTIONS.values() if postgres else ():
        connection.exec_driver_sql(function)
    for name, guard in (POSTGRES_GUARDS if postgres else SQLITE_GUARDS).items():
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}" + (" ON entry" if postgres else ""))
        connection.exec_driver_sql(guard)


def missing_guards(connection: Connection) -> list[str]:
    """Names of the guards that somebody took away or switched off."""
    if connection.dialect.name == "postgresql":
        query = "SELECT tgname FROM pg_trigger WHERE tgrelid = 'entry'::regclass AND tgenabled <> 'D'"
        wanted = set(POSTGRES_GUARDS)
    else:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        wanted = set(SQLITE_GUARDS)
    return sorted(wanted - set(connection.exec_driver_sql(query).scalars()))
