"""What is promised of people, run for each database a book can be on."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.people import PeopleContract
from tests.postgres import postgres, postgres_url

__all__ = ["postgres", "postgres_url"]


class TestSqlitePeople(PeopleContract):
    @pytest.fixture
    def url(self, tmp_path: Path) -> str:
        return str(tmp_path / "farm.book")


class TestMemoryPeople(PeopleContract):
    @pytest.fixture
    def url(self) -> str:
        return ":memory:"


class TestPostgresPeople(PeopleContract):
    @pytest.fixture
    def url(self, postgres_url: str) -> str:
        return postgres_url
