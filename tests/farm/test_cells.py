"""No cell of any sheet is reckoned by a spreadsheet, and no telephone number is changed."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest

from trayward.farm.cells import plain_cell
from trayward.money.journal import to_csv
from trayward.trace.words import as_csv

FORMULAS = ("=HYPERLINK(1)", "@SUM(A1)", "+1+2", "-1-2", "+A1", "-cmd|x", "\t=1", "\r=1", "+44-20-7946", "+(1)*2")
"""What spreadsheets reckon when a cell begins so (OWASP, CSV Injection; from memory)."""
KEPT = ("+34 600 000 000", "+34600000000", "-2.5", "+3", "-", "Ada", "", "1-2", "e=mc2")


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_is_shown_and_not_reckoned(text: str) -> None:
    assert plain_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", KEPT)
def test_what_is_no_formula_stays_as_it_was_written(text: str) -> None:
    assert plain_cell(text) == text


def test_what_is_no_text_stays_what_it_is() -> None:
    assert plain_cell(-7) == -7
    assert plain_cell(date(2026, 11, 25)) == date(2026, 11, 25)


@pytest.mark.parametrize("write", [as_csv, to_csv])
def test_every_sheet_goes_by_the_same_rule(write: object) -> None:
    made = write(("who",), [("+34 600 000 000",), ("=1",), ("-2.5",)])  # type: ignore[operator]
    assert list(csv.reader(io.StringIO(made)))[1:] == [["+34 600 000 000"], ["'=1"], ["-2.5"]]
