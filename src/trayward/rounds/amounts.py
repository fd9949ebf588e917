"""What to measure out for a row, in one unit per quantity; `amount_words` says it in the farm's own."""

from __future__ import annotations

import msgspec

from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import ShownUnits
from trayward.outlook.types import Range
from trayward.rounds.types import Amount
from trayward.rounds.words import between, weights_between
from trayward.units import show_length

CUT = "cut"
IF_YES = "if yes, "
"""Begins the name of an amount that counts once the tray has gone on."""
OVER_THE_TOP = "never over the top"
ACID = "measured after mixing; acids burn: follow the label, add acid to water"


def watering(stage: Stage, recipe: Recipe | None) -> tuple[Amount, ...]:
    """The usual water of a stage, and what holds for the feed where it goes in from below."""
    if stage.water == "mist":
        return _water("mist", stage.water_ml, "if dry")
    if stage.water == "soak":
        return _water("soak", stage.water_ml, "")
    if stage.water == "none":
        return _water("water below", stage.water_ml, f"only if dry, {OVER_THE_TOP}")
    water = _water("water below", stage.water_ml, f"if dry, {OVER_THE_TOP}")
    return (*water, *_feed(recipe)) if stage.ground == "lit" else water


def watering_to_come(stage: Stage, after: Stage | None, recipe: Recipe | None) -> tuple[Amount, ...]:
    """What a tray is given as it goes on, where it is watered in another way from then on."""
    if after is None or after.water in ("none", stage.water):
        return ()
    return tuple(msgspec.structs.replace(amount, what=f"{IF_YES}{amount.what}") for amount in watering(after, recipe))


def cover_weight(stage: Stage) -> tuple[Amount, ...]:
    """What to lay on the cover."""
    if stage.cover != "weight" or stage.weight_g <= 0:
        return ()
    return (Amount(what="weight on the cover", value=stage.weight_g, unit="g"),)


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


def _feed(recipe: Recipe | None) -> tuple[Amount, ...]:
    if recipe is None:
        return ()
    low, high = recipe.feed_ph
    note = f"{low:.1f} to {high:.1f}, {ACID}"
    return (Amount(what="feed pH", value=round((low + high) / 2, 1), unit="pH", each=False, note=note),)
