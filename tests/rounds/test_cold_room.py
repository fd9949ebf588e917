"""The cold room: until when each lot is good, and which orders take it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot, PackLot
from trayward.rounds.cold_room import ColdRoom, cold_room

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
TODAY = NOON.date()
SETTINGS = FarmSettings(name="Lantern Loft")
DAY = timedelta(days=1)


def lot(name: str, crop: str, left: float, *, days_ago: int = 0, keeps: int = 5) -> HarvestLot:
    cut_at = NOON - DAY * days_ago
    return HarvestLot(
        harvest=name,
        crop=crop,
        cut_at=cut_at,
        grams=max(left, 100.0),
        left_g=left,
        trays=("T.1",),
        cold_room_days=keeps,
    )


def order(name: str, day: int, *lines: tuple[str, float, str]) -> Order:
    asked = tuple(
        LineAsked(line=str(at), product=product, quantity=quantity, unit=unit)
        for at, (product, quantity, unit) in enumerate(lines)
    )  # type: ignore[arg-type]
    return Order(order=name, customer="Kite Cafe", due=TODAY + DAY * day, lines=asked)


def room(lots: list[HarvestLot], orders: list[Order] | None = None, packs: list[PackLot] | None = None) -> ColdRoom:
    state = FarmState(
        settings=SETTINGS,
        customers={"Kite Cafe": Customer(name="Kite Cafe")},
        harvests={each.harvest: each for each in lots},
        packs={each.pack: each for each in packs or []},
        orders={each.order: each for each in orders or []},
        products={
            "mild mix": Product(name="mild mix", parts=(Part(crop="pea", share=0.5), Part(crop="kale", share=0.5))),
            "pea box": Product(name="pea box", parts=(Part(crop="pea"),), pack_g=50.0),
        },
    )
    return cold_room(state, SETTINGS, TODAY)


def meant(found: ColdRoom) -> dict[str, list[tuple[str, float]]]:
    return {lot.harvest: [(part.line, part.grams) for part in lot.meant_for] for lot in found.lots}


def test_what_is_good_the_shortest_comes_first_and_what_is_gone_is_left_out() -> None:
    found = room([lot("H1", "pea", 80.0), lot("H2", "pea", 80.0, days_ago=4), lot("H3", "pea", 0.0)])
    assert [(one.harvest, one.days_left) for one in found.lots] == [("H2", 1), ("H1", 5)]
    assert found.grams == pytest.approx(160.0)


@pytest.mark.parametrize(
    ("days_ago", "past", "near"), [(4, False, True), (5, False, True), (6, True, False), (3, False, False)]
)
def test_a_lot_is_past_once_its_days_are_over(days_ago: int, past: bool, near: bool) -> None:
    (one,) = room([lot("H1", "pea", 80.0, days_ago=days_ago)]).lots
    assert (one.past, one.nearly_past) == (past, near)


def test_the_oldest_lot_goes_to_the_order_that_is_due_first() -> None:
    lots = [lot("H1", "pea", 50.0, days_ago=2), lot("H2", "pea", 100.0)]
    orders = [order("O2", 2, ("pea", 60.0, "g")), order("O1", 1, ("pea", 30.0, "g"))]
    found = room(lots, orders)
    assert meant(found) == {"H1": [("O1/0", 30.0), ("O2/0", 20.0)], "H2": [("O2/0", 40.0)]}
    assert [one.free_g for one in found.lots] == [0.0, 60.0]


def test_nothing_is_meant_for_an_order_that_it_does_not_keep_for() -> None:
    found = room([lot("H1", "pea", 80.0, days_ago=4), lot("H2", "pea", 80.0)], [order("O1", 3, ("pea", 60.0, "g"))])
    assert meant(found) == {"H1": [], "H2": [("O1/0", 60.0)]}


def test_what_is_past_is_meant_for_nobody() -> None:
    assert meant(room([lot("H1", "pea", 80.0, days_ago=9)], [order("O1", 0, ("pea", 60.0, "g"))])) == {"H1": []}


def test_a_mix_takes_its_parts_in_their_shares_as_far_as_the_scarcest_goes() -> None:
    found = room([lot("H1", "pea", 80.0), lot("H2", "kale", 20.0)], [order("O1", 1, ("mild mix", 100.0, "g"))])
    assert meant(found) == {"H1": [("O1/0", 20.0)], "H2": [("O1/0", 20.0)]}


def test_packs_go_out_before_loose_crop() -> None:
    packs = [PackLot(pack="P1", product="pea box", packed_at=NOON, packs=2, left=2, pack_g=50.0, parts={"H1": 100.0})]
    found = room([lot("H1", "pea", 80.0)], [order("O1", 1, ("pea box", 3.0, "packs"))], packs)
    assert meant(found) == {"H1": [("O1/0", 50.0)]}
    assert [(pack.pack, pack.left, pack.days_left) for pack in found.packs] == [("P1", 2, None)]


def test_live_trays_take_nothing_from_the_cold_room() -> None:
    assert meant(room([lot("H1", "pea", 80.0)], [order("O1", 1, ("pea", 2.0, "trays"))])) == {"H1": []}


def test_an_empty_cold_room_is_empty() -> None:
    assert room([]) == ColdRoom()


def test_the_farms_own_day_counts() -> None:
    assert room([lot("H1", "pea", 80.0)]).lots[0].good_until == date(2026, 11, 30)
