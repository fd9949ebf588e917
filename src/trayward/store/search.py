"""Finding entries in a long book: every look goes along an index, newest first, and ends where enough was found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from heapq import merge
from itertools import islice
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, Select, and_, select, tuple_

from trayward.desk.ports import Place, Wanted
from trayward.farm.entries import KINDS
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.projections import folded
from trayward.store.schema import ENTRY, ENTRY_SUBJECT, ENTRY_WORDS

CHUNK = 10_000
"""Entries with words looked at in one go."""
MOST_LOOKED = 20
"""So many goes, then a search says how far it came: about a tenth of a second of looking."""
SHORT = timedelta(days=2)
"""In so much time even a farm of a thousand spots says no more than some thousand things."""
AT_ONCE = 500
"""Subjects asked for in one query; SQLite takes a bounded number of values."""

PEOPLE = """
WITH RECURSIVE person (name) AS (
  SELECT min(by_whom) FROM entry
  UNION ALL
  SELECT (SELECT min(by_whom) FROM entry WHERE by_whom > person.name) FROM person WHERE person.name IS NOT NULL
)
SELECT name FROM person WHERE name IS NOT NULL
"""
"""Jumps along the index from one name to the next, where DISTINCT would read the whole of it."""


class Spot(NamedTuple):
    """Where an entry stands: its moment in microseconds, and its number."""

    at: int
    seq: int


class Looked(NamedTuple):
    """What a look found, newest first, and where it was left off before the beginning; None: it was not."""

    spots: list[Spot]
    left_off: Spot | None = None


def spot_of(place: Place) -> Spot:
    """A place as the tables have it."""
    return Spot(to_microseconds(place.at), place.seq)


def place_of(spot: Spot) -> Place:
    """A spot as others know it."""
    return Place(at=from_microseconds(spot.at), seq=spot.seq)


def look(connection: Connection, wanted: Wanted, before: Spot | None, limit: int) -> Looked:
    """Where the newest wanted entries before a spot stand, up to `limit` of them."""
    if wanted.words and not wanted.about:
        return _by_words(connection, wanted, before, limit)
    found = [_spots(connection, query.limit(limit)) for query in _roads(connection, wanted, before)]
    together = dict.fromkeys(merge(*found, reverse=True))
    return Looked(list(islice(together, limit)))


def known_subjects(connection: Connection, subjects: Sequence[str]) -> tuple[str, ...]:
    """Those of the subjects that any entry is filed under."""
    column = ENTRY_SUBJECT.c.subject
    there: set[str] = set()
    for start in range(0, len(subjects), AT_ONCE):
        query = select(column).where(column.in_(subjects[start : start + AT_ONCE])).distinct()
        there.update(connection.scalars(query))
    return tuple(subject for subject in subjects if subject in there)


def people(connection: Connection) -> tuple[str, ...]:
    """Everybody who ever said anything, sorted."""
    return tuple(sorted(connection.exec_driver_sql(PEOPLE).scalars()))


def _spots(connection: Connection, query: Select[Any]) -> list[Spot]:
    return [Spot(row[0], row[1]) for row in connection.execute(query)]


# Which index to go along ----------------------------------------------------------------------------------------------


def _roads(connection: Connection, wanted: Wanted, before: Spot | None) -> Iterator[Select[Any]]:
    """Queries that each go along one index in the order of happening, and together find all that is wanted."""
    column = ENTRY.c
    within = _within(column.at, column.seq, wanted, before)
    if wanted.about:
        for subject in wanted.about:
            yield _about(subject, wanted, within)
    elif _is_short(wanted):
        query = select(column.at, column.seq).where(*within)
        query = query.where(column.kind.in_(wanted.kinds)) if wanted.kinds else query
        query = query.where(column.by_whom == wanted.by) if wanted.by else query
        yield query.order_by(column.at.desc(), column.seq.desc())
    elif wanted.kinds or wanted.by:
        for by in (wanted.by,) if wanted.by else people(connection):
            for kind in wanted.kinds or KINDS:
                query = select(column.at, column.seq).where(column.by_whom == by, column.kind == kind, *within)
                yield query.order_by(column.at.desc(), column.seq.desc())
    else:
        yield select(column.at, column.seq).where(*within).order_by(column.at.desc(), column.seq.desc())


def _is_short(wanted: Wanted) -> bool:
    """Whether so little time is asked for that all of it is looked at: quicker than a road for each person and kind."""
    return wanted.since is not None and wanted.until is not None and wanted.until - wanted.since <= SHORT


def _about(subject: str, wanted: Wanted, within: Sequence[ColumnElement[bool]]) -> Select[Any]:
    """What is about a subject, which is never very much: all of it is looked at and put in order."""
    column = ENTRY.c
    query = select(column.at, column.seq).join(ENTRY_SUBJECT).where(ENTRY_SUBJECT.c.subject == subject, *within)
    if wanted.kinds:
        query = query.where(column.kind.in_(wanted.kinds))
    if wanted.by:
        query = query.where(column.by_whom == wanted.by)
    if wanted.words:
        joined = and_(ENTRY_WORDS.c.at == column.at, ENTRY_WORDS.c.seq == column.seq)
        query = query.join(ENTRY_WORDS, joined).where(*_holds(wanted))
    # The 0 keeps SQLite from going along all times and looking each one up: it is to begin at the subject.
    return query.order_by((column.at + 0).desc(), column.seq.desc())


def _within(
    at: ColumnElement[int], seq: ColumnElement[int], wanted: Wanted, before: Spot | None
) -> list[ColumnElement[bool]]:
    """The days asked for, and older than where the last look ended."""
    found: list[ColumnElement[bool]] = []
    if wanted.since is not None:
        found.append(at >= to_microseconds(wanted.since))
    if wanted.until is not None:
        found.append(at < to_microseconds(wanted.until))
    if before is not None:
        found.append(tuple_(at, seq) < tuple_(before.at, before.seq))
    return found


# Words ----------------------------------------------------------------------------------------------------------------


def _holds(wanted: Wanted) -> list[ColumnElement[bool]]:
    return [ENTRY_WORDS.c.words.contains(folded(word), autoescape=True) for word in wanted.words]


def _by_words(connection: Connection, wanted: Wanted, before: Spot | None, limit: int) -> Looked:
    """Entries by their words: along what was written, backwards, some thousands at a time."""
    found: list[Spot] = []
    for _ in range(MOST_LOOKED):
        end = _chunk_end(connection, wanted, before)
        found += _spots(connection, _worded(wanted, before, end).limit(limit - len(found)))
        if end is None or len(found) >= limit:
            return Looked(found)
        before = end
    return Looked(found, left_off=before)


def _chunk_end(connection: Connection, wanted: Wanted, before: Spot | None) -> Spot | None:
    """The oldest of the next entries with words; None where there are fewer than a chunk of them left."""
    column = ENTRY_WORDS.c
    query = select(column.at, column.seq).where(*_within(column.at, column.seq, wanted, before))
    query = query.order_by(column.at.desc(), column.seq.desc()).offset(CHUNK - 1).limit(1)
    return next(iter(_spots(connection, query)), None)


def _worded(wanted: Wanted, before: Spot | None, end: Spot | None) -> Select[Any]:
    column = ENTRY_WORDS.c
    query = select(column.at, column.seq).where(*_within(column.at, column.seq, wanted, before), *_holds(wanted))
    if end is not None:
        query = query.where(tuple_(column.at, column.seq) >= tuple_(end.at, end.seq))
    if wanted.kinds or wanted.by:
        query = query.join(ENTRY, ENTRY.c.seq == column.seq)
    if wanted.kinds:
        query = query.where(ENTRY.c.kind.in_(wanted.kinds))
    if wanted.by:
        # Written so that SQLite begins at the words and not at all that this person ever said.
        query = query.where(ENTRY.c.by_whom + "" == wanted.by)
    return query.order_by(column.at.desc(), column.seq.desc())
