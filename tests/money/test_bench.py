"""The bench's sum of one tray and the account of the same tray agree."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.money.small import MONDAY, farm_made, grown, on
from trayward.bench.money_told import jobs_of
from trayward.farm.hands import minutes_by_job
from trayward.science.costs import TrayInputs, tray_costs


def test_one_tray_costs_the_same_on_the_bench_and_in_the_book() -> None:
    """250 g seed at 4 EUR/kg, mat 0.15, wear 0.05, 4 lit days of two 30 W lamps for 16 h over 4 trays, 28 minutes."""
    farm = farm_made()
    grown(farm, "pea", 1, 300.0)
    state = farm.state(on(14))
    recipe, pools = state.recipes["pea"], {name: kit.pool for name, kit in state.kit.items()}
    reached = [stage.name for stage in recipe.stages]
    jobs = jobs_of(minutes_by_job(recipe, pools, reached=reached, days=7, looks=2, how="cut"))
    inputs = TrayInputs(
        weight_g=300.0, seed_g=250.0, seed_kg=4.0, medium=0.15, wear=0.05, shelf_kwh_day=0.96, shelf_trays=4.0,
        lit_days=4.0, kwh=0.30, jobs=jobs, wage_h=12.0,
    )  # fmt: skip
    account = farm.earned(MONDAY, MONDAY + timedelta(days=13), at=on(14))
    assert float(account.total.costs) == pytest.approx(tray_costs(inputs).tray, abs=0.005)
