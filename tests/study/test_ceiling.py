"""The ceiling of whoever does not know the luck of trays before they are sown: it charges nothing on average."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from statistics import fmean, stdev

import msgspec
import numpy as np
import pytest

from tests.study.test_bound import DAYS, MONDAY, MOST, RECIPES, OnlyThen, earned, farm, orders, tray_ways
from trayward.farm.recipes import Recipe
from trayward.plan.days import Floats
from trayward.study.bound import all_knowing, clairvoyant
from trayward.study.bound_layout import Given, lay_out
from trayward.study.bound_means import Worth, best_averages, classes_of, nets_of
from trayward.study.bound_model import Book, wants_of
from trayward.study.bound_trays import Season
from trayward.study.ceiling import Charging, FreshTrays, charge_of, luck_unknown
from trayward.study.truth import LogNormalTruth, Scene, TruthLevels
from trayward.study.types import CEILING
from trayward.study.world_file import SeasonWorld, world_named
from trayward.study.worlds import TrayTruth

STATE, LINES, SEED = farm(dark=8, lit=8), orders(3), OnlyThen()


class Lucky:
    """A truth of the small farm: one law for all seasons, another luck of each tray in each."""

    def __init__(self, luck: int, spread: float = 1.0) -> None:
        self.luck, self.spread = luck, spread

    def tray(self, of: Recipe, sown_on: date, number: int, _: str) -> TrayTruth:
        """Weights and times that differ a good deal; one tray in six is lost, unless there is no luck."""
        rng = np.random.default_rng([self.luck, len(of.crop), sown_on.toordinal(), number])
        days = {
            stage.name: stage.days_typical * (1 + self.spread * rng.uniform(-0.3, 0.4)) for stage in of.growing_stages
        }
        lost = rng.random() < self.spread / 6
        grams = 100.0 + self.spread * float(rng.uniform(-40.0, 40.0))
        return TrayTruth(stage_days=days, grams=grams, lost_in="light" if lost else "")


def fresh(first: int) -> Lucky:
    """Lucks far from those of the seasons; a number is a tray's own, so that no two share any."""
    return Lucky(50_000 + first)


def steady(_: int) -> Lucky:
    """The same trays whatever the number."""
    return Lucky(0, spread=0.0)


def laid_out(truth: Lucky, each: int = 0) -> tuple[Given, Book]:
    settings = STATE.settings
    assert settings is not None
    season = Season(settings, MONDAY, DAYS)
    given = Given(STATE, LINES, truth, season, lambda of, day: SEED(of, season.days.day(day)), MOST, each)
    wants = wants_of(LINES, season, settings.money)
    return given, Book(layout=lay_out(given), wants=wants, season=season, disposal=settings.money.disposal_kg / 1000)


def margin(truth: Lucky, charge: Callable[[Given, Book], Floats] | None = None, *, whole: bool = True) -> float:
    found = clairvoyant(
        STATE, LINES, truth, MONDAY, DAYS, seed=SEED, seconds=5.0, most=MOST, charge=charge, whole=whole
    )
    return found.margin


@pytest.fixture(scope="module")
def worth() -> Worth:
    """Prices at which trays of unknown luck pay for themselves."""
    book = laid_out(Lucky(0))[1]
    most = np.bincount(classes_of(book.layout.trays)).astype(float)
    return best_averages(laid_out(fresh(10_000), 24)[1], most, seconds=5.0).worth


def test_whoever_sows_without_knowing_the_luck_is_charged_nothing_on_average(worth: Worth) -> None:
    """Every tray sown in every season: the mean over seasons lies within 4 standard errors of 0."""
    charges = []
    for season in range(40):
        given, book = laid_out(Lucky(season))
        charges.append(float(charge_of(given, book, worth, lambda first, s=season: fresh(100 * s + first), 4).sum()))
    assert stdev(charges) > 1.0
    assert abs(fmean(charges)) < 4 * stdev(charges) / 40**0.5


def test_the_ceiling_lies_between_what_is_sown_without_knowing_and_what_the_all_knowing_earn(worth: Worth) -> None:
    """On average over seasons; against the best of some plans of sowing, each cut as soon as it can be."""
    seasons = [Lucky(luck) for luck in range(32)]
    given, book = laid_out(seasons[0])
    mean = nets_of(book, worth).net - charge_of(given, book, worth, fresh, 96)
    knowing = np.array([margin(each, whole=False) for each in seasons])
    ceiling = np.array([margin(each, lambda _, own: nets_of(own, worth).net - mean, whole=False) for each in seasons])
    blind = {counts: fmean(sown_blindly(each, counts) for each in seasons) for counts in ((0, 0), (1, 1), (2, 1))}
    assert max(blind.values()) > blind[0, 0]
    assert max(blind.values()) < ceiling.mean()
    assert ceiling.mean() < knowing.mean()
    # The charge takes the luck of the trays out of a season, so seasons differ less (0.63 times as much).
    assert ceiling.std() < 0.75 * knowing.std()


def sown_blindly(truth: Lucky, counts: tuple[int, int]) -> float:
    """So many trays of each crop sown on the first day, each cut on the first day it can be."""
    settings = STATE.settings
    assert settings is not None
    total = -sum(settings.money.shortfall * each.weight * each.value for each in LINES)
    for of, count in zip(RECIPES, counts, strict=True):
        # The first way is to throw it away, where nothing else can be done.
        ways = [list(tray_ways(STATE, of, truth, 0, number)) for number in range(count)]  # type: ignore[arg-type]
        taken = [each[min(1, len(each) - 1)] for each in ways]
        cuts = sorted(cut for way in taken for cut in way.cuts)
        own = [each for each in LINES if each.product == of.crop]
        total += earned(cuts, own, of.cold_room_days, settings.money) - sum(way.cost for way in taken)
    return total


def test_where_nothing_is_left_to_luck_nothing_is_charged() -> None:
    charge = Charging(steady, lucks=3, seconds=5.0)
    given, book = laid_out(steady(0))
    assert np.abs(charge(given, book)).max() < 1e-9
    assert margin(steady(0), charge) == pytest.approx(margin(steady(0)), abs=1e-6)


def test_where_nothing_is_left_to_luck_averages_are_the_season_without_whole_trays() -> None:
    charge = Charging(steady, lucks=1, seconds=5.0)
    bound = clairvoyant(
        STATE, LINES, steady(0), MONDAY, DAYS, seed=SEED, seconds=5.0, most=MOST, whole=False, charge=charge
    )
    # Both stop within half a percent of their best.
    assert charge.averages == pytest.approx(bound.loose, abs=0.01 * abs(bound.loose) + 0.1)


@pytest.mark.slow
def test_a_season_of_a_world_has_a_ceiling_under_the_other_law_too() -> None:
    world = world_named("home shelf")
    world = SeasonWorld(msgspec.structs.replace(world.spec, law="degree-days"))
    found = luck_unknown(world, 1, seconds=2.0, lucks=8)
    assert found.task.policy == CEILING
    assert found.lines > 20
    assert 0 < found.margin < 1.3 * all_knowing(world, 1, seconds=2.0).margin


def test_fresh_trays_share_the_luck_of_their_sowing_only_where_it_is_known() -> None:
    levels = TruthLevels(tray=0.0, stage_tray=0.0, loss=0.0)
    settings = STATE.settings
    assert settings is not None
    truth = LogNormalTruth(levels, Scene(settings, MONDAY, DAYS), 4)
    of, day = RECIPES[0], MONDAY
    true = truth.tray(of, day, 0, "L").grams
    shared = FreshTrays(truth, 7, sowings_known=True)
    others = FreshTrays(truth, 7)
    assert {shared.tray(of, day, number, "L").grams for number in range(5)} == {true}
    assert len({others.tray(of, day, number, "L").grams for number in range(5)} | {true}) == 6
