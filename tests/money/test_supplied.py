"""What a tray's medium and a pack's packaging cost by their deliveries, in the account."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from tests.money.small import CAFE, MONDAY, farm_made, on, ordered
from trayward import Farm
from trayward.farm.supplies import Supply, TakenBy
from trayward.farm.supply_costs import CareCosts, medium_cost, pack_cost
from trayward.money.earned import exact_parts
from trayward.money.types import BY, GROWING, By, Earned

NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture
def farm() -> Farm:
    farm = Farm.create(":memory:", "shelf", at=NOW)
    coir = Supply(name="coir", kind="medium", unit="g", taken=(TakenBy(of="tray", amount=120.0),))
    farm.set_supply(coir, at=NOW)
    farm.set_supply(Supply(name="box", kind="packaging", taken=(TakenBy(of="pack", amount=1.0),)), at=NOW)
    return farm


def test_a_trays_medium_costs_what_its_delivery_did(farm: Farm) -> None:
    """120 g of 5 kg at 20.00: 0.48."""
    farm.receive_supply("coir", 5000.0, cost=Decimal("20.00"), at=NOW)
    farm.sow("broccoli", 1, grams_per_tray=20.0, at=NOW + DAY)
    state = farm.state(NOW + DAY)
    recipe = next(each for each in state.recipes.values() if each.crop == "broccoli")
    assert medium_cost(state, recipe, NOW + DAY) == pytest.approx(0.48)


def test_without_a_price_the_recipes_own_figure_counts(farm: Farm) -> None:
    farm.receive_supply("coir", 5000.0, at=NOW)
    farm.sow("broccoli", 1, grams_per_tray=20.0, at=NOW + DAY)
    state = farm.state(NOW + DAY)
    recipe = next(each for each in state.recipes.values() if each.crop == "broccoli")
    assert medium_cost(state, recipe, NOW + DAY) == recipe.medium.cost
    assert pack_cost(state, "broccoli", NOW) is None


def test_packs_in_the_account_cost_what_their_boxes_did(farm: Farm) -> None:
    """100 boxes at 18.00, ten packs: 1.80."""
    farm.receive_supply("box", 100.0, cost=Decimal("18.00"), at=NOW)
    tray = farm.sow("broccoli", 1, grams_per_tray=20.0, at=NOW).names[1]
    farm.cut({tray: 500.0}, at=NOW + 9 * DAY, sure=True)
    farm.pack("broccoli", 10, pack_g=50.0, at=NOW + 9 * DAY, sure=True)
    later = NOW + 10 * DAY
    assert farm.state(later).supplies["box"].stock == 90
    told = farm.earned(date(2026, 11, 25), date(2026, 12, 10), at=later)
    assert told.total.parts.packaging == Decimal("1.80")


# Feed and agents ------------------------------------------------------------------------------------------------------

FEED, SOAP, BLEACH = "leaf feed", "soap", "sanitiser"


@pytest.fixture
def small() -> Farm:
    """Feed at 0.02 a ml, soap at 0.005, sanitiser at 0.01; 2 ml of feed to a litre, 3 ml of soap, 1 ml of sanitiser."""
    farm = farm_made()
    for name, kind, of, amount in (
        (FEED, "feed", "litre", 2.0), (SOAP, "agent", "washed", 3.0), (BLEACH, "agent", "sanitised", 1.0),
    ):  # fmt: skip
        taken = (TakenBy(of=of, amount=amount),)  # type: ignore[arg-type]
        farm.set_supply(Supply(name=name, kind=kind, unit="ml", taken=taken), at=on(0, 6.5))  # type: ignore[arg-type]
    return farm


def priced(farm: Farm) -> None:
    for name, cost in ((FEED, "20.00"), (SOAP, "5.00"), (BLEACH, "10.00")):
        farm.receive_supply(name, 1000.0, cost=Decimal(cost), at=on(0, 6.75))


def lived(farm: Farm) -> Farm:
    """Three trays, of which one still stands; two feeds of 300 ml each, one of them by two trays that were cut."""
    first, second = farm.sow("pea", 2, grams_per_tray=250.0, at=on(0), sure=True).names[1:]
    young = farm.sow("radish", 1, grams_per_tray=30.0, at=on(5), sure=True).names[1]
    for stage, day in (("light", 3), ("ready", 6)):
        farm.begin([first, second], stage, at=on(day), sure=True)
    farm.feed([first, second], 300.0, at=on(4), sure=True)
    farm.feed([first, second, young], 300.0, at=on(5, 12), sure=True)
    farm.cut({first: 300.0, second: 300.0}, at=on(7), sure=True)
    farm.strip([first, second], at=on(7, 9))
    farm.wash("tray", at=on(8))
    farm.sanitise("tray", "as labelled", count=2, at=on(8, 9))
    return farm


def told(farm: Farm, by: By = "crop") -> Earned:
    return farm.earned(MONDAY, MONDAY + timedelta(days=13), by=by, at=on(14))


def test_feed_and_agents_cost_what_the_book_counted_off(small: Farm) -> None:
    """By hand: 0.6 l and two thirds of 0.9 l, 2 ml a litre at 0.02; 2 trays x 3 ml x 0.005; 2 x 1 ml x 0.01."""
    priced(small)
    account = told(lived(small))
    assert account.total.parts.feed == Decimal("0.05")  # 0.024 + 0.024
    assert account.total.parts.agents == Decimal("0.05")  # 0.03 + 0.02
    used = {name: sum(kept.used_on.values()) for name, kept in small.state(on(14)).supplies.items()}
    assert used == pytest.approx({FEED: 3.0, SOAP: 6.0, BLEACH: 2.0})
    assert not any(each.code == "supply-cost" for each in account.findings)


@pytest.mark.parametrize("by", BY)
def test_what_supplies_were_used_for_balances_whatever_it_is_told_by(small: Farm, by: By) -> None:
    """Once all trays have left, every ml of feed and agent is in the account, to a millionth."""
    priced(small)
    farm = lived(small)
    (young,) = [tray.tray for tray in farm.state(on(8)).growing()]
    farm.discard([young], "mould", at=on(9), sure=True)
    farm.wash("tray", at=on(10))
    state = farm.state(on(14))
    exact = exact_parts(state, farm.terms(on(14)), MONDAY, MONDAY + timedelta(days=13), by, on(14))
    spent = {name: sum(kept.used_on.values()) for name, kept in state.supplies.items()}
    assert sum(each.get("feed", 0) for each in exact.values()) == round(spent[FEED] * 20_000)
    assert sum(each.get("agents", 0) for each in exact.values()) == round(spent[SOAP] * 5_000 + spent[BLEACH] * 10_000)


def test_a_washing_is_for_the_trays_whose_kit_it_was_and_feed_of_a_growing_tray_waits(small: Farm) -> None:
    priced(small)
    farm = lived(small)
    by_tray = {row.name: row.parts for row in told(farm, "tray").rows}
    washed = [parts.agents for parts in by_tray.values() if parts.agents]
    assert sum(washed) == Decimal("0.05")
    assert len(washed) == 2
    assert {row.name: row.parts.agents for row in told(farm).rows} == {"pea": Decimal("0.05")}
    assert GROWING not in by_tray


def test_kit_that_was_dirty_before_the_book_knew_whose_it_was_is_not_known(small: Farm) -> None:
    """Two were stripped, two are washed and the third never was under a tray."""
    priced(small)
    farm = lived(small)
    farm.sanitise("tray", "as labelled", count=3, at=on(8, 10), sure=True)
    # A farm that only washes: what is sanitised is what was washed last.
    last = farm.state(on(14)).taken[-1]
    assert sum(last.amounts.values()) == pytest.approx(3.0)
    assert len(last.trays) == 2


def test_feed_and_agents_without_a_price_are_said_and_not_free_in_silence(small: Farm) -> None:
    for name in (FEED, SOAP, BLEACH):
        small.receive_supply(name, 1000.0, at=on(0, 6.75))
    account = told(lived(small))
    found = [each.message for each in account.findings if each.code == "supply-cost"]
    assert "supply soap = no cost: 6 ml of it count as free." in found
    assert len(found) == 3
    assert account.total.parts.feed == account.total.parts.agents == 0


def test_the_months_report_tells_feed_and_agents_in_lines_of_their_own(small: Farm) -> None:
    priced(small)
    changes = {each.what: each.now for each in lived(small).money_report("2026-11", at=on(14)).changes}
    assert (changes["feed"], changes["soap and sanitiser"]) == (Decimal("0.05"), Decimal("0.05"))


def test_a_feed_written_down_late_is_in_the_cost_of_a_tray_that_was_looked_up_before(small: Farm) -> None:
    priced(small)
    farm = lived(small)
    before = told(farm).total.parts.feed
    trays = [tray.tray for tray in farm.state(on(14)).ended.values()]
    farm.feed(trays, 5000.0, at=on(6, 12), sure=True)
    assert told(farm).total.parts.feed == before + Decimal("0.40")  # 10 l at 2 ml and 0.02


# What the plan counts with --------------------------------------------------------------------------------------------


def many(farm: Farm) -> Farm:
    """Five trays of pea fed 300 ml, cut and washed; a sixth that still stands had its feed too."""
    trays = farm.sow("pea", 6, grams_per_tray=250.0, at=on(0), sure=True).names[1:]
    farm.feed(trays, 300.0, at=on(4), sure=True)
    farm.begin(trays, "light", at=on(3), sure=True)
    farm.begin(trays, "ready", at=on(6), sure=True)
    farm.cut(dict.fromkeys(trays[:5], 300.0), at=on(7), sure=True)
    farm.strip(trays[:5], at=on(7, 9))
    farm.wash("tray", at=on(8))
    return farm


def test_a_tray_of_the_plan_counts_feed_and_soap_as_the_account_does(small: Farm) -> None:
    """A tray: 0.3 l x 2 ml x 0.02 of feed, 3 ml x 0.005 of soap: 0.027; of radish nothing is known, so as much."""
    priced(small)
    farm = many(small)
    state = farm.state(on(9))
    care = CareCosts(state, on(9))
    account = exact_parts(state, farm.terms(on(9)), MONDAY, MONDAY + timedelta(days=8), "tray", on(9))
    counted = sum(parts.get("feed", 0) + parts.get("agents", 0) for parts in account.values()) / 5
    assert care.of(state.recipes["pea"]) == pytest.approx(0.027) == counted / 1e6
    assert care.of(state.recipes["radish"]) == pytest.approx(0.027)
    ordered(farm, CAFE, "pea", 600.0, due=20)
    plan = farm.plan(on(9))
    sown = sum(each.trays for each in plan.sowings)
    assert sown >= 2
    assert plan.money.supplies == pytest.approx(sown * 0.027, abs=0.005), "told to the cent"


def test_before_there_is_a_record_a_tray_counts_with_one_washing_of_its_kit(small: Farm) -> None:
    priced(small)
    assert CareCosts(small.state(on(1)), on(1)).of(small.state(on(1)).recipes["pea"]) == pytest.approx(0.015)


def test_a_medium_kept_in_store_costs_a_planned_tray_what_its_delivery_did(farm: Farm) -> None:
    """Nothing of it was used yet: 120 g of 5 kg at 20.00 all the same, and nothing once the coir is no longer kept."""
    farm.receive_supply("coir", 5000.0, cost=Decimal("20.00"), at=NOW)
    state = farm.state(NOW)
    recipe = next(each for each in state.recipes.values() if each.crop == "broccoli")
    assert medium_cost(state, recipe, NOW, ahead=True) == pytest.approx(0.48)
    state.supplies["coir"].dropped = True
    assert medium_cost(state, recipe, NOW, ahead=True) == recipe.medium.cost
