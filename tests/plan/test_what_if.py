"""What is supposed changes the copy, and of it only what is supposed; two plans are held side by side."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.plan import farms
from tests.plan.farms import NOW, day, farm, order, pool, recipe
from trayward.errors import InputError, NotFoundError, PlanError
from trayward.farm.codec import encode_state
from trayward.farm.due import lines_due
from trayward.farm.kit import Drying
from trayward.farm.orders import Customer, LineAsked, Part, Product, StandingOrder
from trayward.farm.places import Lamp
from trayward.farm.recipes import KitNeed
from trayward.farm.settings import Money
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.outlook.ahead import look_ahead
from trayward.plan.days import Days
from trayward.plan.limits import HANDS, LIT, Limits
from trayward.plan.seed import seed_stock
from trayward.plan.supposed import SupposedState, copied
from trayward.plan.what_if import (
    Cost,
    CropGone,
    DaysOff,
    MoreHands,
    MoreKit,
    MoreSeed,
    MoreShelves,
    NewOrder,
    NewStanding,
    OrdersTimes,
    Price,
    PricesTimes,
    ProductGone,
    RecipeGone,
    SeedGone,
    SeedLate,
    ShelfGone,
    Supposition,
    TraysLost,
    as_it_might_be,
    same_lessons,
)

TUESDAYS = StandingOrder(
    standing="ladle-tue",
    customer="Copper Ladle",
    start=day(1),
    rule="FREQ=WEEKLY;BYDAY=TU",
    lines=(
        LineAsked(line="radish", product="radish", quantity=100.0),
        LineAsked(line="garden-mix", product="garden mix", quantity=3.0, unit="packs", price=4.0),
    ),
)
MIX = Product(
    name="garden mix",
    parts=(Part(crop="radish", share=0.5), Part(crop="kale", share=0.3), Part(crop="pea", share=0.2)),
    pack_g=50.0,
    price=3.8,
    price_per="pack",
)
LOOSE = Product(name="radish", parts=(Part(crop="radish"),), price=4.6)


def lantern() -> FarmState:
    """A farm with something of everything, and one tray standing."""
    kit = pool("mesh mat", 6, in_use=1)
    kit.drying = [Drying(NOW + timedelta(hours=2), 1)]
    state = farm(
        order(8, 300.0, name="O1"),
        order(9, 2.0, product="kale tray", unit="trays", price=15.0, name="O2", customer="Moth and Marrow"),
        recipes=(recipe("radish", kit=(KitNeed(pool="mesh mat"),)), recipe("kale"), recipe("pea")),
        dark=4,
        dark_stack=2,
        lit=8,
        kit=(kit,),
        work=(300.0,) * 6 + (0.0,),
        days_off=(day(3),),
        money=Money(wage_h=15.0, energy_kwh=0.3, packaging=0.2),
        products=(
            MIX,
            LOOSE,
            Product(name="kale tray", parts=(Part(crop="kale"),), live=True, price=15.0, price_per="tray"),
        ),
        customers=(Customer(name="Copper Ladle"), Customer(name="Moth and Marrow", weight=2.0)),
    )
    state.shelves["L"] = msgspec.structs.replace(state.shelves["L"], lamp=Lamp(count=2, watts=36.0, hours=16.0))
    state.standing["ladle-tue"] = TUESDAYS
    state.seed["on order"] = farms.lot("pea", 800.0, name="on order", expected=day(5))
    state.trays["T1"] = Tray(
        tray="T1", sowing="S1", recipe="radish", crop="radish", sown_at=NOW - timedelta(days=3), seed_g=10.0,
        lots=("lot radish",), spot="L.1", steps=[StageStep(stage="light", since=NOW - timedelta(days=1), spot="L.1")],
        kit={"mesh mat": 1},
    )  # fmt: skip
    state.spots["L.1"] = "T1"
    return state


def might_be(*what: Supposition, state: FarmState | None = None) -> SupposedState:
    return as_it_might_be(state or lantern(), what, NOW)


def limits_of(state: FarmState, weeks: int = 3) -> Limits:
    assert state.settings is not None
    return Limits(state, state.settings, Days(state.settings, day(0), weeks * 7), NOW)


def due(state: FarmState, last: int = 20) -> dict[str, tuple[float, int]]:
    """Line -> grams and trays, of all lines due in the plan's days."""
    return {line.line: (line.grams, line.trays) for line in lines_due(state, day(0), day(last))}


# Nothing else is changed ----------------------------------------------------------------------------------------------

NEW_ORDER = msgspec.structs.replace(order(10, 50.0, name="what-if-1"), customer="Thimble Corner")
NEW_STANDING = msgspec.structs.replace(TUESDAYS, standing="what-if-1", customer="Thimble Corner")
EACH = [
    (MoreShelves(count=1, kind="lit", spots=4), {"shelves"}),
    (MoreShelves(count=2, kind="dark", spots=4, stack=2, first=day(5)), {"shelves", "swings"}),
    (ShelfGone(shelf="L"), {"shelves"}),
    (ShelfGone(shelf="L", first=day(3), last=day(6)), {"swings"}),
    (MoreKit(pool="mesh mat", count=10), {"kit"}),
    (MoreKit(pool="mesh mat", count=-2, last=day(6)), {"swings"}),
    (DaysOff(first=day(8), last=day(9)), {"settings"}),
    (DaysOff(weekdays=(0,)), {"settings"}),
    (MoreHands(minutes=120.0, weekdays=(1,)), {"settings"}),
    (MoreHands(minutes=-30.0), {"settings"}),
    (MoreHands(minutes=60.0, first=day(8), last=day(8)), {"swings"}),
    (MoreHands(minutes=60.0, first=day(3), last=day(3)), {"settings", "swings"}),
    (NewStanding(standing=NEW_STANDING), {"standing", "customers"}),
    (NewOrder(order=NEW_ORDER), {"orders", "order_placed", "customers"}),
    (OrdersTimes(names=("ladle-tue",), factor=0.0), {"standing"}),
    (OrdersTimes(names=("ladle-tue", "O1"), factor=2.0), {"standing", "orders"}),
    (OrdersTimes(names=("O1",), factor=0.0), {"orders"}),
    (OrdersTimes(names=("O2",), factor=0.0, whose="Moth and Marrow"), {"orders", "customers"}),
    (CropGone(crop="kale"), {"dropped_recipes", "products", "orders"}),
    (CropGone(crop="kale", asked=True), {"dropped_recipes"}),
    (RecipeGone(recipe="pea"), {"dropped_recipes"}),
    (ProductGone(product="garden mix"), {"standing"}),
    (TraysLost(trays=("T1",)), {"trays", "spots", "kit"}),
    (Price(product="radish", price=5.5, per="100 g"), {"products"}),
    (PricesTimes(factor=1.1), {"products", "standing", "orders"}),
    (Cost(what="wage_h", amount=18.0), {"settings"}),
    (SeedLate(lot="on order", comes_on=day(12)), {"seed"}),
    (SeedGone(lot="lot kale"), {"seed"}),
    (MoreSeed(crop="kale", grams=500.0), {"seed"}),
]  # fmt: skip


@pytest.mark.parametrize(("what", "fields"), EACH, ids=lambda value: type(value).__name__)
def test_what_is_supposed_changes_what_it_speaks_of_and_nothing_else(what: Supposition, fields: set[str]) -> None:
    state, before = lantern(), encode_state(lantern())
    other = might_be(what, state=state)
    plain = copied(state)
    changed = {name for name in SupposedState.__struct_fields__ if getattr(other, name) != getattr(plain, name)}
    assert changed == fields
    assert encode_state(state) == before, "the farm itself stays as it is"


@pytest.mark.parametrize("what", [one for one, _ in EACH], ids=lambda value: type(value).__name__)
def test_every_supposition_says_in_words_what_was_understood(what: Supposition) -> None:
    words = what.words()
    assert words
    assert not words.endswith(".")
    assert "None" not in words + what.note()


def test_every_kind_of_supposition_is_tried_here() -> None:
    assert {type(one) for one, _ in EACH} == set(Supposition.__subclasses__())


def test_several_suppositions_make_one_farm() -> None:
    other = might_be(
        MoreKit(pool="mesh mat", count=4), MoreKit(pool="mesh mat", count=-1), Cost(what="wage_h", amount=9.0)
    )
    assert other.kit["mesh mat"].pool.count == 9
    assert other.set_up.money.wage_h == 9.0


# Room, kit, hands -----------------------------------------------------------------------------------------------------


def test_a_lit_shelf_more_has_room_and_light_like_the_others() -> None:
    before, after = limits_of(lantern()), limits_of(might_be(MoreShelves(count=2, kind="lit", spots=4)))
    assert (after.has[LIT] - before.has[LIT] == 8.0).all()
    assert after.light_kwh() == pytest.approx(before.light_kwh()), "as much power for each spot"
    assert before.light_kwh() == pytest.approx(2 * 36 * 16 / 1000 / 8), "two lamps of 36 W, 16 h, over 8 spots"


def test_a_shelf_that_comes_later_is_not_there_before() -> None:
    before = limits_of(lantern()).has[LIT]
    after = limits_of(might_be(MoreShelves(count=1, kind="lit", spots=4, first=day(5), last=day(9)))).has[LIT]
    assert (after - before).tolist() == [0.0] * 5 + [4.0] * 5 + [0.0] * 11


def test_a_shelf_out_of_use_is_missing_on_those_days_only() -> None:
    before = limits_of(lantern()).has[LIT]
    after = limits_of(might_be(ShelfGone(shelf="L", first=day(2), last=day(4)))).has[LIT]
    assert (before - after).tolist() == [0.0] * 2 + [8.0] * 3 + [0.0] * 16
    assert (limits_of(might_be(ShelfGone(shelf="L"))).has[LIT] == 0.0).all()


def test_more_kit_for_a_while_is_there_for_a_while() -> None:
    number = limits_of(lantern()).pool_number["mesh mat"]
    before = limits_of(lantern()).has[number]
    after = limits_of(might_be(MoreKit(pool="mesh mat", count=3, first=day(2), last=day(3)))).has[number]
    assert (after - before).tolist() == [0.0] * 2 + [3.0] * 2 + [0.0] * 17


def test_less_kit_than_none_is_refused() -> None:
    with pytest.raises(InputError, match=r"mesh mat less = 7: there are only 6\. Say 6 or fewer"):
        might_be(MoreKit(pool="mesh mat", count=-7))


def test_hours_more_on_a_weekday_are_there_every_week() -> None:
    before = limits_of(lantern()).has[HANDS]
    after = limits_of(might_be(MoreHands(minutes=120.0, weekdays=(1,)))).has[HANDS]
    gained = {number: after[number] - before[number] for number in range(21) if after[number] != before[number]}
    assert gained == {1: 120.0, 8: 120.0, 15: 120.0}


def test_hours_less_never_leave_less_than_none() -> None:
    after = might_be(MoreHands(minutes=-400.0, first=day(1), last=day(1)))
    assert limits_of(after).has[HANDS][1] == 0.0
    assert might_be(MoreHands(minutes=-400.0)).set_up.work_minutes == (0.0,) * 7


@pytest.mark.parametrize("number", [3, 6, 13], ids=["a single day off", "a Sunday", "the Sunday after"])
def test_a_day_off_that_is_worked_after_all_is_worked_for_just_as_long_as_said(number: int) -> None:
    before = limits_of(lantern()).has[HANDS]
    after = limits_of(might_be(MoreHands(minutes=90.0, first=day(number), last=day(number)))).has[HANDS]
    assert after[number] == 90.0
    assert [day for day in range(21) if before[day] != after[day]] == [number]


def test_two_sundays_worked_are_two() -> None:
    sundays = [MoreHands(minutes=60.0 * n, first=day(at), last=day(at)) for n, at in ((1, 6), (2, 13))]
    after = limits_of(might_be(*sundays)).has[HANDS]
    assert after[[6, 13]].tolist() == [60.0, 120.0]
    assert after[20] == float("inf"), "the third stays off"


def test_a_span_of_days_adds_hands_to_the_days_that_are_worked() -> None:
    before = limits_of(lantern()).has[HANDS]
    after = limits_of(might_be(MoreHands(minutes=60.0, first=day(2), last=day(7)))).has[HANDS]
    assert {number for number in range(21) if after[number] != before[number]} == {2, 4, 5, 7}, "3 is off, 6 a Sunday"


def test_a_weekday_off_is_off_every_week_and_the_others_are_not() -> None:
    off = set(might_be(DaysOff(weekdays=(0,))).set_up.days_off)
    assert {day(0), day(7), day(14), day(42)} <= off
    assert day(1) not in off
    assert day(3) in off, "the day off there was stays"


# Orders and prices ----------------------------------------------------------------------------------------------------


def test_a_new_standing_order_is_due_from_its_day_for_a_customer_made_known() -> None:
    other = might_be(NewStanding(standing=msgspec.structs.replace(NEW_STANDING, start=day(8))))
    new = due(other).keys() - due(lantern()).keys()
    assert {name.partition("/")[0] for name in new} == {f"what-if-1@{day(8)}", f"what-if-1@{day(15)}"}
    assert other.customers["Thimble Corner"].weight == 1.0


def test_a_new_order_may_not_take_the_name_of_another() -> None:
    with pytest.raises(InputError, match=r"order = O1: the farm has an order of that name"):
        might_be(NewOrder(order=msgspec.structs.replace(NEW_ORDER, order="O1")))


def test_a_customer_gone_for_good_sends_no_spot_orders_either_and_one_who_pauses_does() -> None:
    gone = OrdersTimes(names=("O2",), factor=0.0, whose="Moth and Marrow")
    assert not might_be(gone).customers["Moth and Marrow"].spot_orders
    assert might_be(msgspec.structs.replace(gone, last=day(9))).customers["Moth and Marrow"].spot_orders


def test_an_order_paused_comes_back_afterwards() -> None:
    gone = due(lantern()).keys() - due(
        might_be(OrdersTimes(names=("ladle-tue",), factor=0.0, first=day(5), last=day(9)))
    )
    assert {name.partition("/")[0] for name in gone} == {f"ladle-tue@{day(8)}"}


def test_an_order_twice_as_large_for_a_while_keeps_the_names_of_its_lines() -> None:
    before = due(lantern())
    after = due(might_be(OrdersTimes(names=("ladle-tue",), factor=2.0, first=day(5), last=day(9))))
    assert after.keys() == before.keys()
    changed = {name: (before[name][0], after[name][0]) for name in before if before[name] != after[name]}
    assert changed == {f"ladle-tue@{day(8)}/radish": (100.0, 200.0), f"ladle-tue@{day(8)}/garden-mix": (150.0, 300.0)}


def test_an_order_every_other_week_keeps_its_weeks_when_it_grows_from_a_day_on() -> None:
    state = lantern()
    other_week = msgspec.structs.replace(TUESDAYS, rule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU")
    state.standing["ladle-tue"] = other_week
    grown = might_be(OrdersTimes(names=("ladle-tue",), factor=3.0, first=day(7)), state=state)
    assert due(grown, 34).keys() == due(state, 34).keys()
    assert due(grown, 34)[f"ladle-tue@{day(15)}/radish"] == (300.0, 0)


def test_packs_and_trays_come_whole_when_an_order_shrinks() -> None:
    after = due(might_be(OrdersTimes(names=("ladle-tue", "O2"), factor=0.5)))
    assert after[f"ladle-tue@{day(1)}/garden-mix"] == (100.0, 0), "two packs of 50 g, for half of three"
    assert after["O2/1"] == (0.0, 1)


def test_a_crop_dropped_leaves_mixes_of_their_other_parts_in_proportion() -> None:
    other = might_be(CropGone(crop="kale"))
    shares = {part.crop: part.share for part in other.products["garden mix"].parts}
    assert shares == pytest.approx({"radish": 5 / 7, "pea": 2 / 7})
    assert "O2/1" not in due(other), "the live tray of kale is no longer sold"
    assert f"ladle-tue@{day(1)}/garden-mix" in due(other)


def test_a_price_of_its_own_stays_with_its_line_unless_all_prices_move() -> None:
    prices = {"garden mix": 4.4, "radish": 5.06}
    value = {line.line: line.value for line in lines_due(might_be(PricesTimes(factor=1.1)), day(1), day(1))}
    assert value[f"ladle-tue@{day(1)}/garden-mix"] == pytest.approx(3 * prices["garden mix"])
    assert value[f"ladle-tue@{day(1)}/radish"] == pytest.approx(prices["radish"])
    fixed = might_be(Price(product="garden mix", price=9.0, per="pack"))
    kept = {line.line: line.value for line in lines_due(fixed, day(1), day(1))}
    assert kept[f"ladle-tue@{day(1)}/garden-mix"] == pytest.approx(12.0), "4.00 a pack was agreed on that line"


def test_a_price_that_does_not_measure_the_product_is_refused() -> None:
    with pytest.raises(InputError, match=r"price = 3 per tray: it is not sold by the tray\. Give it per pack"):
        might_be(Price(product="garden mix", price=3.0, per="tray"))


# Trays and seed -------------------------------------------------------------------------------------------------------


def test_a_lost_tray_frees_its_spot_leaves_its_kit_to_be_washed_and_teaches_nothing() -> None:
    other = might_be(TraysLost(trays=("T1",)))
    assert not other.growing()
    assert not other.spots
    assert (other.kit["mesh mat"].in_use, other.kit["mesh mat"].dirty) == (0, 1)
    assert not other.ended, "what only might happen is no loss to learn from"


def test_both_plans_know_the_same_whatever_is_supposed() -> None:
    state = lantern()
    ahead = look_ahead(state, NOW)
    other = same_lessons(ahead, might_be(TraysLost(trays=("T1",)), state=state))
    assert other.lessons is ahead.lessons
    assert other.cautious_grams(state.recipes["radish"]) == ahead.cautious_grams(state.recipes["radish"])


def test_seed_on_order_counts_from_the_day_it_comes_and_later_where_it_is_late() -> None:
    def coming(state: FarmState) -> list[tuple[int, float]]:
        assert state.settings is not None
        days = Days(state.settings, day(0), 21)
        return seed_stock(state, "pea", [state.recipes["pea"]], days, NOW).arrivals()

    state = lantern()
    state.seed["on order"].left_g = 0.0  # as the book keeps it until it is received
    assert coming(state) == [(0, 10_000.0), (5, 800.0)]
    assert coming(might_be(SeedLate(lot="on order", comes_on=day(12)), state=state)) == [(0, 10_000.0), (12, 800.0)]
    assert coming(might_be(SeedGone(lot="on order"), state=state)) == [(0, 10_000.0)]
    # Nobody has tested the new lot, so its label counts with the little doubt and age every label has.
    more = coming(might_be(MoreSeed(crop="pea", grams=70.0, comes_on=day(2)), state=state))[1]
    assert more[0] == 2
    assert more[1] == pytest.approx(70.0, rel=0.01)


def test_seed_that_is_here_cannot_be_late() -> None:
    with pytest.raises(InputError, match=r"seed lot = lot kale: it is here already, not on order"):
        might_be(SeedLate(lot="lot kale", comes_on=day(12)))


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (ShelfGone(shelf="Z9"), r"shelf 'Z9': the farm has none"),
        (MoreKit(pool="mat", count=1), r"kit 'mat': the farm has none"),
        (OrdersTimes(names=("O9",), factor=2.0), r"order 'O9': the farm has none"),
        (CropGone(crop="leek"), r"crop 'leek': the farm has none"),
        (RecipeGone(recipe="leek"), r"recipe 'leek'"),
        (ProductGone(product="leek"), r"product 'leek'"),
        (TraysLost(trays=("T9",)), r"tray 'T9'"),
        (SeedGone(lot="L9"), r"seed lot 'L9'"),
    ],
)
def test_what_the_farm_does_not_have_is_named_with_what_it_has(what: Supposition, words: str) -> None:
    with pytest.raises(NotFoundError, match=words):
        might_be(what)


def test_a_farm_without_settings_has_no_days_to_suppose_off() -> None:
    with pytest.raises(PlanError, match="no settings yet"):
        as_it_might_be(FarmState(), [DaysOff(first=day(1), last=day(1))], NOW)
