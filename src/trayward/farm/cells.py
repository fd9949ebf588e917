"""Cells of sheets that a spreadsheet shows and does not reckon: the one rule for every CSV of the farm."""

from __future__ import annotations

import re
from typing import TypeVar

T = TypeVar("T")

STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the beginning of a formula (OWASP, CSV Injection; from memory)."""
FIGURES = re.compile(r"[+-][0-9 \u00a0]*(?:[.,][0-9]+)?")
"""A number with its sign, or a telephone number: nothing in it can be reckoned."""


def plain_cell(value: T) -> T | str:
    """
    A cell's text, with an apostrophe before what a spreadsheet would take for a formula; figures stay what they are.

    A telephone number stays as it was written, `+` and all.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell("+34 600 000 000"), plain_cell("-2.5"), plain_cell("-1+2"), plain_cell(-7)
    ("'=1+1", '+34 600 000 000', '-2.5', "'-1+2", -7)
    """
    if not isinstance(value, str) or not value.startswith(STARTS) or FIGURES.fullmatch(value):
        return value
    return f"'{value}"
