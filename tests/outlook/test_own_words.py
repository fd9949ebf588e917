"""What a farm says itself of its recipes: taken as said at first, put right together by what its trays weigh."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import msgspec
import numpy as np
import pytest

from tests.outlook.yield_rows import plain_row
from trayward.farm.recipes import Recipe, YieldPrior
from trayward.library.recipes import standard_recipe
from trayward.outlook.rows import YieldRow
from trayward.outlook.yields import Asked, YieldLearner, YieldModel

CROPS = ("broccoli", "kale", "radish", "pea", "mustard", "arugula")
SAID_G = 160.0
MONDAY = datetime(2026, 2, 2, 9, 0, tzinfo=UTC)


def own(crop: str) -> Recipe:
    """A recipe of which the farm says that 8 of 10 trays weigh 128 to 200 g."""
    word = YieldPrior(low_g=128.0, typical_g=SAID_G, high_g=200.0, source="this farm")
    return msgspec.structs.replace(standard_recipe(crop), yield_prior=word)


OWN = {recipe.name: recipe for recipe in map(own, CROPS)}


def cut(recipes: list[Recipe], share: float, *, first_season: int = 0, seed: int = 1) -> list[YieldRow]:
    """Eight weekly trays of each recipe, of two seasons, that weigh a share of what the farm says, give or take."""
    luck = np.random.default_rng(seed)
    return [
        _row(recipe, number, share, float(luck.normal(0.0, 0.12)), first_season)
        for recipe in recipes
        for number in range(8)
    ]


def _row(recipe: Recipe, number: int, share: float, luck: float, first_season: int) -> YieldRow:
    name, log = f"{recipe.crop}{number}", math.log(SAID_G * share / recipe.tray.area_cm2) + luck
    at = MONDAY + timedelta(days=7 * number)
    season, lot = first_season + number // 4, f"{recipe.crop} {number // 4}"
    return plain_row(name, recipe, log, sowing=name, lot=lot, season=season, at=at)


def taught(rows: list[YieldRow]) -> YieldModel:
    return YieldLearner(OWN, rows).with_rows([])


def middle(model: YieldModel, recipe: Recipe) -> float:
    """The likely weight of a tray of a season and a lot not met yet. [g]"""
    return math.exp(model.law(Asked(recipe=recipe, season="99")).mu)


def test_before_any_tray_it_is_as_said() -> None:
    assert middle(taught([]), OWN["kale on mesh mat"]) == pytest.approx(SAID_G)


def test_a_farm_that_says_too_much_of_all_is_put_right_for_the_seasons_to_come() -> None:
    recipes = list(OWN.values())
    model = taught(cut(recipes, 0.8))
    found = [middle(model, recipe) / SAID_G for recipe in recipes]
    assert 0.77 < float(np.mean(found)) < 0.85
    assert model.sds()["season"] < 0.08  # not the weather's doing: it was so all along


def test_what_five_crops_show_is_expected_in_part_of_a_sixth_never_cut() -> None:
    *cropped, last = OWN.values()
    found = middle(taught(cut(cropped, 0.8)), last) / SAID_G
    assert 0.82 < found < 0.94


def test_one_crop_off_hardly_moves_the_others() -> None:
    first, *others = OWN.values()
    model = taught([*cut([first], 0.7), *cut(others, 1.0, seed=2)])
    assert middle(model, first) / SAID_G < 0.8
    assert all(0.93 < middle(model, other) / SAID_G < 1.06 for other in others)


def test_a_published_figure_of_the_same_crop_is_not_the_farms_word() -> None:
    """Two recipes of a crop, one with the farm's word: that word says nothing of the other, nor is its error shared."""
    ours = OWN["radish on mesh mat"]
    printed = msgspec.structs.replace(standard_recipe("radish"), name="radish by the book")
    recipes = {ours.name: ours, printed.name: printed}
    empty = YieldLearner(recipes, []).with_rows([])
    model = YieldLearner(recipes, cut([ours], 0.7)).with_rows([])
    assert middle(model, printed) == pytest.approx(middle(empty, printed), rel=0.01)
    assert middle(model, ours) < 0.85 * SAID_G
