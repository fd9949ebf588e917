"""Coins and shares: half goes where it should, and nothing is lost."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.money.coins import from_micro, in_coins, rounded, share_out
from trayward.units import money_places

CLDR_OTHERWISE = {
    "AFN", "ALL", "COP", "HUF", "IDR", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "SLL", "SOS", "SYP", "YER",
}  # fmt: skip
"""CLDR shows no small coins of these, for nobody uses them; ISO 4217 has them still."""
WITHDRAWN = {"ADP", "BYR", "ESP", "ITL", "LUF", "MGF", "MRO", "STD", "TMM", "TRL", "ZMK", "ZWD"}


@given(
    st.integers(-(10**12), 10**12), st.lists(st.floats(0, 1e6), min_size=1, max_size=30).filter(lambda w: sum(w) > 1e-3)
)
def test_parts_add_up_to_the_whole_and_lie_within_one_of_their_quota(total: int, weights: list[float]) -> None:
    parts = share_out(total, weights)
    assert sum(parts) == total
    assert all(abs(part - total * weight / sum(weights)) < 1.01 for part, weight in zip(parts, weights, strict=True))


@given(st.lists(st.integers(-(10**10), 10**10), max_size=30), st.sampled_from(["EUR", "JPY", "KWD"]))
def test_what_is_shown_in_coins_adds_up_to_the_sum_in_coins(parts: list[int], currency: str) -> None:
    assert sum(in_coins(parts, currency)) == rounded(from_micro(sum(parts)), currency)


@pytest.mark.parametrize(
    ("amount", "rule", "shown"),
    [
        # IEEE 754-2019, 4.3: ties away from zero, and ties to even. Worked by hand.
        ("2.665", "half up", "2.67"),
        ("2.665", "half even", "2.66"),
        ("2.675", "half even", "2.68"),
        ("-2.665", "half up", "-2.67"),
        ("2.6649", "half up", "2.66"),
    ],
)
def test_half_a_cent_goes_by_the_rule(amount: str, rule: Any, shown: str) -> None:
    assert rounded(Decimal(amount), "EUR", rule) == Decimal(shown)


def test_the_digits_of_a_currency_are_those_of_the_common_locale_data() -> None:
    """Unicode CLDR, as babel carries it; where it shows no coins that ISO 4217 still has, ours are ISO's."""
    from babel.core import get_global

    fractions = get_global("currency_fractions")
    names = [each for each in fractions if each != "DEFAULT" and each not in WITHDRAWN]
    assert {each for each in names if fractions[each][0] != money_places(each)} == CLDR_OTHERWISE
