"""Whether a recipe can work: seed against mesh, gel against soaking, density and days against what is published.

Severity `wrong` means that the recipe cannot work as written; `odd` means that it deserves a look.
"""

from __future__ import annotations

from collections.abc import Iterator

from trayward.errors import Finding
from trayward.farm.crops import CropFacts
from trayward.farm.live_seed import ordinary_live_share
from trayward.farm.recipes import Recipe, TraySize
from trayward.library.recipes import USUAL_LIVE_SHARE
from trayward.science.seeds import grams_for_density

NEAR, NEAR_SLIM = 1.2, 1.6
"""Seed up to this many times the aperture may slip through; the second for long or flat seed whose size is only known
as a ball of equal mass. Our estimate, as in the crop table."""
DENSITY_REACH = 1.5
"""How far beyond the published grams a density may go before it is pointed out: our estimate."""
CROWDED_PER_CM2, CROWDED_TSW_G = 12.0, 1.5
"""More seeds than this per cm2, of seed heavier than this, is beyond every trial on record. [1/cm2], [g]"""
ROUNDING_DAYS = 0.05


def recipe_findings(recipe: Recipe, facts: CropFacts) -> list[Finding]:
    """
    Everything about a recipe that cannot work or deserves a look.

    Parameters
    ----------
    recipe : Recipe
        The recipe as it is to be used.
    facts : CropFacts
        What is known of its crop; a blank gives no finding of its own but is named in one `facts-missing`.

    Returns
    -------
    list of Finding
        `seed-through-mesh` and `gel-seed-soaked` are wrong; `seed-near-mesh`, `density-outside`, `density-crowded`,
        `days-outside` and `facts-missing` are odd.
    """
    checks = (_mesh, _gel, _density, _crowded, _days, _missing)
    return [finding for check in checks for finding in check(recipe, facts)]


def _mesh(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    hole, seed = recipe.medium.aperture_mm, facts.number("square_mesh_pass_mm")
    if hole is None or seed is None:
        return
    where = f"{recipe.medium.name} under {facts.crop} = {hole:g} mm aperture"
    if seed < hole:
        yield Finding(
            code="seed-through-mesh",
            severity="wrong",
            message=f"{where}: the seed falls through square holes from {seed:g} mm.",
            remedy=f"Use a mat with holes below {seed / NEAR:.1f} mm, or coir, hemp or paper.",
        )
        return
    slim = facts.text("passes_1mm_mesh") == "borderline"
    if seed < hole * (NEAR_SLIM if slim else NEAR):
        yield Finding(
            code="seed-near-mesh",
            severity="odd",
            message=f"{where}: borderline, small or slim seed passes; typical seed needs about {seed:g} mm.",
            remedy="Try a spoonful over a white plate first, or use a finer mat or paper." + _gel_words(facts),
        )


def _gel_words(facts: CropFacts) -> str:
    if facts.text("mucilaginous") != "yes":
        return ""
    return " Its gel holds it once wet, not before: wet the mat first and do not shake the tray."


def _gel(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    soaked = recipe.soak_h > 0 or any(stage.water == "soak" for stage in recipe.stages)
    if soaked and facts.text("mucilaginous") == "yes":
        yield Finding(
            code="gel-seed-soaked",
            severity="wrong",
            message=f"soak of {recipe.name} = {recipe.soak_h:g} h: wet {facts.crop} seed turns into a lump of gel.",
            remedy="Take the soak out: sow it dry and mist after.",
        )


def _all_seeds_per_cm2(recipe: Recipe, facts: CropFacts) -> float:
    return recipe.live_seeds_per_cm2 / (ordinary_live_share(facts) or USUAL_LIVE_SHARE)


def _density(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    tsw = facts.number("tsw_g_typ")
    known = [facts.number(f"sow_g_per_1020_{end}") for end in ("low", "typ", "high")]
    published = [grams for grams in known if grams is not None]
    if tsw is None or not published:
        return
    grams = grams_for_density(_all_seeds_per_cm2(recipe, facts), TraySize().area_cm2, tsw, 1.0)
    low, high = min(published), max(published)
    if low / DENSITY_REACH <= grams <= high * DENSITY_REACH:
        return
    span = f"{low:g} to {high:g} g" if low < high else f"{low:g} g"
    yield Finding(
        code="density-outside",
        severity="odd",
        message=f"density of {recipe.name} = {recipe.live_seeds_per_cm2:g} live seeds per cm2: that is about "
        f"{grams:.0f} g on a nominal 1020 tray, published is {span}.",
        remedy="Check the seed weight and the tray's inside measures, or try one tray before you sow many.",
    )


def _crowded(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    tsw, seeds = facts.number("tsw_g_typ"), _all_seeds_per_cm2(recipe, facts)
    if tsw is not None and tsw > CROWDED_TSW_G and seeds > CROWDED_PER_CM2:
        yield Finding(
            code="density-crowded",
            severity="odd",
            message=f"density of {recipe.name} = {seeds:.0f} seeds per cm2: crowded trays rot before harvest; seed of "
            f"this weight is sown below {CROWDED_PER_CM2:g} per cm2.",
            remedy="Sow less, or try one tray before you sow many.",
        )


def _days(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    names = {stage.name: stage.days_typical for stage in recipe.growing_stages}
    from_sowing = recipe.days_to_ready - names.get("soak", 0.0)
    if "germinate" in names:
        yield from _days_against(recipe, facts, "germinate", names["germinate"], "days_germ_under_cover")
        if facts.number("days_germ_under_cover_low") is None:
            dark = names["germinate"] + names.get("blackout", 0.0)
            yield from _days_against(recipe, facts, "germinate and blackout", dark, "days_blackout")
        elif "blackout" in names:
            yield from _days_against(recipe, facts, "blackout", names["blackout"], "days_blackout")
    yield from _days_against(recipe, facts, "sowing to ready", from_sowing, "days_sow_to_harvest")


def _days_against(recipe: Recipe, facts: CropFacts, what: str, days: float, stem: str) -> Iterator[Finding]:
    low, high = facts.number(f"{stem}_low"), facts.number(f"{stem}_high")
    if low is None or high is None or low - ROUNDING_DAYS <= days <= high + ROUNDING_DAYS:
        return
    yield Finding(
        code="days-outside",
        severity="odd",
        message=f"{what} of {recipe.name} = {days:.3g} d: published is {low:g} to {high:g} d.",
        remedy="Keep it if your own trays say so; else bring it nearer.",
    )


def _missing(recipe: Recipe, facts: CropFacts) -> Iterator[Finding]:
    wanted = {"tsw_g_typ": "the weight of 1000 seeds", "mucilaginous": "whether its seed coats itself in gel"}
    if recipe.medium.aperture_mm is not None:
        wanted["square_mesh_pass_mm"] = "the size of its seed"
    blank = [words for name, words in wanted.items() if name not in facts.facts]
    if not any(f"sow_g_per_1020_{end}" in facts.facts for end in ("low", "typ", "high")):
        blank.append("how many grams are sown on a tray")
    if not any(f"days_sow_to_harvest_{end}" in facts.facts for end in ("low", "high")):
        blank.append("how many days it takes")
    if blank:
        yield Finding(
            code="facts-missing",
            severity="odd",
            message=f"{facts.crop} on {recipe.medium.name}: not on record is {', '.join(blank)}; that was not checked.",
            remedy="Set the crop's own figures on this farm when you know them.",
        )
