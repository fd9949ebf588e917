"""Orders in, packs and deliveries out, at the desk of Lantern Loft."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.errors import DoubtError, InputError, NotFoundError, RefusedError
from trayward.farm.entries import CustomerSet, Delivered, LineDelivered, LotGrams, PackCount, Packed
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, Order, StandingOrder

TUESDAY = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)
TODAY = TUESDAY.date()


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "loft", at=TUESDAY - DAY) as made:
        yield made


def cut(farm: Farm, crop: str, grams: float, at: datetime = TUESDAY) -> str:
    """A harvest lot of a crop, out of a tray sown for it."""
    tray = farm.sow(crop, 1, at=at).names[1]
    farm.begin([tray], "ready", at=at)
    return farm.cut({tray: grams}, at=at, sure=True).names[0]


def ready_tray(farm: Farm, crop: str, at: datetime = TUESDAY) -> str:
    tray = farm.sow(crop, 1, at=at).names[1]
    farm.begin([tray], "ready", at=at)
    return tray


def order(farm: Farm, customer: str, *lines: tuple[str, float, str], due: date = TODAY, at: datetime = TUESDAY) -> str:
    asked = [LineAsked(line=str(n), product=p, quantity=q, unit=u) for n, (p, q, u) in enumerate(lines, 1)]
    return farm.place_order(customer, due, asked, at=at).names[0]


def went(receipt_body: object) -> dict[str, LineDelivered]:
    assert isinstance(receipt_body, Delivered)
    return {line.line: line for line in receipt_body.lines}


NOBODYS_DAY = date(2026, 11, 26)  # a Thursday: no standing order of the loft is due


# Orders ---------------------------------------------------------------------------------------------------------------


def test_an_order_is_placed_changed_and_cancelled(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("broccoli", 100, "g"), due=NOBODYS_DAY)
    assert name == "O261126A"
    assert [(line.line, line.grams) for line in farm.due(NOBODYS_DAY, NOBODYS_DAY, at=TUESDAY)] == [
        ("O261126A/1", 100.0)
    ]
    more = Order(
        order=name,
        customer="Upside Ladle",
        due=NOBODYS_DAY,
        lines=(LineAsked(line="1", product="broccoli", quantity=150),),
    )
    farm.change_order(more, at=TUESDAY)
    assert [line.grams for line in farm.due(NOBODYS_DAY, NOBODYS_DAY, at=TUESDAY)] == [150.0]
    farm.cancel_order(name, "closed that day", at=TUESDAY)
    assert farm.due(NOBODYS_DAY, NOBODYS_DAY, at=TUESDAY) == []
    with pytest.raises(NotFoundError, match="order 'O261126A': the farm has none of that name"):
        farm.cancel_order(name, at=TUESDAY)
    with pytest.raises(NotFoundError, match="order 'O261126A': the farm has none of that name"):
        farm.change_order(more, at=TUESDAY)


def test_a_cancelled_orders_name_is_not_given_again(farm: Farm) -> None:
    """What was delivered for the old order would count for the new one."""
    farm.cancel_order(order(farm, "Upside Ladle", ("broccoli", 100, "g"), due=NOBODYS_DAY), at=TUESDAY)
    assert order(farm, "Upside Ladle", ("kale", 50, "g"), due=NOBODYS_DAY) == "O261126B"


def test_an_order_that_cannot_be_is_refused(farm: Farm) -> None:
    with pytest.raises(NotFoundError, match=r"customer 'Nobody'.*Known: Upside Ladle"):
        order(farm, "Nobody", ("broccoli", 100, "g"))
    with pytest.raises(RefusedError, match="lines = none"):
        order(farm, "Upside Ladle")
    with pytest.raises(RefusedError, match="must be more than 0"):
        order(farm, "Upside Ladle", ("broccoli", 0, "g"))
    with pytest.raises(RefusedError, match="the product has no pack weight"):
        order(farm, "Upside Ladle", ("broccoli", 2, "packs"))


def test_customers_who_share_their_initials_keep_their_own_orders_and_deliveries(farm: Farm) -> None:
    farm.set_customer(Customer(name="Umber Lantern"), at=TUESDAY)
    first = order(farm, "Upside Ladle", ("kale", 40, "g"), due=NOBODYS_DAY)
    second = order(farm, "Umber Lantern", ("kale", 60, "g"), due=NOBODYS_DAY)
    cut(farm, "kale", 150.0, TUESDAY + DAY)
    farm.deliver_due("Umber Lantern", NOBODYS_DAY, at=TUESDAY + 2 * DAY)
    assert farm.state(TUESDAY + 2 * DAY).delivered == {f"{second}/1": 60.0}
    assert first != second


def test_a_standing_order_repeats_pauses_and_changes(farm: Farm) -> None:
    lines = (LineAsked(line="1", product="kale", quantity=40),)
    standing = StandingOrder(
        standing="ladle-thu", customer="Upside Ladle", start=NOBODYS_DAY, rule="FREQ=WEEKLY;BYDAY=TH", lines=lines
    )
    farm.set_standing(standing, at=TUESDAY)
    farm.pause_standing("ladle-thu", date(2026, 12, 3), date(2026, 12, 9), at=TUESDAY)
    due = [line for line in farm.due(TODAY, date(2026, 12, 20), at=TUESDAY) if line.line.startswith("ladle-thu@")]
    assert [line.due for line in due] == [date(2026, 11, 26), date(2026, 12, 10), date(2026, 12, 17)]
    with pytest.raises(InputError, match=r"last day = 2026-12-01: it comes before the first, 2026-12-03"):
        farm.pause_standing("ladle-thu", date(2026, 12, 3), date(2026, 12, 1), at=TUESDAY)
    with pytest.raises(NotFoundError, match="standing order 'ladle-sun': the farm has none of that name"):
        farm.pause_standing("ladle-sun", date(2026, 12, 3), date(2026, 12, 9), at=TUESDAY)
    with pytest.raises(NotFoundError, match="customer 'Nobody'"):
        farm.set_standing(msgspec.structs.replace(standing, customer="Nobody"), at=TUESDAY)
    with pytest.raises(InputError, match="repeat rule = 'FREQ=SOMETIMES': FREQ must be one of"):
        farm.set_standing(msgspec.structs.replace(standing, rule="FREQ=SOMETIMES"), at=TUESDAY)


# Packing --------------------------------------------------------------------------------------------------------------


def test_packs_are_filled_from_the_oldest_lot_first(farm: Farm) -> None:
    old, new = cut(farm, "pea", 100.0), cut(farm, "pea", 300.0, TUESDAY + DAY)
    body = farm.pack("pea punnet", 3, at=TUESDAY + DAY).kept[0].entry.body
    assert isinstance(body, Packed)
    assert body.parts == (LotGrams(harvest=old, grams=100.0), LotGrams(harvest=new, grams=80.0))


def test_a_mix_takes_each_crop_by_its_share(farm: Farm) -> None:
    """Garden mix: broccoli 40 %, kale 25 %, red cabbage 20 %, radish 15 %; 4 packs of 50 g are 200 g."""
    lots = {crop: cut(farm, crop, 150.0) for crop in ("broccoli", "kale", "red cabbage", "radish")}
    farm.pack("garden mix", 4, at=TUESDAY)
    parts = farm.state(TUESDAY).packs["P261124A"].parts
    assert parts == pytest.approx(
        {lots["broccoli"]: 80.0, lots["kale"]: 50.0, lots["red cabbage"]: 40.0, lots["radish"]: 30.0}
    )


def test_too_little_cut_crop_is_refused_with_the_crop_that_is_short(farm: Farm) -> None:
    for crop in ("broccoli", "kale", "red cabbage"):
        cut(farm, crop, 150.0)
    cut(farm, "radish", 25.0)
    with pytest.raises(InputError, match=r"cut radish = 25 g: this takes 30 g\. Cut more, or pack fewer"):
        farm.pack("garden mix", 4, at=TUESDAY)
    with pytest.raises(InputError, match=r"packs = 0: at least 1 is filled"):
        farm.pack("garden mix", 0, at=TUESDAY)
    with pytest.raises(InputError, match=r"net weight = nothing: broccoli has no net weight of a pack"):
        farm.pack("broccoli", 2, at=TUESDAY)


def test_the_whole_of_a_lot_can_be_packed_whatever_its_decimals(farm: Farm) -> None:
    """3 oz are 85.048569375 g; rounded up to a thousandth they would be more than the lot holds."""
    lot = cut(farm, "broccoli", 85.048569375)
    farm.pack("broccoli", 1, pack_g=85.05, at=TUESDAY)
    assert farm.state(TUESDAY).harvests[lot].left_g == 0.0


def test_best_before_comes_from_the_lot_that_goes_off_first(farm: Farm) -> None:
    """In the loft mustard keeps 7 days and radish 5 or more; the radish was cut two days later."""
    cut(farm, "mustard", 150.0)
    for crop in ("radish", "daikon"):
        cut(farm, crop, 200.0, TUESDAY + 2 * DAY)
    farm.pack("fire mix", 5, at=TUESDAY + 2 * DAY)
    state = farm.state(TUESDAY + 2 * DAY)
    days = {lot.crop: lot.cut_at.date() + timedelta(days=lot.cold_room_days) for lot in state.harvests.values()}
    assert days["mustard"] == TODAY + 7 * DAY
    assert state.packs["P261126A"].best_before == min(days.values())
    farm.pack("radish", 1, pack_g=20.0, best_before=date(2026, 11, 28), at=TUESDAY + 2 * DAY)
    assert farm.state(TUESDAY + 2 * DAY).packs["P261126B"].best_before == date(2026, 11, 28)


def test_a_pack_that_is_not_good_beyond_the_day_it_is_filled_deserves_a_look(farm: Farm) -> None:
    lot = cut(farm, "mustard", 150.0)
    keeps = timedelta(days=farm.state(TUESDAY).harvests[lot].cold_room_days)

    def found(after: timedelta, best_before: date | None = None) -> list[tuple[str, str]]:
        at = TUESDAY + after
        receipt = farm.pack("mustard", 1, pack_g=20.0, parts={lot: 20.0}, best_before=best_before, at=at)
        return [(one.severity, one.message) for one in receipt.findings if one.code == "pack-last-day"]

    last = (TUESDAY + keeps).date()
    assert found(keeps - DAY) == []
    assert found(keeps) == [("odd", f"pack lot P{last:%y%m%d}A = best before {last}: that is today.")]
    later = last + DAY
    assert found(keeps + DAY) == [("odd", f"pack lot P{later:%y%m%d}A = best before {last}: that day is over.")]
    assert found(keeps + DAY, later + DAY) == []


def test_best_before_counts_the_farms_own_days() -> None:
    """Cut at 00:30 on 11 June in Dublin, which is still 10 June in UTC."""
    at = datetime(2026, 6, 10, 23, 30, tzinfo=UTC)
    with Farm.create(":memory:", "loft", at=at - DAY) as summer:
        lot = cut(summer, "mustard", 150.0, at)
        receipt = summer.pack("mustard", 1, pack_g=50.0, at=at)
        assert (lot, receipt.names) == ("H260611A", ("P260611A",))
        assert summer.state(at).packs["P260611A"].best_before == date(2026, 6, 18)


def test_crop_past_its_days_is_packed_only_where_it_is_named(farm: Farm) -> None:
    old = cut(farm, "mustard", 150.0)
    later = TUESDAY + 8 * DAY
    with pytest.raises(InputError, match=rf"cut mustard = 0 g: this takes 50 g.*{old} is past its days"):
        farm.pack("mustard", 1, pack_g=50.0, at=later)
    farm.pack("mustard", 1, pack_g=50.0, parts={old: 50.0}, at=later)
    assert farm.state(later).harvests[old].left_g == 100.0


def test_packing_told_late_takes_nothing_that_went_out_since(farm: Farm) -> None:
    first, second = cut(farm, "pea", 100.0), cut(farm, "pea", 100.0)
    farm.throw_away({first: 100.0}, "dropped", at=TUESDAY + 3 * HOUR)
    receipt = farm.pack("pea punnet", 1, at=TUESDAY + HOUR, recorded=TUESDAY + 4 * HOUR)
    assert receipt.findings == ()
    assert farm.state(TUESDAY + 4 * HOUR).harvests[second].left_g == 40.0


# Delivering -----------------------------------------------------------------------------------------------------------


def test_packs_go_out_first_and_loose_grams_fill_what_was_asked_by_weight(farm: Farm) -> None:
    """100 g asked: one pack of 60 g is ready, the other 40 g go out loose."""
    name = order(farm, "Upside Ladle", ("pea", 100, "g"), due=NOBODYS_DAY)
    lot = cut(farm, "pea", 300.0)
    pack = farm.pack("pea", 1, pack_g=60.0, at=TUESDAY).names[0]
    receipt = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY + 2 * DAY)
    line = went(receipt.kept[0].entry.body)[f"{name}/1"]
    assert line.packs == (PackCount(pack=pack, packs=1),)
    assert line.loose == (LotGrams(harvest=lot, grams=40.0),)
    assert receipt.findings == ()


def test_a_line_asked_in_packs_gets_no_loose_grams(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("pea punnet", 3, "packs"), due=NOBODYS_DAY)
    cut(farm, "pea", 300.0)
    pack = farm.pack("pea punnet", 2, at=TUESDAY).names[0]
    body = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY + 2 * DAY).kept[0].entry.body
    assert went(body) == {f"{name}/1": LineDelivered(line=f"{name}/1", packs=(PackCount(pack=pack, packs=2),))}


def test_older_packs_go_out_before_newer_ones_also_after_z(farm: Farm) -> None:
    """P261124AA is packed after P261124B, though a dictionary would have it before."""
    cut(farm, "pea", 400.0)
    cut(farm, "pea", 400.0)
    for _ in range(27):
        farm.pack("pea", 1, pack_g=20.0, at=TUESDAY)
    order(farm, "Upside Ladle", ("pea", 60, "g"), due=NOBODYS_DAY)
    farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY + 2 * DAY)
    left = [name for name, lot in farm.state(TUESDAY + 2 * DAY).packs.items() if not lot.left]
    assert left == ["P261124A", "P261124B", "P261124C"]


def test_a_mix_by_weight_is_limited_by_its_scarcest_part(farm: Farm) -> None:
    """Soup mix is pea 60 %, sunflower 25 %, kale 15 %: 9 g of kale make 60 g of mix."""
    name = order(farm, "Upside Ladle", ("soup mix", 200, "g"), due=NOBODYS_DAY)
    lots = {crop: cut(farm, crop, grams) for crop, grams in (("pea", 300.0), ("sunflower", 300.0), ("kale", 40.0))}
    farm.throw_away({lots["kale"]: 31.0}, "wilted", at=TUESDAY)
    body = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY + 2 * DAY).kept[0].entry.body
    loose = {part.harvest: part.grams for part in went(body)[f"{name}/1"].loose}
    assert loose == pytest.approx({lots["pea"]: 36.0, lots["sunflower"]: 15.0, lots["kale"]: 9.0})


def test_a_pack_weighed_to_a_tenth_of_a_gram_fills_an_order_in_ounces(farm: Farm) -> None:
    """Half an ounce is 14.17 g; its pack says 14.2 g, a scale's nearest, and is all that was asked for."""
    name = order(farm, "Upside Ladle", ("basil", 14.1747615625, "g"), due=NOBODYS_DAY)
    cut(farm, "basil", 80.0)
    pack = farm.pack("basil", 1, pack_g=14.2, at=TUESDAY).names[0]
    body = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY + 2 * DAY).kept[0].entry.body
    assert went(body) == {f"{name}/1": LineDelivered(line=f"{name}/1", packs=(PackCount(pack=pack, packs=1),))}


def test_the_same_crop_may_be_asked_by_weight_and_in_packs_and_live(farm: Farm) -> None:
    name = order(
        farm,
        "Upside Ladle",
        ("pea", 50, "g"),
        ("pea punnet", 2, "packs"),
        ("live pea tray", 1, "trays"),
        due=NOBODYS_DAY,
    )
    lot, tray = cut(farm, "pea", 170.0), ready_tray(farm, "pea")
    farm.pack("pea punnet", 2, at=TUESDAY)
    at = TUESDAY + 2 * DAY
    farm.deliver_due("Upside Ladle", NOBODYS_DAY, trays=[tray], at=at)
    state = farm.state(at)
    assert (state.delivered, state.delivered_trays) == (
        {f"{name}/1": 50.0, f"{name}/2": 120.0},
        {f"{name}/3": 1},
    )
    assert (state.harvests[lot].left_g, state.ended[tray].fate) == (0.0, "delivered")
    assert any(pool.away for pool in state.kit.values()), "its kit went along"


def test_live_trays_go_out_only_where_they_are_named(farm: Farm) -> None:
    order(farm, "Upside Ladle", ("live pea tray", 1, "trays"), due=NOBODYS_DAY)
    tray, more, radish = ready_tray(farm, "pea"), ready_tray(farm, "pea"), ready_tray(farm, "radish")
    at = TUESDAY + 2 * DAY
    with pytest.raises(InputError, match="there is nothing cut or packed for it"):
        farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at)
    for named, left in (([tray, more], more), ([tray, radish], radish)):
        with pytest.raises(InputError, match=rf"trays = {left}: Upside Ladle is not due that many live trays"):
            farm.deliver_due("Upside Ladle", NOBODYS_DAY, trays=named, at=at)
    assert all(farm.state(at).trays[name].fate == "growing" for name in (tray, more, radish))
    farm.deliver_due("Upside Ladle", NOBODYS_DAY, trays=[tray], at=at)
    assert farm.state(at).ended[tray].fate == "delivered"


def test_nothing_is_delivered_twice(farm: Farm) -> None:
    order(farm, "Upside Ladle", ("kale", 60, "g"), due=NOBODYS_DAY)
    lot = cut(farm, "kale", 150.0)
    at = TUESDAY + 2 * DAY
    farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at)
    with pytest.raises(InputError, match=r"delivery = Upside Ladle on 2026-11-26: all of it has been delivered"):
        farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at)
    assert farm.state(at).harvests[lot].left_g == 90.0


def test_a_second_delivery_on_the_same_day_brings_the_rest_under_a_name_of_its_own(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("kale", 100, "g"), due=NOBODYS_DAY)
    cut(farm, "kale", 60.0)
    at = TUESDAY + 2 * DAY
    assert farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at).names == ("D261126A",)
    cut(farm, "kale", 150.0, at)
    second = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at)
    assert second.names == ("D261126B",)
    assert went(second.kept[0].entry.body)[f"{name}/1"].loose[0].grams == 40.0
    assert farm.state(at).delivered == {f"{name}/1": 100.0}


def test_a_delivery_sent_again_with_its_id_is_one_delivery(farm: Farm) -> None:
    order(farm, "Upside Ladle", ("kale", 60, "g"), due=NOBODYS_DAY)
    lot = cut(farm, "kale", 150.0)
    at = TUESDAY + 2 * DAY
    first = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at, ids=["van-0001"])
    again = farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=at, ids=["van-0001"])
    assert (again.kept, again.names) == (first.kept, first.names)
    assert farm.state(at).harvests[lot].left_g == 90.0


def test_a_delivery_wants_somebody_known_with_something_due(farm: Farm) -> None:
    with pytest.raises(NotFoundError, match="customer 'Nobody'"):
        farm.deliver_due("Nobody", NOBODYS_DAY, at=TUESDAY)
    with pytest.raises(InputError, match="nothing is due"):
        farm.deliver_due("Upside Ladle", NOBODYS_DAY, at=TUESDAY)
    with pytest.raises(RefusedError, match="lines = none"):
        farm.deliver("Upside Ladle", [], at=TUESDAY)


def test_what_is_past_its_days_stays_behind(farm: Farm) -> None:
    due = TODAY + 9 * DAY  # a Thursday
    order(farm, "Upside Ladle", ("mustard", 60, "g"), due=due)
    old = cut(farm, "mustard", 150.0)
    farm.pack("mustard", 1, pack_g=30.0, at=TUESDAY)
    at = TUESDAY + 9 * DAY
    with pytest.raises(InputError, match="there is nothing cut or packed for it"):
        farm.deliver_due("Upside Ladle", due, at=at)
    fresh = cut(farm, "mustard", 150.0, at)
    farm.deliver_due("Upside Ladle", due, at=at)
    state = farm.state(at)
    assert (state.harvests[old].left_g, state.harvests[fresh].left_g) == (120.0, 90.0)


def test_a_line_is_delivered_on_another_day_where_it_is_named(farm: Farm) -> None:
    """Friday's line goes out on Thursday; on Friday it is not asked for again."""
    cut(farm, "radish", 200.0)
    farm.deliver_due("Upside Ladle", date(2026, 11, 27), at=TUESDAY + 2 * DAY)
    assert list(farm.state(TUESDAY + 2 * DAY).delivered.items()) == [("ladle-fri@2026-11-27/radish", 60.0)]
    with pytest.raises(InputError, match="there is nothing cut or packed for it"):
        farm.deliver_due("Upside Ladle", date(2026, 11, 27), at=TUESDAY + 3 * DAY)


def test_more_than_was_asked_is_kept_and_odd(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("kale", 60, "g"), ("live pea tray", 1, "trays"), due=NOBODYS_DAY)
    lot = cut(farm, "kale", 150.0)
    good_weight = LineDelivered(line=f"{name}/1", loose=(LotGrams(harvest=lot, grams=65.0),))
    assert farm.deliver("Upside Ladle", [good_weight], at=TUESDAY).findings == ()
    again = farm.deliver("Upside Ladle", [good_weight], at=TUESDAY)
    assert [(found.code, found.severity, found.message) for found in again.findings] == [
        ("line-over", "odd", "line O261126A/1 = 130 g: 60 g were asked for.")
    ]
    trays = tuple(ready_tray(farm, "pea") for _ in range(2))
    over = farm.deliver("Upside Ladle", [LineDelivered(line=f"{name}/2", trays=trays)], at=TUESDAY)
    assert [found.message for found in over.findings] == ["line O261126A/2 = 2 trays: 1 were asked for."]


def test_somebody_elses_line_and_a_line_nobody_ordered_are_odd(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("kale", 60, "g"), due=NOBODYS_DAY)
    lot = cut(farm, "kale", 150.0)
    line = LineDelivered(line=f"{name}/1", loose=(LotGrams(harvest=lot, grams=60.0),))
    assert [found.code for found in farm.deliver("Moth & Marrow", [line], at=TUESDAY).findings] == ["line-customer"]
    strange = msgspec.structs.replace(line, line="O261126Z/1")
    assert [found.code for found in farm.deliver("Upside Ladle", [strange], at=TUESDAY).findings] == ["line-unknown"]


def test_more_than_the_cold_room_holds_is_refused(farm: Farm) -> None:
    name = order(farm, "Upside Ladle", ("kale", 200, "g"), due=NOBODYS_DAY)
    lot = cut(farm, "kale", 150.0)
    line = LineDelivered(line=f"{name}/1", loose=(LotGrams(harvest=lot, grams=150.1),))
    with pytest.raises(RefusedError, match=r"150 g left: 150\.1 g of it is too much to deliver"):
        farm.deliver("Upside Ladle", [line], at=TUESDAY)


# Throwing away --------------------------------------------------------------------------------------------------------


def test_loose_crop_and_packs_are_thrown_away(farm: Farm) -> None:
    lot = cut(farm, "pea", 300.0)
    pack = farm.pack("pea punnet", 3, at=TUESDAY).names[0]
    farm.throw_away({lot: 20.0}, "wilted", packs={pack: 2}, at=TUESDAY)
    state = farm.state(TUESDAY)
    assert (state.harvests[lot].left_g, state.packs[pack].left) == (100.0, 1)
    with pytest.raises(RefusedError, match="1 packs left: 2 cannot be thrown away"):
        farm.throw_away({}, "wilted", packs={pack: 2}, at=TUESDAY)
    with pytest.raises(RefusedError, match="lots = none: at least one must be named"):
        farm.throw_away({}, "wilted", at=TUESDAY)


def test_a_crops_own_name_is_a_product_and_other_names_are_not(farm: Farm) -> None:
    cut(farm, "kale", 150.0)
    assert farm.pack("kale", 1, pack_g=50.0, at=TUESDAY).findings == ()
    with pytest.raises(NotFoundError, match="product 'sunflower shoots': the farm has none of that name"):
        farm.pack("sunflower shoots", 1, pack_g=50.0, at=TUESDAY)


# Said likewise by every way in ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda farm, **said: farm.set_customer(Customer(name=" "), **said), "customer = nothing: it has to be some"),
        (lambda farm, **said: farm.set_customer(Customer(name="upside  ladles"), **said),
         "customer = upside  ladles: it is hardly told from Upside Ladle. Say Upside Ladle, or take"),
        (lambda farm, **said: farm.set_kit(Pool(name="\t", count=3), **said), "kit = nothing: it has to be some words"),
        (lambda farm, **said: farm.set_kit(Pool(name="Mesh Mats", count=3), **said),
         "kit = Mesh Mats: it is hardly told from mesh mat"),
        (lambda farm, **said: farm.sow("broccoli", 1, sowing=" ", **said), "sowing = nothing: it has to be some words"),
        (lambda farm, **said: farm.note("all well", **(said | {"by": " "})), "by = nothing: it has to be some words"),
    ],
)  # fmt: skip
def test_nothing_is_kept_under_no_name_or_one_hardly_told_from_another(
    farm: Farm, call: Callable[..., object], said: str
) -> None:
    before = farm.book.head().seq
    for at in (TUESDAY, TUESDAY - DAY / 2):  # as it happens, and late
        with pytest.raises(InputError, match=said):
            call(farm, at=at, recorded=TUESDAY)
    assert farm.book.head().seq == before


def test_a_customer_of_a_known_name_may_be_changed_where_another_is_hardly_told_from_it(farm: Farm) -> None:
    farm.record(CustomerSet(customer=Customer(name="Upside Ladles")), at=TUESDAY)  # by a setup file
    farm.set_customer(Customer(name="Upside Ladle", weight=2.0), at=TUESDAY + HOUR)
    assert farm.state(TUESDAY + HOUR).customers["Upside Ladle"].weight == 2.0


def test_a_day_of_another_year_is_asked_about_once_and_again_when_it_is_changed(farm: Farm) -> None:
    line = LineAsked(line="1", product="basil", quantity=100.0)
    with pytest.raises(DoubtError, match=r"due = 2036-11-26: that is .* Did you mean 2026-11-26\?"):
        farm.place_order("Upside Ladle", date(2036, 11, 26), [line], at=TUESDAY)
    name = farm.place_order("Upside Ladle", NOBODYS_DAY, [line], at=TUESDAY).names[0]
    held = farm.state(TUESDAY).orders[name]
    farm.change_order(msgspec.structs.replace(held, note="before ten"), at=TUESDAY + 9 * DAY)  # its day stays, past
    with pytest.raises(DoubtError, match=r"due = 2026-11-25: is past; today is 2026-12-03"):
        farm.change_order(msgspec.structs.replace(held, due=date(2026, 11, 25)), at=TUESDAY + 9 * DAY)


def test_a_repeat_that_never_comes_round_is_refused_and_leaving_out_its_last_day_is_not(farm: Farm) -> None:
    lines = (LineAsked(line="1", product="basil", quantity=100.0),)
    made = StandingOrder(
        standing="s1", customer="Upside Ladle", start=TODAY, rule="FREQ=WEEKLY;UNTIL=20261120", lines=lines
    )
    with pytest.raises(InputError, match=r"repeat rule = .*: no delivery day comes of it"):
        farm.set_standing(made, at=TUESDAY)
    once = msgspec.structs.replace(made, rule="FREQ=WEEKLY;COUNT=1")
    farm.set_standing(once, at=TUESDAY)
    assert farm.set_standing(msgspec.structs.replace(once, except_on=(TODAY,)), at=TUESDAY).kept


def test_cut_crop_is_thrown_away_for_a_reason(farm: Farm) -> None:
    lot = cut(farm, "broccoli", 100.0)
    with pytest.raises(InputError, match="reason = nothing: what is thrown away has one"):
        farm.throw_away({lot: 10.0}, " ", at=TUESDAY + HOUR)


def test_what_is_on_order_comes_on_a_day_to_come(farm: Farm) -> None:
    with pytest.raises(InputError, match=r"expected = 2026-11-23: that day is over\. Say when it comes"):
        farm.receive_seed("RAD-9", "radish", 500.0, expected_on=TODAY - DAY, at=TUESDAY)
    assert farm.receive_seed("RAD-9", "radish", 500.0, expected_on=TODAY, at=TUESDAY).names == ("RAD-9",)


def test_a_measure_hardly_told_from_one_the_farm_reckons_with_is_refused(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=TUESDAY).names[1]
    for what, said in (("heigth", "hardly told from height"), ("height", "the book calls it height_mm")):
        with pytest.raises(InputError, match=said):
            farm.measure([tray], what, 42.0, "mm", at=TUESDAY + HOUR)
    assert farm.measure([tray], "leaf pairs", 2.0, at=TUESDAY + HOUR).kept


def test_packs_of_a_name_that_nobody_sells_are_answered_with_those_nearly_so(farm: Farm) -> None:
    near = r"product 'broccol': the farm has none of that name\. Did you mean broccoli"
    with pytest.raises(NotFoundError, match=near):
        farm.pack("broccol", 2, at=TUESDAY)
    with pytest.raises(NotFoundError, match=near):
        farm.pack("broccol", 2, pack_g=40.0, at=TUESDAY)
