"""Days left as a range, and when and how much to order, with reasons."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from statistics import NormalDist

import pytest

from trayward import Farm
from trayward.desk.reorder.advice import Advice, advise, order_advice
from trayward.desk.reorder.reach import Stock, course, days_words, reach_of, safety_stock
from trayward.desk.reorder.use import Use, by_week, seed_uses, spread_of, supply_uses
from trayward.desk.reorder.words import order_words, other_words, when_words
from trayward.farm.supplies import Offer, PackPrice, Supply, TakenBy

MONDAY = date(2026, 11, 23)
NOW = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)


def stock(amount: float, name: str = "A", comes: int = 0, off: int | None = None) -> Stock:
    goes_off = MONDAY + timedelta(days=off) if off is not None else None
    place = (goes_off or date.max, NOW, name)
    return Stock(lot=name, amount=amount, comes=MONDAY + timedelta(days=comes), goes_off=goes_off, place=place)


def steady(a_day: float, spread: float = 0.0) -> Use:
    return Use(basis="plan", a_day=a_day, then_on=MONDAY, spread=spread)


def offer(*packs: tuple[float, str], supplier: str = "Hillside Seeds", lead: float = 7, delivery: str = "0") -> Offer:
    prices = tuple(PackPrice(size=size, price=Decimal(price)) for size, price in packs)
    return Offer(
        thing="pea", seed=True, supplier=supplier, packs=prices, lead_days=lead, delivery=Decimal(delivery)
    )  # fmt: skip


def pea(*stocks: Stock, offers: tuple[Offer, ...] = (), a_day: float = 100.0, keeps: int | None = None) -> Advice:
    return advise(
        "pea", "g", steady(a_day), stocks, offers, MONDAY, seed=True, surely=0.5, keeps_days=keeps, lead_days=7.0
    )


# How long it lasts ----------------------------------------------------------------------------------------------------


def test_it_lasts_as_many_days_as_it_is_used() -> None:
    reach = reach_of([stock(1000)], steady(100), MONDAY)
    assert (reach.days_low, reach.days, reach.days_high) == (10, 10, 10)
    assert days_words(reach) == "10 days"


def test_weeks_unlike_each_other_make_a_range_around_it() -> None:
    """After ten days of 100 +- 100 sqrt(10/7) the use lies 8 in 10 between 847 and 1153 g: 1000 g may end before."""
    reach = reach_of([stock(1000)], steady(100, spread=100), MONDAY)
    assert reach.days == 10
    assert reach.days_low is not None
    assert reach.days_high is not None
    assert reach.days_low < 10 < reach.days_high
    upto = 100 * (reach.days_low + 1) + 1.281552 * 100 * ((reach.days_low + 1) / 7) ** 0.5
    assert upto > 1000 >= upto - 100 * 1.5


def test_what_goes_off_is_not_used_and_is_told() -> None:
    lots = [stock(800, "A", off=2), stock(500, "B")]
    reach = reach_of(lots, steady(100), MONDAY)
    assert reach.days == 8, "three days of A, then five of B"
    assert reach.gone_off == (("A", 500.0, MONDAY + timedelta(days=2)),)


def test_what_is_on_order_counts_from_its_day() -> None:
    assert reach_of([stock(300), stock(500, "B", comes=2)], steady(100), MONDAY).days == 8
    assert reach_of([stock(300), stock(500, "B", comes=5)], steady(100), MONDAY).days == 3


def test_the_course_goes_on_below_nothing() -> None:
    assert course([stock(150)], [100.0, 100.0, 100.0], MONDAY).left == (50.0, -50.0, -150.0)


def test_what_nothing_uses_is_not_reckoned() -> None:
    assert days_words(reach_of([stock(300)], None, MONDAY)) == "not used"


def test_planned_days_count_on_their_day_and_then_so_much_a_day() -> None:
    use = Use(
        basis="plan", known=((MONDAY + timedelta(days=2), 250.0),), a_day=50.0, then_on=MONDAY + timedelta(days=4)
    )
    assert use.by_day(MONDAY, 6) == [0, 0, 250, 0, 50, 50]


def test_weeks_are_whole_and_reach_back_as_far_as_the_book() -> None:
    used = {MONDAY - timedelta(days=1): 10.0, MONDAY - timedelta(days=8): 20.0, MONDAY: 99.0}
    assert by_week(used, MONDAY, began=17) == [10.0, 20.0]
    assert spread_of([10.0, 20.0], 2.0) == pytest.approx(0.3 * 14), "two weeks say little"
    assert spread_of([10.0, 20.0, 30.0], 2.0) == pytest.approx(10.0)


def test_the_stock_for_sureness_is_the_textbooks() -> None:
    """z sigma sqrt(lead + review): the standard safety stock of a periodic review; z(0.95) = 1.645 from any table."""
    use = steady(100, spread=140)
    assert safety_stock(use, 14, 0.95) == pytest.approx(1.6449 * 140 * 2**0.5, rel=1e-4)
    assert safety_stock(use, 14, 0.95, keep=900) == 900
    assert NormalDist().inv_cdf(0.95) == pytest.approx(1.6449, abs=1e-4)


# When and how much ----------------------------------------------------------------------------------------------------


def test_it_is_ordered_so_long_before_it_is_needed_as_it_takes_to_come() -> None:
    advice = pea(stock(2000), offers=(offer((1000, "14.00")),))
    assert advice.needed_on == MONDAY + timedelta(days=20)
    assert advice.order_by == MONDAY + timedelta(days=13)
    assert when_words(advice, MONDAY) == "Order by Sun 6 Dec: it takes 7 days to come."
    assert not advice.due(MONDAY)


def test_late_is_now() -> None:
    advice = pea(stock(300), offers=(offer((1000, "14.00")),))
    assert advice.due(MONDAY)
    assert when_words(advice, MONDAY).startswith("Order now")


def test_a_larger_pack_is_bought_where_it_is_cheaper_and_used_in_time() -> None:
    advice = pea(stock(300), offers=(offer((1000, "14.00"), (5000, "62.50"), delivery="4.00"),))
    assert advice.order is not None
    assert {each.size for each in advice.order.packs} == {5000}
    assert advice.order.a_unit < Decimal("14.00")
    assert order_words(advice).startswith("Order ")


def test_not_more_is_bought_than_is_used_before_it_goes_off() -> None:
    """100 g a day and seed that keeps 14 days: of 5 kg at once 3.6 kg would go off."""
    advice = pea(stock(0), offers=(offer((1000, "14.00"), (5000, "40.00")),), keeps=14)
    assert advice.order is not None
    assert advice.order.amount <= 2000
    large = next(other for other in advice.others if other.amount == 5000)
    assert large.goes_off > 2500
    assert "would go off" in other_words(large, advice)
    assert large.dearer > 0


def test_keeping_much_for_long_is_not_free() -> None:
    """The same price by the kilogram whatever the pack: then small orders, as nothing is gained by large ones."""
    advice = pea(stock(2000), offers=(offer((1000, "14.00"), (5000, "70.00")),))
    assert advice.order is not None
    assert advice.order.amount == 1000


def test_of_orders_that_come_to_the_same_in_the_end_the_cheaper_by_the_unit_is_advised() -> None:
    """Small packs now and large ones later cost within a hundredth of large ones at once."""
    advice = pea(stock(2000), offers=(offer((1000, "14.00"), (5000, "62.50")),), a_day=20.0)
    assert advice.order is not None
    assert advice.order.a_unit == Decimal("12.50")
    assert all(other.a_unit >= Decimal("12.50") for other in advice.others)


def test_a_fee_for_each_order_makes_orders_larger() -> None:
    small = pea(stock(0), offers=(offer((1000, "14.00")),))
    large = pea(stock(0), offers=(offer((1000, "14.00"), delivery="9.00"),))
    assert small.order is not None
    assert large.order is not None
    assert large.order.amount > small.order.amount
    assert large.orders_a_year < small.orders_a_year


def test_a_price_from_so_many_packs_on_holds_for_all_of_them() -> None:
    packs = (PackPrice(size=1000, price=Decimal(14)), PackPrice(size=1000, price=Decimal(9), least=4))
    breaks = Offer(thing="pea", seed=True, supplier="Hillside Seeds", packs=packs)
    advice = pea(stock(0), offers=(breaks,))
    assert advice.order is not None
    assert advice.order.packs[0].count >= 4
    assert advice.order.cost == 9 * advice.order.packs[0].count


def test_the_cheaper_supplier_is_named_and_the_other_told_with_what_it_would_cost_more() -> None:
    near = offer((1000, "15.00"), supplier="Near Mill")
    far = offer((1000, "12.00"), supplier="Far Mill")
    advice = pea(stock(2000), offers=(near, far))
    assert advice.order is not None
    assert advice.order.supplier == "Far Mill"
    assert [other.supplier for other in advice.others][:1] == ["Near Mill"]
    assert advice.others[0].dearer == Decimal("3.00"), "the first order alone is made there"


def test_a_supplier_who_comes_too_late_is_passed_over() -> None:
    quick = offer((1000, "15.00"), supplier="Near Mill", lead=3)
    slow = offer((1000, "12.00"), supplier="Far Mill", lead=30)
    advice = pea(stock(500), offers=(quick, slow))
    assert advice.order is not None
    assert (advice.order.supplier, advice.lead_days) == ("Near Mill", 3)


def test_without_prices_or_days_it_says_what_is_wanted() -> None:
    assert pea(stock(500)).lacks == "what a pack holds and costs"
    unsaid = advise("pea", "g", steady(100), [stock(500)], [], MONDAY, seed=True)
    assert (unsaid.lacks, unsaid.order_by) == ("how long it takes to come", None)
    assert unsaid.needed_on is not None


def test_what_lasts_for_a_year_is_not_ordered() -> None:
    advice = pea(stock(60_000), offers=(offer((1000, "14.00")),))
    assert (advice.needed_on, advice.order, order_words(advice)) == (None, None, "")


@pytest.mark.parametrize("a_day", [0.5, 7.0, 300.0])
@pytest.mark.parametrize("size", [1.0, 453.6, 25_000.0])
def test_odd_packs_and_uses_still_give_an_order_that_lasts(a_day: float, size: float) -> None:
    """Whatever the sizes, what is ordered is whole packs, and reaches as far as it says."""
    advice = pea(stock(0), offers=(offer((size, "20.00")),), a_day=a_day)
    assert advice.order is not None
    assert advice.order.amount == pytest.approx(advice.order.packs[0].count * size)
    if advice.order.lasts_days:
        assert advice.order.amount >= a_day * advice.order.lasts_days * 0.99


# On a farm ------------------------------------------------------------------------------------------------------------


def test_a_farms_sowings_lately_say_what_is_used_where_no_plan_is_kept() -> None:
    with Farm.create(":memory:", "shelf", at=NOW - timedelta(days=28)) as farm:
        farm.set_supply(
            Supply(name="coir", kind="medium", unit="g", taken=(TakenBy(of="tray", amount=100.0),)),
            at=NOW - timedelta(days=28),
        )
        farm.count_supply("coir", 1000.0, at=NOW - timedelta(days=28))
        for back in (21, 14, 7):
            farm.sow("broccoli", 1, grams_per_tray=20.0, at=NOW - timedelta(days=back))
        state, settings = farm.state(NOW), farm.settings(NOW)
        assert state.supplies["coir"].stock == pytest.approx(700)
        assert supply_uses(state, settings, None, NOW)["coir"].a_day == pytest.approx(300 / 28)
        assert seed_uses(state, settings, None, NOW)["broccoli"].a_day == pytest.approx(60 / 28)
        advice = {each.name: each for each in order_advice(state, settings, None, NOW)}
        assert advice["coir"].reach.days is not None
        assert 60 <= advice["coir"].reach.days <= 70
        assert advice["broccoli seed"].basis == "lately"


def test_trays_of_the_kept_plan_take_their_medium() -> None:
    with Farm.create(":memory:", "shelf", at=NOW) as farm:
        farm.set_supply(Supply(name="coir", unit="g", taken=(TakenBy(of="tray", amount=100.0),)), at=NOW)
        farm.count_supply("coir", 5000.0, at=NOW)
        plan = farm.plan(NOW)
        farm.keep_plan(plan, at=NOW)
        state = farm.state(NOW)
        use = supply_uses(state, farm.settings(NOW), plan, NOW)["coir"]
        assert use.basis == "plan"
        assert sum(amount for _, amount in use.known) == 100 * sum(sowing.trays for sowing in plan.sowings)


def test_many_lots_are_used_up_as_if_each_were_looked_at_every_day() -> None:
    """Counted out by hand, lot by lot and day by day: what comes later, what goes off before it comes, crumbs."""
    lots = [stock(40 + 7 * n, f"L{n}", comes=n % 5, off=(n * 3) % 11 if n % 3 else None) for n in range(30)]
    used = [float((day * 37) % 190) for day in range(20)]
    left, missing, told, gone = {each.lot: each.amount for each in lots}, 0.0, [], list[object]()
    for number, amount in enumerate(used):
        day = MONDAY + timedelta(days=number)
        for each in lots:
            if each.goes_off is not None and each.goes_off < day and left[each.lot] > 1e-6:
                gone.append((each.lot, pytest.approx(left[each.lot]), each.goes_off))
                left[each.lot] = 0.0
        here = [each.lot for each in lots if each.comes <= day]
        for name in here:
            part = min(left[name], amount)
            left[name], amount = left[name] - part, amount - part
        missing += amount
        told.append(sum(left[name] for name in here) - missing)
    found = course(lots, used, MONDAY)
    assert found.left == pytest.approx(told)
    assert list(found.gone_off) == gone
    assert gone
    assert told[-1] < 0
