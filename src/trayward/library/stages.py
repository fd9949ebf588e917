"""How long each stage of a standard recipe takes, and what to do and look for in it.

Lengths come from the crop table. Published ranges mix farms, media and climates; they start a farm off, and its own
trays take over. Weights, stacks, amounts of water and minutes are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

from trayward.farm.crops import CropFacts
from trayward.farm.recipes import Stage


class Days(NamedTuple):
    """Length of a stage: low, typical, high. [d]"""

    low: float
    typical: float
    high: float


ONE_DARK_DAY = Days(0.7, 1.0, 1.5)
"""Blackout where the table is blank: common practice, no source."""
SPREAD_LOW, SPREAD_HIGH = 0.75, 1.375
"""Low and high of a stage whose sources give one figure only, as shares of it: our estimate."""
LIGHT_LOW, LIGHT_HIGH = 0.6, 1.6
"""Bounds of the light stage as shares of its typical length: published ranges of sow to harvest mix whole climates."""
USUAL_TEMP_C = 21.0
"""Temperature the published lengths are taken to hold at, middle of the advised 18 to 24 °C [`seedco_density`]."""
WEIGHT_G, HEAVY_WEIGHT_G = 2300.0, 4500.0
"""5 lb, the least that trade pages name, and 10 lb for large seed. [`stack_weight_pages`]"""
LARGE_SEED_TSW_G, SOFT_SEED_TSW_G = 30.0, 0.6
MIST_ML, BLACKOUT_SIP_ML, BELOW_ML = 30.0, 60.0, 240.0
"""A misting; a quarter cup below a dry tray in blackout; a cup below in light, the least of what a care sheet for live
trays names for one to two days [`live_tray_care`]."""


def spread(facts: CropFacts, stem: str) -> Days | None:
    """Low, typical and high of a column group such as `days_blackout`; None where all of it is blank."""
    low, typical, high = (facts.number(f"{stem}_{end}") for end in ("low", "typ", "high"))
    known = [value for value in (low, typical, high) if value is not None]
    if not known:
        return None
    middle = typical if typical is not None else (known[0] + known[-1]) / 2
    if low is None or low >= middle:
        low = middle * SPREAD_LOW
    if high is None or high <= middle:
        high = middle * SPREAD_HIGH
    return Days(low, middle, high)


def dark_days(facts: CropFacts) -> tuple[Days, Days | None] | None:
    """
    Lengths of germination under cover and of blackout.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop.

    Returns
    -------
    tuple or None
        Germinate, and blackout or None where it has none. [d] Where a source gives the dark time as one figure, its
        last day is the blackout. None: neither is on record.
    """
    cover, blackout = spread(facts, "days_germ_under_cover"), spread(facts, "days_blackout")
    if cover is not None:
        if blackout is None:
            return cover, ONE_DARK_DAY
        return cover, (blackout if blackout.typical > 0 else None)
    if blackout is None or blackout.low <= 1:
        return None
    return Days(blackout.low - 1, blackout.typical - 1, blackout.high - 1), ONE_DARK_DAY


def light_days(facts: CropFacts, dark: float) -> Days | None:
    """Length of the light stage: the crop's own figures, else what is left of sow to harvest after `dark` days. [d]"""
    typical = facts.facts.get("days_light_typ")
    if facts.number("days_light_low") is not None or (typical is not None and typical.trust == "farm"):
        return spread(facts, "days_light")
    low, middle, high = (facts.number(f"days_sow_to_harvest_{end}") for end in ("low", "typ", "high"))
    if middle is None or low is None or high is None or middle - dark < 1:
        return None
    left = middle - dark
    return Days(max(low - dark, left * LIGHT_LOW), left, min(high - dark, left * LIGHT_HIGH))


def soak_stage(facts: CropFacts) -> Stage | None:
    """Soaking in a jar on the bench, ended by the clock; None for seed sown dry or where nothing is on record."""
    hours = spread(facts, "soak_h")
    if hours is None or hours.high <= 0:
        return None
    low, typical, high = (value / 24 for value in hours)
    if low <= 0:  # some sow it dry: once it is soaked at all, it is not for no time
        low = typical * SPREAD_LOW
    do = f"Soak the seed in clean cool water for {hours.typical:.0f} h, then drain and rinse it."
    return Stage(
        name="soak",
        days_low=low,
        days_typical=typical,
        days_high=high,
        ground="bench",
        do=do,
        water="soak",
        minutes=3.0,
    )


def germinate_stage(facts: CropFacts, days: Days, *, soaked: bool) -> Stage:
    """In the dark under a cover; weighted, and stacked, unless the seed is soft or gel-coated."""
    weight_g = stack_weight(facts)
    base_c = facts.number("t_base_emerg_C")
    if base_c is None:
        base_c = facts.number("t_base_germ_C")
    brown = facts.family == "Brassicaceae"
    return Stage(
        name="germinate",
        days_low=days.low,
        days_typical=days.typical,
        days_high=days.high,
        ground="dark",
        cue="More yellow shoot than brown seed?" if brown else "More shoot than seed?",
        do=_germinate_words(weight_g, soaked=soaked),
        cover="weight",
        weight_g=weight_g,
        stack=_stack(weight_g),
        water="mist",
        water_ml=MIST_ML,
        minutes=1.0,
        base_c=base_c,
        at_c=USUAL_TEMP_C if base_c is not None else None,
    )


def stack_weight(facts: CropFacts) -> float:
    """Weight on a covered tray: none on soft or gel-coated seed (a bare tray), more on large seed. [g]"""
    tsw = facts.number("tsw_g_typ") or 0.0
    if facts.text("mucilaginous") == "yes" or tsw < SOFT_SEED_TSW_G:
        return 0.0
    return HEAVY_WEIGHT_G if tsw >= LARGE_SEED_TSW_G else WEIGHT_G


def _stack(weight_g: float) -> int:
    """Trays on each other: seed that bears no weight bears no tray either; heavy trays stack lower."""
    if weight_g == 0:
        return 1
    return 3 if weight_g >= HEAVY_WEIGHT_G else 4


def _germinate_words(weight_g: float, *, soaked: bool) -> str:
    spread_words = "Spread the drained seed evenly" if soaked else "Spread the seed evenly"
    load = f"with {weight_g / 1000:.1f} kg on top" if weight_g else "with nothing on top"
    return f"{spread_words}, wet it well, close it under a tray {load}, keep it dark. Mist morning and evening."


def blackout_stage(days: Days) -> Stage:
    """In the dark under the upturned cover, standing alone so that the stand can rise."""
    return Stage(
        name="blackout",
        days_low=days.low,
        days_typical=days.typical,
        days_high=days.high,
        ground="dark",
        cue="Tall and straight?",
        do="Turn the cover over, keep it dark. Only if it feels dry: 60 ml (1/4 cup) of water below.",
        cover="blackout",
        water="none",
        water_ml=BLACKOUT_SIP_ML,
        minutes=1.0,
    )


def light_stage(days: Days) -> Stage:
    """Uncovered, lit, watered from below."""
    return Stage(
        name="light",
        days_low=days.low,
        days_typical=days.typical,
        days_high=days.high,
        ground="lit",
        cue="Canopy right to cut?",
        do="Uncover, move to light, water from below from now on.",
        water="below",
        water_ml=BELOW_ML,
        minutes=1.5,
    )


def ready_stage(surface: str) -> Stage:
    """Waits to be cut, still lit and watered from below."""
    return Stage(
        name="ready",
        days_low=1.0,
        days_typical=2.0,
        days_high=3.0,
        ground="lit",
        do=f"Cut 13 to 25 mm above the {surface}, weigh, cool.",
        water="below",
        water_ml=BELOW_ML,
    )
