"""Spot orders that usually come: what is counted on, what is known already, who has gone, and whether ranges hold."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import msgspec
import numpy as np
import pytest

from tests.farm.told import lantern_loft
from tests.outlook.ordered import CROPS, START, Habit, Placed, a_loft, came, farm, orders_of, placed_by
from trayward.farm.entries import OrderCancelled, OrderChanged, OrderPlaced
from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.state import FarmState
from trayward.outlook.demand import KEYS, TOO_FEW, SpotDemand, look_for_orders, spot_note, usual_orders
from trayward.outlook.demand_history import read_orders
from trayward.outlook.demand_when import learn_comings

TUESDAYS = (0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def morning(day: int, hour: int = 7) -> datetime:
    """A moment so many days after the start; day 0 is a Monday."""
    return datetime.combine(START + timedelta(days=day), time(hour), tzinfo=UTC)


def cafe(name: str = "Kite Cafe", **changed: object) -> Habit:
    """Orders about 100 g of radish every Tuesday, two days ahead."""
    given: dict[str, object] = {
        "chances": TUESDAYS,
        "products": {"radish": 1.0},
        "amounts": {"radish": 100.0},
        "spread": 0.05,
        "ahead": (2, 2),
        **changed,
    }
    return Habit(name=name, **given)  # type: ignore[arg-type]


def history(*habits: Habit, weeks: int = 20, seed: int = 1) -> list[Placed]:
    return placed_by(list(habits), weeks, seed)


def relined(placed: Placed, *lines: LineAsked) -> Placed:
    """The order with other lines."""
    return Placed(placed.at, msgspec.structs.replace(placed.order, lines=lines))


def look(state: FarmState, at: datetime) -> SpotDemand:
    found = look_for_orders(state, at)
    assert found is not None
    return found


def grams(demand: SpotDemand, first: date, days: int, customer: str = "") -> np.ndarray:
    """Expected grams by day, of one customer or all."""
    mine = [not customer or key.customer == customer for key in demand.keys]
    return np.asarray(demand.expected(first, days)[mine].sum(axis=0))


# Switched on and off --------------------------------------------------------------------------------------------------


def test_a_new_farm_counts_on_no_order_before_it_is_placed() -> None:
    assert look_for_orders(farm(history(cafe()), morning(140), counted_on=False), morning(140)) is None
    assert look_for_orders(FarmState(), morning(140)) is None


@pytest.mark.parametrize("weeks", [0, 1, 4])
def test_with_few_orders_nothing_usually_comes(weeks: int) -> None:
    state = farm(history(cafe(), weeks=weeks), morning(7 * weeks))
    assert look_for_orders(state, morning(7 * weeks)) is None
    assert spot_note(state, morning(7 * weeks)) == TOO_FEW
    assert "5 or more of them over 14 days or more" in TOO_FEW


def test_a_plan_says_nothing_of_spot_orders_where_none_come_and_none_are_counted_on() -> None:
    assert spot_note(farm(history(cafe(), weeks=0), morning(0), counted_on=False), morning(0)) == ""


def test_the_note_says_what_is_counted_on_and_from_how_many() -> None:
    state = farm(history(cafe(), cafe("Moth & Marrow"), cafe("Blue Tavern", last_week=3)), morning(140))
    wanted = "Counts on about 200 g a week of spot orders from 2 customers, as they usually come."
    assert spot_note(state, morning(140)) == wanted
    assert spot_note(state, morning(140), look(state, morning(140))) == wanted


def test_the_note_says_what_is_left_out_and_how_to_count_on_it() -> None:
    state = farm(history(cafe()), morning(140), counted_on=False)
    note = spot_note(state, morning(140))
    assert note.startswith("Leaves out about ")
    assert "a week of spot orders from 1 customer that usually come and are not placed yet." in note
    assert note.endswith('To grow for them, set spot_orders = "as they usually come" in the setup file.')


# What is read ---------------------------------------------------------------------------------------------------------


def test_a_cancelled_order_tells_nothing_and_of_a_changed_one_the_last_word_counts() -> None:
    told = lantern_loft()
    day = told.now.date() + timedelta(days=3)
    line = LineAsked(line="1", product="radish", quantity=200.0)
    first = Order(order="O1", customer="Kite Cafe", due=day, lines=(line,))
    second = msgspec.structs.replace(first, order="O2")
    told.say(OrderPlaced(order=first), OrderPlaced(order=second))
    told.say(OrderChanged(order=msgspec.structs.replace(first, lines=(msgspec.structs.replace(line, quantity=350.0),))))
    told.say(OrderCancelled(order="O2"))
    orders = read_orders(told.state, told.now + timedelta(days=10))
    assert orders.amount.tolist() == [350.0]
    # Told a little after 08:00 in Berlin, three days before the day it is for: that day ends 3 days 16 hours later.
    assert orders.lead == pytest.approx([3 + 16 / 24], abs=0.02)


def test_a_customer_with_standing_orders_only_is_left_out() -> None:
    state = farm(history(cafe(), cafe("Blue Tavern")), morning(140))
    state.customers["Blue Tavern"] = Customer(name="Blue Tavern", spot_orders=False)
    assert {key.customer for key in look(state, morning(140)).keys} == {"Kite Cafe"}


def test_orders_told_afterwards_say_nothing_of_how_far_ahead_they_come() -> None:
    placed = history(cafe())
    state = farm(placed, morning(140))
    late = farm([Placed(morning(139), one.order) for one in placed], morning(140))
    assert np.isfinite(read_orders(state, morning(140)).lead).sum() == 20
    assert np.isfinite(read_orders(late, morning(140)).lead).sum() == 0
    week = (START + timedelta(days=154), 7)
    assert grams(look(late, morning(140)), *week).sum() == pytest.approx(
        grams(look(state, morning(140)), *week).sum(), rel=0.02
    ), "weeks ahead, it does not matter"


def test_two_lines_for_the_same_product_are_one_amount() -> None:
    placed = history(cafe())
    twice = [
        Placed(one.at, msgspec.structs.replace(one.order, lines=one.order.lines + one.order.lines)) for one in placed
    ]
    assert read_orders(farm(twice, morning(140)), morning(140)).amount == pytest.approx(
        2 * read_orders(farm(placed, morning(140)), morning(140)).amount
    )


def test_amounts_that_cannot_be_known_are_left_out() -> None:
    placed = history(cafe())
    odd = LineAsked(line="9", product="radish", quantity=2.0, unit="packs")
    zero = LineAsked(line="8", product="radish", quantity=0.0)
    with_odd = [
        Placed(one.at, msgspec.structs.replace(one.order, lines=(*one.order.lines, odd, zero))) for one in placed
    ]
    at = morning(140)
    assert read_orders(farm(with_odd, at), at).amount == pytest.approx(read_orders(farm(placed, at), at).amount)


# What is foretold -----------------------------------------------------------------------------------------------------


def test_it_is_foretold_for_the_weekday_it_usually_comes_for() -> None:
    state = farm(history(cafe()), morning(140))
    expected = grams(look(state, morning(140)), START + timedelta(days=147), 7)
    assert expected[1] == pytest.approx(100.0, rel=0.1)
    assert expected[[0, 2, 3, 4, 5, 6]].sum() < 5.0


def test_what_is_placed_is_not_foretold_again() -> None:
    placed = history(cafe(), weeks=21)
    monday, saturday = morning(140), morning(138)
    tuesday = START + timedelta(days=141)
    assert grams(look(farm(placed, saturday), saturday), tuesday, 1)[0] > 90.0, "it is placed during Saturday"
    assert grams(look(farm(placed, monday), monday), tuesday, 1)[0] < 3.0
    assert grams(look(farm(placed, monday), monday), tuesday, 8)[7] > 85.0, "the next Tuesday's is still to come"


def test_the_later_nothing_is_placed_for_a_day_the_less_is_still_to_come() -> None:
    seldom = cafe(chances=(0.0, 0.6, 0.0, 0.0, 0.0, 0.0, 0.0), ahead=(1, 6))
    placed = history(seldom, weeks=100)
    tuesday = START + timedelta(days=701)
    left = []
    for hours in range(12, 24 * 7, 24):
        at = morning(694) + timedelta(hours=hours)
        left.append(grams(look(farm(placed, at), at), tuesday, 1)[0])
    assert all(later <= earlier * 1.03 for earlier, later in pairwise(left)), "but for what the Tuesday before taught"
    # 6 in 10 come, a sixth of them on each of the six days before: on Sunday evening 0.6 / 6 of 0.6 / 6 + 0.4 are left.
    assert left[0] == pytest.approx(60.0, rel=0.25)
    assert left[-2] == pytest.approx(100 * 0.1 / 0.5, rel=0.35)
    assert left[-1] < 4.0


def test_a_customer_who_doubles_is_soon_believed() -> None:
    placed = history(cafe(changes={30: 2.0}), cafe("Blue Tavern"), weeks=60)
    by_week = {}
    for week in (30, 36, 50):
        at = morning(7 * week)
        by_week[week] = [
            grams(look(farm(placed, at), at), at.date() + timedelta(days=7), 7, who).sum()
            for who in ("Kite Cafe", "Blue Tavern")
        ]
    assert by_week[30] == pytest.approx([100.0, 100.0], rel=0.12)
    assert by_week[36][0] > 150.0
    assert by_week[50][0] == pytest.approx(200.0, rel=0.1)
    assert by_week[50][1] == pytest.approx(100.0, rel=0.1), "the other stays where it was"


def test_a_weekly_customer_who_falls_silent_has_gone_and_a_rare_one_may_have_not() -> None:
    rare = Habit(
        name="Moth & Marrow",
        chances=(0.03,) * 6 + (0.0,),
        products={"pea": 1.0},
        amounts={"pea": 200.0},
        spread=0.1,
        last_week=40,
    )
    placed = history(cafe(last_week=40), cafe("Blue Tavern"), rare, weeks=46, seed=3)
    staying = {}
    for week in (41, 46):
        orders = read_orders(farm(placed, morning(7 * week)), morning(7 * week))
        chances = learn_comings(orders).staying
        staying[week] = {who.name: float(chance) for who, chance in zip(orders.customers, chances, strict=True)}
    assert staying[46]["Blue Tavern"] == 1.0
    assert staying[41]["Kite Cafe"] > 0.5, "one missed week is not the end"
    assert staying[46]["Kite Cafe"] < 0.15
    assert staying[46]["Moth & Marrow"] > 0.5


def test_a_customer_who_has_something_placed_has_not_gone() -> None:
    placed = history(cafe(last_week=40), cafe("Blue Tavern"), weeks=46)
    later = Order(
        order="again",
        customer="Kite Cafe",
        due=START + timedelta(days=330),
        lines=(LineAsked(line="1", product="radish", quantity=100.0),),
    )
    orders = read_orders(farm([*placed, Placed(morning(320), later)], morning(322)), morning(322))
    staying = dict(zip((who.name for who in orders.customers), learn_comings(orders).staying, strict=True))
    assert staying == {"Kite Cafe": 1.0, "Blue Tavern": 1.0}


def test_a_new_customer_is_taken_to_be_somewhat_like_the_others() -> None:
    others = [cafe(f"customer {number}") for number in range(6)]
    placed = history(*others, cafe("Blue Tavern", first_week=18), weeks=20)
    demand = look(farm(placed, morning(140)), morning(140))
    new = grams(demand, START + timedelta(days=147), 7, "Blue Tavern").sum()
    assert 50.0 < new < 110.0, "two orders of its own, and six customers who never missed a week"


def test_a_closed_day_brings_nothing() -> None:
    off = START + timedelta(days=148)
    state = farm(history(cafe()), morning(140), days_off=(off,))
    demand = look(state, morning(140))
    assert grams(demand, off, 1)[0] == 0.0
    assert not demand.draws(off, 1, 50, np.random.default_rng(1)).amount.any()


def test_a_holiday_of_the_farm_does_not_make_customers_look_gone() -> None:
    away = range(126, 140)
    placed = [one for one in history(cafe()) if (one.order.due - START).days not in away]
    days_off = tuple(START + timedelta(days=day) for day in away)
    closed, silent = (
        grams(look(farm(placed, morning(140), days_off=off), morning(140)), START + timedelta(days=147), 7).sum()
        for off in (days_off, ())
    )
    assert closed > 93.0
    assert silent < closed - 20.0


def test_for_days_gone_by_nothing_comes_any_more() -> None:
    demand = look(farm(history(cafe()), morning(140)), morning(140))
    whole = demand.expected(START + timedelta(days=133), 21)
    assert not whole[:, :7].any()
    assert whole[:, 7:] == pytest.approx(demand.expected(START + timedelta(days=140), 14), rel=0.05)
    assert demand.draws(START, 7, 10, np.random.default_rng(1)).amount.sum() == 0.0


def test_live_trays_come_whole() -> None:
    habit = cafe(products={"radish": 1.0, "pea": 0.6}, amounts={"radish": 100.0, "pea": 2.5}, live=("pea",), spread=0.3)
    state = farm(history(habit, weeks=40), morning(280))
    demand = look(state, morning(280))
    trays = [number for number, key in enumerate(demand.keys) if key.unit == "trays"]
    assert [demand.keys[number].product for number in trays] == ["pea"]
    drawn = demand.draws(START + timedelta(days=287), 7, 400, np.random.default_rng(1)).amount[:, trays]
    assert np.array_equal(drawn, np.round(drawn))
    real = np.mean(
        [line.quantity for one in history(habit, weeks=40) for line in one.order.lines if line.unit == "trays"]
    )
    assert drawn[drawn > 0].mean() == pytest.approx(real, rel=0.2)
    assert "live tray" in demand.words()


def test_a_key_says_what_it_brings_and_how_much_it_counts() -> None:
    placed = history(cafe())
    packs = [relined(one, LineAsked(line="1", product="mix", quantity=2.0, unit="packs")) for one in placed]
    state = farm(packs, morning(140))
    state.products["mix"] = Product(
        name="mix",
        parts=(Part(crop="radish", share=0.5), Part(crop="pea", share=0.5)),
        pack_g=50.0,
        price=3.0,
        price_per="pack",
    )
    state.customers["Kite Cafe"] = Customer(name="Kite Cafe", weight=1.5)
    (key,) = look(state, morning(140)).keys
    assert (key.customer, key.product, key.unit) == ("Kite Cafe", "mix", "g")
    assert [part.crop for part in key.parts] == ["radish", "pea"]
    assert key.price == pytest.approx(3.0 / 50.0)
    assert key.packs == pytest.approx(1 / 50.0)
    assert key.weight == 1.5


def test_the_price_of_a_customers_own_line_goes_before_the_products() -> None:
    placed = history(cafe())
    own = [relined(one, msgspec.structs.replace(one.order.lines[0], price=0.07)) for one in placed]
    assert look(farm(placed, morning(140)), morning(140)).keys[0].price == pytest.approx(0.04)
    assert look(farm(own, morning(140)), morning(140)).keys[0].price == pytest.approx(0.07)


def test_small_orders_are_taken_together_and_nothing_is_lost() -> None:
    rng = np.random.default_rng(3)
    habits = [
        Habit(
            name=f"customer {number}",
            chances=(0.3,) * 6 + (0.0,),
            products={crop: float(rng.uniform(0.1, 0.6)) for crop in CROPS},
            amounts={crop: float(rng.uniform(30, 200)) for crop in CROPS},
        )
        for number in range(40)
    ]
    demand = look(farm(placed_by(habits, 12, 1), morning(84)), morning(84))
    together = [key for key in demand.keys if not key.customer]
    assert len(demand.keys) <= KEYS + len(CROPS)
    assert {key.product for key in together} == set(CROPS)
    week = grams(demand, START + timedelta(days=112), 7).sum()
    assert week == pytest.approx(demand.usual_week.sum(), rel=0.1)


def test_the_same_seed_draws_the_same_orders() -> None:
    state = farm(placed_by(a_loft(4), 30, 4), morning(200))
    first, second = (
        look(state, morning(200)).draws(START + timedelta(days=200), 14, 32, np.random.default_rng(7)) for _ in "12"
    )
    assert np.array_equal(first.amount, second.amount)
    assert first.amount.shape == (32, len(first.keys), 14)
    assert first.amount.any()


# Whether it is so -----------------------------------------------------------------------------------------------------


def weeks_held(seeds: range, origins: tuple[int, ...], weeks: int = 66) -> tuple[np.ndarray, float]:
    """
    Where what came lay among the draws of each crop's weekly grams, 0 to 1, and draws over what came.

    Weeks in which nothing came fall on the draws in which nothing came: there the place is drawn by lot among these, as
    is usual for counts (Czado, Gneiting & Held 2009, Biometrics 65:1254-1261, from memory).
    """
    lot, places, drawn, real = np.random.default_rng(0), [], 0.0, 0.0
    for seed in seeds:
        placed = placed_by(a_loft(seed), weeks, seed + 1000)
        for day in origins:
            at = morning(day)
            demand = look(farm(placed, at), at)
            draws = demand.draws(at.date(), 21, 200, np.random.default_rng(seed)).amount
            truth = came(placed, at, at.date(), 21)
            for crop in CROPS:
                mine = [number for number, key in enumerate(demand.keys) if key.product == crop]
                for week in range(3) if mine else ():
                    some = draws[:, mine, 7 * week : 7 * week + 7].sum(axis=(1, 2))
                    wanted = truth.get(crop, np.zeros(21))[7 * week : 7 * week + 7].sum()
                    places.append((some < wanted).mean() + lot.random() * (some == wanted).mean())
                    drawn, real = drawn + some.mean(), real + wanted
    return np.array(places), drawn / real


@pytest.mark.parametrize(
    ("origins", "name"), [((22, 37, 53), "after weeks"), ((143, 214, 326, 383, 425), "after months")]
)
def test_eight_in_ten_ranges_of_weekly_grams_hold_eight_in_ten(origins: tuple[int, ...], name: str) -> None:
    """Made-up farms with customers of every kind, one who doubles, one who stops, one new; truth known."""
    places, ratio = weeks_held(range(12), origins)
    held = ((places >= 0.1) & (places <= 0.9)).mean()
    assert len(places) > 500, name
    # 500 to 1,200 crop weeks, alike within a farm: two standard errors are about 4 points.
    assert 0.75 <= held <= 0.85, name
    assert 0.90 <= ratio <= 1.10, "on the whole, as much comes as is foretold"


def test_what_is_expected_is_the_middle_of_what_is_drawn() -> None:
    for seed in range(4):
        state = farm(placed_by(a_loft(seed), 40, seed), morning(250))
        demand = look(state, morning(250))
        first = START + timedelta(days=250)
        drawn = demand.draws(first, 28, 600, np.random.default_rng(seed)).amount.mean(axis=0).sum()
        # The mean of a product is taken for the product of means; 600 cases leave 1 to 2 %.
        assert demand.expected(first, 28).sum() == pytest.approx(drawn, rel=0.05)


def test_ranges_are_wider_with_a_short_past() -> None:
    widths = []
    for weeks in (5, 50):
        placed = placed_by([cafe(chances=(0.5,) * 6 + (0.0,))], weeks, 2)
        at = morning(7 * weeks)
        drawn = (
            look(farm(placed, at), at).draws(at.date() + timedelta(days=7), 28, 800, np.random.default_rng(1)).amount
        )
        total = drawn.sum(axis=(1, 2))
        widths.append((np.quantile(total, 0.9) - np.quantile(total, 0.1)) / np.median(total))
    assert widths[0] > 1.15 * widths[1]


def test_usual_orders_are_told_whether_the_farm_counts_on_them_or_not() -> None:
    state = farm(orders_of(cafe(), 20, np.random.default_rng(1)), morning(140), counted_on=False)
    found = usual_orders(state, morning(140))
    assert found is not None
    assert found.usual_week.sum() == pytest.approx(100.0, rel=0.1)
