"""Each limit binds where it must, and is named with amounts and dates where it stands in the way."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tests.plan.farms import MONDAY, NOW, day, farm, limit_names, line, lot, order, plan, pool, recipe, trays
from trayward.farm.kit import Pool, PoolState
from trayward.farm.orders import Part, Product
from trayward.farm.recipes import KitNeed, YieldPrior
from trayward.farm.settings import Money
from trayward.farm.state import FarmState, HarvestLot, PackLot, StageStep, Tray
from trayward.plan.types import Limit, Plan

EXACT = recipe(window=0, keeps=0)
"""Must be cut on the day it is due, five days after sowing."""
NAME = "radish-5/1"


def limit(made: Plan, name: str) -> Limit:
    return next(one for one in made.limits if one.limit == name)


def met(made: Plan, name: str = NAME) -> float:
    return line(made, name).met_grams


def on_mats(each: int = 1, **more: object) -> tuple[KitNeed, ...]:
    return (KitNeed(pool="mat", each=each, **more),)  # type: ignore[arg-type]


# Spots ----------------------------------------------------------------------------------------------------------------


def test_dark_spots_bind_with_stacks() -> None:
    """One floor position, a shelf that stacks 2, a stage that stacks 3: min(3, 2) = 2 trays at once."""
    stacked = recipe(window=0, keeps=0, stack=3)
    made = plan(farm(order(5, 300), recipes=(stacked,), dark=1, dark_stack=2))
    assert met(made) == pytest.approx(200, abs=1)
    assert limit_names(made) == {"dark spots"}
    named = limit(made, "dark spots")
    assert (named.has, named.short, named.unit) == (1.0, pytest.approx(0.5, abs=0.01), "spots")
    assert (named.first, named.last) == (day(0), day(1))
    assert named.lines == (NAME,)


def test_a_stage_that_is_not_stacked_takes_a_floor_position_of_its_own() -> None:
    made = plan(farm(order(5, 300), recipes=(recipe(window=0, keeps=0, stack=1),), dark=1, dark_stack=2))
    assert met(made) == pytest.approx(100, abs=1)


def test_lit_spots_bind_and_are_named_with_days_and_customer() -> None:
    made = plan(farm(order(5, 300), recipes=(EXACT,), lit=2))
    assert met(made) == pytest.approx(200, abs=1)
    named = limit(made, "lit spots")
    assert (named.has, named.short) == (2.0, pytest.approx(1.0, abs=0.01))
    assert (named.first, named.last) == (day(2), day(4))
    assert "from Wed 2 Dec to Fri 4 Dec" in named.message
    assert "Copper Ladle (radish)" in named.message
    assert "lit spots" in line(made, NAME).why.lower()


def test_a_spot_is_free_again_on_the_day_of_cutting() -> None:
    """Lit nights of the two sowings: 2, 3, 4 and 5, 6, 7; one spot serves both."""
    made = plan(farm(order(5, 100), order(8, 100), recipes=(EXACT,), lit=1))
    assert all(one.met for one in made.lines)


# Kit ------------------------------------------------------------------------------------------------------------------


def test_kit_binds_and_is_named() -> None:
    made = plan(farm(order(5, 300), recipes=(recipe(window=0, keeps=0, kit=on_mats(2)),), kit=(pool("mat", 4),)))
    assert met(made) == pytest.approx(200, abs=1)
    assert limit_names(made) == {"mat"}
    assert limit(made, "mat").short == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize(("dry_hours", "second"), [(0.0, True), (24.0, False), (30.0, False)])
def test_kit_is_gone_until_washed_and_dry(dry_hours: float, second: bool) -> None:
    """Cut on day 5; the second sowing has to be made on day 5 too."""
    state = farm(
        order(5, 100),
        order(10, 100),
        recipes=(recipe(window=0, keeps=0, kit=on_mats()),),
        kit=(pool("mat", 1, dry_hours=dry_hours),),
    )
    made = plan(state)
    assert sum(one.met for one in made.lines) == (2 if second else 1)
    assert limit_names(made) == (set() if second else {"mat"})


def test_a_day_off_delays_the_washing() -> None:
    """Cut on day 5 with a day to dry: back on day 6. The cover, let go on day 2, a day off, is washed on day 3."""
    covers = recipe(window=0, keeps=0, kit=on_mats(stages=("germinate",)))
    orders = (order(5, 100), order(8, 100))  # sown on days 0 and 3
    made = plan(farm(*orders, recipes=(covers,), kit=(pool("mat", 1, dry_hours=12),)))
    assert all(one.met for one in made.lines)
    made = plan(farm(*orders, recipes=(covers,), kit=(pool("mat", 1, dry_hours=12),), days_off=(day(2),)))
    assert sum(one.met for one in made.lines) == 1
    assert limit_names(made) == {"mat"}


@pytest.mark.parametrize(("at", "met_on_day_6"), [(NOW, True), (NOW + timedelta(hours=12), False)])
def test_dirty_kit_comes_back_after_the_next_wash(at: datetime, met_on_day_6: bool) -> None:
    """In the morning it is washed today and dry tomorrow; once the evening's walk has begun, a day later."""
    mats = recipe(window=0, keeps=0, kit=on_mats())
    dirty = (pool("mat", 1, dirty=1),)
    made = plan(farm(order(5, 100), order(6, 100), recipes=(mats,), kit=dirty), at=at)
    assert (met(made), line(made, "radish-6/1").met) == (0.0, met_on_day_6)
    assert limit_names(made) == {"mat"}


def test_kit_a_recipe_names_but_nobody_set_up_is_said_and_not_counted() -> None:
    made = plan(farm(order(5, 100), recipes=(recipe(kit=on_mats()),)))
    assert line(made, NAME).met
    assert any("'mat' is named by a recipe but not set up" in note for note in made.notes)


# Hands and days off ---------------------------------------------------------------------------------------------------


def test_hands_bind_and_are_named() -> None:
    slow = recipe(window=0, keeps=0, minutes=(30, 0, 0, 0))
    made = plan(farm(order(5, 300), recipes=(slow,), work=(60.0,) * 7))
    assert met(made) == pytest.approx(200, abs=1)
    assert limit_names(made) == {"hands"}
    named = limit(made, "hands")
    assert (named.has, named.short, named.first) == (60.0, pytest.approx(30.0, abs=0.1), day(0))


@pytest.mark.parametrize(("at", "sown"), [(NOW, 5), (NOW + timedelta(hours=12), 6)])
def test_washing_what_is_dirty_now_takes_hands_when_it_is_washed(at: datetime, sown: int) -> None:
    """Today, or tomorrow once the evening's walk has begun; a tray must be sown five days before its order."""
    slow = recipe(window=0, keeps=0, minutes=(30, 0, 0, 0))
    mats = PoolState(pool=Pool(name="mat", count=40, minutes_wash=2.0), dirty=20)
    made = plan(farm(order(sown, 200), recipes=(slow,), work=(60.0,) * 7, kit=(mats,)), at=at)
    assert met(made, f"radish-{sown}/1") == pytest.approx(0, abs=1)
    assert limit(made, "hands").has == pytest.approx(20.0)


def test_a_line_due_on_a_day_off_is_cut_the_day_before() -> None:
    made = plan(farm(order(6, 100), recipes=(recipe(window=0, keeps=1),), days_off=(day(6),)))
    assert line(made, "radish-6/1").met
    assert [sowing.cut_on for sowing in made.sowings] == [day(5)]


def test_nothing_is_sown_or_cut_on_a_day_off_and_the_day_is_named() -> None:
    made = plan(farm(order(6, 100), recipes=(recipe(window=0, keeps=0, minutes=(0, 0, 10, 4)),), days_off=(day(6),)))
    assert (trays(made), met(made, "radish-6/1")) == (0, 0.0)
    assert limit_names(made) == {"days off"}
    assert limit(made, "days off").short == pytest.approx(14.0)
    assert "14 min of work would fall on Sun 6 Dec" in line(made, "radish-6/1").why


# Seed -----------------------------------------------------------------------------------------------------------------


def test_seed_in_stock_binds_and_is_named() -> None:
    made = plan(farm(order(5, 300), recipes=(EXACT,), lots=(lot(grams=25),)))
    assert met(made) == pytest.approx(200, abs=1)
    assert limit_names(made) == {"seed of radish"}
    named = limit(made, "seed of radish")
    assert (named.has, named.short, named.unit) == (25.0, pytest.approx(5.0, abs=0.1), "g")


def test_seed_on_order_counts_from_the_day_it_comes() -> None:
    lots = (lot(grams=10, name="old"), lot(grams=500, name="new", expected=day(3)))
    made = plan(farm(order(5, 200), order(8, 200), recipes=(EXACT,), lots=lots))
    assert met(made) == pytest.approx(100, abs=1)
    assert line(made, "radish-8/1").met
    assert limit_names(made) == {"seed of radish"}


def test_the_oldest_lot_is_sown_first() -> None:
    older, newer = lot(grams=15, name="older"), lot(grams=500, name="newer")
    older.received_at -= timedelta(days=100)
    made = plan(farm(order(5, 200), recipes=(EXACT,), lots=(newer, older)))
    assert [(taken.lot, taken.grams) for taken in made.sowings[0].lots] == [("older", 15.0), ("newer", 5.0)]
    assert made.sowings[0].seed_g == 20.0


def test_no_seed_at_all_is_named() -> None:
    made = plan(farm(order(5, 100), recipes=(EXACT,), lots=()))
    assert met(made) == 0.0
    assert limit_names(made) == {"seed of radish"}


def test_treated_seed_is_left_alone() -> None:
    treated = lot(grams=500)
    treated.treated = True
    made = plan(farm(order(5, 100), recipes=(EXACT,), lots=(treated,)))
    assert trays(made) == 0
    assert any("is treated and is not sown" in note for note in made.notes)


# Cut window and cold room ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("window", "can"), [(1, True), (0, False)])
def test_the_cut_window_binds_and_is_named(window: int, can: bool) -> None:
    """To cut on day 8 it would be sown on day 3, a day off; a day's wait makes it day 2."""
    long_to_sow = recipe(window=window, keeps=0, minutes=(60, 0, 0, 0))
    made = plan(farm(order(8, 100), recipes=(long_to_sow,), days_off=(day(3),)))
    assert line(made, "radish-8/1").met is can
    assert limit_names(made) == (set() if can else {"cut window of radish"})


@pytest.mark.parametrize(("keeps", "can"), [(2, True), (1, False)])
def test_the_cold_room_life_binds_and_is_named(keeps: int, can: bool) -> None:
    """Due on day 8 with days 7 and 8 off: cut on day 6 at the latest."""
    long_to_cut = recipe(window=0, keeps=keeps, minutes=(0, 0, 60, 0))
    made = plan(farm(order(8, 100), recipes=(long_to_cut,), days_off=(day(7), day(8))))
    assert line(made, "radish-8/1").met is can
    assert limit_names(made) == (set() if can else {"cold-room life of radish"})
    if not can:
        assert "100 g would have to keep longer" in line(made, "radish-8/1").why


def in_the_cold_room(grams: float, age: int, keeps: int) -> HarvestLot:
    cut_at = NOW - timedelta(days=age)
    return HarvestLot(
        harvest="H1", crop="radish", cut_at=cut_at, grams=grams, left_g=grams, trays=(), cold_room_days=keeps
    )


def test_cut_crop_in_the_cold_room_serves_lines_too_soon_to_sow_for() -> None:
    state = farm(order(1, 60), order(2, 60))
    state.harvests["H1"] = in_the_cold_room(100, age=2, keeps=3)
    made = plan(state)
    assert (line(made, "radish-1/1").met_grams, line(made, "radish-2/1").met_grams) == (60.0, 0.0)
    assert "harvest lot H1" in line(made, "radish-1/1").why
    assert limit_names(made) == {"time", "cold-room life of radish"}
    assert limit(made, "cold-room life of radish").short == pytest.approx(40.0)


def test_packs_on_the_shelf_go_to_the_first_lines_they_are_good_for() -> None:
    punnet = Product(name="punnet", parts=(Part(crop="radish"),), pack_g=50.0, price=3.0, price_per="pack")
    state = farm(order(1, 1, product="punnet", unit="packs", price=3.0), products=(punnet,))
    state.packs["P1"] = PackLot(
        pack="P1", product="punnet", packed_at=NOW, packs=2, left=2, pack_g=50.0, parts={"H1": 100.0}
    )
    made = plan(state)
    assert line(made, "punnet-1/1").met
    assert "packed in P1" in line(made, "punnet-1/1").why
    assert made.sowings == ()


# Too late, or no way to grow it ---------------------------------------------------------------------------------------


def test_what_is_too_soon_to_sow_for_is_listed_unmet_and_says_when_it_had_to_be_sown() -> None:
    made = plan(farm(order(4, 100), order(5, 100), recipes=(EXACT,)))
    assert line(made, "radish-5/1").met
    late = line(made, "radish-4/1")
    assert not late.met
    assert "takes 5 days when slow, so it had to be sown by Sun 29 Nov" in late.why
    named = limit(made, "time")
    assert (named.has, named.short, named.unit) == (4.0, 1.0, "d")


def test_a_line_too_late_to_sow_for_is_not_told_of_limits_that_stop_other_lines() -> None:
    """One lit spot stands in the way of the pea on Friday; radish for Thursday is late whatever spots there are."""
    pea = recipe("pea", window=0, keeps=0)
    made = plan(farm(order(3, 100), order(5, 200, product="pea"), recipes=(EXACT, pea), lit=1))
    assert limit_names(made) == {"time", "lit spots"}
    assert limit(made, "lit spots").lines == ("pea-5/1",)
    assert "lit spots" not in line(made, "radish-3/1").why


def test_a_crumb_that_no_tray_is_worth_is_not_blamed_on_limits_of_other_crops() -> None:
    """Two grams of radish over a tray's 100 bring 1.0, the seed of one more tray costs 20; only pea lacks seed."""
    dear = lot(grams=1000.0)
    dear.cost = 2000.0
    recipes = (EXACT, recipe("pea", window=0, keeps=0))
    orders = (order(5, 102, price=0.5), order(5, 300, product="pea", price=0.5))
    made = plan(farm(*orders, recipes=recipes, lots=(dear, lot("pea", 20.0)), money=Money(shortfall=0.0)))
    assert limit(made, "seed of pea").lines == ("pea-5/1",)
    assert "one more tray for it would cost more than it brings" in line(made, NAME).why


def test_a_crop_without_a_recipe_is_named() -> None:
    made = plan(farm(order(9, 100, product="shiso")))
    assert limit_names(made) == {"recipe for shiso"}
    assert "There is no recipe for shiso" in line(made, "shiso-9/1").why


def test_a_recipe_without_a_yield_is_named_and_asks() -> None:
    """A crop nobody knows, so that no crop like it lends a figure."""
    blank = recipe("moonwort")
    blank = type(blank)(
        **{f: getattr(blank, f) for f in blank.__struct_fields__ if f != "yield_prior"}, yield_prior=YieldPrior()
    )
    made = plan(farm(order(9, 100, product="moonwort"), recipes=(blank,)))
    assert limit_names(made) == {"yield of moonwort"}
    assert "give the recipe a typical yield" in line(made, "moonwort-9/1").why


# Mixes and live trays -------------------------------------------------------------------------------------------------

MIX = Product(name="mix", parts=(Part(crop="radish", share=0.5), Part(crop="pea", share=0.5)), price=10.0)


def test_a_mix_is_met_as_far_as_its_scarcest_part() -> None:
    """200 g want 100 g of each; there is seed for one tray of 60 g of pea: 120 g of mix."""
    pea = recipe("pea", window=0, keeps=0, grams=60.0)
    made = plan(farm(order(5, 200, product="mix"), recipes=(EXACT, pea), lots=(lot(), lot("pea", 10)), products=(MIX,)))
    assert met(made, "mix-5/1") == pytest.approx(120, abs=1)
    assert limit_names(made) == {"seed of pea"}
    parts = {sowing.crop: sum(serve.grams for serve in sowing.serves) for sowing in made.sowings}
    assert parts["radish"] == pytest.approx(parts["pea"], abs=0.2) == pytest.approx(60, abs=0.2)


def test_live_trays_leave_whole_and_uncut() -> None:
    live = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
    made = plan(farm(order(6, 2, product="live radish", unit="trays", price=12.0), products=(live,)))
    assert line(made, "live radish-6/1").met_trays == 2
    assert (trays(made), made.sowings[0].cuts) == (2, ())
    assert made.sowings[0].serves[0].trays == 2
    assert made.money.sales == pytest.approx(24.0)


def test_live_trays_take_spots_and_the_limit_is_named() -> None:
    live = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
    state = farm(order(6, 3, product="live radish", unit="trays", price=12.0), products=(live,), lit=2)
    made = plan(state)
    assert line(made, "live radish-6/1").met_trays == 2
    assert limit_names(made) == {"lit spots"}
    assert "1 live tray short" in line(made, "live radish-6/1").why


def test_the_kit_of_live_trays_does_not_come_back_by_itself() -> None:
    live = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
    state = farm(
        order(5, 1, product="live radish", unit="trays", price=12.0),
        order(12, 100),
        products=(live,),
        recipes=(recipe(window=0, keeps=0, kit=on_mats()),),
        kit=(pool("mat", 1),),
    )
    made = plan(state)
    assert sum(one.met for one in made.lines) == 1
    assert limit_names(made) == {"mat"}


# Standing trays -------------------------------------------------------------------------------------------------------


def stand(state: FarmState, count: int, *, stage: str = "light", days_ago: float = 1.0, kit: int = 0) -> FarmState:
    """Trays in a stage since some days; sown two days before they came to light."""
    since = NOW - timedelta(days=days_ago)
    for number in range(count):
        name = f"s.{number + 1}"
        state.trays[name] = Tray(
            tray=name,
            sowing="s",
            recipe="radish",
            crop="radish",
            sown_at=since - timedelta(days=2),
            seed_g=10.0,
            lots=("lot radish",),
            steps=[StageStep(stage=stage, since=since)],
            kit={"mat": kit} if kit else {},
        )
    return state


def test_standing_trays_serve_what_it_is_too_late_to_sow_for() -> None:
    """In the light since a day, three days of it: ready on day 2."""
    made = plan(stand(farm(order(3, 180), recipes=(recipe(window=1, keeps=0),)), 2))
    assert line(made, "radish-3/1").met
    assert [(cut.cut_on, cut.standing) for cut in made.cuts] == [(day(3), ("s.1", "s.2"))]
    assert "standing now: s.1 and s.2, cut Thu 3 Dec" in line(made, "radish-3/1").why
    assert made.sowings == ()


def test_what_gets_ready_in_the_evening_is_cut_the_next_day() -> None:
    """Three days of light. Begun at 10:00 it is ready in the morning of day 2; begun at 20:00, only after its work."""
    met = {}
    for hour in (10, 20):
        state = stand(farm(order(2, 90), recipes=(recipe(window=3, keeps=0),)), 1)
        (tray,) = state.trays.values()
        tray.steps = [StageStep(stage="light", since=NOW.replace(hour=hour) - timedelta(days=1))]
        met[hour] = line(plan(state), "radish-2/1").met
    assert met == {10: True, 20: False}


def test_standing_trays_hold_their_spot_and_kit() -> None:
    """One lit spot and one mat, both held until day 2; a sowing for day 5 needs the mat before."""
    state = farm(
        order(2, 100, name="now"),
        order(5, 100, name="next"),
        recipes=(recipe(window=0, keeps=0, kit=on_mats()),),
        kit=(pool("mat", 1, in_use=1),),
        lit=1,
    )
    made = plan(stand(state, 1, kit=1))
    assert line(made, "now/1").met
    assert not line(made, "next/1").met
    assert limit_names(made) == {"mat"}
    state.kit["mat"] = pool("mat", 2, in_use=1)
    assert line(plan(state), "next/1").met  # the spot is free from day 2, just in time


def test_a_standing_tray_past_its_window_is_not_counted_on() -> None:
    made = plan(stand(farm(order(3, 100), recipes=(recipe(window=1, keeps=1),)), 1, stage="ready", days_ago=1.0))
    assert not line(made, "radish-3/1").met
    made = plan(stand(farm(order(0, 100), recipes=(recipe(window=1, keeps=1),)), 1, stage="ready", days_ago=1.0))
    assert [cut.cut_on for cut in made.cuts] == [MONDAY]


def test_standing_trays_nobody_wants_are_said() -> None:
    made = plan(stand(farm(order(9, 100), recipes=(recipe(window=1, keeps=1),)), 2))
    assert any("No order has a use for 2 standing trays of radish: s.1 and s.2" in note for note in made.notes)


def test_more_trays_on_record_than_spots_do_not_break_the_plan() -> None:
    made = plan(stand(farm(order(3, 180), recipes=(recipe(window=1, keeps=0),), lit=1), 2))
    assert line(made, "radish-3/1").met
