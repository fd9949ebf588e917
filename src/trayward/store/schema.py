"""The tables of a book, and the guards that make the database itself refuse to break the log.

Two kinds of table. `entry` is the record: rows are only ever added, each with the next number. Everything else can be
made again from it: `entry_subject` for looking up what a tray or a lot went through, `entry_words` for finding words of
notes, `checkpoint` for folded states, `worked_out` for figures that take long to work out.
`book_head` says where the book ends, so that entries lost from the end are noticed.

`sensor_reading` holds what sensors say every minute, too dense for entries: rows are only ever added there, too, and
the entry of each hour carries a mark over its readings, so that a change among them is noticed.

Beside the book stand the people who may use the pages (`PEOPLE`): who they are, what they prove it with, where they are
logged in. They are no entries: no export holds them, and nothing of the farm's state comes from them.

A new book gets these tables at once; an older one is brought here by `migrations`. A test holds the two ways equal.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Connection,
    Double,
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

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008")
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
Index("ix_entry_who_what", ENTRY.c.by_whom, ENTRY.c.kind, ENTRY.c.at, ENTRY.c.seq)
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

ENTRY_WORDS = Table(
    "entry_words",
    METADATA,
    Column("at", WHOLE, primary_key=True, autoincrement=False),
    Column("seq", WHOLE, ForeignKey(ENTRY.c.seq), primary_key=True, autoincrement=False),
    Column("words", Text, nullable=False),
    sqlite_with_rowid=False,
)
"""What was written freely into entries (notes, reasons, troubles seen), folded for finding; newest last."""

PHOTO = Table(
    "photo",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("picture", LargeBinary, nullable=False),
)
"""Pictures that entries name: a part of the record, as no program can make them again."""

SENSOR_READING = Table(
    "sensor_reading",
    METADATA,
    Column("sensor", Text, primary_key=True),
    Column("at", WHOLE, primary_key=True, autoincrement=False),
    Column("value", Double(), nullable=False),
    Column("taken", WHOLE, nullable=False),
    sqlite_with_rowid=False,
)
"""What a sensor said, in the unit of its measure and uncorrected, and when it came in (`taken`)."""

PERSON = Table(
    "person",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("password", Text),
    Column("pin", Text),
    Column("language", Text, nullable=False),
    Column("units", Text, nullable=False),
    Column("since", WHOLE, nullable=False),
    Column("removed", WHOLE),
)

PERSON_NAME = Table(
    "person_name",
    METADATA,
    Column("key", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("whose", Text, nullable=False),
)
"""Every name a person or token ever had, for good: what the book says of a name is never somebody else's."""

SESSION = Table(
    "session",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("hash", Text, nullable=False, unique=True),
    Column("person", Text, ForeignKey(PERSON.c.id), nullable=False),
    Column("device", Text, nullable=False),
    Column("since", WHOLE, nullable=False),
    Column("used", WHOLE, nullable=False),
    Column("ends", WHOLE, nullable=False),
    Column("locked", Integer, nullable=False),
)

SESSION_PERSON = Table(
    "session_person",
    METADATA,
    Column("session", Text, ForeignKey(SESSION.c.id), primary_key=True),
    Column("person", Text, ForeignKey(PERSON.c.id), primary_key=True),
    Column("since", WHOLE, nullable=False),
    Column("wrong", Integer, nullable=False),
)

PAIRING = Table(
    "pairing",
    METADATA,
    Column("hash", Text, primary_key=True),
    Column("person", Text, ForeignKey(PERSON.c.id), nullable=False),
    Column("made_by", Text, nullable=False),
    Column("ends", WHOLE, nullable=False),
)

TOKEN = Table(
    "token",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("hash", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("since", WHOLE, nullable=False),
    Column("used", WHOLE),
)

CALENDAR_KEY = Table(
    "calendar_key",
    METADATA,
    Column("person", Text, primary_key=True),
    Column("hash", Text, nullable=False, unique=True),
    Column("since", WHOLE, nullable=False),
    Column("used", WHOLE),
)
"""Opens the calendar and nothing else. Whose: a person, or nobody by name where the pages know no people."""

LOGIN_TRY = Table(
    "login_try",
    METADATA,
    Column("whose", Text, primary_key=True),
    Column("wrong", Integer, nullable=False),
    Column("free", WHOLE, nullable=False),
)

PEOPLE_LOG = Table(
    "people_log",
    METADATA,
    Column("number", WHOLE, primary_key=True, autoincrement=False),
    Column("at", WHOLE, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("words", Text, nullable=False),
)

PEOPLE_SETTING = Table(
    "people_setting",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", Integer, nullable=False),
)

PEOPLE = (
    PERSON,
    PERSON_NAME,
    SESSION,
    SESSION_PERSON,
    PAIRING,
    TOKEN,
    CALENDAR_KEY,
    LOGIN_TRY,
    PEOPLE_LOG,
    PEOPLE_SETTING,
)
"""All that is kept of people, those first that others point to."""

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

READING_SQLITE_GUARDS = {
    "reading_no_update": """CREATE TRIGGER reading_no_update BEFORE UPDATE ON sensor_reading
BEGIN SELECT RAISE(ABORT, 'readings are append-only: one cannot be changed'); END""",
    "reading_no_delete": """CREATE TRIGGER reading_no_delete BEFORE DELETE ON sensor_reading
BEGIN SELECT RAISE(ABORT, 'readings are append-only: one cannot be removed'); END""",
}

READING_POSTGRES_GUARDS = {
    "reading_no_change": """CREATE TRIGGER reading_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON sensor_reading
FOR EACH STATEMENT EXECUTE FUNCTION entry_refuse()""",
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
    """Put the guards on `entry` and on the readings, afresh where they are there already."""
    postgres = connection.dialect.name == "postgresql"
    for function in POSTGRES_FUNCTIONS.values() if postgres else ():
        connection.exec_driver_sql(function)
    _put_guards(connection, "entry", POSTGRES_GUARDS if postgres else SQLITE_GUARDS)
    set_reading_guards(connection)


def set_reading_guards(connection: Connection) -> None:
    """Put the guards on the readings, afresh where they are there already."""
    postgres = connection.dialect.name == "postgresql"
    _put_guards(connection, "sensor_reading", READING_POSTGRES_GUARDS if postgres else READING_SQLITE_GUARDS)


def _put_guards(connection: Connection, table: str, guards: dict[str, str]) -> None:
    for name, guard in guards.items():
        on = f" ON {table}" if connection.dialect.name == "postgresql" else ""
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}{on}")
        connection.exec_driver_sql(guard)


def missing_guards(connection: Connection) -> list[str]:
    """Names of the guards that somebody took away or switched off."""
    if connection.dialect.name == "postgresql":
        query = (
            "SELECT tgname FROM pg_trigger WHERE tgrelid IN ('entry'::regclass, 'sensor_reading'::regclass) "
            "AND tgenabled <> 'D'"
        )
        wanted = {*POSTGRES_GUARDS, *READING_POSTGRES_GUARDS}
    else:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        wanted = {*SQLITE_GUARDS, *READING_SQLITE_GUARDS}
    return sorted(wanted - set(connection.exec_driver_sql(query).scalars()))
