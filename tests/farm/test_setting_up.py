"""Shelves, pools, recipes, products and customers change while the farm runs."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from tests.farm.told import Told, codes, grown, lantern_loft, recipe, setting_up, sowing, stage
from trayward.farm.entries import (
    CropFactSet,
    CustomerSet,
    FarmSet,
    KitSet,
    PlaceSet,
    ProductSet,
    RecipeSet,
    StageChanged,
)
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, Part, Product
from trayward.farm.places import Shelf
from trayward.farm.recipes import KitNeed
from trayward.farm.settings import FarmSettings, RoundTime


def shelf(**changed):
    return PlaceSet(
        shelf=Shelf(**{"name": "A1", "rack": "A", "room": "loft", "kind": "dark", "spots": 3, "stack": 3, **changed})
    )


def test_a_shelf_that_loses_spots_in_use_is_refused():
    told = lantern_loft()
    told.say(sowing("S", "A1.3a", "A1.1c"))
    for smaller in (shelf(spots=2), shelf(stack=2), shelf(spots=0), shelf(stack=1)):
        assert codes(told.check(smaller)) == [("wrong", "spots-in-use")]
    assert told.check(shelf(spots=4, stack=4)) == ()
    found = told.say(shelf(spots=2))
    assert found[0].message == "shelf A1 = 2 spots, 3 high: trays stand on A1.3a."
    assert told.state.shelves["A1"].spots == 3, "late or not, the trays stand there"


def test_no_spots_closes_a_shelf():
    told = lantern_loft()
    assert told.say(shelf(spots=0)) == ()
    assert "A1" not in told.state.shelves


@pytest.mark.parametrize("changed", [{"name": "A.1"}, {"name": ""}, {"stack": 0}, {"stack": 27}, {"spots": -1}])
def test_a_shelf_that_cannot_be_is_refused(changed):
    assert codes(lantern_loft().check(shelf(**changed)))[0][0] == "wrong"


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"timezone": "Europe/Nowhere"}, "timezone"),
        ({"rounds": ()}, "rounds"),
        ({"rounds": (RoundTime(name="walk", at=FarmSettings(name="").rounds[0].at),) * 2}, "named-twice"),
        ({"work_minutes": (-1.0,) * 7}, "amount"),
        ({"caution": 80.0}, "amount"),
        ({"calm": -1.0}, "amount"),
    ],
)
def test_settings_that_would_stop_the_day_are_refused(changed, code):
    told = lantern_loft()
    found = told.say(FarmSet(settings=FarmSettings(**{"name": "Lantern Loft", **changed})))
    assert ("wrong", code) in codes(found)
    assert told.state.settings.timezone == "Europe/Berlin"


def test_a_recipe_that_drops_a_stage_in_which_trays_stand_is_refused_with_the_way_out():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"), StageChanged(trays=("S.1",), stage="blackout"))
    short = recipe(stages=(stage("germinate", "dark", stack=3), stage("light", "lit"), stage("ready", "lit")))
    found = told.check(RecipeSet(recipe=short))
    assert codes(found) == [("wrong", "stage-in-use")]
    assert found[0].sentence() == (
        "recipe radish on mat, blackout = dropped: S.1 stand in it. "
        "Keep the stage until they have left it, or make a recipe of another name."
    )
    told.say(StageChanged(trays=("S.1",), stage="light"))
    assert told.check(RecipeSet(recipe=short)) == ()


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"stages": ()}, "last-stage"),
        ({"stages": (stage("light", "lit"),)}, "last-stage"),
        ({"stages": (stage("light", "lit"), stage("light", "lit"), stage("ready", "lit"))}, "named-twice"),
        ({"stages": (stage("light", "lit", days=-1), stage("ready", "lit"))}, "amount"),
        ({"live_seeds_per_cm2": 0.0}, "amount"),
        ({"kit": (KitNeed(pool="mat", each=-1),)}, "amount"),
    ],
)
def test_a_recipe_that_cannot_work_is_refused(changed, code):
    assert ("wrong", code) in codes(lantern_loft().check(RecipeSet(recipe=recipe(name="new", **changed))))


def test_a_dropped_recipe_comes_back_when_it_is_set_again():
    told = lantern_loft()
    told.say(RecipeSet(recipe=recipe(), dropped=True))
    assert told.state.dropped_recipes == {"radish on mat"}
    assert "radish on mat" not in [each.name for each in told.state.recipes_in_use()]
    told.say(RecipeSet(recipe=recipe()))
    assert told.state.dropped_recipes == set()
    assert told.state.recipes_in_use() == list(told.state.recipes.values())


def test_a_crop_is_in_use_as_long_as_one_of_its_recipes_is():
    told = lantern_loft()
    told.say(RecipeSet(recipe=recipe(name="radish on hemp")))
    before = told.state.crops_in_use()
    assert before.count("radish") == 1
    told.say(RecipeSet(recipe=recipe(), dropped=True))
    assert set(told.state.crops_in_use()) == set(before)
    told.say(RecipeSet(recipe=recipe(name="radish on hemp"), dropped=True))
    assert set(told.state.crops_in_use()) == set(before) - {"radish"}


def test_a_pool_set_up_after_its_trays_were_sown_counts_what_they_hold():
    told = Told(*(body for body in setting_up() if not isinstance(body, KitSet)))
    told.say(sowing("S", "A1.1a", "A1.1b"), KitSet(pool=Pool(name="tray", count=20)))
    assert told.state.kit["tray"].in_use == 4
    assert told.state.trays["S.1"].kit == {"tray": 2}


def test_a_pool_smaller_than_what_is_in_use_is_odd():
    found = grown().check(KitSet(pool=Pool(name="tray", count=3)))
    assert codes(found) == [("odd", "kit-short")]


def test_a_product_must_share_itself_out():
    parts = (Part(crop="radish", share=0.6), Part(crop="pea", share=0.3))
    body = ProductSet(product=Product(name="spicy mix", parts=parts, pack_g=50.0, price=4.0))
    assert codes(lantern_loft().check(body)) == [("wrong", "shares")]
    whole = replace(body.product, parts=(parts[0], replace(parts[1], share=0.4)))
    assert lantern_loft().check(ProductSet(product=whole)) == ()
    thirds = tuple(Part(crop=crop, share=0.333) for crop in ("radish", "pea", "kale"))
    assert lantern_loft().check(ProductSet(product=replace(body.product, parts=thirds))) == ()


def test_a_crops_figure_said_by_the_farm_is_kept_as_its_own():
    told = lantern_loft()
    told.say(CropFactSet(crop="radish", name="tsw_g_typ", value=11, note="weighed"))
    fact = told.state.crop_facts["radish"]["tsw_g_typ"]
    assert (fact.value, fact.trust, fact.note) == (11.0, "farm", "weighed")
    assert isinstance(fact.value, float)


def test_a_customers_weight_cannot_be_less_than_nothing():
    assert codes(lantern_loft().check(CustomerSet(customer=Customer(name="Kite Cafe", weight=-1.0)))) == [
        ("wrong", "amount")
    ]
