"""The account of money and the study's own count of a season agree where they count the same."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start
from trayward.study.account import line_met, line_money
from trayward.study.keeper import Keeper
from trayward.study.ledger import Ledger
from trayward.study.policies import policy_of
from trayward.study.season import season_tally
from trayward.study.types import SeasonTask
from trayward.study.world_file import world_named

DAY = timedelta(days=1)


@pytest.mark.slow
def test_a_season_costs_what_the_study_says_it_costs() -> None:
    """Same costs, same total, within a cent; where the two count otherwise is said below.

    - Light: the study takes the mean over all lit shelves, the account the shelf a tray stood on. Held apart.
    - Packs: the study charges those delivered, the account those filled; the keeper fills only what goes out.
    - Sales: the account rounds each line to the cent, so they agree within half a cent a line.
    """
    world = world_named("loft medium")
    task = SeasonTask(world="loft medium", seed=3, policy="rule of thumb")
    start = day_start(world.first, world.settings)
    ledger = Ledger(world.truth(task.seed), world.settings)
    with Farm.create(":memory:", world.setup_bodies(), at=start, by="keeper") as farm:
        keeper = Keeper(
            farm, world, policy_of(task, world, ledger), ledger, world.events(task.seed), world.orders(task.seed)
        )
        for number in range(world.days):
            keeper.live(world.first + number * DAY)
        end = day_start(world.last + DAY, world.settings)
        lines = farm.due(world.first_due, world.last, at=end)
        theirs = season_tally(world, farm.state(end), lines).parts
        account = farm.earned(world.first, world.last, at=end)
    ours = account.total.parts
    for part in ("seed", "medium", "hands"):
        assert float(getattr(ours, part)) == pytest.approx(theirs[part], abs=0.01), part
    assert account.total.parts.seed > Decimal(10), "a season with something in it"
    assert float(ours.packaging) == pytest.approx(theirs["packaging"], abs=0.01)
    assert float(ours.sales + ours.own_table) == pytest.approx(theirs["sales"], abs=0.005 * len(lines))
    assert float(ours.energy) == pytest.approx(theirs["energy"], rel=0.05)
    short = sum(line_money(line, line_met(line), world.settings.money).sales for line in lines)
    assert short == pytest.approx(theirs["sales"])
