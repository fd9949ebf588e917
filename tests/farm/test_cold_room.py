"""From the cold room to the customer."""

from __future__ import annotations

from datetime import date

import pytest

from tests.farm.told import codes, grown
from trayward.farm.entries import (
    Cut,
    Delivered,
    KitReturned,
    LineDelivered,
    LotGrams,
    OrderCancelled,
    OrderPlaced,
    PackCount,
    Packed,
    ProductSet,
    StageChanged,
    ThrownAway,
    TrayCut,
)
from trayward.farm.orders import LineAsked, Order, Part, Product

LOT = "H261202A"
LINES = (LineAsked(line="1", product="radish", quantity=150.0), LineAsked(line="2", product="radish", quantity=1))


def cut_and_ordered():
    """300 g of radish in the cold room, S.2 still growing, and an order of two lines."""
    told = grown()
    order = Order(order="O1", customer="Kite Cafe", due=date(2026, 12, 4), lines=LINES)
    told.say(OrderPlaced(order=order), Cut(harvest=LOT, crop="radish", trays=(TrayCut(tray="S.1", grams=300.0),)))
    assert told.state.findings == []
    return told


def packed(packs=4, grams=200.0, pack_g=50.0, **changed):
    given = {"pack": "P1", "product": "radish", "parts": (LotGrams(harvest=LOT, grams=grams),), **changed}
    return Packed(packs=packs, pack_g=pack_g, **given)


def delivered(*lines, customer="Kite Cafe"):
    return Delivered(delivery="D1", customer=customer, lines=lines)


def test_packing_takes_grams_out_of_the_harvest_lot():
    told = cut_and_ordered()
    assert told.say(packed()) == ()
    assert told.state.harvests[LOT].left_g == 100.0
    lot = told.state.packs["P1"]
    assert (lot.packs, lot.left, lot.parts, lot.packed_at) == (4, 4, {LOT: 200.0}, told.now)


def test_never_more_is_packed_delivered_or_thrown_away_than_is_left():
    told = cut_and_ordered()
    part = LotGrams(harvest=LOT, grams=300.5)
    too_much = (
        packed(packs=6, grams=300.5),
        delivered(LineDelivered(line="O1/1", loose=(part,))),
        ThrownAway(parts=(part,), reason="wilted"),
    )
    for body in too_much:
        assert codes(told.check(body)) == [("wrong", "harvest-short")]
    assert told.check(ThrownAway(parts=(LotGrams(harvest=LOT, grams=300.0),), reason="wilted")) == ()


def test_packs_past_selling_are_thrown_away_but_never_more_than_are_left():
    told = cut_and_ordered()
    told.say(packed(best_before=date(2026, 12, 3)))
    assert codes(told.check(ThrownAway(packs=(PackCount(pack="P1", packs=5),), reason="old"))) == [
        ("wrong", "pack-short")
    ]
    assert told.say(ThrownAway(packs=(PackCount(pack="P1", packs=3),), reason="old")) == ()
    assert told.state.packs["P1"].left == 1
    assert codes(told.check(ThrownAway(reason="old"))) == [("wrong", "nothing-named")]


def test_a_lot_named_twice_counts_as_one():
    half = LotGrams(harvest=LOT, grams=200.0)
    lines = (LineDelivered(line="O1/1", loose=(half,)), LineDelivered(line="O1/2", loose=(half,)))
    assert codes(cut_and_ordered().check(delivered(*lines))) == [("wrong", "harvest-short")]


def test_a_late_record_of_too_much_empties_the_lot_and_no_more():
    told = cut_and_ordered()
    told.say(delivered(LineDelivered(line="O1/1", loose=(LotGrams(harvest=LOT, grams=350.0),))))
    assert told.state.harvests[LOT].left_g == 0.0
    assert told.state.delivered == {"O1/1": 300.0}
    assert codes(told.state.findings) == [("wrong", "harvest-short")]


@pytest.mark.parametrize(
    "body",
    [
        packed(parts=(LotGrams(harvest="H9", grams=200.0),)),
        delivered(LineDelivered(line="O1/1", loose=(LotGrams(harvest="H9", grams=20.0),))),
        ThrownAway(parts=(LotGrams(harvest="H9", grams=20.0),), reason="wilted"),
    ],
)
def test_an_unknown_harvest_lot_is_wrong(body):
    found = cut_and_ordered().check(body)
    assert codes(found) == [("wrong", "harvest-unknown")]
    assert found[0].remedy == f"In the cold room: {LOT}."


def test_packs_and_loose_grams_count_for_their_line():
    told = cut_and_ordered()
    told.say(packed())
    packs = (PackCount(pack="P1", packs=3),)
    loose = (LotGrams(harvest=LOT, grams=20.0),)
    assert told.say(delivered(LineDelivered(line="O1/1", packs=packs, loose=loose))) == ()
    assert told.state.delivered == {"O1/1": 170.0}
    assert (told.state.packs["P1"].left, told.state.harvests[LOT].left_g) == (1, 80.0)
    assert codes(told.check(delivered(LineDelivered(line="O1/2", packs=packs)))) == [("wrong", "pack-short")]
    unknown = (PackCount(pack="P9", packs=1),)
    assert codes(told.check(delivered(LineDelivered(line="O1/2", packs=unknown)))) == [("wrong", "pack-unknown")]


def test_a_live_tray_goes_out_with_its_kit_and_the_kit_comes_back_dirty():
    told = cut_and_ordered()
    assert told.say(delivered(LineDelivered(line="O1/2", trays=("S.2",)))) == ()
    assert told.state.delivered_trays == {"O1/2": 1}
    assert told.state.ended["S.2"].fate == "delivered"
    assert told.state.spots == {}
    tray = told.state.kit["tray"]
    assert (tray.in_use, tray.away) == (2, 2)
    told.say(KitReturned(pool="tray", count=2))
    assert (tray.away, tray.dirty) == (0, 2)
    assert codes(told.check(KitReturned(pool="tray", count=1))) == [("odd", "kit-short")]


def test_a_cut_tray_cannot_be_delivered_live():
    found = cut_and_ordered().check(delivered(LineDelivered(line="O1/2", trays=("S.1",))))
    assert codes(found) == [("wrong", "tray-ended")]


def test_a_delivery_to_a_line_nobody_ordered_or_to_nobody_is_odd():
    loose = (LotGrams(harvest=LOT, grams=20.0),)
    told = cut_and_ordered()
    assert codes(told.check(delivered(LineDelivered(line="O9/1", loose=loose)))) == [("odd", "line-unknown")]
    assert codes(told.check(delivered(LineDelivered(line="O1/1", loose=loose), customer="Nobody"))) == [
        ("odd", "customer-unknown")
    ]
    assert codes(told.check(delivered())) == [("wrong", "nothing-named")]


def test_an_order_that_was_partly_delivered_is_odd_to_cancel():
    told = cut_and_ordered()
    told.say(delivered(LineDelivered(line="O1/1", loose=(LotGrams(harvest=LOT, grams=20.0),))))
    assert codes(told.check(OrderCancelled(order="O1"))) == [("odd", "order-delivered")]


def test_packs_that_say_more_than_went_in_are_odd():
    assert codes(cut_and_ordered().check(packed(packs=5, grams=200.0))) == [("odd", "pack-weight")]
    assert codes(cut_and_ordered().check(packed(packs=3, grams=200.0))) == [("odd", "pack-weight")]


def test_a_pack_lots_name_is_used_once():
    told = cut_and_ordered()
    told.say(packed())
    assert codes(told.say(packed(packs=1, grams=50.0))) == [("wrong", "pack-twice")]
    assert told.state.packs["P1"].packs == 4
    assert told.state.harvests[LOT].left_g == 100.0


def test_a_crop_that_is_not_in_the_product_is_odd():
    told = cut_and_ordered()
    told.say(ProductSet(product=Product(name="pea shoots", parts=(Part(crop="pea"),), pack_g=50.0)))
    assert codes(told.check(packed(product="pea shoots"))) == [("odd", "pack-crop")]


def test_what_has_kept_too_long_is_odd_to_sell_but_not_to_throw_away():
    told = cut_and_ordered()
    told.say(packed(packs=2, grams=100.0, best_before=date(2026, 12, 7)))
    told.say(hours=7 * 24)
    loose = (LotGrams(harvest=LOT, grams=20.0),)
    assert codes(told.check(delivered(LineDelivered(line="O1/1", loose=loose)))) == [("odd", "harvest-old")]
    old = (PackCount(pack="P1", packs=1),)
    assert codes(told.check(delivered(LineDelivered(line="O1/1", packs=old)))) == [("odd", "pack-old")]
    assert told.check(ThrownAway(parts=loose, reason="old")) == ()


@pytest.mark.parametrize("changed", [{"packs": 0}, {"pack_g": 0.0}, {"grams": -1.0}])
def test_packs_of_nothing_are_wrong(changed):
    assert ("wrong", "amount") in codes(cut_and_ordered().check(packed(**changed)))


def test_a_live_tray_of_another_crop_or_not_yet_ready_deserves_a_look():
    told = cut_and_ordered()
    assert told.check(delivered(LineDelivered(line="O1/2", trays=("S.2",)))) == ()
    told.say(StageChanged(trays=("S.2",), stage="light"))
    found = told.check(delivered(LineDelivered(line="O1/2", trays=("S.2",))))
    assert codes(found) == [("odd", "live-unready")]
    assert "nobody has called it ready" in found[0].message
    pea = OrderPlaced(
        order=Order(
            order="O2",
            customer="Kite Cafe",
            due=date(2026, 12, 4),
            lines=(LineAsked(line="1", product="pea", quantity=1, unit="trays"),),
        )
    )
    told.say(pea)
    assert ("odd", "live-crop") in codes(told.check(delivered(LineDelivered(line="O2/1", trays=("S.2",)))))
