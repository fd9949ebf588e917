"""The hidden truth: the same for whoever asks first, spread as its world says, and set back by what befalls it."""

from __future__ import annotations

import math
from datetime import date, timedelta
from statistics import NormalDist, fmean, stdev

import msgspec
import pytest

from trayward.farm.entries import RecipeSet
from trayward.farm.recipes import Recipe
from trayward.outlook.priors import stage_belief
from trayward.study.chance import Chance
from trayward.study.events import BadLot, Events, PowerCut, Slips
from trayward.study.truth import (
    LogNormalTruth,
    Scene,
    Temperature,
    Truth,
    TruthLevels,
    course,
    first_cut_day,
    last_cut_day,
    usual_grams,
    weight_on,
)
from trayward.study.truth_other import DegreeDayTruth
from trayward.study.world_file import SeasonWorld, world_named

DAY = timedelta(days=1)
LAWS = (LogNormalTruth, DegreeDayTruth)
STILL = Temperature(mean=21.0, rise=0.0, sd=0.0)


@pytest.fixture(scope="module")
def loft() -> SeasonWorld:
    return world_named("loft medium")


@pytest.fixture(scope="module")
def recipes(loft: SeasonWorld) -> dict[str, Recipe]:
    return {body.recipe.crop: body.recipe for body in loft.setup_bodies() if isinstance(body, RecipeSet)}


def scene(loft: SeasonWorld, **more: object) -> Scene:
    return Scene(settings=loft.settings, first=loft.first, days=loft.days, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("law", LAWS)
def test_a_tray_is_the_same_whatever_was_asked_before(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """Common random numbers: two policies that sow the same tray meet the same tray."""
    one, other = law(TruthLevels(), scene(loft), 5), law(TruthLevels(), scene(loft), 5)
    asked = [
        (recipes[crop], loft.first + DAY * day, number)
        for crop in ("pea", "kale")
        for day in (3, 9)
        for number in (0, 2)
    ]
    first = [one.tray(recipe, day, number, "L") for recipe, day, number in asked]
    again = [other.tray(recipe, day, number, "L") for recipe, day, number in reversed(asked)]
    assert first == again[::-1]
    assert len({truth.grams for truth in first}) == len(first)


@pytest.mark.parametrize("law", LAWS)
def test_another_seed_number_is_another_farm(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    trays = [law(TruthLevels(), scene(loft), seed).tray(recipes["pea"], loft.first, 0, "L") for seed in range(4)]
    assert len({tray.grams for tray in trays}) == 4


@pytest.mark.parametrize("law", LAWS)
def test_other_luck_moves_what_a_sowing_and_a_tray_have_of_their_own_and_nothing_else(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """Means over 300 lucks of 2 trays, in 4 farms: each farm keeps its own weight, within 5 standard errors."""
    own = TruthLevels(house=0.2, recipe=0.3, sowing=0.09, tray=0.08, loss=0.0)
    none = msgspec.structs.replace(own, sowing=0.0, tray=0.0, stage_sowing=0.0, stage_tray=0.0)
    pea, day = recipes["pea"], loft.first + 3 * DAY
    for seed in range(4):
        truth, sure = law(own, scene(loft), seed), law(none, scene(loft), seed)
        drawn = [[truth.fresh(luck).tray(pea, day, number, "L").grams for number in range(2)] for luck in range(300)]
        usual = truth.tray(pea, day, 0, "L").grams
        assert truth.fresh(3).tray(pea, day, 0, "L").grams == drawn[3][0] != usual
        assert len({grams for pair in drawn for grams in pair}) == 600
        means = [fmean(pair) for pair in drawn]
        if law is LogNormalTruth:  # the other law has weak trays too, which stay where there is no other luck
            assert abs(fmean(means) / sure.tray(pea, day, 0, "L").grams - 1) < 0.01 + 5 * 0.11 / math.sqrt(300)
        assert truth.fresh(1).warmth(day) == truth.warmth(day)
        assert sure.fresh(1).tray(pea, day, 0, "L").stage_days == sure.tray(pea, day, 0, "L").stage_days
        assert truth.tray(pea, day, 0, "L").grams == usual


def test_weights_of_recipes_lie_off_what_is_printed_as_far_as_the_world_says(
    loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """Over 400 farms and 14 recipes; the sd of a variance's estimate from n normal draws is sqrt(2 / n) of it."""
    levels = TruthLevels(recipe=0.2, house=0.0, lot=0.0, season=0.0, sowing=0.0, tray=0.0, temperature=STILL)
    logs = [
        math.log(LogNormalTruth(levels, scene(loft), seed).tray(recipe, loft.first, 0, "L").grams / usual_grams(recipe))
        for seed in range(40)
        for recipe in recipes.values()
    ]
    assert stdev(logs) == pytest.approx(0.2, rel=4 / math.sqrt(2 * len(logs)))
    assert fmean(logs) == pytest.approx(0.0, abs=4 * 0.2 / math.sqrt(len(logs)))


def test_stages_keep_to_the_recipes_range_when_their_spreads_make_one(
    loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """The parts make 1 in all, the room is as the recipes count on: 8 in 10 lie between low and high."""
    part = math.sqrt(0.25)
    levels = TruthLevels(stage_house=part, stage_recipe=part, stage_sowing=part, stage_tray=part, temperature=STILL)
    stage = recipes["kale"].stage("light")
    belief = stage_belief(stage)
    assert belief is not None
    days = [
        LogNormalTruth(levels, scene(loft), seed).tray(recipes["kale"], loft.first, 0, "L").stage_days["light"]
        for seed in range(600)
    ]
    logs = [(math.log(length) - belief.mu) / belief.sd for length in days]
    assert stdev(logs) == pytest.approx(1.0, rel=4 / math.sqrt(2 * len(logs)))
    inside = fmean(abs(log) < NormalDist().inv_cdf(0.9) for log in logs)
    assert inside == pytest.approx(0.8, abs=4 * math.sqrt(0.16 / len(logs)))


@pytest.mark.parametrize("law", LAWS)
def test_losses_come_to_the_share_that_is_asked_for(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """5 in 100 over many farms; sowings and recipes share their luck, so half of it either way is allowed for."""
    levels = TruthLevels(loss=0.05)
    lost = [
        bool(truth.tray(recipe, loft.first + DAY * day, number, "L").lost_in)
        for seed in range(25)
        for truth in (law(levels, scene(loft), seed),)
        for recipe in recipes.values()
        for day in (4, 40)
        for number in (0, 1, 2)
    ]
    assert 0.03 < fmean(lost) < 0.075


def test_the_second_truth_is_not_log_normal(loft: SeasonWorld, recipes: dict[str, Recipe]) -> None:
    """Weak trays pull its log weights to the left: the skewness of 2,000 normal draws would be 0 give or take 0.055."""
    levels = TruthLevels(tray=0.06, sowing=0.0, lot=0.0, season=0.0, temperature=STILL)
    truth = DegreeDayTruth(levels, scene(loft), 3)
    logs = [math.log(truth.tray(recipes["pea"], loft.first, number, "L").grams) for number in range(2000)]
    middle, spread = fmean(logs), stdev(logs)
    assert fmean(((log - middle) / spread) ** 3 for log in logs) < -0.3


def test_degree_days_run_faster_in_a_warm_room(loft: SeasonWorld, recipes: dict[str, Recipe]) -> None:
    """By hand: a stage with base 2.6 °C runs (24 - 2.6) / (18 - 2.6) = 1.39 times faster at 24 than at 18 °C."""
    warm, cool = (
        DegreeDayTruth(TruthLevels(temperature=Temperature(mean=mean, sd=0.0)), scene(loft), 3) for mean in (24.0, 18.0)
    )
    days = [truth.tray(recipes["broccoli"], loft.first, 0, "L").stage_days["germinate"] for truth in (warm, cool)]
    assert days[1] / days[0] == pytest.approx(
        21.4 / 15.4, rel=0.06
    )  # the day's wave makes the last part of a day uneven


@pytest.mark.parametrize("law", LAWS)
def test_a_power_cut_sets_back_trays_that_stand_in_the_light(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    recipe, sown = recipes["kale"], loft.first
    plain = law(TruthLevels(), scene(loft), 1)
    begins = course(plain.tray(recipe, sown, 0, "L"), recipe, sown, loft.settings).begins
    lit = [stage.name for stage in recipe.stages].index("light")
    during = begins[lit].date() + DAY
    cut = PowerCut(on=during, hours=14, days_later=0.8, grams=0.9)
    struck = law(TruthLevels(), scene(loft, cuts=(cut,)), 1)
    before, after = (truth.tray(recipe, sown, 0, "L") for truth in (plain, struck))
    assert after.grams == pytest.approx(0.9 * before.grams, rel=0.02)  # and a little for the warmth of a day more
    assert after.stage_days["light"] == pytest.approx(before.stage_days["light"] + 0.8)
    later = msgspec.structs.replace(cut, on=begins[-1].date() + 3 * DAY)
    assert law(TruthLevels(), scene(loft, cuts=(later,)), 1).tray(recipe, sown, 0, "L") == before


@pytest.mark.parametrize("law", LAWS)
def test_a_bad_lot_weighs_less_and_takes_longer(
    law: type[LogNormalTruth] | type[DegreeDayTruth], loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    bad = BadLot(crop="kale", first=loft.first, last=loft.first, grams=0.7, slower=1.2, loss=0.0)
    levels = TruthLevels(temperature=STILL, grams_a_degree=0.0)
    good, worse = law(levels, scene(loft), 1), law(levels, scene(loft, bad_lots={"L": bad}), 1)
    one, other = (truth.tray(recipes["kale"], loft.first, 0, "L") for truth in (good, worse))
    assert other.grams == pytest.approx(0.7 * one.grams, rel=0.02)
    assert other.stage_days["germinate"] > one.stage_days["germinate"]


def test_a_tray_is_seen_ready_on_a_walk_and_cut_from_that_morning_on(
    loft: SeasonWorld, recipes: dict[str, Recipe]
) -> None:
    """Stages of exactly 2, 1 and 4 days, sown at 9:50: each is seen over at the next walk, 7:00 or 18:30."""
    recipe = recipes["broccoli"]
    truth = loft.truth(1).tray(recipe, loft.first, 0, "L")
    exact = msgspec.structs.replace(truth, lost_in="", stage_days={"germinate": 2.0, "blackout": 1.0, "light": 4.0})
    lived = course(exact, recipe, loft.first, loft.settings)
    hours = [(begin - lived.begins[0]) / timedelta(hours=1) for begin in lived.begins]
    assert hours == pytest.approx([0.0, 48 + 8 + 40 / 60, 72 + 8 + 40 / 60, 168 + 8 + 40 / 60])
    assert first_cut_day(lived.begins[-1], loft.settings) == loft.first + 8 * DAY
    assert last_cut_day(lived.begins[-1], recipe, loft.settings) == loft.first + 9 * DAY


def test_pea_weighs_four_per_cent_more_for_each_day_it_waits(loft: SeasonWorld, recipes: dict[str, Recipe]) -> None:
    recipe = recipes["pea"]
    truth = loft.truth(1).tray(recipe, loft.first, 0, "L")
    ready = course(truth, recipe, loft.first, loft.settings).begins[-1]
    weights = [weight_on(truth, recipe, ready, ready.date() + DAY * days, loft.settings) for days in (0, 1, 2, 5)]
    assert weights == pytest.approx([truth.grams * factor for factor in (1.0, 1.04, 1.0816, 1.0816)])


def test_about_as_many_weights_are_typed_wrong_as_the_world_says() -> None:
    """2 in 100 of 5,000; a slip is a factor of ten, and one that makes too little is always seen."""
    events = Events(Slips(typed_wrong=0.02, noticed=0.5), 1)
    typed = [events.typed("pea", date(2026, 3, 2), number, 250.0) for number in range(5000)]
    wrong = [each for each in typed if each.grams != 250.0]
    assert len(wrong) / 5000 == pytest.approx(0.02, abs=4 * math.sqrt(0.02 * 0.98 / 5000))
    assert {each.grams for each in wrong} == {25.0, 2500.0}
    assert all(each.noticed for each in wrong if each.grams == 25.0)
    assert {each.noticed for each in wrong if each.grams == 2500.0} == {True, False}


def test_counts_by_name_are_poisson() -> None:
    """Mean and variance of 4,000 counts of mean 0.8, within four standard errors."""
    luck = Chance(3)
    counts = [luck.count(0.8, "n", number) for number in range(4000)]
    assert fmean(counts) == pytest.approx(0.8, abs=4 * math.sqrt(0.8 / 4000))
    assert stdev(counts) ** 2 == pytest.approx(0.8, rel=0.12)


def truth_is_a_truth(law: LogNormalTruth | DegreeDayTruth) -> Truth:
    """Both fit the protocol; the type checker holds it."""
    return law
