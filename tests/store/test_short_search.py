"""A search within a day or two looks at all of that time; it finds what the roads by person and kind find."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from trayward.desk.ports import Wanted
from trayward.farm.entries import Entry, Note, ReadingTaken, Washed
from trayward.store import SqlBook, open_book

START = datetime(2026, 11, 25, tzinfo=UTC)
SAID = (Note(text="Fan cleaned."), ReadingTaken(what="temperature", value=20.0), Washed(pool="covers", count=1))


@pytest.fixture
def book() -> Iterator[SqlBook]:
    with open_book(":memory:", create=True) as held:
        for number in range(120):
            at = START + timedelta(hours=number)
            by = ("ida", "ben")[number // 2 % 2]
            held.append([Entry(id=f"said-{number:05d}", at=at, recorded=at, by=by, body=SAID[number % 3])])
        yield held


@pytest.mark.parametrize("days", [1, 2, 3, 5], ids="{} days".format)
@pytest.mark.parametrize("by", ["", "ida"])
def test_what_is_wanted_within_some_days_is_found_newest_first(book: SqlBook, days: int, by: str) -> None:
    since, until = START + timedelta(hours=7), START + timedelta(hours=7, days=days)
    found = book.search(Wanted(kinds=("note", "washed"), by=by, since=since, until=until), limit=500)
    expected = [
        kept.entry.id
        for kept in book.entries()
        if since <= kept.entry.at < until and kept.entry.kind in ("note", "washed") and by in ("", kept.entry.by)
    ]
    assert [kept.entry.id for kept in found.kept] == expected[::-1]
    assert found.older is None


def test_a_short_search_goes_on_where_it_was_left_off(book: SqlBook) -> None:
    wanted = Wanted(kinds=("note",), since=START, until=START + timedelta(days=2))
    first = book.search(wanted, limit=5)
    assert first.older is not None
    rest = book.search(wanted, before=first.older, limit=500)
    names = [kept.entry.id for kept in (*first.kept, *rest.kept)]
    assert names == [f"said-{number:05d}" for number in range(45, -1, -3)]
