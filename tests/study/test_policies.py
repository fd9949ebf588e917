"""Policies meet one and the same world, see nothing but the book, and do what they say they do."""

from __future__ import annotations

import math
from datetime import date, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.errors import InputError
from trayward.farm.calendar import day_start, is_work_day
from trayward.farm.entries import RecipeSet
from trayward.study.biology import LUCK, TrueBiology
from trayward.study.events import Events, Slips
from trayward.study.keeper import Keeper
from trayward.study.ledger import Ledger
from trayward.study.policies import Planned, RuleOfThumb, policy_of
from trayward.study.season import live_season
from trayward.study.truth import course, first_cut_day, sow_moment
from trayward.study.types import KNOWN, LEARNING, PRIORS, RULE, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld, world_named

DAY = timedelta(days=1)


def shelf(weeks: int = 3) -> SeasonWorld:
    return SeasonWorld(msgspec.structs.replace(world_named("home shelf").spec, weeks=weeks))


def test_two_policies_meet_the_same_trays() -> None:
    """Of each recipe and day both sowed, the trays of the same number are alike to the gram."""
    world, met = shelf(4), []
    for buffer in (0.0, 0.8):
        ledger = Ledger(world.truth(1), world.settings)
        farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
        policy = RuleOfThumb(world.settings, buffer)
        keeper = Keeper(farm, world, policy, ledger, world.events(1), world.orders(1))
        for number in range(world.days):
            keeper.live(world.first + number * DAY)
        met.append(
            {(each.recipe.name, each.sown_on, each.number): ledger.of(tray) for tray, each in ledger.named.items()}
        )
    shared = met[0].keys() & met[1].keys()
    assert len(shared) > 10
    assert len(met[1]) > len(met[0])
    assert all(met[0][key] == met[1][key] for key in shared)


def test_the_rule_sows_what_is_due_and_the_buffer_over_the_printed_weight_before_it_knows_better() -> None:
    """95 g broccoli due on a Wednesday, 8 days and one more before it is a Monday; printed: 207 g a tray."""
    world = shelf()
    farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
    wednesday = next(world.first_due + DAY * day for day in range(7) if (world.first_due + DAY * day).weekday() == 2)
    for buffer, trays in ((0.0, 1), (1.2, 2)):
        policy = RuleOfThumb(world.settings, buffer)
        at = sow_moment(wednesday - 9 * DAY, world.settings)
        policy.cuts(farm, at)
        found = dict(policy.sowings(farm, at))
        assert found.get("broccoli on mesh mat") == trays == math.ceil(95 * (1 + buffer) / 207)


def test_the_rule_does_not_sow_twice_for_a_line() -> None:
    world = shelf()
    farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
    policy, sown = RuleOfThumb(world.settings, 0.0), 0
    for day in range(world.days):
        at = sow_moment(world.first + DAY * day, world.settings)
        policy.cuts(farm, at)
        sown += sum(trays for name, trays in policy.sowings(farm, at) if name.startswith("broccoli"))
    reach = world.last + 10 * DAY
    due = [line for line in farm.due(world.first_due, reach, at=at) if line.product == "broccoli"]
    assert sown == len([line for line in due if line.due < world.last + 10 * DAY])


def test_a_larger_buffer_sows_more_and_throws_more_away() -> None:
    small, large = (
        live_season(SeasonTask(world="home shelf", seed=1, policy=RULE, buffer=buffer), shelf(5))
        for buffer in (0.0, 1.0)
    )
    assert large.parts["seed"] > small.parts["seed"]
    assert large.unsold_g > small.unsold_g
    assert large.full_on_time >= small.full_on_time


@pytest.fixture(scope="module")
def learned() -> SeasonResult:
    return live_season(SeasonTask(world="home shelf", seed=1, policy=LEARNING), shelf(3))


@pytest.mark.slow
def test_a_season_by_our_plan_is_lived_through(learned: SeasonResult) -> None:
    assert learned.full_on_time > 0.6 * learned.lines
    assert learned.delivered_g > 0


@pytest.mark.slow
def test_kept_plans_teach_chances_and_decide_nothing(learned: SeasonResult) -> None:
    """The same season with plans kept and without: the same money and trays, and chances that follow the record."""
    world = shelf(3)
    task = SeasonTask(world="home shelf", seed=1, policy=LEARNING)
    without = live_season(task, world, lambda _: Planned(world.settings))
    same = [(one.margin, one.cut_g, one.full_on_time) for one in (learned, without)]
    assert same[0] == same[1]
    told, read = ([one.chance for one in result.promises] for result in (learned, without))
    assert len(told) == len(read)
    assert told != read


def test_a_policy_nobody_can_run_a_farm_by_is_refused() -> None:
    world = shelf()
    task = SeasonTask(world="home shelf", seed=1, policy="by the moon")
    with pytest.raises(
        InputError, match=r"policy = by the moon: nobody can run a farm by it\. There are: rule of thumb"
    ):
        policy_of(task, world, Ledger(world.truth(1), world.settings))


def test_only_known_biology_is_told_the_truth_and_only_priors_may_not_learn() -> None:
    world = shelf()
    options = {}
    for name in (LEARNING, PRIORS, KNOWN):
        task = SeasonTask(world="home shelf", seed=1, policy=name)
        policy = policy_of(task, world, Ledger(world.truth(1), world.settings))
        assert isinstance(policy, Planned)
        options[name] = policy.options
    told = {name: {key for key in given if key in ("learned", "biology")} for name, given in options.items()}
    assert told == {LEARNING: set(), PRIORS: {"learned"}, KNOWN: {"biology"}}
    assert options[PRIORS]["learned"] is False
    assert isinstance(options[KNOWN]["biology"], TrueBiology)


def test_known_biology_draws_what_sown_trays_may_do_from_their_true_law() -> None:
    """In each scenario another tray nobody sows; whole days up are the day on which it can be cut."""
    world = world_named("loft medium")
    truth = world.truth(4)
    told = TrueBiology(Ledger(truth, world.settings), world.lot_on)
    for body in world.setup_bodies():
        if isinstance(body, RecipeSet):
            day = world.first + 30 * DAY
            tray = truth.tray(body.recipe, day, LUCK + 3, world.lot_on(body.recipe.crop, day))
            future = told.sown(body.recipe, day, 3)
            assert future.lost == bool(tray.lost_in)
            if not future.lost:
                ready = course(tray, body.recipe, day, world.settings).begins[-1]
                assert future.grams == tray.grams
                assert day + DAY * math.ceil(sum(future.stage_days)) == first_cut_day(ready, world.settings)


def test_known_biology_foretells_what_standing_trays_then_do() -> None:
    """Asked at every morning of a tray's life, it names the same day on which it will be ready, and its weight."""
    world = shelf()
    ledger = Ledger(world.truth(1), world.settings)
    told = TrueBiology(ledger, world.lot_on)
    farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
    keeper = Keeper(farm, world, RuleOfThumb(world.settings, 0.0), ledger, _NoSlips(), world.orders(1))
    foretold: dict[str, set[date]] = {}
    for number in range(30):
        day = world.first + DAY * number
        keeper.live(day)
        at = sow_moment(day, world.settings) + 13 * timedelta(hours=1)
        state = farm.state(at)
        told.sees(state, at)
        for tray in state.growing():
            future = told.standing(tray, 0)
            ready = tray.stage_since + DAY * sum(future.stage_days)
            if not future.lost:
                foretold.setdefault(tray.tray, set()).add(first_cut_day(ready, world.settings))
    assert len(foretold) > 3
    assert all(len(days) == 1 for days in foretold.values()), foretold


class _NoSlips(Events):
    """A grower who misses no walk and mistypes nothing."""

    def __init__(self) -> None:
        super().__init__(Slips(), 1)


@pytest.mark.slow
def test_a_season_with_known_biology_is_lived_through() -> None:
    result = live_season(SeasonTask(world="home shelf", seed=1, policy=KNOWN), shelf(3))
    assert result.delivered_g > 0


def test_the_loft_works_on_mondays() -> None:
    """What the tests of sowing days above rest on."""
    assert is_work_day(world_named("home shelf").settings, date(2026, 2, 16))
