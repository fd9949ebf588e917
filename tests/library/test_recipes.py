"""Standard recipes are built from the table, and name what is missing where it is blank."""

from __future__ import annotations

import pytest

from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import Fact
from trayward.farm.density import seed_for_tray
from trayward.farm.recipes import Medium, Recipe
from trayward.library.advice import recipe_findings
from trayward.library.crops import crop_names, facts_for, library_facts
from trayward.library.recipes import recipe_gaps, sowing_grams, standard_media, standard_recipe
from trayward.library.yields import family_yield_prior, yield_prior

BUILT = [crop for crop in crop_names() if not recipe_gaps(library_facts(crop))]


def lengths(recipe: Recipe) -> dict[str, tuple[float, float, float]]:
    return {stage.name: (stage.days_low, stage.days_typical, stage.days_high) for stage in recipe.stages}


def test_broccoli_on_a_mesh_mat_follows_common_practice() -> None:
    """Common practice, no source: 20 g, three days under weight, one of blackout, cut on day 9."""
    recipe = standard_recipe("broccoli")
    assert recipe.name == "broccoli on mesh mat"
    days = lengths(recipe)
    assert days["germinate"] == (2, 3, 4)
    assert days["blackout"] == (0.7, 1, 1.5)
    assert days["light"] == (3, 4, 5.5)
    assert recipe.days_to_ready == 8
    assert [stage.name for stage in recipe.stages] == ["germinate", "blackout", "light", "ready"]
    assert recipe.stage("germinate").cue == "More yellow shoot than brown seed?"
    assert recipe.stage("blackout").cue == "Tall and straight?"
    assert recipe.stage("light").cue == "Canopy right to cut?"
    assert recipe.stage("germinate").water == "mist"
    assert recipe.stage("light").water == "below"
    assert recipe.stage("germinate").stack == 4
    assert recipe.stage("blackout").stack == 1
    assert recipe.feed_ph == (5.5, 6.0)
    assert recipe.cut_height_mm == (13.0, 25.0)


def test_broccoli_takes_twenty_grams_of_an_ordinary_lot() -> None:
    """Common practice, no source."""
    amount = seed_for_tray(standard_recipe("broccoli"), library_facts("broccoli"), None)
    assert amount.grams == pytest.approx(20.0, rel=0.01)
    assert amount.tablespoons == pytest.approx(2.0, rel=0.1)


def test_most_crops_of_the_table_have_a_standard_recipe() -> None:
    assert len(BUILT) == 30


@pytest.mark.parametrize("crop", BUILT)
@pytest.mark.parametrize("medium", [medium.name for medium in standard_media()])
def test_a_standard_recipe_is_sound(crop: str, medium: str) -> None:
    recipe = standard_recipe(crop, medium)
    facts = library_facts(crop)
    names = [stage.name for stage in recipe.stages]
    assert names[-2:] == ["light", "ready"]
    assert len(names) == len(set(names))
    for stage in recipe.stages:
        assert 0 < stage.days_low <= stage.days_typical <= stage.days_high, stage
        assert stage.do
        assert (stage.ground == "lit") == (stage.name in {"light", "ready"})
        assert (stage.ground == "bench") == (stage.name == "soak")
        assert bool(stage.cue) == (stage.name not in {"soak", "ready"})
        assert stage.stack == 1 or stage.cover == "weight"
    for need in recipe.kit:
        assert set(need.stages) <= set(names)
    pools = {need.pool for need in recipe.kit}
    assert ("mesh mat" in pools) == (medium == "mesh mat")
    total, spent = (
        facts.number("days_sow_to_harvest_typ"),
        recipe.days_to_ready - lengths(recipe).get("soak", (0, 0))[1],
    )
    assert spent == pytest.approx(total)


@pytest.mark.parametrize("crop", BUILT)
def test_a_standard_recipe_sows_the_published_grams(crop: str) -> None:
    facts = facts_for(crop, {crop: {"germ_pct_usual": Fact(value=87.5, trust="farm")}})
    amount = seed_for_tray(standard_recipe(crop, facts=facts), facts, None)
    assert amount.grams == pytest.approx(sowing_grams(facts), rel=0.01)


@pytest.mark.parametrize("crop", BUILT)
def test_a_standard_recipe_on_coir_leaves_nothing_to_point_out(crop: str) -> None:
    assert recipe_findings(standard_recipe(crop, "coir"), library_facts(crop)) == []


def test_soaked_seed_takes_no_kit_while_it_soaks() -> None:
    recipe = standard_recipe("pea")
    assert recipe.stages[0].name == "soak"
    assert recipe.soak_h == 15.0
    assert all("soak" not in need.stages and need.stages for need in recipe.kit)


def test_crops_published_without_blackout_get_none() -> None:
    assert "blackout" not in lengths(standard_recipe("red cabbage"))


def test_dark_time_published_as_one_figure_is_split_and_said() -> None:
    recipe = standard_recipe("sunflower")
    dark = lengths(recipe)["germinate"][1] + lengths(recipe)["blackout"][1]
    assert dark == pytest.approx(5.5)
    assert "its last day taken as blackout" in recipe.note


def test_soft_and_gel_coated_seed_bears_no_weight_and_no_stack() -> None:
    for crop in ("amaranth", "basil", "cress"):
        stage = standard_recipe(crop, "coir").stage("germinate")
        assert (stage.cover, stage.weight_g, stage.stack) == ("weight", 0.0, 1)


def test_gel_coated_seed_is_never_soaked() -> None:
    for crop in BUILT:
        if library_facts(crop).text("mucilaginous") == "yes":
            assert standard_recipe(crop).soak_h == 0


def test_germination_runs_on_thermal_time_where_a_base_is_on_record() -> None:
    assert standard_recipe("broccoli").stage("germinate").base_c == 2.6
    assert standard_recipe("mizuna").stage("germinate").base_c == 6.36
    assert standard_recipe("sunflower").stage("germinate").base_c is None
    assert standard_recipe("sunflower").stage("germinate").at_c is None


def test_a_blank_is_named_and_no_recipe_is_made_up() -> None:
    with pytest.raises(
        InputError, match=r"crop = tatsoi: has no standard recipe, .* grams of seed for a tray"
    ) as caught:
        standard_recipe("tatsoi")
    assert "Set these figures" in caught.value.remedy
    assert recipe_gaps(library_facts("dill")) == (
        "grams of seed for a tray (sow_g_per_1020_typ)",
        "days under cover (days_germ_under_cover_low and _high)",
        "days from sowing to harvest (days_sow_to_harvest_low, _typ and _high)",
    )


def test_the_farms_word_fills_a_blank() -> None:
    facts = facts_for("tatsoi", {"tatsoi": {"sow_g_per_1020_typ": Fact(value=15.0, unit="g", trust="farm")}})
    recipe = standard_recipe("tatsoi", facts=facts)
    assert recipe.live_seeds_per_cm2 == pytest.approx(15 / 2.1 * 1000 / 1290.32 * 0.875, abs=0.01)
    assert "(this farm)" in recipe.note


def test_the_farms_own_light_days_count() -> None:
    facts = facts_for("kale", {"kale": {"days_light_typ": Fact(value=5.0, unit="d", trust="farm")}})
    assert lengths(standard_recipe("kale", facts=facts))["light"][1] == 5.0


def test_an_unknown_medium_is_refused_and_the_farms_own_is_taken() -> None:
    with pytest.raises(NotFoundError, match=r"medium 'moon dust': .* Known: mesh mat, coir"):
        standard_recipe("broccoli", "moon dust")
    own = Medium(name="fine mat", reusable=True, aperture_mm=0.6)
    assert "fine mat" in {need.pool for need in standard_recipe("amaranth", own).kit}


def test_a_yield_prior_names_its_sources_and_stays_blank_where_the_table_is() -> None:
    prior = standard_recipe("broccoli").yield_prior
    assert (prior.low_g, prior.typical_g, prior.high_g) == (95, 207, 340)
    assert prior.source == "practice, sare_fne20_966, web_yield_article"
    assert standard_recipe("beet").yield_prior.typical_g is None
    assert yield_prior(library_facts("arugula")).source.endswith("typical is the middle of low and high")


def test_a_borrowed_yield_says_from_whom_and_is_wide() -> None:
    prior = family_yield_prior("kohlrabi")
    assert prior.source.startswith("borrowed from broccoli, kale")
    assert prior.low_g is not None
    assert prior.typical_g is not None
    assert prior.high_g is not None
    assert prior.low_g < 95 < prior.typical_g < 340 < prior.high_g


def test_clover_does_not_borrow_from_pea() -> None:
    """The same family, but a seed a hundred times lighter."""
    lenders = family_yield_prior("red clover").source.removeprefix("borrowed from ").split(", ")
    assert "mustard" in lenders
    assert "pea" not in lenders
