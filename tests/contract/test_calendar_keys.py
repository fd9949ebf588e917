"""What is promised of calendar keys, run for each database a book can be on."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.contract.calendar_keys import CalendarKeysContract
from tests.postgres import postgres, postgres_url

__all__ = ["postgres", "postgres_url"]


class TestSqliteCalendarKeys(CalendarKeysContract):
    @pytest.fixture
    def url(self, tmp_path: Path) -> str:
        return str(tmp_path / "farm.book")


class TestPostgresCalendarKeys(CalendarKeysContract):
    @pytest.fixture
    def url(self, postgres_url: str) -> str:
        return postgres_url
