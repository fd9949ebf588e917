"""Files that pages hand out: their names, and that nobody keeps an old one."""

from __future__ import annotations

import doctest

import pytest

from trayward.web import handed as module
from trayward.web.handed import CSV, PDF, farm_file, handed
from trayward.web.paging import pages_for


def test_a_file_is_saved_or_shown_under_a_name_that_any_machine_takes() -> None:
    sheet = handed(b"%PDF", PDF, "recall A/1.pdf", shown=True)
    assert sheet.headers["content-disposition"] == 'inline; filename="recall-A-1.pdf"'
    assert sheet.headers["content-type"] == PDF
    assert handed("a,b", CSV, "trace.csv").headers["content-disposition"] == 'attachment; filename="trace.csv"'
    assert not doctest.testmod(module).failed


def test_no_file_is_kept_by_a_browser_for_the_book_moves_on() -> None:
    assert handed("a", CSV, "trace.csv").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("farm", "file"), [("Lantern Loft", "lantern-loft"), ("Überdach", "berdach"), ("農園", "farm")]
)
def test_a_farm_s_file_bears_its_name_as_far_as_it_can(farm: str, file: str) -> None:
    assert farm_file(farm) == file


@pytest.mark.parametrize(("count", "pages"), [(0, 1), (1, 1), (20, 1), (21, 2), (40, 2), (41, 3)])
def test_a_list_takes_as_many_pages_as_it_fills(count: int, pages: int) -> None:
    assert pages_for(count, 20) == pages
