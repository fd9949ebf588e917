"""What a tray's medium and a pack's packaging cost by their deliveries, in the account."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from trayward import Farm
from trayward.farm.supplies import Supply, TakenBy
from trayward.money.supplied import medium_cost, pack_cost

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
