"""Order sheets, setup files and the book's own care, from Python."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from trayward.bootstrap import Farm, setup_bodies
from trayward.desk.setup.file import ready_setup_text

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
SHEET = b"Customer,Due,Product,Quantity\nhome,2026-12-09,broccoli,95 g\nhome,2026-12-09,radish,60 g\n"


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Farm]:
    with Farm.create(tmp_path / "home.sqlite", "shelf", at=MORNING) as made:
        yield made


def test_an_order_sheet_goes_in_once_and_is_known_the_second_time(home: Farm) -> None:
    first = home.import_orders(SHEET, at=MORNING)
    assert first.receipt is not None
    assert [line.quantity for order in home.state(MORNING).orders.values() for line in order.lines] == [95.0, 60.0]
    again = home.import_orders(SHEET, at=MORNING + timedelta(hours=1))
    assert again.receipt is None
    assert len(again.sheet.unchanged) == 1


def test_nothing_of_a_sheet_is_recorded_while_a_row_is_rejected_unless_asked_for(home: Farm) -> None:
    broken = SHEET + b"nobody,2026-12-10,kale,50 g\n"
    held = home.import_orders(broken, at=MORNING)
    assert (held.receipt, len(held.sheet.rejected), home.state(MORNING).orders) == (None, 1, {})
    good = home.import_orders(broken, skip_rejected=True, at=MORNING)
    assert good.receipt is not None
    assert len(home.state(MORNING).orders) == 1


def test_an_edited_setup_file_records_only_what_is_new(home: Farm, tmp_path: Path) -> None:
    file = tmp_path / "my-farm.toml"
    file.write_text(ready_setup_text("shelf").replace('name = "Kitchen Shelf"', 'name = "Pantry Shelf"'))
    receipt = home.apply_setup(setup_bodies(file), at=MORNING)
    assert receipt is not None
    assert [kept.entry.kind for kept in receipt.kept] == ["farm set"]
    assert home.apply_setup(setup_bodies(file), at=MORNING) is None


def test_the_book_is_verified_copied_and_rebuilt_through_the_farm(home: Farm, tmp_path: Path) -> None:
    assert home.verify() == []
    home.backup(tmp_path / "copy.sqlite")
    home.rebuild()
    with Farm.open(tmp_path / "copy.sqlite") as copy:
        assert copy.book.head() == home.book.head()
