"""Standard recipes: one crop on a common medium in a nominal 1020 tray, built from the crop table.

They start a farm off; the farm changes them as it likes. What the table does not know is named, not guessed.
"""

from __future__ import annotations

import re

from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import CropFacts
from trayward.farm.live_seed import ordinary_live_share
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage, TraySize
from trayward.library.crops import library_facts
from trayward.library.stages import (
    blackout_stage,
    dark_days,
    germinate_stage,
    light_days,
    light_stage,
    ready_stage,
    soak_stage,
)
from trayward.library.yields import yield_prior
from trayward.science.seeds import density_of_grams
from trayward.sources import PRACTICE

USUAL_LIVE_SHARE = 0.875
"""Live share published grams are read at where no germination standard is on record: common practice, no source."""
COLD_ROOM_DAYS = 5
"""Cold keeping where the table is blank: common practice, no source. [d]"""

_MEDIA = (
    Medium(name="mesh mat", reusable=True, aperture_mm=1.0, square_holes=True),
    Medium(name="coir"),
    Medium(name="soil"),
    Medium(name="hemp mat"),
    Medium(name="paper"),
)


def standard_media() -> tuple[Medium, ...]:
    """The common media. The mesh mat has square holes of 1 mm; measure your own, they differ."""
    return _MEDIA


def _medium(name: str) -> Medium:
    for medium in _MEDIA:
        if medium.name == name:
            return medium
    raise NotFoundError("medium", name, tuple(medium.name for medium in _MEDIA), "Or give a medium of your own.")


def sowing_grams(facts: CropFacts) -> float | None:
    """Published grams for a nominal 1020 tray: the typical figure, else the middle of low and high, else None. [g]"""
    typical = facts.number("sow_g_per_1020_typ")
    low, high = facts.number("sow_g_per_1020_low"), facts.number("sow_g_per_1020_high")
    if typical is None and low is not None and high is not None:
        return (low + high) / 2
    return typical


def recipe_gaps(facts: CropFacts) -> tuple[str, ...]:
    """What is not known of a crop and must be before a recipe can be built; empty where nothing is missing."""
    dark = dark_days(facts)
    known = {
        "grams of seed for a tray (sow_g_per_1020_typ)": sowing_grams(facts),
        "the weight of 1000 seeds (tsw_g_typ)": facts.number("tsw_g_typ"),
        "days under cover (days_germ_under_cover_low and _high)": dark,
        "days from sowing to harvest (days_sow_to_harvest_low, _typ and _high)": light_days(facts, _dark_total(facts)),
    }
    return tuple(what for what, value in known.items() if value is None)


def _dark_total(facts: CropFacts) -> float:
    dark = dark_days(facts)
    return sum(days.typical for days in dark if days is not None) if dark is not None else 0.0


def standard_recipe(crop: str, medium: str | Medium = "mesh mat", facts: CropFacts | None = None) -> Recipe:
    """
    A recipe built from the crop table.

    Parameters
    ----------
    crop : str
        A crop of the library, or any crop when `facts` is given.
    medium : str or Medium
        One of `standard_media`, by name, or the farm's own.
    facts : CropFacts or None
        What is known of the crop; None: what the library says. Give `facts_for(...)` to let the farm's word count.

    Returns
    -------
    Recipe
        For a nominal 1020 tray, named like `broccoli on mesh mat`. Its note says where grams and yield come from.

    Raises
    ------
    NotFoundError
        If the library knows neither crop nor medium.
    InputError
        If the table is blank where the recipe needs it; names what is missing.

    Notes
    -----
    Density is the published grams read as live seeds per cm2 at the typical seed weight, for an ordinary lot.
    """
    facts = facts if facts is not None else library_facts(crop)
    gaps = recipe_gaps(facts)
    if gaps:
        rule = "has no standard recipe, because the library does not know " + "; ".join(gaps)
        raise InputError("crop", crop, rule, "Set these figures for your farm, or write the recipe yourself.")
    medium = _medium(medium) if isinstance(medium, str) else medium
    stages = _stages(facts, "mat" if medium.name.endswith("mat") else medium.name)
    keeps = facts.number("storage_life_days_4_5C")
    return Recipe(
        name=f"{crop} on {medium.name}",
        crop=crop,
        medium=medium,
        stages=stages,
        live_seeds_per_cm2=_density(facts),
        tray=TraySize(),
        soak_h=round(stages[0].days_typical * 24, 1) if stages[0].name == "soak" else 0.0,
        kit=_kit(medium, stages),
        yield_prior=yield_prior(facts),
        cut_window_days=2,
        cold_room_days=int(keeps) if keeps is not None else COLD_ROOM_DAYS,
        note=_note(facts),
    )


def _density(facts: CropFacts) -> float:
    grams, tsw = sowing_grams(facts), facts.number("tsw_g_typ")
    assert grams is not None  # recipe_gaps has made sure of both
    assert tsw is not None
    share = ordinary_live_share(facts) or USUAL_LIVE_SHARE
    return round(density_of_grams(grams, TraySize().area_cm2, tsw, share), 2)


def _stages(facts: CropFacts, surface: str) -> tuple[Stage, ...]:
    dark, light = dark_days(facts), light_days(facts, _dark_total(facts))
    assert dark is not None  # recipe_gaps has made sure of both
    assert light is not None
    germinate, blackout = dark
    soak = soak_stage(facts)
    stages = [soak] if soak is not None else []
    stages.append(germinate_stage(facts, germinate, soaked=soak is not None))
    if blackout is not None:
        stages.append(blackout_stage(blackout))
    return (*stages, light_stage(light), ready_stage(surface))


def _kit(medium: Medium, stages: tuple[Stage, ...]) -> tuple[KitNeed, ...]:
    """Trays and a reusable mat from sowing to stripping (not while seed soaks in its jar), the cover while covered."""
    on_tray = tuple(stage.name for stage in stages if stage.ground != "bench")
    whole_life = () if len(on_tray) == len(stages) else on_tray
    covered = tuple(stage.name for stage in stages if stage.cover != "none")
    pools = ["mesh tray", *([medium.name] if medium.reusable else []), "solid tray"]
    return (*(KitNeed(pool=pool, stages=whole_life) for pool in pools), KitNeed(pool="cover", stages=covered))


_OURS = re.compile(r"Seed: [\d.]+ g on a nominal 1020 tray \([^()]*\)(?:; .+)?\.")


def is_our_note(note: str) -> bool:
    """Whether a recipe's note is that of a standard recipe, and not a person's own words."""
    return _OURS.fullmatch(note) is not None


def _note(facts: CropFacts) -> str:
    grams = sowing_grams(facts)
    name = "sow_g_per_1020_typ" if "sow_g_per_1020_typ" in facts.facts else "sow_g_per_1020_low"
    source = facts.facts[name].source or "this farm"
    said = "common practice, no source" if source == PRACTICE else source
    parts = [f"Seed: {grams:g} g on a nominal 1020 tray ({said})"]
    if ordinary_live_share(facts) is None:
        parts.append(f"read for seed of which {USUAL_LIVE_SHARE:.0%} sprout (common practice, no source)")
    if facts.number("days_blackout_low") is None:
        parts.append("one day of blackout (common practice, no source)")
    elif facts.number("days_germ_under_cover_low") is None:
        parts.append("dark time published as one figure, its last day taken as blackout")
    return "; ".join(parts) + "."
