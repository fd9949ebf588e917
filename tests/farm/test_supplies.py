"""Supplies other than seed: stock by receipt and use, counts that hold from their day, what used supply cost."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Literal

import pytest

from trayward.farm.codec import decode_state, encode_state, normal
from trayward.farm.entries import (
    Body,
    Entry,
    FarmSet,
    Fed,
    KitSet,
    LotGrams,
    OfferSet,
    Packed,
    Sanitised,
    SowingMade,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
    TraySown,
    Washed,
)
from trayward.farm.fold import check, fold
from trayward.farm.kit import Pool
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.farm.supplies import DAYS_KEPT, Offer, PackPrice, Supply, SupplyHeld, TakenBy

NOON = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)
LOFT = FarmSet(settings=FarmSettings(name="Lantern Loft"))
COIR = SupplySet(supply=Supply(name="coir", kind="medium", unit="g", taken=(TakenBy(of="tray", amount=120.0),)))
ONE = PackPrice(size=1, price=Decimal(1))
BOXES = SupplySet(supply=Supply(name="box", kind="packaging", taken=(TakenBy(of="pack", amount=1.0),)))


def at(day: float) -> datetime:
    return NOON + timedelta(days=day)


def told(*bodies: tuple[float, Body]) -> list[Entry]:
    return [
        normal(Entry(id=f"entry-{number:04d}", at=at(day), recorded=at(day), by="ada", body=body))
        for number, (day, body) in enumerate(bodies)
    ]


def farm(*bodies: tuple[float, Body]) -> FarmState:
    return fold(told((0, LOFT), (0, COIR), (0, BOXES), *bodies))


def came(
    amount: float, lot: str = "C1", cost: str | None = None, until: date | None = None, supply: str = "coir"
) -> SupplyReceived:
    unit: Literal["pieces", "g"] = "g" if supply == "coir" else "pieces"
    price = None if cost is None else Decimal(cost)
    return SupplyReceived(supply=supply, lot=lot, amount=amount, unit=unit, cost=price, best_before=until)


def counted(amount: float, lot: str = "") -> SupplyCounted:
    return SupplyCounted(supply="coir", amount=amount, unit="g", lot=lot)


def used(amount: float) -> SupplyUsed:
    return SupplyUsed(supply="coir", amount=amount, unit="g")


def codes(state: FarmState) -> list[str]:
    return [finding.code for finding in state.findings]


def coir(state: FarmState) -> SupplyHeld:
    return state.supplies["coir"]


def left(state: FarmState) -> dict[str, float]:
    return {name: lot.left for name, lot in coir(state).lots.items()}


# Stock ----------------------------------------------------------------------------------------------------------------


def test_it_works() -> None:
    state = farm(
        (0, came(1000)), (1, used(300)), (2, SupplyThrownAway(supply="coir", amount=100, unit="g", reason="wet"))
    )
    assert coir(state).stock == pytest.approx(600)
    assert coir(state).used_on == {date(2026, 11, 3): 300}, "what is thrown away is no use to reckon with"
    assert state.findings == []


def test_what_goes_off_first_is_used_first_although_it_came_later() -> None:
    state = farm(
        (0, came(500, "LATE", until=date(2027, 6, 1))),
        (1, came(500, "SOON", until=date(2026, 12, 1))),
        (2, came(500, "EVER")),
        (3, used(700)),
    )
    assert left(state) == {"LATE": 300, "SOON": 0, "EVER": 500}
    assert [lot.lot for lot in coir(state).here] == ["LATE", "EVER"]


def test_a_delivery_that_says_no_day_keeps_as_long_as_the_supply_does() -> None:
    keeps = SupplySet(supply=Supply(name="coir", unit="g", keeps_days=30))
    state = farm((0, keeps), (1, came(500)))
    assert coir(state).lots["C1"].best_before == date(2026, 12, 3)


def test_an_order_is_no_stock_until_it_is_received_and_keeps_what_it_said() -> None:
    order = SupplyReceived(
        supply="coir", lot="C1", amount=500, unit="g", cost=Decimal(20), supplier="Mill", expected_on=date(2026, 11, 9)
    )
    ordered = farm((0, order))
    assert (coir(ordered).stock, [lot.lot for lot in coir(ordered).coming]) == (0, ["C1"])
    here = farm((0, order), (7, came(480)))
    lot = coir(here).lots["C1"]
    assert (coir(here).stock, lot.supplier, lot.cost, lot.expected_on) == (480, "Mill", Decimal(20), None)


def test_using_more_than_there_is_is_told_and_leaves_no_lot_below_nothing() -> None:
    state = farm((0, came(100)), (1, used(150)))
    assert codes(state) == ["supply-short"]
    assert (coir(state).stock, coir(state).short) == (0, 50)


# Counts ---------------------------------------------------------------------------------------------------------------


def test_a_count_holds_from_its_day_and_the_difference_is_told() -> None:
    state = farm((0, came(1000)), (1, used(300)), (2, counted(600)), (3, used(100)))
    assert coir(state).stock == pytest.approx(500)
    assert codes(state) == ["supply-unexplained"]
    said = state.findings[0].message
    assert said == "coir = 600 g counted: the book expects 700 g, 100 g went unexplained."
    count = coir(state).counts[-1]
    assert (count.expected, count.counted, count.used, count.unexplained) == (700, 600, 300, 100)
    assert coir(state).used_since == 100


def test_a_count_that_is_late_lands_on_its_own_day() -> None:
    """The same three, told in another order, fold to the same stock: the count is a fact of its day."""
    entries = told((0, LOFT), (0, COIR), (0, came(1000)), (1, used(300)), (2, counted(600)), (3, used(100)))
    late = sorted([entries[5], *entries[:5]], key=lambda entry: entry.at)
    assert fold(late).supplies["coir"].stock == pytest.approx(500)


def test_a_count_near_the_book_asks_nothing() -> None:
    assert codes(farm((0, came(1000)), (1, counted(985)))) == []


def test_more_than_expected_is_told_the_other_way_round() -> None:
    state = farm((0, came(1000)), (1, counted(1300)))
    assert "300 g more" in state.findings[0].message
    assert coir(state).stock == pytest.approx(1300)


def test_the_first_count_of_a_supply_nobody_received_is_its_stock() -> None:
    state = farm((1, counted(400)))
    assert (coir(state).stock, codes(state)) == (400, [])


def test_one_lot_can_be_counted_alone() -> None:
    state = farm((0, came(500, "A")), (1, came(500, "B")), (2, counted(200, "B")))
    assert left(state) == {"A": 500, "B": 200}
    assert coir(state).short == 0


def test_what_went_short_is_settled_by_a_count() -> None:
    assert coir(farm((0, used(50)), (1, counted(20)))).short == 0


# What counts off by itself --------------------------------------------------------------------------------------------


def test_packs_take_their_boxes() -> None:
    packed = Packed(pack="P1", product="radish", packs=12, pack_g=50, parts=(LotGrams(harvest="none", grams=600),))
    state = farm((0, came(100, supply="box")), (1, packed), (2, packed))
    assert state.supplies["box"].stock == 88, "a name that is used twice fills no packs twice"


def test_washing_and_sanitising_take_theirs_by_the_piece() -> None:
    soap = Supply(name="soap", unit="ml", taken=(TakenBy(of="washed", amount=2, name="mesh mat"),))
    agent = Supply(name="sanitiser", unit="ml", taken=(TakenBy(of="sanitised", amount=5, name="peracetic acid"),))
    state = fold(
        told(
            (0, LOFT), (0, KitSet(pool=Pool(name="mesh mat", count=20))),
            (0, KitSet(pool=Pool(name="cover", count=20))),
            (0, SupplySet(supply=soap)), (0, SupplySet(supply=agent)),
            (0, SupplyCounted(supply="soap", amount=100, unit="ml")),
            (0, SupplyCounted(supply="sanitiser", amount=100, unit="ml")),
        )
    )  # fmt: skip
    state.kit["mesh mat"].dirty = state.kit["cover"].dirty = 8
    more = told((1, Washed(pool="mesh mat", count=6)), (1, Washed(pool="cover", count=6)))
    more += told((1, Sanitised(pool="mesh mat", count=4, agent="peracetic acid")))
    fold(more, start=state)
    assert state.supplies["soap"].stock == 88
    assert state.supplies["sanitiser"].stock == 80


def test_a_supply_that_was_dropped_takes_nothing_off() -> None:
    dropped = SupplySet(supply=BOXES.supply, dropped=True)
    packed = Packed(pack="P1", product="radish", packs=12, pack_g=50, parts=())
    assert farm((0, came(100, supply="box")), (1, dropped), (2, packed)).supplies["box"].stock == 100


def test_running_short_by_itself_is_told_once_until_it_is_counted() -> None:
    def packed(name: str) -> Packed:
        return Packed(pack=name, product="radish", packs=12, pack_g=50, parts=())

    boxes = SupplyCounted(supply="box", amount=5, unit="pieces")
    state = farm(
        (0, came(20, supply="box")), (1, packed("A")), (2, packed("B")), (3, packed("C")), (4, boxes), (5, packed("D"))
    )
    assert codes(state).count("supply-short") == 2


def test_sowings_and_feeds_of_nothing_known_take_nothing() -> None:
    sown = SowingMade(sowing="S", recipe="none", trays=(TraySown(tray="S.1"),), lots=())
    assert farm((0, came(500)), (1, sown), (2, Fed(trays=("S.1",), ml=200))).supplies["coir"].stock == 500


# Money ----------------------------------------------------------------------------------------------------------------


def test_the_moving_average_moves_with_each_delivery_alone() -> None:
    """500 g at 10.00 and 300 left of it with 700 g at 28.00: (300 x 0.02 + 28) / 1000 = 0.034 a gram."""
    state = farm((0, came(500, "A", "10.00")), (1, used(200)), (2, came(700, "B", "28.00")), (3, used(100)))
    held = coir(state)
    assert held.price_at(at(1)) == Decimal("0.02")
    assert held.price_at(at(3)) == Decimal("0.034")
    assert held.price_at(at(-5)) == Decimal("0.02"), "before the first use it is the first price"


def test_by_lots_each_use_costs_what_its_own_lots_cost() -> None:
    """The last 100 g of the first lot and 100 g of the second: (100 x 0.02 + 100 x 0.04) / 200 = 0.03."""
    lots = SupplySet(supply=Supply(name="coir", unit="g", valued="lots"))
    state = farm((0, lots), (0, came(500, "A", "10.00")), (1, came(500, "B", "20.00")), (2, used(400)), (3, used(200)))
    assert [coir(state).price_at(at(day)) for day in (2, 3)] == [Decimal("0.02"), Decimal("0.03")]


def test_a_delivery_without_a_price_moves_no_average() -> None:
    state = farm((0, came(500, "A", "10.00")), (1, came(500, "B")), (2, used(900)))
    assert coir(state).price_at(at(2)) == Decimal("0.02")
    assert coir(farm((0, came(500)), (1, used(100)))).price_at(at(1)) is None


# What is refused ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (SupplyUsed(supply="none", amount=1, unit="g"), "supply-unknown"),
        (SupplyUsed(supply="coir", amount=1, unit="ml"), "supply-unit"),
        (SupplyUsed(supply="coir", amount=0, unit="g"), "amount"),
        (SupplyUsed(supply="coir", amount=1, unit="g", lot="Z"), "lot-unknown"),
        (SupplyCounted(supply="coir", amount=-1, unit="g"), "amount"),
        (SupplyReceived(supply="coir", lot="C1", amount=5, unit="g"), "lot-twice"),
        (SupplyReceived(supply="coir", lot="C2", amount=5, unit="g", cost=Decimal(-1)), "amount"),
        (SupplyReceived(supply="coir", lot=" ", amount=5, unit="g"), "supply-lot"),
        (SupplySet(supply=Supply(name="coir", unit="ml")), "supply-unit"),
        (SupplySet(supply=Supply(name="x", surely=1.0)), "amount"),
        (OfferSet(offer=Offer(thing="none", supplier="Mill", packs=(ONE,))), "supply-unknown"),
        (OfferSet(offer=Offer(thing="coir", supplier="Mill", packs=())), "offer-empty"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(body: Body, code: str) -> None:
    state = farm((0, came(500)))
    found = check(state, told((1, body))[0])
    assert [finding.code for finding in found if finding.severity == "wrong"] == [code]


def test_a_day_that_is_over_is_pointed_out() -> None:
    assert codes(farm((5, came(5, until=date(2026, 11, 1))))) == ["supply-old"]


def test_an_offer_replaces_the_one_before_and_can_be_dropped() -> None:
    first = Offer(thing="pea", seed=True, supplier="Hillside Seeds", packs=(PackPrice(size=1000, price=Decimal(9)),))
    dearer = Offer(thing="pea", seed=True, supplier="Hillside Seeds", packs=(PackPrice(size=1000, price=Decimal(11)),))
    state = farm((0, OfferSet(offer=first)), (1, OfferSet(offer=dearer)))
    assert [offer.packs[0].price for offer in state.offers.values()] == [Decimal(11)]
    assert farm((0, OfferSet(offer=first)), (1, OfferSet(offer=first, dropped=True))).offers == {}


# The state ------------------------------------------------------------------------------------------------------------


def test_a_state_kept_in_between_folds_on_to_the_same() -> None:
    entries = told(
        (0, LOFT), (0, COIR), (0, came(500, "A", "10.00")), (1, used(200)), (2, counted(280)),
        (3, came(90, "B", "3.10")), (4, used(333)),
    )  # fmt: skip
    for cut in range(1, len(entries)):
        half = decode_state(encode_state(fold(entries[:cut])))
        assert encode_state(fold(entries[cut:], start=half)) == encode_state(fold(entries))


def test_only_the_last_weeks_of_use_are_remembered() -> None:
    state = farm((0, came(1e6)), *((day, used(1.0)) for day in range(DAYS_KEPT + 10)))
    assert len(coir(state).used_on) == DAYS_KEPT
    assert min(coir(state).used_on) == date(2026, 11, 12)
