"""Strip, wash, sanitise, pack and deliver."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.rounds.loft import DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.errors import InputError
from trayward.farm.entries import (
    CustomerSet,
    Cut,
    Delivered,
    KitSet,
    LineDelivered,
    LotGrams,
    OrderPlaced,
    PackCount,
    Packed,
    ProductSet,
    RoundAnswered,
    Sanitised,
    StageChanged,
    Stripped,
    TrayCut,
)
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.rounds.amount_words import amounts_words
from trayward.rounds.done import cut_from_row, sanitise_from_row, strip_from_row, wash_from_row
from trayward.rounds.types import RoundRow

WED = date(2026, 11, 25)
THU = date(2026, 11, 26)

PACKED_BROCCOLI = ProductSet(product=Product(name="broccoli pack", parts=(Part(crop="broccoli"),), pack_g=50.0))
MIX = ProductSet(
    product=Product(
        name="house mix", parts=(Part(crop="broccoli", share=0.5), Part(crop="radish", share=0.5)), pack_g=40.0
    )
)


def order(name: str, due: date, quantity: float, product: str, unit: str = "g", who: str = "Kite Cafe") -> OrderPlaced:
    line = LineAsked(line="1", product=product, quantity=quantity, unit=unit)
    return OrderPlaced(order=Order(order=name, customer=who, due=due, lines=(line,)))


def with_crop(*more: object, broccoli: float = 200.0, radish: float = 0.0) -> Loft:
    """Crop cut on Wednesday morning, its trays stripped and nothing to wash."""
    loft = lantern_loft(PACKED_BROCCOLI, MIX, *more)
    loft.say(on_day(0, 12), sow("S", "A2.1", stage="ready"), sow("T", "A2.2", stage="ready", crop="radish"))
    for tray, crop, grams in (("S.1", "broccoli", broccoli), ("T.1", "radish", radish)):
        if grams:
            cut = Cut(harvest=f"H-{crop}", crop=crop, trays=(TrayCut(tray=tray, grams=grams),))
            loft.say(DAY_ONE, cut, Stripped(trays=(tray,)))
        else:
            loft.say(DAY_ONE, RoundAnswered(trays=(tray,), cue="not yet"))
    for pool in loft.state.kit.values():
        pool.dirty = 0
    return loft


def amounts(row: RoundRow) -> dict[str, float]:
    return {amount.what: amount.value for amount in row.amounts}


# Strip, wash, sanitise ------------------------------------------------------------------------------------------------


def test_cut_trays_are_stripped_once_sowing_by_sowing_and_overdue_two_rounds_later():
    loft = lantern_loft()
    loft.say(on_day(0, 12), sow("S", "A2.1", "A2.2", stage="ready"))
    row = loft.row(DAY_ONE, "cut")
    loft.say(DAY_ONE, *cut_from_row(loft.state, row, harvest="H1", grams=190.0))
    strip = loft.row(DAY_ONE, "strip")
    assert (strip.row, strip.trays, strip.minutes) == ("strip-S", ("S.1", "S.2"), 8.0)
    assert not strip.overdue
    assert loft.row(on_day(2, 7.5), "strip").overdue
    loft.say(on_day(2, 8), strip_from_row(strip))
    assert loft.rows(on_day(2, 8), "strip") == []


def test_one_weight_for_the_row_is_shared_evenly_and_single_weights_stand():
    loft = lantern_loft()
    loft.say(on_day(0, 12), sow("S", "A2.1", "A2.2", stage="ready"))
    row = loft.row(DAY_ONE, "cut")
    (shared,) = cut_from_row(loft.state, row, harvest="H1", grams=190.0)
    assert [cut.grams for cut in shared.trays] == [95.0, 95.0]
    (single,) = cut_from_row(loft.state, row, harvest="H1", grams={"S.2": 101.0}, height_mm=20.0)
    assert ([(cut.tray, cut.grams) for cut in single.trays], single.height_mm) == ([("S.2", 101.0)], 20.0)
    with pytest.raises(InputError, match=r"trays = X\.1: row cut-S-A2 is about S\.1 and S\.2"):
        cut_from_row(loft.state, row, harvest="H1", grams={"X.1": 1.0})


def test_cutting_a_tray_not_yet_called_ready_calls_it_ready_first():
    loft = lantern_loft()
    loft.say(on_day(-4, 8), sow("S", "A2.1", stage="light"))
    row = loft.row(DAY_ONE, "look")
    as_cut = RoundRow(**{**{name: getattr(row, name) for name in row.__struct_fields__}, "kind": "cut"})
    bodies = cut_from_row(loft.state, as_cut, harvest="H1", grams=95.0, round_name="2026-11-25 morning")
    assert bodies[:2] == (
        RoundAnswered(trays=("S.1",), round="2026-11-25 morning", cue="ready"),
        StageChanged(trays=("S.1",), stage="ready"),
    )
    assert loft.say(DAY_ONE, *bodies) == []  # nothing odd about it: no cut before it was ready


def test_dirty_kit_is_washed_and_dries():
    loft = lantern_loft()
    loft.state.kit["mesh mat"].dirty = 5
    loft.state.kit["mesh mat"].in_use = 35
    row = loft.row(DAY_ONE, "wash")
    assert (row.row, row.pool, row.count) == ("wash-mesh-mat", "mesh mat", 5)
    assert "Scrape, rinse warm, wash with food-safe soap, rinse hot, stand up to dry" in row.words
    assert "0 clean and dry now" in row.why
    loft.say(DAY_ONE, wash_from_row(row, count=3))
    assert loft.row(DAY_ONE, "wash").count == 2


def test_a_farm_that_sells_is_reminded_of_its_local_rules_and_a_home_is_not():
    for sells, reminded in ((True, True), (False, False)):
        loft = lantern_loft(settings=FarmSettings(name="Lantern Loft", sells=sells))
        loft.state.kit["cover"].dirty = 1
        assert ("sanitise too as your local rules ask" in loft.row(DAY_ONE, "wash").words) == reminded


def test_a_pool_that_is_sanitised_has_a_row_of_its_own_that_defers_to_the_label():
    loft = lantern_loft(KitSet(pool=Pool(name="solid tray", count=40, sanitise=True, minutes_wash=0.5)))
    loft.state.kit["solid tray"].dirty = 4
    wash = loft.row(DAY_ONE, "wash")
    assert wash.minutes == 2.0
    loft.say(DAY_ONE, wash_from_row(wash))
    row = loft.row(DAY_ONE, "sanitise")
    assert (row.pool, row.count) == ("solid tray", 4)
    assert "label" in row.words + row.why
    assert "local codes" in row.why
    body = sanitise_from_row(row, agent="as the label says", contact_min=1.0)
    assert body == Sanitised(pool="solid tray", count=4, agent="as the label says", contact_min=1.0)
    loft.say(DAY_ONE, body)
    assert loft.round(DAY_ONE).rows == ()


# Pack and deliver -----------------------------------------------------------------------------------------------------


def test_packs_for_tomorrow_are_packed_today_from_the_oldest_crop():
    loft = with_crop(order("O1", THU, 3, "broccoli pack", "packs"))
    row = loft.row(on_day(1, 9), "pack", "deliver")
    assert (row.kind, row.row, row.count, row.product) == ("pack", "pack-broccoli-pack-1126", 3, "broccoli pack")
    assert row.words == "Pack: broccoli pack, 3 packs of 50 g. For Kite Cafe, Thu 26 Nov."
    assert amounts(row) == {"net weight of a pack": 50.0, "of H-broccoli": 150.0}
    assert row.lines == ("O1/1",)


def test_the_net_weight_is_that_of_a_pack_not_of_a_tray():
    loft = with_crop(order("O1", THU, 3, "broccoli pack", "packs"))
    row = loft.row(on_day(1, 9), "pack", "deliver")
    words = "Net weight of a pack 50 g, on the scale; of H-broccoli 150 g."
    assert amounts_words(row.amounts, ShownUnits()) == words


def test_what_is_packed_is_not_packed_again_and_is_delivered_on_its_day():
    loft = with_crop(order("O1", THU, 3, "broccoli pack", "packs"))
    parts = (LotGrams(harvest="H-broccoli", grams=150.0),)
    loft.say(on_day(1, 9), Packed(pack="P1", product="broccoli pack", packs=3, pack_g=50.0, parts=parts))
    assert loft.rows(on_day(1, 10), "pack", "deliver") == []
    row = loft.row(on_day(2, 7.5), "pack", "deliver")
    assert (row.kind, row.row, row.customer, row.lots) == ("deliver", "deliver-kite-cafe-1126", "Kite Cafe", ("P1",))
    assert row.words == "Deliver: Kite Cafe. 3 packs of broccoli pack."
    out = LineDelivered(line="O1/1", packs=(PackCount(pack="P1", packs=3),))
    loft.say(on_day(2, 8), Delivered(delivery="D1", customer="Kite Cafe", lines=(out,)))
    assert loft.rows(on_day(2, 9), "pack", "deliver") == []


def test_a_mix_is_packed_only_as_far_as_its_scarcest_part_goes():
    loft = with_crop(order("O1", THU, 5, "house mix", "packs"), broccoli=200.0, radish=70.0)
    row = loft.row(on_day(1, 9), "pack")
    # 70 g of radish at half a 40 g pack each: 3 packs, 60 g of each crop; 2 packs, 80 g, are missing.
    assert row.count == 3
    assert amounts(row) == {"net weight of a pack": 40.0, "of H-broccoli": 60.0, "of H-radish": 60.0}
    assert row.why == "House mix for Kite Cafe is short by 80 g, for want of radish."


LOOSE_MIX = ProductSet(
    product=Product(name="soup mix", parts=(Part(crop="broccoli", share=0.6), Part(crop="radish", share=0.4)))
)


def test_a_scrap_of_a_mix_is_not_asked_to_be_packed_but_said_with_the_crop_that_is_scarce():
    # 2 g of radish at 0.4 of the mix is enough for 5 g of 200 g.
    loft = with_crop(LOOSE_MIX, order("O1", THU, 200.0, "soup mix"), radish=2.0)
    assert loft.rows(on_day(1, 9), "pack") == []
    said = "soup mix: only 5 g of 200 g is there, for want of radish; leave it out, or agree on less."
    assert f"Kite Cafe, Thu 26 Nov: {said}" in loft.round(on_day(1, 9)).notes
    assert f"Kite Cafe, due today: 200 g of soup mix. S{said[1:]}" in loft.round(on_day(2, 9)).notes


def test_a_scrap_left_by_one_line_is_there_for_who_wants_less():
    loft = with_crop(
        LOOSE_MIX, order("O1", THU, 200.0, "soup mix"), order("O2", THU, 5.0, "radish"), radish=6.0, broccoli=6.0
    )
    (row,) = loft.rows(on_day(1, 9), "pack")
    assert row.words == "Pack: radish, 1 pack of 5 g. For Kite Cafe, Thu 26 Nov."


def test_a_weight_that_is_short_says_so_where_it_asks_to_pack():
    loft = with_crop(LOOSE_MIX, order("O1", THU, 200.0, "soup mix"), radish=40.0)
    row = loft.row(on_day(1, 9), "pack")
    assert row.words == "Pack: soup mix, 1 pack of 100 g, short of the 200 g asked for. For Kite Cafe, Thu 26 Nov."
    assert row.why == "Soup mix for Kite Cafe is short by 100 g, for want of radish."


def test_less_than_one_pack_is_left_out_and_said():
    loft = with_crop(order("O1", WED, 2, "broccoli pack", "packs"), broccoli=30.0)
    assert loft.rows(on_day(1, 9), "pack", "deliver") == []
    said = "Kite Cafe, due today: 2 packs of broccoli pack. Broccoli pack: only 30 g for a 50 g pack; leave it out."
    assert said in loft.round(on_day(1, 9)).notes


def test_at_home_a_scrap_is_taken_home_too():
    home = CustomerSet(customer=Customer(name="Home", home=True))
    loft = with_crop(home, order("O1", WED, 95.0, "broccoli", who="Home"), broccoli=10.0)
    assert loft.row(on_day(1, 9), "pack", "deliver").words == "Take home: 95 g of broccoli."


def test_nothing_cut_means_nothing_to_pack_or_deliver_but_it_is_said_what_is_owed():
    loft = with_crop(order("O1", WED, 100.0, "radish"))
    assert loft.rows(on_day(1, 9), "pack", "deliver") == []
    assert "Kite Cafe, due today: 100 g of radish. Nothing is cut or ready for it." in loft.round(on_day(1, 9)).notes


def test_a_delivery_with_something_at_hand_says_what_it_is_short_of():
    loft = with_crop(order("O1", WED, 250.0, "broccoli"))
    assert loft.row(on_day(1, 9), "deliver").why == "Broccoli for Kite Cafe is short by 50 g."


def test_what_is_due_today_gets_the_crop_before_what_was_missed():
    loft = with_crop(order("O1", date(2026, 11, 24), 150.0, "broccoli"), order("O2", WED, 150.0, "broccoli"))
    rows = {row.row: row for row in loft.rows(on_day(1, 9), "deliver")}
    assert rows["deliver-kite-cafe-1125"].why == ""
    assert rows["deliver-kite-cafe-1124"].why.endswith("Broccoli for Kite Cafe is short by 100 g.")


def test_earlier_lines_get_the_crop_first():
    loft = with_crop(order("O1", WED, 150.0, "broccoli"), order("O2", THU, 150.0, "broccoli"))
    rows = {row.row: row for row in loft.rows(on_day(1, 9), "pack")}
    assert rows["pack-o1-1"].amounts[0].value == 150.0
    assert rows["pack-o2-1"].amounts[0].value == 50.0
    assert rows["pack-o2-1"].why == "Broccoli for Kite Cafe is short by 100 g."


def for_two(grams: float) -> Loft:
    """Little broccoli for two customers on one day; Ladle pays more by the gram."""
    priced = [
        OrderPlaced(
            order=Order(
                order=name,
                customer=who,
                due=WED,
                lines=(LineAsked(line="1", product="broccoli", quantity=100.0, unit="g", price=price),),
            )
        )
        for name, who, price in (("O1", "Kite Cafe", 0.03), ("O2", "Ladle", 0.06))
    ]
    return with_crop(CustomerSet(customer=Customer(name="Ladle")), *priced, broccoli=grams)


def test_who_goes_short_is_told_who_was_served_first_and_why():
    rows = {row.row: row for row in for_two(150.0).rows(on_day(1, 9), "pack", "deliver")}
    said = "Broccoli for Kite Cafe is short by 50 g; served first: Ladle (brings more by the gram)."
    assert rows["pack-o1-1"].why == rows["deliver-kite-cafe-1125"].why == said
    assert rows["pack-o2-1"].why == rows["deliver-ladle-1125"].why == ""


def test_a_bag_is_for_whom_it_was_weighed_out_though_another_is_served_first():
    """Else the bag goes to who pays more, and the row that was answered comes again."""
    loft = for_two(150.0)
    parts = (LotGrams(harvest="H-broccoli", grams=50.0),)
    loft.say(on_day(1, 9), Packed(pack="P1", product="broccoli", packs=1, pack_g=50.0, parts=parts))
    rows = {row.row: row for row in loft.rows(on_day(1, 10), "pack", "deliver")}
    assert "pack-o1-1" not in rows
    assert amounts(rows["pack-o2-1"])["of H-broccoli"] == 100.0
    assert rows["deliver-kite-cafe-1125"].lots == ("P1",)
    assert rows["deliver-kite-cafe-1125"].why.startswith("Broccoli for Kite Cafe is short by 50 g; served first: Ladle")


def test_who_gets_nothing_because_another_is_served_first_is_told_so_and_not_that_nothing_was_cut():
    found = for_two(100.0).round(on_day(1, 9))
    assert [row.customer for row in found.rows if row.kind == "deliver"] == ["Ladle"]
    assert (
        "Kite Cafe, due today: 100 g of broccoli. "
        "Nothing is left for it; served first: Ladle (brings more by the gram)."
    ) in found.notes


def test_a_line_that_did_not_go_out_is_overdue_for_a_week():
    loft = with_crop(order("O1", WED, 100.0, "broccoli"))
    row = loft.row(on_day(2, 9), "deliver")
    assert (row.overdue, row.since) == (True, on_day(2, 0))
    assert row.why.startswith("Was due Wed 25 Nov.")
    assert loft.round(on_day(2, 9)).rows[0].overdue
    assert loft.rows(on_day(8, 9), "deliver") != []
    assert loft.rows(on_day(9, 9), "deliver") == []


def test_live_trays_go_out_from_the_ready_ones_and_a_missing_one_is_said():
    loft = with_crop(order("O1", WED, 2, "radish", "trays"))
    row = loft.row(on_day(1, 9), "deliver")
    assert (row.trays, row.words) == (("T.1",), "Deliver: Kite Cafe. 2 live trays of radish.")
    assert row.why == "Radish is short by 1 tray that is ready."


def test_the_growers_own_table_is_not_packed_for():
    home = CustomerSet(customer=Customer(name="Home", home=True))
    loft = with_crop(home, order("O1", WED, 95.0, "broccoli", who="Home"))
    row = loft.row(on_day(1, 9), "pack", "deliver")
    assert row.words == "Take home: 95 g of broccoli."


def test_crop_past_its_days_in_the_cold_room_is_named_and_not_packed():
    loft = with_crop(order("O1", WED + timedelta(days=11), 100.0, "broccoli"))
    kept = loft.state.harvests["H-broccoli"].cold_room_days
    assert kept == 10
    assert [row.kind for row in loft.rows(on_day(11, 9), "pack", "deliver")] == ["pack"]
    late = loft.round(on_day(12, 9))
    assert [row.kind for row in late.rows if row.kind in ("pack", "deliver")] == []
    assert any(note.startswith("Kite Cafe, due today") for note in late.notes)
    assert any(note.startswith("broccoli of H-broccoli, 200 g: more than 10 days") for note in late.notes)


def test_what_was_due_before_the_book_began_is_not_asked_for():
    loft = lantern_loft()
    loft.say(on_day(0, 12), order("early", date(2026, 11, 23), 100.0, "broccoli"))
    loft.say(on_day(0, 12), order("since", date(2026, 11, 24), 100.0, "broccoli"))
    owed = [note for note in loft.round(DAY_ONE).notes if note.startswith("Kite Cafe")]
    assert owed == ["Kite Cafe, was due Tue 24 Nov: 100 g of broccoli. Nothing is cut or ready for it."]
