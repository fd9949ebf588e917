"""A recipe that cannot work is said to be wrong; one that deserves a look is said to be odd, with the way out."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec
import pytest

from trayward.errors import Finding
from trayward.farm.crops import CropFacts
from trayward.farm.recipes import Medium, Recipe, Stage
from trayward.library.advice import recipe_findings
from trayward.library.crops import library_facts
from trayward.library.recipes import standard_media, standard_recipe

MESH = standard_media()[0]


@dataclass
class Found:
    codes: dict[str, Finding]

    def __getitem__(self, code: str) -> Finding:
        return self.codes[code]

    def __contains__(self, code: str) -> bool:
        return code in self.codes


def advise(recipe: Recipe, facts: CropFacts | None = None) -> Found:
    found = recipe_findings(recipe, facts or library_facts(recipe.crop))
    return Found({finding.code: finding for finding in found})


def changed(recipe: Recipe, **fields: object) -> Recipe:
    return msgspec.structs.replace(recipe, **fields)


def test_amaranth_on_a_one_millimetre_mat_is_warned_about_and_broccoli_is_not() -> None:
    found = advise(standard_recipe("amaranth", MESH))
    assert found["seed-near-mesh"].severity == "odd"
    assert "borderline" in found["seed-near-mesh"].message
    assert recipe_findings(standard_recipe("broccoli", MESH), library_facts("broccoli")) == []


def test_seed_smaller_than_the_hole_is_wrong() -> None:
    wide = Medium(name="wide mat", reusable=True, aperture_mm=2.0)
    found = advise(standard_recipe("broccoli", wide))
    assert found["seed-through-mesh"].severity == "wrong"
    assert found["seed-through-mesh"].message.startswith("wide mat under broccoli = 2 mm aperture:")
    assert "holes below 1.5 mm" in found["seed-through-mesh"].remedy


def test_celery_falls_through_a_one_millimetre_mat() -> None:
    recipe = changed(standard_recipe("broccoli", MESH), crop="celery")
    assert advise(recipe)["seed-through-mesh"].severity == "wrong"


def test_slim_seed_known_only_by_its_mass_is_borderline_further_up() -> None:
    """Carrot's ball of equal mass is 1.20 mm, chives' 1.20 mm; the real seed is slimmer than its ball."""
    assert "seed-near-mesh" in advise(standard_recipe("carrot", MESH))
    fine = Medium(name="fine mat", reusable=True, aperture_mm=0.6)
    assert "seed-near-mesh" not in advise(standard_recipe("carrot", fine))


def test_gel_coated_seed_near_a_mesh_is_told_how_its_gel_helps() -> None:
    assert "wet the mat first" in advise(standard_recipe("basil", MESH))["seed-near-mesh"].remedy
    assert "gel" not in advise(standard_recipe("amaranth", MESH))["seed-near-mesh"].remedy


def test_soaking_gel_coated_seed_is_wrong_and_soaking_pea_is_not() -> None:
    soaked = changed(standard_recipe("basil", "coir"), soak_h=4.0)
    assert advise(soaked)["gel-seed-soaked"].severity == "wrong"
    assert "gel-seed-soaked" not in advise(standard_recipe("pea", "coir"))
    soak = Stage(name="soak", days_low=0.1, days_typical=0.2, days_high=0.3, ground="bench", water="soak")
    basil = standard_recipe("basil", "coir")
    assert "gel-seed-soaked" in advise(changed(basil, stages=(soak, *basil.stages)))


@pytest.mark.parametrize(("factor", "odd"), [(1.0, False), (0.6, False), (2.0, False), (0.4, True), (2.2, True)])
def test_density_is_pointed_out_only_well_beyond_the_published_grams(factor: float, odd: bool) -> None:
    """Broccoli: 15 to 28 g published, 20 g standard; 1.5 times beyond is 10 to 42 g, or 0.5 to 2.1 of standard."""
    recipe = standard_recipe("broccoli", "coir")
    dense = changed(recipe, live_seeds_per_cm2=recipe.live_seeds_per_cm2 * factor)
    found = advise(dense)
    assert ("density-outside" in found) == odd
    if odd:
        assert "published is 15 to 28 g" in found["density-outside"].message


def test_more_than_twelve_seeds_of_middling_weight_on_a_square_centimetre_are_crowded() -> None:
    mizuna = standard_recipe("mizuna", "coir")
    assert "density-crowded" not in advise(mizuna)
    assert "density-crowded" in advise(changed(mizuna, live_seeds_per_cm2=11.0))
    assert "density-crowded" not in advise(standard_recipe("amaranth", "coir"))


def test_days_beyond_the_published_range_are_pointed_out_by_stage() -> None:
    recipe = standard_recipe("broccoli", "coir")
    longer = tuple(
        msgspec.structs.replace(stage, days_typical=4.0, days_high=5.0) if stage.name == "blackout" else stage
        for stage in recipe.stages
    )
    found = [f.message for f in recipe_findings(changed(recipe, stages=longer), library_facts("broccoli"))]
    assert found == ["blackout of broccoli on coir = 4 d: published is 0.7 to 1.5 d."]


def test_sowing_to_ready_beyond_the_published_range_is_pointed_out() -> None:
    recipe = standard_recipe("broccoli", "coir")
    slow = tuple(
        msgspec.structs.replace(stage, days_typical=12.0, days_high=14.0) if stage.name == "light" else stage
        for stage in recipe.stages
    )
    message = advise(changed(recipe, stages=slow))["days-outside"].message
    assert message == "sowing to ready of broccoli on coir = 16 d: published is 7 to 12 d."


def test_soaking_does_not_count_into_the_published_days() -> None:
    assert "days-outside" not in advise(standard_recipe("wheatgrass", "coir"))


def test_blanks_are_named_not_guessed() -> None:
    recipe = changed(standard_recipe("broccoli", MESH), crop="moonwort")
    found = advise(recipe, CropFacts(crop="moonwort"))
    assert list(found.codes) == ["facts-missing"]
    message = found["facts-missing"].message
    for words in ("weight of 1000 seeds", "gel", "size of its seed", "how many grams", "how many days"):
        assert words in message
