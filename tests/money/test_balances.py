"""Nothing is lost and nothing counts twice: what left the shelves is in the account, whatever it is told by."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.money.small import CAFE, DINER, MONDAY, MONEY, farm_made, on, ordered
from trayward import Farm
from trayward.farm.settings import Overhead
from trayward.farm.supplies import Supply, TakenBy
from trayward.money.earned import exact_parts
from trayward.money.types import BY, COSTS, EMPTY, GROWING

LAST = 20
PRICES = {"coir": "0.004", "box": "0.18", "leaf feed": "0.02", "soap": "0.005", "tape": "0.10"}
"""What a unit of each supply cost, every delivery of it the same. [EUR]"""
WEAR = 0.05
"""Of one use of a tray. [EUR]"""
FRESH = timedelta(days=3)
SEED = {"P1": 20.0 / 5000.0, "R1": 18.0 / 1000.0}
"""What a gram of each lot cost, as the small farm has it. [EUR/g]"""


def stocked() -> Farm:
    """The small farm with five supplies: four are taken by themselves, tape only by hand; rent of 60 a month."""
    farm = farm_made(replace(MONEY, overheads=(Overhead(name="rent", month=60.0),)))
    takers = {
        "coir": ("medium", "g", TakenBy(of="tray", amount=120.0)),
        "box": ("packaging", "pieces", TakenBy(of="pack", amount=1.0)),
        "leaf feed": ("feed", "ml", TakenBy(of="litre", amount=2.0)),
        "soap": ("agent", "ml", TakenBy(of="washed", amount=3.0)),
        "tape": ("other", "pieces", None),
    }
    for name, (kind, unit, taken) in takers.items():
        supply = Supply(name=name, kind=kind, unit=unit, taken=(taken,) if taken else ())  # type: ignore[arg-type]
        farm.set_supply(supply, at=on(0, 6.2))
        for amount in (1000.0, 4000.0):
            farm.receive_supply(name, amount, cost=Decimal(PRICES[name]) * Decimal(amount), at=on(0, 6.4))
    return farm


def grow(farm: Farm, day: int, trays: int, ml: float, thrown: int) -> None:
    """Sow, feed, turn, cut all but some that are thrown away, wash; at the end nothing stands."""
    names = farm.sow("pea", trays, grams_per_tray=250.0, at=on(day), sure=True).names[1:]
    farm.feed(names, ml, at=on(day + 2), sure=True)
    for stage, after in (("light", 3), ("ready", 6)):
        farm.begin(names, stage, at=on(day + after), sure=True)
    lost, cut = names[:thrown], names[thrown:]
    if lost:
        farm.discard(lost, "mould", at=on(day + 6, 9), sure=True)
    if cut:
        farm.cut(dict.fromkeys(cut, 300.0), at=on(day + 7, 9), sure=True)
    farm.strip(names, at=on(day + 7, 9.5), sure=True)
    farm.wash("tray", at=on(day + 7, 9.75))


def sell(farm: Farm, day: int, grams: int) -> None:
    customer, at = (CAFE, DINER)[grams % 2], on(day, 10)
    if any(lot.left_g > 0 and at - lot.cut_at < FRESH for lot in farm.state(at).harvests.values()):
        ordered(farm, customer, "pea", float(grams), due=day)
        farm.deliver_due(customer, MONDAY + timedelta(days=day), at=at, sure=True)


def by_hand(farm: Farm, day: int, amount: int) -> None:
    farm.use_supply("tape", float(amount), at=on(day, 13))


def threw(farm: Farm, day: int, amount: int) -> None:
    farm.throw_supply("coir", float(amount), "wet", at=on(day, 14))


def counted(farm: Farm, day: int, amount: int) -> None:
    """Fewer or more than the book has, never more than it had counted off."""
    held = farm.state(on(day, 15)).supplies["soap"]
    farm.count_supply("soap", max(held.stock - amount + min(held.used_since, 5.0), 0.0), at=on(day, 15))


def weighed(farm: Farm, day: int, amount: int) -> None:
    left = farm.state(on(day, 16)).seed["R1"].left_g
    farm.weigh_seed("R1", max(left - amount, 0.0), at=on(day, 16))


LOOSE: tuple[Callable[[Farm, int, int], None], ...] = (by_hand, threw, counted, weighed)
WEEKS = st.lists(
    st.tuples(st.integers(0, 12), st.integers(1, 4), st.sampled_from([150.0, 400.0]), st.integers(0, 1)),
    min_size=1, max_size=2,
)  # fmt: skip
ACTS = st.lists(st.tuples(st.sampled_from(range(4)), st.integers(0, LAST - 1), st.integers(1, 40)), max_size=4)
SALES = st.lists(st.tuples(st.integers(8, LAST - 1), st.integers(50, 500)), max_size=3)


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(weeks=WEEKS, acts=ACTS, sales=SALES)
def test_what_left_the_shelves_is_in_the_account_to_a_thousandth(
    weeks: list[tuple[int, int, float, int]], acts: list[tuple[int, int, int]], sales: list[tuple[int, int]]
) -> None:
    """What came less what is there, at what it cost, is what seed, medium, feed, soap, packs and the rest come to."""
    farm = stocked()
    for day, trays, ml, thrown in weeks:
        grow(farm, day, trays, ml, thrown)
    for number, day, amount in sorted(acts, key=lambda act: act[1]):
        LOOSE[number](farm, day, amount)
    for day, grams in sorted(sales):
        sell(farm, day, grams)
    state, terms, last = farm.state(on(LAST)), farm.terms(on(LAST)), MONDAY + timedelta(days=LAST)
    told = {by: exact_parts(state, terms, MONDAY, last, by, on(LAST)) for by in BY}
    sums = {by: {part: sum(row.get(part, 0) for row in rows.values()) for part in COSTS} for by, rows in told.items()}
    assert all(each == sums["crop"] for each in sums.values()), "the same whatever it is told by"
    used = sum(float(PRICES[name]) * (5000.0 - held.stock) for name, held in state.supplies.items())
    used += sum(price * (state.seed[lot].received_g - state.seed[lot].left_g) for lot, price in SEED.items())
    wear = WEAR * sum(trays for _, trays, _, _ in weeks)
    materials = sum(sums["crop"][part] for part in ("seed", "medium", "feed", "agents", "packaging", "loose")) / 1e6
    assert materials == pytest.approx(used + wear, abs=1e-3)
    assert sums["crop"]["overheads"] == pytest.approx(60e6 * (LAST + 1) / 30, abs=10), "20 days and one of November"


def test_what_no_tray_took_is_spread_over_those_that_stood_and_named_where_none_did() -> None:
    """Ten pieces of tape while two trays stood, five when none did: 1.00 on the crop, 0.50 on no spot at all."""
    farm = stocked()
    grow(farm, 0, 2, 150.0, 0)
    by_hand(farm, 1, 10)
    by_hand(farm, 15, 5)
    account = farm.earned(MONDAY, MONDAY + timedelta(days=LAST), by="crop", at=on(LAST))
    assert {row.name: row.parts.loose for row in account.rows} == {"pea": Decimal("1.00"), EMPTY: Decimal("0.50")}
    assert account.total.parts.loose == Decimal("1.50")
    assert GROWING not in {row.name for row in account.rows}


def test_a_medium_that_is_only_used_by_hand_counts_once() -> None:
    """Each pea tray has its mat at 0.15 by the recipe; the mats taken by hand are those very mats."""
    farm = farm_made()
    farm.set_supply(Supply(name="mats", kind="medium"), at=on(0, 6.2))
    farm.receive_supply("mats", 100.0, cost=Decimal("15.00"), at=on(0, 6.4))
    grow(farm, 0, 2, 150.0, 0)
    farm.use_supply("mats", 2.0, at=on(0, 9))
    farm.throw_supply("mats", 4.0, "torn", at=on(1, 9))
    parts = farm.earned(MONDAY, MONDAY + timedelta(days=LAST), at=on(LAST)).total.parts
    assert parts.medium == Decimal("0.40"), "two mats at 0.15 and two uses of a tray at 0.05"
    assert parts.loose == Decimal("0.60"), "the four that were torn"


def test_a_count_that_finds_a_delivery_nobody_wrote_down_gives_nothing_back() -> None:
    """300 pieces more than there can be: none of them was ever counted off."""
    farm = stocked()
    farm.count_supply("tape", 5300.0, at=on(1))
    assert farm.earned(MONDAY, MONDAY + timedelta(days=2), at=on(2)).total.parts.loose == 0


def test_supplies_by_hand_without_a_price_are_said() -> None:
    farm = farm_made()
    farm.set_supply(Supply(name="tape"), at=on(0, 6.2))
    farm.receive_supply("tape", 100.0, at=on(0, 6.4))
    farm.use_supply("tape", 7.0, at=on(1))
    account = farm.earned(MONDAY, MONDAY + timedelta(days=2), at=on(2))
    assert [each.message for each in account.findings if each.code == "supply-cost"] == [
        "supply tape = no cost: 7 pieces of it count as free."
    ]
