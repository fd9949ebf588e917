"""What to measure out for a row, in one unit per quantity; `amount_words` says it in the farm's own."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import FarmWater, ShownUnits
from trayward.outlook.types import Range
from trayward.rounds.types import Amount
from trayward.rounds.words import between, weights_between
from trayward.units import show_length

COVER_WEIGHT = "weight on the cover"
CUT = "cut"
IF_YES = "if yes, "
"""Begins the name of an amount that counts once the tray has gone on."""
OVER_THE_TOP = "never over the top"
LEAST_ML = 0.5
"""Less is not measured well with a syringe. Common practice, no source. [ml]"""
FEED_PH = "feed pH"
ACID = "measured after mixing; acids burn: follow the label, add acid to water"


def watering(
    stage: Stage, recipe: Recipe | None, *, trays: int = 1, water: FarmWater | None = None
) -> tuple[Amount, ...]:
    """The usual water of a stage, and what holds for the feed where it goes in from below.

    Where the medium's top was measured, never more than reaches it; where the farm states its water, the feed and acid
    of the mix for all trays of the row.
    """
    if stage.water == "mist":
        return _water("mist", stage.water_ml, "if dry")
    if stage.water == "soak":
        return _water("soak", stage.water_ml, "")
    if stage.water == "none":
        return _below(stage, recipe, "only if dry")
    below = _below(stage, recipe, "if dry")
    if stage.ground != "lit":
        return below
    return (*below, *_mix(recipe, water, sum(each.value for each in below) * trays), *_feed(recipe))


def watering_to_come(
    stage: Stage, after: Stage | None, recipe: Recipe | None, *, trays: int = 1, water: FarmWater | None = None
) -> tuple[Amount, ...]:
    """What a tray is given as it goes on, where it is watered in another way from then on."""
    if after is None or after.water in ("none", stage.water):
        return ()
    to_come = watering(after, recipe, trays=trays, water=water)
    return tuple(msgspec.structs.replace(amount, what=f"{IF_YES}{amount.what}") for amount in to_come)


def cover_weight(stage: Stage) -> tuple[Amount, ...]:
    """What to lay on the cover."""
    if stage.cover != "weight" or stage.weight_g <= 0:
        return ()
    return (Amount(what=COVER_WEIGHT, value=stage.weight_g, unit="g"),)


def cut_height(recipe: Recipe, units: ShownUnits) -> Amount:
    """The least to leave standing, and in words the range; what a cut row says to do says it too."""
    return Amount(what=CUT, value=recipe.cut_height_mm[0], unit="mm", each=False, note=height_words(recipe, units))


def height_words(recipe: Recipe, units: ShownUnits) -> str:
    """Where to cut, in words: above the mat, or above the medium where it is none."""
    low, high = (show_length(height, units.length) for height in recipe.cut_height_mm)
    ground = "mat" if "mat" in recipe.medium.name.lower().split() else "medium"
    return f"{between(low, high)} above the {ground}"


def expected_grams(grams: Range | None, trays: int, units: ShownUnits) -> tuple[Amount, ...]:
    """What the trays are likely to weigh, where anybody can say."""
    if grams is None:
        return ()
    note = f"{weights_between(grams.low, grams.high, units.mass)} in 8 of 10"
    each = Amount(what="expect", value=round(grams.likely), unit="g", note=note)
    if trays == 1:
        return (each,)
    return (each, Amount(what="expect together", value=round(grams.likely * trays), unit="g", each=False))


def _water(what: str, ml: float, note: str) -> tuple[Amount, ...]:
    return (Amount(what=what, value=round(ml, 1), unit="ml", note=note),) if ml > 0 else ()


def _below(stage: Stage, recipe: Recipe | None, when: str) -> tuple[Amount, ...]:
    """Water from below: the usual amount, and no more than reaches the top of the medium where that was measured."""
    most = most_below_ml(recipe)
    if most is None:
        return _water("water below", stage.water_ml, f"{when}, {OVER_THE_TOP}")
    if stage.water_ml <= most:
        return _water("water below", stage.water_ml, f"{when}, {OVER_THE_TOP}: at most {most:.0f} ml")
    return _water("water below", most, f"{when}; more than that would stand over the top")


def most_below_ml(recipe: Recipe | None) -> float | None:
    """What fills a tray of a recipe to the top of its medium [ml]; None where that was not measured."""
    if recipe is None or recipe.medium.top_mm is None:
        return None
    from trayward.science.water_depth import tray_ml

    return tray_ml(recipe.tray.length_mm, recipe.tray.width_mm, min(recipe.medium.top_mm, recipe.tray.depth_mm))


def _mix(recipe: Recipe | None, water: FarmWater | None, total_ml: float) -> tuple[Amount, ...]:
    """Feed and acid of the mix, for each litre and in all, where the farm states its water."""
    if recipe is None or water is None or total_ml <= 0:
        return ()
    from trayward.farm.water import mix_of

    litres = total_ml / 1000
    return tuple(
        Amount(
            what=f"mix in {part.name}",
            value=float(f"{part.each:.3g}"),
            unit=f"{part.unit}/l",
            each=False,
            note=_in_all(part.each * litres, litres, part.unit) + (f"; {part.note}" if part.note else ""),
        )
        for part in mix_of(water, recipe.feed_ph).parts
    )


def _in_all(amount: float, litres: float, unit: str) -> str:
    """How much of it all trays of a row take; where that is too little to measure, what ten litres take."""
    if amount >= LEAST_ML:
        return f"{amount:.3g} {unit} for the row's {litres:.3g} l"
    return f"too little to measure for the row's {litres:.3g} l: {amount / litres * 10:.3g} {unit} for 10 l"


def mix_notes(water: FarmWater | None, recipes: Iterable[Recipe]) -> list[str]:
    """Why feed or acid could not be worked out, where the farm states its water."""
    if water is None:
        return []
    from trayward.farm.water import mix_of

    told = (mix_of(water, ph).note for ph in dict.fromkeys(recipe.feed_ph for recipe in recipes))
    return [f"Feed mix: {note}" for note in dict.fromkeys(told) if note]


def _feed(recipe: Recipe | None) -> tuple[Amount, ...]:
    if recipe is None:
        return ()
    low, high = recipe.feed_ph
    note = f"{low:.1f} to {high:.1f}, {ACID}"
    return (Amount(what=FEED_PH, value=round((low + high) / 2, 1), unit="pH", each=False, note=note),)
