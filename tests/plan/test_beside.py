"""Two farms planned for the same futures: what lies between their plans is the change, as trying every plan says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from itertools import product
from math import sqrt

import numpy as np
import pytest
from msgspec import structs

from tests.plan.doubts import QUICK, Typical, set_farm, unsure_recipe
from tests.plan.farms import NOW, day, farm, order, recipe
from trayward.farm.orders import Order
from trayward.farm.places import Lamp
from trayward.farm.settings import Money
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.outlook.ahead import look_ahead
from trayward.plan.beside import Weighed, _half, between, plan_beside, weigh_beside
from trayward.plan.compare import compare
from trayward.plan.compare_types import Between, Comparison, Side
from trayward.plan.compare_words import between_words
from trayward.plan.days import Days
from trayward.plan.decide import Effort
from trayward.plan.demand import Want
from trayward.plan.futures import Biology
from trayward.plan.limits import Limits
from trayward.plan.told import Told
from trayward.plan.told_money import earned
from trayward.plan.under_doubt import _in_step
from trayward.plan.what_if import (
    CropGone,
    DaysOff,
    MoreShelves,
    NewOrder,
    ShelfGone,
    Supposition,
    TraysLost,
    as_it_might_be,
    same_lessons,
)

FIXED = {"window": 0, "keeps": 0}
"""Sown five days before it is due and cut on that day, or of no use."""
REGRET = 0.5
"""Letting down costs half the price on top of the sale."""


def beside(state: FarmState, *what: Supposition, effort: Effort = QUICK, biology: Biology | None = None) -> Weighed:
    other, ahead = as_it_might_be(state, what, NOW), look_ahead(state, NOW)
    lessons = same_lessons(ahead, other)
    return weigh_beside(state, ahead, other, lessons, NOW, weeks=3, effort=effort, biology=biology)


def difference(state: FarmState, *what: Supposition) -> float:
    """What lies between the plans of somebody who knows that all is typical: one future, so no range."""
    made = beside(state, *what, biology=Typical(state.recipes))
    found = between(made.as_it_is, made.with_it)
    assert found.low == found.mean == found.high
    return found.mean


def compared(state: FarmState, *what: Supposition, effort: Effort = QUICK) -> Comparison:
    other, ahead = as_it_might_be(state, what, NOW), look_ahead(state, NOW)
    made = plan_beside(state, ahead, other, same_lessons(ahead, other), NOW, weeks=3, effort=effort)
    return compare(Side(state, made.as_it_is), Side(other, made.with_it), what, made.between)


# Against enumeration --------------------------------------------------------------------------------------------------


def best_worth(
    orders: Sequence[Order], *, lit: int, closed: Sequence[int] = (), standing: Mapping[int, int] = {}
) -> float:
    """
    The best worth there is, all numbers of trays tried for every order.

    A tray weighs 100 g, takes 10 g of seed at 0.01 a gram, and stands in the light on the three days before it is due;
    `standing`: due day -> trays of it that stand already, so that they cost no seed.
    """
    dues = [((one.due - day(0)).days, one.lines[0].quantity, one.lines[0].price or 0.0) for one in orders]
    most = [int(np.ceil(grams / 100)) if number >= 5 or number in standing else 0 for number, grams, _ in dues]
    found = -np.inf
    for trays in product(*(range(count + 1) for count in most)):
        taken = np.zeros(40)
        worth = 0.0
        for (number, grams, price), count in zip(dues, trays, strict=True):
            here = standing.get(number, 0)
            new = max(0, count - here)
            if (count > here and (number - 5 in closed or number < 5)) or (count and number in closed):
                break
            taken[max(0, number - 3) : number] += count
            met = min(grams, 100.0 * count)
            worth += met * price - new * 0.1 - REGRET * price * (grams - met)
        else:
            if taken.max() <= lit:
                found = max(found, worth)
    return found


def shelf(*orders: Order, lit: int, **more: object) -> FarmState:
    """A farm of radish and kale whose every sum the enumeration knows."""
    crops = (recipe("radish", **FIXED), recipe("kale", **FIXED))
    return farm(*orders, recipes=crops, lit=lit, money=Money(shortfall=REGRET), **more)  # type: ignore[arg-type]


RADISH = [order(6, 300.0, name="R6"), order(8, 300.0, name="R8"), order(13, 200.0, name="R13")]
KALE = [
    order(7, 200.0, product="kale", price=0.12, name="K7"),
    order(12, 100.0, product="kale", price=0.06, name="K12"),
]


def test_a_lit_shelf_more_is_worth_what_trying_every_plan_says() -> None:
    found = difference(shelf(*RADISH, *KALE, lit=4), MoreShelves(count=1, kind="lit", spots=2))
    told = best_worth([*RADISH, *KALE], lit=6) - best_worth([*RADISH, *KALE], lit=4)
    assert told > 0
    assert found == pytest.approx(told, abs=0.01)


def test_a_lit_shelf_less_is_worth_what_trying_every_plan_says() -> None:
    state = shelf(*RADISH, *KALE, lit=4)
    state.shelves["M"] = type(state.shelves["L"])(name="M", rack="M", room="loft", kind="lit", spots=2)
    found = difference(state, ShelfGone(shelf="M"))
    told = best_worth([*RADISH, *KALE], lit=4) - best_worth([*RADISH, *KALE], lit=6)
    assert told < 0
    assert found == pytest.approx(told, abs=0.01)


def test_a_crop_dropped_leaves_its_room_to_the_other_and_takes_its_sales_and_its_shortfall_along() -> None:
    found = difference(shelf(*RADISH, *KALE, lit=4), CropGone(crop="kale"))
    told = best_worth(RADISH, lit=4) - best_worth([*RADISH, *KALE], lit=4)
    assert found == pytest.approx(told, abs=0.01)


def test_a_crop_that_only_lets_down_is_better_dropped() -> None:
    cheap = [
        order(6, 400.0, product="kale", price=0.08, name="K6"),
        order(8, 400.0, product="kale", price=0.08, name="K8"),
    ]
    found = difference(shelf(*RADISH, *cheap, lit=3), CropGone(crop="kale"))
    told = best_worth(RADISH, lit=3) - best_worth([*RADISH, *cheap], lit=3)
    assert told > 0
    assert found == pytest.approx(told, abs=0.01)


@pytest.mark.parametrize(("number", "better"), [(17, True), (4, False)])
def test_a_new_customer_is_worth_what_can_be_grown_for_them_less_what_cannot(number: int, better: bool) -> None:
    """Day 17 can be grown for, day 4 comes too soon."""
    new = order(number, 200.0, name="N", customer="Thimble Corner")
    found = difference(shelf(*RADISH, lit=4), NewOrder(order=new))
    told = best_worth([*RADISH, new], lit=4) - best_worth(RADISH, lit=4)
    assert (told > 0) is better
    assert found == pytest.approx(told, abs=0.01)


@pytest.mark.parametrize("closed", [1, 8])
def test_a_day_off_costs_what_had_to_be_sown_or_cut_on_it(closed: int) -> None:
    """What is due on day 6 or 13 has to be sown on day 1 or 8, and what is due on day 8 be cut on it."""
    found = difference(shelf(*RADISH, lit=4), DaysOff(first=day(closed), last=day(closed)))
    told = best_worth(RADISH, lit=4, closed=[closed]) - best_worth(RADISH, lit=4)
    assert told < 0
    assert found == pytest.approx(told, abs=0.01)


def test_a_day_off_on_which_nothing_had_to_be_done_costs_nothing() -> None:
    found = difference(shelf(*RADISH, lit=4), DaysOff(first=day(16), last=day(16)))
    assert best_worth(RADISH, lit=4, closed=[16]) == best_worth(RADISH, lit=4)
    assert found == pytest.approx(0.0, abs=0.005)


def standing(state: FarmState, count: int) -> FarmState:
    """Radish trays that came to light yesterday: ready in two days."""
    since = NOW - timedelta(days=1)
    for number in range(1, count + 1):
        state.trays[f"s.{number}"] = Tray(
            tray=f"s.{number}", sowing="s", recipe="radish", crop="radish", sown_at=since - timedelta(days=2),
            seed_g=10.0, lots=("lot radish",), steps=[StageStep(stage="light", since=since)],
        )  # fmt: skip
    return state


def test_a_lost_tray_costs_what_it_would_have_brought() -> None:
    wants = [order(2, 200.0, name="R2"), *RADISH]
    found = difference(standing(shelf(*wants, lit=4), 2), TraysLost(trays=("s.2",)))
    told = best_worth(wants, lit=4, standing={2: 1}) - best_worth(wants, lit=4, standing={2: 2})
    assert told == pytest.approx(-100 * 0.1 * (1 + REGRET))
    assert found == pytest.approx(told, abs=0.01)


# The plan's own objective ---------------------------------------------------------------------------------------------


def doubtful_farm(seed: int, *, lit: int = 4) -> FarmState:
    """Two crops of real doubt that have more asked of them than there is room for."""
    draw = np.random.default_rng(seed)
    wants = [
        order(
            int(number),
            float(draw.integers(60, 260)),
            product=crop,
            price=float(draw.uniform(0.05, 0.2)),
            name=f"{crop}{n}",
        )
        for crop in ("radish", "kale")
        for n, number in enumerate(draw.integers(6, 20, size=4))
    ]
    state = farm(*wants, recipes=(unsure_recipe("radish"), unsure_recipe("kale")), lit=lit, dark=3)
    return set_farm(state, caution=0.8, money=Money(shortfall=1.0, wage_h=12.0))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", ["lit", "dark"])
def test_a_shelf_more_never_makes_the_plan_worth_less_by_what_it_is_chosen_by(seed: int, kind: str) -> None:
    made = beside(doubtful_farm(seed), MoreShelves(count=1, kind=kind, spots=2))  # type: ignore[arg-type]
    assert made.with_it.decision.cost <= made.as_it_is.decision.cost + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_a_shelf_less_never_makes_it_worth_more(seed: int) -> None:
    state = doubtful_farm(seed)
    state.shelves["M"] = type(state.shelves["L"])(name="M", rack="M", room="loft", kind="lit", spots=2)
    made = beside(state, ShelfGone(shelf="M"))
    assert made.as_it_is.decision.cost <= made.with_it.decision.cost + 1e-6


def test_a_change_that_touches_nothing_leaves_no_difference_at_all() -> None:
    made = beside(doubtful_farm(1), MoreShelves(count=1, kind="dark", spots=50, first=day(20)))
    found = between(made.as_it_is, made.with_it)
    assert (found.mean, found.low, found.high, found.better, found.worse) == (0.0, 0.0, 0.0, 0.0, 0.0)


def test_a_lit_shelf_more_leaves_the_power_of_a_spot_as_it_is_where_lamps_are_unlike() -> None:
    """Else a shelf that nobody uses would seem to cost something."""
    state = shelf(*RADISH, lit=4)
    lit = state.shelves["L"]
    for name, watts, spots in (("L", 36.0, 4), ("M", 90.0, 6), ("N", 36.0, 4)):
        lamp = Lamp(count=2, watts=watts, hours=16.0)
        state.shelves[name] = structs.replace(lit, name=name, spots=spots, lamp=lamp)
    other = as_it_might_be(state, [MoreShelves(count=1, kind="lit", spots=3)], NOW)
    powers = [Limits(one, one.settings, Days(one.settings, day(0), 21), NOW).light_kwh() for one in (state, other)]  # type: ignore[arg-type]
    assert powers[1] == pytest.approx(powers[0])
    # By hand: (2 x 36 x 2 shelves + 2 x 90) W x 16 h over 14 spots.
    assert powers[0] == pytest.approx((2 * 72.0 + 180.0) * 16 / 1000 / 14)


# The same futures -----------------------------------------------------------------------------------------------------


def grams(told: Told, crop: str) -> np.ndarray:
    number = next(n for n, way in enumerate(told.ways.ways) if way.recipe.crop == crop)
    return told.futures.sown[number].grams


def test_what_both_farms_sow_does_the_same_in_the_same_future() -> None:
    """Radish comes second in drawing; without kale it would come first and have another luck."""
    state = doubtful_farm(2)
    state.orders = dict(sorted(state.orders.items()))
    made = beside(state, CropGone(crop="kale"))
    assert len(made.as_it_is.ways.ways) == 2
    assert np.array_equal(grams(made.as_it_is, "radish"), grams(made.with_it, "radish"))


def test_a_crop_asked_for_anew_does_not_shift_the_luck_of_the_others() -> None:
    state = doubtful_farm(2)
    state.recipes["pea"] = unsure_recipe("pea")
    state.seed["lot pea"] = type(state.seed["lot kale"])(
        lot="lot pea", crop="pea", received_at=NOW, received_g=1e4, left_g=1e4, germination=1.0, tsw_g=10.0
    )
    made = beside(state, NewOrder(order=order(10, 100.0, product="pea", name="P")))
    for crop in ("radish", "kale"):
        assert np.array_equal(grams(made.as_it_is, crop), grams(made.with_it, crop))
    assert grams(made.with_it, "pea").std() > 0


def test_trays_that_stand_on_both_farms_do_the_same_in_the_same_future() -> None:
    state = doubtful_farm(3)
    made = beside(standing(state, 3), TraysLost(trays=("s.1",)))
    assert made.with_it.futures.stood[0].trays == ("s.2", "s.3")
    assert np.array_equal(
        made.as_it_is.futures.stood[0].begins[:, -1] >= 0, made.with_it.futures.stood[0].begins[:, -1] >= 0
    )
    whole, left = made.as_it_is.futures.stood[0].grams, made.with_it.futures.stood[0].grams
    assert np.corrcoef(whole, left)[0, 1] > 0.8, "two of the three trays are the same"


def test_spot_orders_keep_their_amounts_and_come_large_and_small_together() -> None:
    rng = np.random.default_rng(4)
    want = Want(
        product="radish", parts=(("radish", 1.0),), day=3, live=False, amount=1.0, worth=0.1, regret=0.0, lines=()
    )
    own, other = rng.gamma(2.0, 50.0, size=(40, 1)), rng.gamma(2.0, 50.0, size=(40, 1))
    found = _in_step(([want], own), ([want], other))
    assert found is not None
    assert np.array_equal(np.sort(found[1][:, 0]), np.sort(own[:, 0]))
    assert np.array_equal(np.argsort(found[1][:, 0]), np.argsort(other[:, 0]))


def test_common_futures_make_the_difference_many_times_surer_than_two_plans_of_their_own() -> None:
    effort = Effort(scenarios=16, checked=96, proof_seconds=0)
    state = doubtful_farm(5, lit=3)
    made = beside(state, MoreShelves(count=1, kind="lit", spots=1), effort=effort)
    before, after = earned(made.as_it_is).worth, earned(made.with_it).worth
    apart = sqrt(float(before.var(ddof=1) + after.var(ddof=1)) / len(before))
    assert _half(after - before) / 2 < 0.7 * apart


# How sure -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [8, 16, 96])
def test_the_range_of_a_mean_is_students(count: int) -> None:
    """Against scipy's own t distribution; the expansion leaves out terms of the third order in 1 / n."""
    stats = pytest.importorskip("scipy.stats")
    values = np.random.default_rng(count).normal(size=count)
    told = stats.t.interval(0.95, count - 1, loc=0.0, scale=stats.sem(values))
    assert _half(values) == pytest.approx(told[1], rel=5e-3)


def test_one_future_alone_has_no_range() -> None:
    assert _half(np.array([3.0])) == 0.0


# In words -------------------------------------------------------------------------------------------------------------


def made_up(**more: float) -> Between:
    """Three weeks of a difference, in the farm's currency."""
    usual = {"mean": 90.0, "low": 75.0, "high": 105.0, "tenth": 36.0, "ninetieth": 150.0, "better": 0.81, "worse": 0.19,
             "margin": 60.0, "own": 100.0, "own_low": 80.0, "own_high": 120.0}  # fmt: skip
    return Between(count=96, **(usual | more))  # type: ignore[arg-type]


def test_a_gain_says_how_much_how_surely_and_in_how_many_futures() -> None:
    assert between_words(made_up(), 3.0, "EUR", told=True) == (
        "Better by 30 EUR a week on average (25 to 35): the margin is 20 EUR more and letting customers down "
        "costs 10 EUR less. It is better in 8 of 10 futures; 8 of 10 lie between 12 and 50 EUR better."
    )


def test_a_loss_is_said_the_other_way_round() -> None:
    loss = made_up(mean=-90.0, low=-105.0, high=-75.0, tenth=-150.0, ninetieth=30.0, better=0.04, worse=0.96,
                   margin=-90.0, own=-100.0, own_low=-120.0, own_high=-80.0)  # fmt: skip
    assert between_words(loss, 3.0, "EUR", told=True) == (
        "Worse by 30 EUR a week on average (25 to 35): the margin is 30 EUR less. It is worse in nearly all "
        "futures; 8 of 10 lie between 10 EUR better and 50 EUR worse."
    )


def test_where_the_range_holds_nothing_nothing_is_claimed() -> None:
    open_ = made_up(mean=3.0, low=-9.0, high=15.0, tenth=-60.0, ninetieth=66.0, better=0.5, worse=0.5)
    assert between_words(open_, 3.0, "EUR", told=False) == (
        "No difference in money that can be told: on average 1.00 EUR more a week, but anything from 3.00 EUR less to "
        "5.00 EUR more would fit. It is better in 5 of 10 futures; 8 of 10 lie between 20 EUR worse and 22 EUR better."
    )


def test_more_money_at_the_cost_of_being_sure_is_said_to_be_that() -> None:
    sold = made_up(own=-30.0, own_low=-40.0, own_high=-20.0)
    assert sold.unlike
    assert between_words(sold, 3.0, "EUR", told=True).endswith(
        "But orders are less sure than you want them, and the plan counts that for more."
    )


def test_a_difference_alike_in_all_futures_has_no_ranges() -> None:
    sure = made_up(low=90.0, high=90.0, tenth=90.0, ninetieth=90.0, better=1.0, worse=0.0)
    assert between_words(sure, 3.0, "EUR", told=True) == (
        "Better by 30 EUR a week: the margin is 20 EUR more and letting customers down costs 10 EUR less."
    )


def test_the_comparison_holds_the_figures_of_its_verdict() -> None:
    found = compared(shelf(*RADISH, *KALE, lit=4), MoreShelves(count=1, kind="lit", spots=2))
    assert found.between is not None
    assert found.told_apart
    assert found.worth_a_week == pytest.approx(found.between.mean / 3, abs=0.005)
    money = {row.what: row.difference for row in found.money}
    assert money["worth"] == pytest.approx(found.between.mean, abs=0.03), "the same as the table says"
    assert money["margin"] == pytest.approx(found.between.margin, abs=0.03)
    assert found.verdict.startswith("Better by ")


def test_what_changes_nothing_is_called_no_difference() -> None:
    found = compared(shelf(*RADISH, lit=20), MoreShelves(count=1, kind="lit", spots=2))
    assert not found.told_apart
    assert found.verdict.startswith("No difference in money.")
