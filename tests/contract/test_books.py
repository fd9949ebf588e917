"""The contract, run for each database a book can be on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import count
from pathlib import Path

import pytest

from tests.contract.contract import (
    BookContract,
    CheckpointContract,
    CopyContract,
    KeepingContract,
    ReadingContract,
    SearchContract,
    WorkedOutContract,
)
from tests.contract.telling import note
from tests.postgres import Server, postgres, postgres_url
from trayward.errors import BookError
from trayward.store import SqlBook, open_book

__all__ = ["postgres", "postgres_url"]


class TestSqliteBook(BookContract):
    @pytest.fixture
    def url(self, tmp_path: Path) -> str:
        return str(tmp_path / "farm.book")

    @pytest.fixture
    def fresh(self, tmp_path: Path) -> Callable[[], str]:
        numbers = count(1)
        return lambda: str(tmp_path / f"fresh-{next(numbers)}.book")


class TestMemoryBook(
    KeepingContract, ReadingContract, SearchContract, CheckpointContract, WorkedOutContract, CopyContract
):
    """A book for tests and simulated time keeps every promise but those about files, others, and the power going."""

    @pytest.fixture
    def url(self) -> str:
        return ":memory:"

    @pytest.fixture
    def fresh(self) -> Callable[[], str]:
        return lambda: ":memory:"

    test_a_book_opened_again_is_the_same = None
    test_a_book_with_entries_is_not_begun_again = None
    test_strikes_said_by_another_process_are_seen = None
    test_a_backup_is_made_while_others_write = None
    test_another_book_on_the_same_database_finds_it = None
    test_another_process_finds_it = None
    test_where_others_are_writing_it_is_not_waited_for = None
    test_entries_are_waited_for_as_long_as_ever_afterwards = None
    test_folding_on_from_a_checkpoint_gives_the_fold_of_everything = None

    def test_it_is_gone_when_it_is_closed(self, book: SqlBook) -> None:
        book.append([note("a")])
        book.close()
        with pytest.raises(BookError, match=r"there is no book in it yet"):
            open_book(":memory:")

    def test_threads_take_turns(self, book: SqlBook) -> None:
        def phone(number: int) -> int:
            for step in range(20):
                book.append([note(f"{number}-{step}", step)])
                book.about("tray:1")
            return book.head().seq

        with ThreadPoolExecutor(6) as pool:
            list(pool.map(phone, range(6)))
        assert book.head().seq == 120
        assert book.verify() == []


class TestPostgresBook(BookContract):
    @pytest.fixture
    def url(self, postgres_url: str) -> str:
        return postgres_url

    @pytest.fixture
    def fresh(self, postgres: Server) -> Iterator[Callable[[], str]]:
        made: list[str] = []

        def make() -> str:
            made.append(postgres.fresh())
            return made[-1]

        yield make
        for url in made:
            postgres.give_back(url)
