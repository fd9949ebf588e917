"""Where no doubt is left, the plan over scenarios comes to what the plan over one future comes to; limits are held."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import msgspec
import numpy as np
import pytest

from tests.plan.doubts import QUICK, certain, doubtful, sooner, sow, told
from tests.plan.farms import NOW, day, farm, limit_names, line, lot, order, plan, pool, recipe, trays
from trayward.farm.kit import Pool, PoolState
from trayward.farm.orders import Part, Product
from trayward.farm.recipes import KitNeed
from trayward.farm.state import FarmState, HarvestLot, PackLot, StageStep, Tray
from trayward.plan.days import Floats
from trayward.plan.limits import OFF
from trayward.plan.types import Limit, Plan

EXACT = recipe(window=0, keeps=0)
"""Must be cut on the day it is due, five days after sowing."""
LIVE = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
MIX = Product(name="mix", parts=(Part(crop="radish", share=0.5), Part(crop="pea", share=0.5)), price=10.0)
PUNNET = Product(name="punnet", parts=(Part(crop="radish"),), pack_g=50.0, price=3.0, price_per="pack")
HOME = Product(name="for the house", parts=(Part(crop="radish"),), price=0.0)


def on_mats(each: int = 1, **more: object) -> tuple[KitNeed, ...]:
    return (KitNeed(pool="mat", each=each, **more),)  # type: ignore[arg-type]


def live(number: int, count: int) -> object:
    return order(number, count, product="live radish", unit="trays", price=12.0)


def stand(state: FarmState, count: int, *, stage: str = "light", days_ago: float = 1.0, kit: int = 0) -> FarmState:
    """Trays in a stage since some days; sown two days before they came to light."""
    since = NOW - timedelta(days=days_ago)
    for number in range(count):
        name = f"s.{number + 1}"
        state.trays[name] = Tray(
            tray=name, sowing="s", recipe="radish", crop="radish", sown_at=since - timedelta(days=2), seed_g=10.0,
            lots=("lot radish",), steps=[StageStep(stage=stage, since=since)], kit={"mat": kit} if kit else {},
        )  # fmt: skip
    return state


def with_harvest(state: FarmState, grams: float, *, age: int, keeps: int) -> FarmState:
    state.harvests["H1"] = HarvestLot(harvest="H1", crop="radish", cut_at=NOW - timedelta(days=age), grams=grams,
                                      left_g=grams, trays=(), cold_room_days=keeps)  # fmt: skip
    return state


def with_packs(state: FarmState) -> FarmState:
    state.packs["P1"] = PackLot(pack="P1", product="punnet", packed_at=NOW, packs=2, left=2, pack_g=50.0,
                                parts={"H1": 100.0})  # fmt: skip
    return state


def treated(grams: float) -> object:
    seed = lot(grams=grams)
    seed.treated = True
    return seed


COVERS = recipe(window=0, keeps=0, kit=on_mats(stages=("germinate",)))
MATS = recipe(window=0, keeps=0, kit=on_mats())
SOON = recipe(window=1, keeps=0)

CASES: dict[str, tuple[Callable[[], FarmState], set[str]]] = {
    "dark spots with stacks": (
        lambda: farm(order(5, 300), recipes=(recipe(window=0, keeps=0, stack=3),), dark=1, dark_stack=2),
        {"dark spots"},
    ),
    "a stage that does not stack": (
        lambda: farm(order(5, 300), recipes=(recipe(window=0, keeps=0, stack=1),), dark=1, dark_stack=2),
        {"dark spots"},
    ),
    "lit spots": (lambda: farm(order(5, 300), recipes=(EXACT,), lit=2), {"lit spots"}),
    "a spot free on the day of cutting": (
        lambda: farm(order(5, 100), order(8, 100), recipes=(EXACT,), lit=1),
        set(),
    ),
    "kit": (
        lambda: farm(order(5, 300), recipes=(recipe(window=0, keeps=0, kit=on_mats(2)),), kit=(pool("mat", 4),)),
        {"mat"},
    ),
    "kit dry at once": (
        lambda: farm(order(5, 100), order(10, 100), recipes=(MATS,), kit=(pool("mat", 1, dry_hours=0.0),)),
        set(),
    ),
    "kit dry after a day": (
        lambda: farm(order(5, 100), order(10, 100), recipes=(MATS,), kit=(pool("mat", 1, dry_hours=24.0),)),
        {"mat"},
    ),
    "kit washed the next day": (
        lambda: farm(order(5, 100), order(8, 100), recipes=(COVERS,), kit=(pool("mat", 1),)),
        set(),
    ),
    "washing put off by a day off": (
        lambda: farm(order(5, 100), order(8, 100), recipes=(COVERS,), kit=(pool("mat", 1),), days_off=(day(2),)),
        {"mat"},
    ),
    "dirty kit": (
        lambda: farm(order(5, 100), order(7, 100), recipes=(MATS,), kit=(pool("mat", 1, dirty=1),)),
        {"mat"},
    ),
    "hands": (
        lambda: farm(order(5, 300), recipes=(recipe(window=0, keeps=0, minutes=(30, 0, 0, 0)),), work=(60.0,) * 7),
        {"hands"},
    ),
    "cut before a day off": (
        lambda: farm(order(6, 100), recipes=(recipe(window=0, keeps=1),), days_off=(day(6),)),
        set(),
    ),
    "seed in stock": (lambda: farm(order(5, 300), recipes=(EXACT,), lots=(lot(grams=25),)), {"seed of radish"}),
    "seed on order": (
        lambda: farm(
            order(5, 200),
            order(8, 200),
            recipes=(EXACT,),
            lots=(lot(grams=10, name="old"), lot(grams=500, name="new", expected=day(3))),
        ),
        {"seed of radish"},
    ),
    "no seed": (lambda: farm(order(5, 100), recipes=(EXACT,), lots=()), {"seed of radish"}),
    "treated seed": (
        lambda: farm(order(5, 100), recipes=(EXACT,), lots=(treated(500),)),  # type: ignore[arg-type]
        {"seed of radish"},
    ),
    "long enough a cut window": (
        lambda: farm(order(8, 100), recipes=(recipe(window=1, keeps=0),), days_off=(day(3),)),
        set(),
    ),
    "too short a cut window": (
        lambda: farm(order(8, 100), recipes=(recipe(window=0, keeps=0, minutes=(60, 0, 0, 0)),), days_off=(day(3),)),
        {"cut window of radish"},
    ),
    "long enough a cold-room life": (
        lambda: farm(order(8, 100), recipes=(recipe(window=0, keeps=2),), days_off=(day(7), day(8))),
        set(),
    ),
    "too short a cold-room life": (
        lambda: farm(
            order(8, 100), recipes=(recipe(window=0, keeps=1, minutes=(0, 0, 60, 0)),), days_off=(day(7), day(8))
        ),
        {"cold-room life of radish"},
    ),
    "crop in the cold room": (lambda: with_harvest(farm(order(1, 60)), 100, age=2, keeps=3), set()),
    "packs on the shelf": (
        lambda: with_packs(farm(order(1, 1, product="punnet", unit="packs", price=3.0), products=(PUNNET,))),
        set(),
    ),
    "too late": (lambda: farm(order(4, 100), order(5, 100), recipes=(EXACT,)), {"time"}),
    "too late beside a spot too few": (
        lambda: farm(
            order(3, 100),
            order(5, 200, product="pea"),
            recipes=(EXACT, recipe("pea", window=0, keeps=0)),
            lit=1,
        ),
        {"time", "lit spots"},
    ),
    "no recipe": (lambda: farm(order(9, 100, product="shiso")), {"recipe for shiso"}),
    "a mix as far as its scarcest part": (
        lambda: farm(
            order(5, 200, product="mix"),
            recipes=(EXACT, recipe("pea", window=0, keeps=0, grams=60.0)),
            lots=(lot(), lot("pea", 10)),
            products=(MIX,),
        ),
        {"seed of pea"},
    ),
    "live trays": (lambda: farm(live(6, 2), products=(LIVE,)), set()),  # type: ignore[arg-type]
    "live trays without spots": (lambda: farm(live(6, 3), products=(LIVE,), lit=2), {"lit spots"}),  # type: ignore[arg-type]
    "kit away with live trays": (
        lambda: farm(live(5, 1), order(12, 100), products=(LIVE,), recipes=(MATS,), kit=(pool("mat", 1),)),  # type: ignore[arg-type]
        {"mat"},
    ),
    "standing trays": (lambda: stand(farm(order(3, 180), recipes=(SOON,)), 2), set()),
    "standing trays that hold kit": (
        lambda: stand(
            farm(
                order(2, 100, name="now"),
                order(5, 100, name="next"),
                recipes=(MATS,),
                kit=(pool("mat", 1, in_use=1),),
                lit=1,
            ),
            1,
            kit=1,
        ),
        {"mat"},
    ),
    "a standing tray past its window": (
        lambda: stand(farm(order(3, 100), recipes=(recipe(window=1, keeps=1),)), 1, stage="ready"),
        {"time"},
    ),
    "a ready tray for today": (
        lambda: stand(farm(order(0, 100), recipes=(recipe(window=1, keeps=1),)), 1, stage="ready"),
        set(),
    ),
    "what the house eats": (
        lambda: farm(order(5, 100, product="for the house", price=0.0), recipes=(EXACT,), products=(HOME,)),
        set(),
    ),
    "nothing wanted": (lambda: farm(), set()),
}


def served(made: Plan) -> tuple[float, float]:
    """Grams and live trays of all lines together."""
    return sum(each.met_grams for each in made.lines), float(sum(each.met_trays for each in made.lines))


def named(made: Plan) -> set[str]:
    """The limits that stand in the way of a line; what one more of a limit would be worth is told besides."""
    return {limit.limit for limit in made.limits if limit.lines}


@pytest.mark.parametrize("name", CASES)
def test_without_doubt_the_plan_is_worth_what_the_plan_over_one_future_is(name: str) -> None:
    build, limits = CASES[name]
    one, many = plan(build()), certain(build())
    assert sum(each.met for each in many.lines) == sum(each.met for each in one.lines)
    assert served(many) == pytest.approx(served(one), abs=1)  # which of two lines alike is met is all the same
    for after in many.lines:
        assert after.chance in (0.0, 1.0)
        assert after.short == pytest.approx(max(after.grams - after.met_grams, after.trays - after.met_trays), abs=0.1)
    assert trays(many) == trays(one)
    assert many.money.margin == pytest.approx(one.money.margin, abs=0.02 + 0.002 * one.money.sales)
    assert named(many) == limits


@pytest.mark.parametrize("name", ["kit dry after a day", "dirty kit", "too late", "live trays", "lit spots"])
def test_little_doubt_in_days_changes_nothing_where_weights_have_room(name: str) -> None:
    """The same farms through the outlook, whose prior leaves some doubt in weights: a tray weighs more than enough."""
    one, many = plan(lighter(CASES[name][0]())), doubtful(lighter(CASES[name][0]()))
    assert sum(each.met for each in many.lines) == sum(each.met for each in one.lines)
    assert trays(many) == trays(one)


def lighter(state: FarmState) -> FarmState:
    """The same orders at half the grams: a tray of 100 g is asked for 50; and trays ready by the first walk."""
    for name, grown in state.recipes.items():
        state.recipes[name] = msgspec.structs.replace(grown, stages=(sooner(grown.stages[0]), *grown.stages[1:]))
    for placed in state.orders.values():
        halves = tuple(
            type(one)(**{f: getattr(one, f) for f in one.__struct_fields__ if f != "quantity"},
                      quantity=one.quantity / 2 if one.unit == "g" else one.quantity)
            for one in placed.lines
        )  # fmt: skip
        state.orders[placed.order] = type(placed)(
            **{f: getattr(placed, f) for f in placed.__struct_fields__ if f != "lines"}, lines=halves
        )
    return state


# Limits of all trays, day by day --------------------------------------------------------------------------------------


def use(state: FarmState) -> tuple[Floats, Floats]:
    """What the plan of one who knows takes of each limit on each day, and what there is."""
    made = told(state, biology=_typical(state))
    shared = made.decision.shared
    return made.decision.search.use[:, 0, :], shared.has


def _typical(state: FarmState) -> object:
    from tests.plan.doubts import Typical

    return Typical(state.recipes)


@pytest.mark.parametrize("name", [name for name in CASES if name != "standing trays that hold kit"])
def test_no_day_takes_more_of_a_limit_than_there_is(name: str) -> None:
    taken, has = use(CASES[name][0]())  # type: ignore[misc]
    assert (taken <= has + 1e-6).all()


def test_a_day_off_is_never_worked_on() -> None:
    made = told(
        farm(order(8, 300), order(10, 300), recipes=(recipe(minutes=(5, 0, 10, 4)),), days_off=(day(3), day(8)))
    )
    place = made.decision.shared.numbers.index(OFF)
    assert made.decision.search.use[place].max() == 0.0
    assert all(sowing.sow_on != day(3) for sowing in doubtful(farm(order(8, 300), days_off=(day(3),))).sowings)


def test_a_tray_there_are_not_hands_enough_for_is_not_sown() -> None:
    """60 minutes, of which 40 go to the wash: 20 are too few for a sowing of 30."""
    slow = recipe(window=0, keeps=0, minutes=(30, 0, 0, 0))
    mats = PoolState(pool=Pool(name="mat", count=40, minutes_wash=2.0), dirty=20)
    assert trays(certain(farm(order(5, 200), recipes=(slow,), work=(60.0,) * 7, kit=(mats,)))) == 0


def test_a_dear_order_does_not_take_spots_that_are_not_there() -> None:
    """One lit spot; 200 g at 3.00 a gram among kilos at 0.03."""
    cheap = (order(n, 1000, price=0.03, customer="Tin Spoon") for n in (6, 7, 8, 9))
    taken, has = use(farm(order(5, 200, price=3.0), *cheap, recipes=(EXACT,), lit=1))
    assert (taken <= has + 1e-6).all()


# Trays that stand beyond the limits -----------------------------------------------------------------------------------


def test_more_trays_on_record_than_spots_are_all_kept_and_the_limit_is_named() -> None:
    made = certain(stand(farm(order(3, 180), recipes=(SOON,), lit=1), 2))
    assert line(made, "radish-3/1").met
    short = next(limit for limit in made.limits if limit.limit == "lit spots" and not limit.lines)
    assert (short.has, short.short) == (1.0, 1.0)
    assert "more needed for the trays that stand" in short.message


def test_nothing_new_is_sown_into_spots_that_trays_on_record_overdraw() -> None:
    """Both spots and more are taken on nights 0 and 1, up to the cut on day 2: a sowing would need one on night 2."""
    state = stand(farm(order(2, 180), order(5, 100, name="next"), recipes=(EXACT,), lit=1), 2)
    made = certain(state)
    assert line(made, "next/1").met
    state = stand(farm(order(2, 180), order(4, 100, name="next"), recipes=(recipe(window=0, keeps=0, light=2.0),),
                       lit=1), 2, days_ago=0.0)  # fmt: skip
    assert limit_names(certain(state))


def test_trays_nobody_wants_are_said_and_not_cut() -> None:
    made = certain(stand(farm(order(9, 100), recipes=(recipe(window=1, keeps=1),)), 2))
    assert any("No order has a use for 2 standing trays of radish: s.1 and s.2" in note for note in made.notes)
    assert made.cuts == ()


# Growth, homes, words -------------------------------------------------------------------------------------------------


def test_a_tray_that_waits_in_its_window_weighs_what_it_grows_to() -> None:
    """Sown on day 0 it is ready on day 5, is first needed on day 7: 100 g x 1.1 x 1.1."""
    grown = recipe(window=2, keeps=0, growth=0.1)
    made = told(farm(order(7, 400), recipes=(grown,)), biology=_typical(farm(recipes=(grown,))))  # type: ignore[arg-type]
    choices = made.decision.plots[0].choices
    ready_today = np.flatnonzero((choices.way >= 0) & (choices.sow == 0))
    weights = {int(choices.stand[one]): float(choices.grams[0, one]) for one in ready_today}
    assert weights == {2: pytest.approx(121.0)}
    assert trays(certain(farm(order(7, 400), recipes=(grown,)))) == 4


def test_how_many_scenarios_the_plan_was_chosen_over_is_said() -> None:
    made = doubtful(farm(order(5, 100)))
    assert made.scenarios == QUICK.scenarios
    assert made.notes[0] == "Chosen over 8 ways the coming weeks may go; chances are read off 16 others."
    assert made.full == pytest.approx(sum(each.chance or 0.0 for each in made.lines), abs=0.01)


def test_kit_nobody_set_up_is_said_and_not_counted() -> None:
    made = doubtful(farm(order(6, 50), recipes=(recipe(kit=on_mats()),)))
    assert line(made, "radish-6/1").met
    assert any("'mat' is named by a recipe but not set up" in note for note in made.notes)


def test_a_limit_that_stops_a_line_says_amounts_and_days() -> None:
    made = certain(CASES["lit spots"][0]())
    found: Limit = next(limit for limit in made.limits if limit.lines)
    assert (found.has, found.short) == (2.0, pytest.approx(1.0, abs=0.01))
    assert (found.first, found.last) == (day(2), day(4))
    assert "from Wed 2 Dec to Fri 4 Dec" in found.message
    assert "Copper Ladle (radish)" in found.message
    assert "lit spots" in line(made, "radish-5/1").why.lower()


def test_seed_that_stops_a_line_says_how_much_there_is_and_how_much_more_it_takes() -> None:
    made = certain(CASES["seed in stock"][0]())
    found = next(limit for limit in made.limits if limit.limit == "seed of radish")
    assert (found.has, found.short, found.unit) == (25.0, pytest.approx(5.0, abs=0.1), "g")
    assert "Seed of radish: 25 g to sow by Mon 30 Nov" in line(made, "radish-5/1").why


def test_one_tray_put_into_a_plan_by_hand_is_in_its_takes() -> None:
    made = told(farm(order(6, 300), recipes=(EXACT,)))
    assert [float(take.sum()) for take in sow(made, {("radish", 0): 2})] == [2.0]
