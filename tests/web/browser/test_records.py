"""Records in a real browser: the page and the form fit a phone and a desk, and have no barriers."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.browser.conftest import assert_fits, axe, shot


@pytest.mark.parametrize("device", ["phone", "desk"])
@pytest.mark.parametrize(("path", "name"), [("/records", "records"), ("/records/form?kind=cleaning", "records-form")])
def test_the_pages_of_records_fit_and_have_no_barriers(page_at: Any, device: str, path: str, name: str) -> None:
    page = page_at(path, device)
    assert_fits(page)
    assert axe(page) == []
    shot(page, f"{name}-{device}")
