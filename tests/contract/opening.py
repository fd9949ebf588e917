"""How the tests of what any store keeps come by a book, and by its people."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from argon2.profiles import CHEAPEST

from trayward.store import SqlBook, open_book
from trayward.store.people import Hasher, SqlPeople


class Opening:
    """How the tests come by a book; a subclass says where by the fixture `url`."""

    @pytest.fixture
    def url(self) -> str:
        raise NotImplementedError

    @pytest.fixture
    def book(self, url: str) -> Iterator[SqlBook]:
        with open_book(url, create=True) as book:
            yield book


class OpeningPeople(Opening):
    """The same, with the people of the book."""

    @pytest.fixture
    def people(self, book: SqlBook) -> SqlPeople:
        # Hashing as on a farm takes a fifth of a second; that it does is tested once, in tests/store/test_people.py.
        return SqlPeople(book, hasher=Hasher(CHEAPEST))
