"""Which entries are struck when strikes strike strikes."""

from __future__ import annotations

from itertools import permutations

import pytest

from trayward.store.strikes import Strike, struck_ids


@pytest.mark.parametrize(
    ("strikes", "struck"),
    [
        ([], set()),
        ([("s", "a")], {"a"}),
        ([("s", "a"), ("t", "s")], {"s"}),
        ([("s", "a"), ("t", "s"), ("u", "t")], {"a", "t"}),
        # Two strike the same entry; taking one of them back is not enough.
        ([("s", "a"), ("t", "a"), ("u", "s")], {"a", "s"}),
        ([("s", "a"), ("t", "a"), ("u", "s"), ("v", "t")], {"s", "t"}),
    ],
)
def test_a_struck_strike_does_not_count(strikes: list[tuple[str, str]], struck: set[str]) -> None:
    """In whichever order the strikes reached the book."""
    for order in permutations(strikes):
        said = [Strike(number, *strike) for number, strike in enumerate(order, start=1)]
        assert struck_ids(said) == struck


def test_strikes_in_a_ring_are_settled_for_the_last_kept() -> None:
    assert struck_ids([Strike(1, "s", "t"), Strike(2, "t", "s")]) == {"s"}
    assert struck_ids([Strike(1, "s", "s")]) == {"s"}
    assert struck_ids([Strike(1, "s", "t"), Strike(2, "t", "u"), Strike(3, "u", "s"), Strike(4, "x", "a")]) == {
        "s",
        "u",
        "a",
    }


def test_a_long_chain_of_strikes_is_worked_out() -> None:
    chain = [Strike(number, f"s{number}", f"s{number - 1}") for number in range(1, 5001)]
    assert struck_ids(chain) == {f"s{number}" for number in range(1, 5000, 2)}
