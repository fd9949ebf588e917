"""Records in a real browser: the page and the form fit a phone and a desk, and have no barriers."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.browser.conftest import LIGHT, assert_for_everyone


@pytest.mark.parametrize(("path", "name"), [("/records", "records"), ("/records/form?kind=cleaning", "records-form")])
def test_the_pages_of_records_fit_and_have_no_barriers(page_at: Any, path: str, name: str) -> None:
    assert_for_everyone(page_at(path), name, LIGHT)
