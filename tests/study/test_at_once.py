"""A season planned at once: never above the bound, never below what is lived day by day with less known."""

from __future__ import annotations

import msgspec
import pytest

from trayward.errors import InputError
from trayward.study.at_once import AtOnce, season_at_once
from trayward.study.bound import all_knowing
from trayward.study.season import live_season
from trayward.study.types import RULE, SeasonTask
from trayward.study.world_file import SeasonWorld, world_named


def steady_home() -> SeasonWorld:
    """The home shelf, were nothing left to luck there."""
    world = world_named("home shelf")
    levels = msgspec.structs.replace(world.spec.levels, tray=0.0, stage_tray=0.0, loss=0.0)
    return SeasonWorld(msgspec.structs.replace(world.spec, levels=levels))


@pytest.fixture(scope="module")
def at_once() -> AtOnce:
    """That season planned at once, by the account's prices."""
    return season_at_once(steady_home(), 1)


def test_knowing_all_at_once_lies_between_what_is_lived_and_what_nobody_can_beat(at_once: AtOnce) -> None:
    world = steady_home()
    bound = all_knowing(world, 1, seconds=20.0)
    lived = live_season(SeasonTask(world=world.name, seed=1, policy=RULE, buffer=0.1), world)
    assert lived.margin < at_once.margin <= float(bound.margin) + 0.01


def test_a_farms_prices_meet_no_fewer_lines_than_the_accounts(at_once: AtOnce) -> None:
    as_a_farm = season_at_once(steady_home(), 1, prices="farm")
    assert as_a_farm.full >= at_once.full
    assert as_a_farm.margin <= at_once.counted + 0.01
    assert at_once.lines == as_a_farm.lines > 20


def test_crops_of_mixes_counted_alone_come_to_no_less_than_the_account(at_once: AtOnce) -> None:
    assert at_once.margin <= at_once.counted + 1e-6


def test_where_single_trays_have_luck_it_is_not_asked() -> None:
    with pytest.raises(InputError, match="luck of their own"):
        season_at_once(world_named("home shelf"), 1)
