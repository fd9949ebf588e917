"""The true law as the plan may be told it: never against what was seen, another luck in each scenario, and no more."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from statistics import fmean

import msgspec
import numpy as np
import pytest

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start
from trayward.farm.entries import RecipeSet
from trayward.study.biology import TrueBiology
from trayward.study.keeper import Keeper
from trayward.study.law import Lasted, Lucks, TrueLaw, draw_lucks, weigh
from trayward.study.ledger import Ledger, Named
from trayward.study.policies import Planned, RuleOfThumb, policy_of
from trayward.study.season import live_season
from trayward.study.truth import sow_moment
from trayward.study.truth_other import DegreeDayTruth
from trayward.study.types import LAW, SeasonTask
from trayward.study.world_file import SeasonWorld, world_named

DAY = timedelta(days=1)
SCENARIOS = range(64)


def shelf(weeks: int = 3, law: str = "log-normal", *, lucky: bool = True) -> SeasonWorld:
    """The home shelf, under either law, with luck of sowings and trays or none."""
    spec = world_named("home shelf").spec
    none = {"sowing": 0.0, "tray": 0.0, "stage_sowing": 0.0, "stage_tray": 0.0, "loss": 0.0}
    levels = spec.levels if lucky else msgspec.structs.replace(spec.levels, **none)
    return SeasonWorld(msgspec.structs.replace(spec, weeks=weeks, law=law, levels=levels))


def kept(world: SeasonWorld, days: int) -> tuple[Farm, Ledger, date]:
    """A farm that the rule of thumb has run for some days, and the next of them."""
    ledger = Ledger(world.truth(1), world.settings)
    farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
    keeper = Keeper(farm, world, RuleOfThumb(world.settings, 1.5), ledger, world.events(1), world.orders(1))
    for number in range(days):
        keeper.live(world.first + DAY * number)
    return farm, ledger, world.first + DAY * days


@pytest.mark.parametrize("law", ["log-normal", "degree-days"])
def test_what_stands_is_never_drawn_against_what_was_seen_and_differs_between_scenarios(law: str) -> None:
    world = shelf(law=law)
    farm, ledger, day = kept(world, 19)
    told, differ = TrueLaw(ledger, world.lot_on, world.events(1).missed), []
    at = sow_moment(day - DAY, world.settings) + timedelta(hours=13)
    state = farm.state(at)
    told.sees(state, at)
    for tray in state.growing():
        futures = [told.standing(tray, scenario) for scenario in SCENARIOS]
        assert len({future.grams for future in futures}) > 20
        if tray.stage != "ready":
            assert all(tray.stage_since + DAY * future.stage_days[0] >= at for future in futures)
            differ.append(len({future.stage_days for future in futures}))
        else:
            assert not any(future.lost or future.stage_days for future in futures)
    assert len(differ) > 3
    assert min(differ) > 1
    assert np.mean(differ) > 3


@pytest.mark.parametrize("law", ["log-normal", "degree-days"])
def test_where_trays_have_no_luck_of_their_own_the_law_foretells_what_known_biology_does(law: str) -> None:
    world = shelf(law=law, lucky=False)
    farm, ledger, day = kept(world, 19)
    at = sow_moment(day - DAY, world.settings) + timedelta(hours=13)
    state, missed = farm.state(at), world.events(1).missed
    told, known = TrueLaw(ledger, world.lot_on, missed), TrueBiology(ledger, world.lot_on, missed)
    told.sees(state, at)
    known.sees(state, at)
    assert state.growing()
    pairs = [(told.standing(tray, luck), known.standing(tray, 0)) for tray in state.growing() for luck in (0, 9, 63)]
    recipes = [body.recipe for body in world.setup_bodies() if isinstance(body, RecipeSet)]
    pairs += [(told.sown(recipe, day, 5), known.sown(recipe, day, 0)) for recipe in recipes]
    assert all(one.stage_days == other.stage_days and not one.lost for one, other in pairs)
    if law == "log-normal":  # the other law has weak trays whatever else is left to luck
        assert all(one.grams == other.grams for one, other in pairs)


def test_trays_not_sown_yet_do_not_share_the_luck_their_sowing_will_have() -> None:
    """With luck of sowings alone, known biology has one weight for a day, and the law one for each scenario."""
    none = {"tray": 0.0, "stage_tray": 0.0, "loss": 0.0}
    spec = world_named("home shelf").spec
    world = SeasonWorld(msgspec.structs.replace(spec, levels=msgspec.structs.replace(spec.levels, **none)))
    ledger, day = Ledger(world.truth(1), world.settings), world.first + 20 * DAY
    recipe = next(body.recipe for body in world.setup_bodies() if isinstance(body, RecipeSet))
    weights = [
        {round(told.sown(recipe, day, scenario).grams, 6) for scenario in SCENARIOS}
        for told in (TrueBiology(ledger, world.lot_on), TrueLaw(ledger, world.lot_on))
    ]
    assert list(map(len, weights)) == [1, 64]


def test_a_sowing_whose_sisters_were_slow_or_light_is_drawn_slow_or_light() -> None:
    """Two lucks of a sowing, 3 and 5 days long, 100 and 200 g: only the one that fits what was seen is left."""
    days = np.array([[[3.0]] * 4, [[5.0]] * 4])
    lucks = Lucks(days, np.array([[98.0, 99.0, 101.0, 102.0], [196.0, 199.0, 201.0, 204.0]]), np.ones((2, 4), int))
    assert weigh(lucks, Counter(), []).upto.tolist() == [0.5, 1.0]
    assert weigh(lucks, Counter({Lasted(0, 4.0, np.inf): 1}), []).upto[0] < 0.01
    assert weigh(lucks, Counter({Lasted(0, 2.5, 3.5): 2}), []).upto[0] > 0.99
    assert weigh(lucks, Counter(), [101.0]).upto[0] > 0.99


def test_what_a_sisters_weight_tells_of_a_sowing_is_what_the_textbook_says() -> None:
    """Normal sowing (sd 0.09) and tray (0.08) in the log: one tray 20 % heavy moves its sowing up by 56 % of that.

    0.09^2 / (0.09^2 + 0.08^2) = 0.559 of log 1.2 = 0.182 is 0.102; 128 lucks of 12 trays say it within 0.035.
    """
    levels = msgspec.structs.replace(world_named("loft medium").spec.levels, sowing=0.09, tray=0.08)
    world = SeasonWorld(msgspec.structs.replace(world_named("loft medium").spec, levels=levels))
    recipe = next(body.recipe for body in world.setup_bodies() if isinstance(body, RecipeSet))
    day = world.first + 20 * DAY
    lucks = draw_lucks(world.truth(1), Named(recipe, day, 0, world.lot_on(recipe.crop, day)))
    usual = float(np.log(lucks.grams).mean())
    weighed = weigh(lucks, Counter(), [float(np.exp(usual)) * 1.2])
    chances = np.diff(weighed.upto, prepend=0.0)
    assert float(chances @ np.log(lucks.grams).mean(axis=1)) - usual == pytest.approx(0.102, abs=0.035)


def test_the_other_law_is_asked_where_the_world_has_it() -> None:
    world = shelf(law="degree-days")
    policy = policy_of(
        SeasonTask(world="home shelf", seed=1, policy=LAW), world, Ledger(world.truth(1), world.settings)
    )
    assert isinstance(policy, Planned)
    told = policy.options["biology"]
    assert isinstance(told, TrueLaw)
    assert isinstance(told.ledger.truth, DegreeDayTruth)


@pytest.mark.slow
def test_a_season_by_the_known_law_is_lived_through() -> None:
    result = live_season(SeasonTask(world="home shelf", seed=1, policy=LAW), shelf(1))
    assert result.delivered_g > 0
    assert 0 < fmean(promise.chance for promise in result.promises) <= 1
