"""Bare numbers as they are typed, in forms, sums and on the terminal: what can mean two things is not guessed."""

from __future__ import annotations

import pytest

from trayward.bench.typed import number as bench_number
from trayward.cli.numbers import NUMBER, WHOLE
from trayward.errors import InputError
from trayward.web.typed import Typed

TWO_WAYS = r"can be read as 1500 or as a decimal number\. Write 1500 without a mark, or a decimal point"


def test_a_comma_marks_decimals_where_it_can_mean_nothing_else() -> None:
    for text, value in (("5,8", 5.8), ("0,125", 0.125), ("1500", 1500.0), ("12.5", 12.5)):
        assert Typed([("price", text)]).number("price") == value
        assert bench_number(text, "price") == value
        assert NUMBER.convert(text, None, None) == value


def test_1_comma_500_is_refused_with_both_ways_out() -> None:
    with pytest.raises(InputError, match=TWO_WAYS):
        Typed([("price", "1,500")]).number("price")
    with pytest.raises(InputError, match=TWO_WAYS):
        bench_number("1,500", "price")
    for kind in (NUMBER, WHOLE):
        with pytest.raises(InputError, match=TWO_WAYS):
            kind.convert("1,500", None, None)
