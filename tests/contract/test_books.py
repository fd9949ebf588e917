"""The contract, run for each database a book can be on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from tests.contract.contract import BookContract
from tests.postgres import Server, postgres, postgres_url

__all__ = ["postgres", "postgres_url"]


class TestSqliteBook(BookContract):
    @pytest.fixture
    def url(self, tmp_path: Path) -> str:
        return str(tmp_path / "farm.book")

    @pytest.fixture
    def fresh(self, tmp_path: Path) -> Callable[[], str]:
        numbers = count(1)
        return lambda: str(tmp_path / f"fresh-{next(numbers)}.book")


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
