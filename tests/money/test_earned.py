"""What a farm earned: by hand on a small farm, and the same sum whatever it is told by."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from functools import cache

import msgspec
import pytest

from tests.money.small import CAFE, MONDAY, MONEY, a_week, bodies, farm_made, grown, on, ordered
from trayward import Farm
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.bills import ListPrice
from trayward.farm.entries import FarmSet, ProductSet, RecipeSet
from trayward.farm.orders import Part, Product
from trayward.farm.settings import Overhead
from trayward.money.earned import exact_parts
from trayward.money.types import BY, COLD, GROWING, LOST_TRAYS, PARTS, THROWN, By, Earned, Supposed

LAST = MONDAY + timedelta(days=13)


@cache
def week() -> Farm:
    return a_week()


def told(farm: Farm, by: By = "crop", first: date = MONDAY, last: date = LAST) -> Earned:
    return farm.earned(first, last, by=by, at=on(14))


def row(account: Earned, name: str, part: str = "left") -> Decimal:
    found = next(each for each in account.rows if each.name == name)
    return getattr(found, part) if part in ("left", "costs") else getattr(found.parts, part)


def test_it_works() -> None:
    """By hand. A pea tray: 250 g at 4 EUR/kg; mat 0.15, wear 0.05; 5 + 2 + 7 x 2 x 0.5 + 10 + 4 = 28 min at 12 EUR/h;
    4 lit days x 0.24 kWh x 0.30. A radish tray the same but for 30 g at 18 EUR/kg."""
    account = told(week())
    parts = account.total.parts
    assert parts.sales == Decimal("24.00")  # 300 g at 3.00/100 g, 150 g at 0.04/g, 4 packs at 2.25
    assert parts.seed == Decimal("2.54")
    assert parts.medium == Decimal("0.60")
    assert parts.hands == Decimal("16.80")
    assert parts.energy == Decimal("0.86")  # 3 x 0.288
    assert parts.packaging == Decimal("0.80")
    assert parts.disposal == Decimal("0.05")
    assert account.total.left == Decimal("2.35")
    assert row(account, "pea", "sales") == Decimal("15.00")
    assert row(account, "radish", "packaging") == Decimal("0.80")
    assert account.findings == ()


@pytest.mark.parametrize("by", BY)
def test_the_sum_is_the_same_whatever_it_is_told_by(by: By) -> None:
    account, other = told(week(), by), told(week())
    assert account.total == msgspec.structs.replace(other.total)
    for part in PARTS:
        assert sum(getattr(each.parts, part) for each in account.rows) == getattr(account.total.parts, part)
    assert sum(each.left for each in account.rows) == account.total.left


@pytest.mark.parametrize("by", BY)
def test_nothing_is_lost_to_a_millionth_either(by: By) -> None:
    farm = week()
    exact = exact_parts(farm.state(on(14)), farm.terms(on(14)), MONDAY, LAST, by, on(14))
    crops = exact_parts(farm.state(on(14)), farm.terms(on(14)), MONDAY, LAST, "crop", on(14))
    for part in PARTS:
        assert sum(each.get(part, 0) for each in exact.values()) == sum(each.get(part, 0) for each in crops.values())


def test_a_trays_cost_goes_to_those_who_had_its_crop_and_to_nobody_for_the_rest() -> None:
    """Of 600 g pea the cafe had 300, the diner 150, 100 were thrown away, 50 lie in the cold room."""
    account = told(week(), "customer")
    pea = Decimal("1.00") * 2
    assert row(account, CAFE, "seed") == pea / 2
    assert row(account, THROWN, "seed") == Decimal("0.33")
    assert row(account, COLD, "seed") == Decimal("0.17")
    assert row(account, THROWN, "disposal") == Decimal("0.05")
    assert [each.name for each in account.rows if each.nobody] == [COLD, THROWN]


def test_what_was_lost_and_what_fell_short_is_said() -> None:
    lost = told(week()).lost
    assert lost.thrown_g == 100.0
    assert lost.thrown_cost == Decimal("2.36")  # 2 x 7.088 / 6
    assert (lost.short_lines, lost.short_value) == (1, Decimal("2.25"))


def test_a_tray_thrown_away_costs_what_it_took_until_then() -> None:
    farm = farm_made()
    tray = farm.sow("pea", 1, grams_per_tray=250.0, at=on(0), sure=True).names[1]
    farm.discard([tray], "mould", at=on(2), sure=True)
    account = told(farm, "customer")
    assert account.lost.trays == 1
    assert row(account, LOST_TRAYS, "hands") == Decimal("2.20")  # 5 + 2 x 2 x 0.5 + 4 = 11 min
    assert account.total.left == account.lost.trays_cost * -1 == Decimal("-3.40")


def test_days_outside_are_not_counted() -> None:
    assert told(week(), last=MONDAY + timedelta(days=6)).total.left == 0
    assert told(week(), first=MONDAY + timedelta(days=8)).total.parts.disposal == Decimal("0.05")
    assert told(week(), first=MONDAY + timedelta(days=8)).total.parts.sales == 0


def test_seed_without_a_cost_is_said_and_not_free_in_silence() -> None:
    farm = farm_made()
    farm.receive_seed("P2", "pea", 1000.0, germination=0.9, tsw_g=200.0, at=on(0, 6.5), sure=True)
    tray = farm.sow("pea", 1, grams_per_tray=250.0, lot="P2", at=on(0), sure=True).names[1]
    farm.discard([tray], "mould", at=on(2), sure=True)
    found = told(farm).findings
    assert [each.code for each in found] == ["seed-cost"]
    assert found[0].message == "seed lot P2 = no cost: 250 g of it were sown and count as free."


def test_a_farm_without_prices_is_told_what_is_missing() -> None:
    farm = farm_made(msgspec.structs.replace(MONEY, wage_h=0.0, packaging=0.0))
    farm.record(ProductSet(product=Product(name="pea", parts=(Part(crop="pea"),))), at=on(0, 6.5))
    ordered(farm, CAFE, "pea", 300.0)
    grown(farm, "pea", 1, 300.0)
    farm.deliver_due(CAFE, MONDAY + timedelta(days=7), at=on(7, 11), sure=True)
    assert {each.code for each in told(farm).findings} == {"no-price", "no-wage"}


def test_more_than_was_asked_for_is_good_weight_and_brings_nothing() -> None:
    farm = farm_made()
    order = ordered(farm, CAFE, "pea", 200.0)
    lot = grown(farm, "pea", 1, 300.0)
    from trayward.farm.entries import LineDelivered, LotGrams

    line = LineDelivered(line=f"{order}/1", loose=(LotGrams(harvest=lot, grams=150.0),))
    farm.deliver(CAFE, [line], at=on(7, 11), sure=True)
    farm.deliver(CAFE, [line], at=on(7, 12), sure=True)
    assert told(farm).total.parts.sales == Decimal("6.00")


def test_new_prices_recipes_and_wages_never_rewrite_what_was() -> None:
    farm = a_week()
    before = told(farm)
    dear = msgspec.structs.replace(bodies()[0].settings, money=msgspec.structs.replace(MONEY, wage_h=99.0))  # type: ignore[attr-defined]
    recipe = farm.state(on(14)).recipes["pea"]
    farm.record(
        FarmSet(settings=dear),
        ProductSet(product=Product(name="pea", parts=(Part(crop="pea"),), price=99.0)),
        RecipeSet(recipe=msgspec.structs.replace(recipe, minutes_cut=99.0)),
        at=on(13),
    )
    assert told(farm).total == before.total


def test_a_price_list_holds_from_its_day_and_a_late_delivery_takes_that_of_its_own_day() -> None:
    farm = farm_made()
    for due in (7, 8):
        ordered(farm, CAFE, "pea", 100.0, due=due)
    grown(farm, "pea", 1, 300.0)
    farm.set_prices(CAFE, [ListPrice(product="pea", price=Decimal("2.50"))], MONDAY + timedelta(days=8), at=on(1))
    assert [line.value for line in farm.due(MONDAY, LAST, at=on(2))] == [3.0, 2.5]
    for day in (8, 7):  # the earlier one is written down later
        farm.deliver_due(CAFE, MONDAY + timedelta(days=day), at=on(day, 11), sure=True)
    days = told(farm, "day")
    assert (row(days, "2026-11-09", "sales"), row(days, "2026-11-10", "sales")) == (Decimal("3.00"), Decimal("2.50"))


def test_overheads_are_spread_by_the_days_on_a_spot_and_empty_days_are_said() -> None:
    """30 EUR a month of 30 days is 1 EUR a day; a tray stands on days 0 to 6, and one more still grows from day 7."""
    farm = farm_made(msgspec.structs.replace(MONEY, overheads=(Overhead(name="rent", month=30.0),)))
    grown(farm, "pea", 1, 300.0)
    farm.sow("pea", 1, grams_per_tray=250.0, at=on(7), sure=True)
    assert told(farm).total.parts.overheads == Decimal("14.00")
    people = told(farm, "customer")
    assert row(people, GROWING, "overheads") == Decimal("7.00")


def test_other_prices_stand_beside_the_record() -> None:
    found = week().earned_if(MONDAY, LAST, Supposed(wage_h=18.0, prices={"pea": 4.0}), at=on(14))
    assert found.now.total == told(week()).total
    assert found.then.total.parts.hands == Decimal("25.20")
    assert found.then.total.parts.sales == Decimal("27.00")  # the diner's line has a price of its own
    assert found.difference == Decimal("-5.40")
    assert found.words[0] == "an hour of hands at 18.00 EUR instead of 12.00 EUR"


def test_nothing_supposed_or_a_product_unknown_is_refused() -> None:
    with pytest.raises(InputError, match="at least one price must be another"):
        week().earned_if(MONDAY, LAST, Supposed(), at=on(14))
    with pytest.raises(NotFoundError, match="product 'pae'"):
        week().earned_if(MONDAY, LAST, Supposed(prices={"pae": 1.0}), at=on(14))


def test_days_the_wrong_way_round_and_an_unknown_way_of_telling_are_refused() -> None:
    with pytest.raises(InputError, match="comes before the first"):
        week().earned(LAST, MONDAY, at=on(14))
    with pytest.raises(InputError, match="an account is told by one of these"):
        week().earned(MONDAY, LAST, by="moon", at=on(14))  # type: ignore[arg-type]


def test_another_currency_is_refused_once_something_was_sold() -> None:
    settings = msgspec.structs.replace(
        bodies()[0].settings,  # type: ignore[attr-defined]
        money=msgspec.structs.replace(MONEY, currency="USD"),
    )
    farm_made().record(FarmSet(settings=settings), at=on(1))
    with pytest.raises(RefusedError, match="this book has sold in EUR"):
        a_week().record(FarmSet(settings=settings), at=on(13))


def test_a_struck_delivery_brings_nothing() -> None:
    farm = a_week()
    made = farm.state(on(14)).deliveries[0]
    farm.strike(made.entry, "wrong customer", at=on(9))
    assert told(farm).total.parts.sales == Decimal("15.00")
