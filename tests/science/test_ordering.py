"""When and how much to order: against published examples, and against every possible way to order."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.ordering import PackTier, bundles, cheapest, cheapest_orders

# Published ------------------------------------------------------------------------------------------------------------


def test_the_example_of_wagner_and_whitin() -> None:
    """
    Wagner and Whitin (1958), Management Science 5(1), 89-96: twelve months, 864 in all, orders in months 1, 3, 5, 8, 10
    and 11 (data and answer from memory, recomputed).
    """
    use = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    set_up = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    costs = np.array([[0.0] + [float(fee)] * sum(use) for fee in set_up])
    found = cheapest_orders(use, costs, keeping=1.0)
    assert found.cost == 864.0
    assert [month for month, units in enumerate(found.orders, 1) if units] == [1, 3, 5, 8, 10, 11]
    assert found.wasted == 0


def test_the_example_of_winston_with_a_largest_order() -> None:
    """
    Winston (2004), Introduction to Probability Models, chapter 6, example 4, as retold in a public course listing
    (seen): 1, 3, 2, 4 units; an order costs 3, a unit 1, keeping one 0.50; at most 5 an order. The answer, 20, by hand:
    1, 5, 0, 4 are 4 + (8 + 1) + 0 + 7.
    """
    found = cheapest_orders([1, 3, 2, 4], [0.0] + [3.0 + units for units in range(1, 6)], keeping=0.5)
    assert found.cost == 20.0
    assert sum(found.orders) == 10


def test_an_all_units_discount_is_taken_where_it_pays() -> None:
    """By hand: 100 at 1.00 are 100.00; 120 at 0.80 are 96.00, so more is ordered than is used."""
    tiers = [PackTier(1, 1, 1.0), PackTier(1, 120, 0.8)]
    costs = bundles(tiers, most=150).costs
    assert costs[100] == pytest.approx(100.0)
    assert costs[120] == pytest.approx(96.0)
    found = cheapest_orders([100], costs)
    assert (found.cost, found.orders, found.wasted) == (pytest.approx(96.0), (120,), 20)


# Every possible way ---------------------------------------------------------------------------------------------------


def by_hand(use: list[int], costs: list[float], keeping: float, lasts: int, here: int) -> float:
    """The cheapest of every sequence of orders, followed lot by lot: each lot goes off on its own, the first in line
    is used first, and nobody takes off beforehand what will not be used."""
    best = math.inf
    for orders in itertools.product(range(len(costs)), repeat=len(use)):
        lots: list[list[int]] = [[10**6, here]] if here else []
        total = 0.0
        for period, (wanted, ordered) in enumerate(zip(use, orders, strict=True)):
            total += costs[ordered]
            lots = [lot for lot in lots if lot[0] > period]
            lots.append([period + lasts, ordered])
            lots.sort()
            left = wanted
            for lot in lots:
                part = min(lot[1], left)
                lot[1] -= part
                left -= part
            if left:
                break
            total += keeping * sum(amount for _, amount in lots)
        else:
            best = min(best, total)
    return best


@pytest.mark.parametrize("seed", range(40))
def test_no_way_of_ordering_is_cheaper(seed: int) -> None:
    """
    Against every sequence of orders. Keeping costs nothing here: the recursion does not pay for keeping what will go
    off, and a person would not either.
    """
    rng = np.random.default_rng(seed)
    use = [int(units) for units in rng.integers(0, 4, size=4)]
    tiers = [PackTier(1, 1, float(rng.integers(5, 9))), PackTier(3, 1, float(rng.integers(9, 21)))]
    tiers.append(PackTier(1, 4, float(rng.integers(3, 6))))
    costs = bundles(tiers, most=6, fee=float(rng.integers(0, 6))).costs
    lasts = int(rng.integers(1, 5))
    found = cheapest_orders(use, costs, lasts=lasts)
    assert found.cost == pytest.approx(by_hand(use, list(costs), 0.0, lasts, 0))


@pytest.mark.parametrize("seed", range(20))
def test_no_way_of_ordering_is_cheaper_where_keeping_costs_and_nothing_goes_off(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    use = [int(units) for units in rng.integers(0, 4, size=4)]
    here = int(rng.integers(0, 3))
    costs = bundles([PackTier(2, 1, 5.0), PackTier(3, 1, 6.0)], most=8, fee=float(rng.integers(0, 6))).costs
    keeping = float(rng.integers(0, 4)) / 2
    total = sum(use)
    if total <= here:
        return
    found = cheapest_orders(use, costs, keeping=keeping, here=min(here, total))
    # What is beyond all use is kept for nothing by the slow way and thrown out at once by the other: never dearer.
    slow = by_hand(use, list(costs), keeping, 99, min(here, total))
    assert found.cost <= slow + 1e-9
    if found.wasted == 0:
        assert found.cost == pytest.approx(slow)


@pytest.mark.parametrize("seed", range(20))
def test_no_choice_of_packs_is_cheaper(seed: int) -> None:
    rng = np.random.default_rng(200 + seed)
    sizes = [1, 2, 5]
    prices = {size: [float(price) for price in rng.integers(3, 30, size=2)] for size in sizes}
    tiers = [PackTier(size, least, prices[size][at]) for size in sizes for at, least in enumerate((1, 3))]
    found = bundles(tiers, most=12, fee=2.0)
    for units in range(1, 13):
        ways = [
            sum(count * min(prices[size][: 2 if count >= 3 else 1]) for size, count in zip(sizes, counts, strict=True))
            for counts in itertools.product(range(13), range(7), range(3))
            if sum(size * count for size, count in zip(sizes, counts, strict=True)) == units
        ]
        assert found.costs[units] == pytest.approx(min(ways) + 2.0)
        assert sum(size * count for size, count in found.packs[units].items()) == units


# What it says ---------------------------------------------------------------------------------------------------------


def test_not_more_is_ordered_than_is_used_before_it_goes_off() -> None:
    """Five at a time are cheaper by the unit: but of five two would go off, and three cost less than five."""
    costs = bundles([PackTier(1, 1, 10.0), PackTier(5, 1, 40.0)], most=10).costs
    assert cheapest_orders([1] * 10, costs).orders == (5, 0, 0, 0, 0, 5, 0, 0, 0, 0)
    short_lived = cheapest_orders([1] * 10, costs, lasts=3)
    assert short_lived.orders == (1,) * 10
    assert short_lived.wasted == 0


def test_the_cost_of_every_other_first_order_is_told() -> None:
    costs = bundles([PackTier(1, 1, 14.0), PackTier(5, 1, 62.5)], most=6, fee=4.0).costs
    found = cheapest_orders([1, 1, 1, 1, 1], costs)
    assert float(found.first.min()) == found.cost
    assert int(found.first.argmin()) == found.orders[0] == 5
    assert found.first[1] == pytest.approx(18.0 + 60.0)


def test_the_cheapest_supplier_is_named_for_each_amount() -> None:
    dear = bundles([PackTier(1, 1, 9.0)], most=4)
    far = bundles([PackTier(1, 1, 5.0)], most=4, fee=10.0)
    costs, who = cheapest(dear, far)
    assert list(who) == [0, 0, 0, 1, 1]
    assert list(costs) == [0.0, 9.0, 18.0, 25.0, 30.0]


def test_what_no_order_can_meet_is_refused() -> None:
    with pytest.raises(InputError, match="no order comes to so much in time"):
        cheapest_orders([9], [0.0, 1.0, 2.0])


def test_a_pack_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="at least one unit"):
        bundles([PackTier(0, 1, 1.0)], most=3)


def test_nothing_used_is_nothing_ordered() -> None:
    assert cheapest_orders([0, 0], [0.0, 5.0]).orders == (0, 0)
    assert cheapest_orders([], [0.0]).cost == 0.0
