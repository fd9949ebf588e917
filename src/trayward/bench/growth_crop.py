"""What warmth does to a crop, as the library or the farm knows it: for the growth bench."""

from __future__ import annotations

import math

import msgspec

from trayward.errors import Finding, InputError
from trayward.farm.crops import CropFacts
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import TemperatureUnit
from trayward.library.crops import Emergence, emergence
from trayward.library.recipes import recipe_gaps, standard_recipe
from trayward.science.degree_days import Days, degrees_of_day
from trayward.science.growth import LINEAR_TO_C, degrees_above

SOWN_MM = 13.0
"""How deep the seed of the emergence trials lay: on a wet mat a root shows earlier. [mm]"""


class CropWarmth(msgspec.Struct, frozen=True, kw_only=True):
    """A crop's base temperature and thermal time, its best and hottest, and its stages. [°C], [°C d]"""

    crop: str
    base_c: float | None
    thermal_time_c_d: float | None
    """From sowing until seedlings show. [°C d]"""
    best_c: float | None
    ceiling_c: float | None
    stages: tuple[Stage, ...]
    sources: tuple[str, ...]

    def days_to_emergence(self, days: Days) -> float | None:
        """Days until seedlings show; infinite where it is too cold, None where nobody knows the crop's figures. [d]"""
        if self.base_c is None or self.thermal_time_c_d is None:
            return None
        a_day = degrees_of_day(days, self.base_c)
        return self.thermal_time_c_d / a_day if a_day > 0 else math.inf


def crop_warmth(facts: CropFacts, recipe: Recipe | None = None) -> CropWarmth:
    """
    What is known of a crop's warmth.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop.
    recipe : Recipe, optional
        The farm's recipe, whose stages are taken; None: the library's, where it can build one.

    Returns
    -------
    CropWarmth
    """
    emerges, sprouts = facts.number("t_base_emerg_C"), facts.number("t_base_germ_C")
    if recipe is None and not recipe_gaps(facts):
        recipe = standard_recipe(facts.crop, facts=facts)
    names = ("t_base_emerg_C", "t_base_germ_C", "tt_emerg_degCday", "t_opt_germ_C", "t_ceiling_germ_C")
    said = (facts.facts[name].source for name in names if name in facts.facts)
    return CropWarmth(
        crop=facts.crop,
        base_c=emerges if emerges is not None else sprouts,
        thermal_time_c_d=facts.number("tt_emerg_degCday"),
        best_c=facts.number("t_opt_germ_C"),
        ceiling_c=facts.number("t_ceiling_germ_C"),
        stages=recipe.growing_stages if recipe is not None else (),
        sources=tuple(dict.fromkeys(key for key in said if key)),
    )


def stage_factor(stage: Stage, days: Days) -> float | None:
    """How many times its written length a stage takes; infinite where too cold, None where it runs by the calendar."""
    if stage.base_c is None or stage.at_c is None:
        return None
    a_day = degrees_of_day(days, stage.base_c)
    return degrees_above(stage.at_c, stage.base_c) / a_day if a_day > 0 else math.inf


def seen_emergence(crop: str) -> tuple[Emergence, ...]:
    """What the published trial saw of a crop, cool first; nothing where it was not tried."""
    found = (row for row in emergence() if row.crop == crop and (row.days is not None or row.none_sprouted))
    return tuple(sorted(found, key=lambda row: row.temp_c))


def temp_words(celsius: float, shown: TemperatureUnit) -> str:
    """
    A temperature in the grower's unit, for titles and tables.

    Examples
    --------
    >>> temp_words(20.0, "C"), temp_words(20.0, "F")
    ('20 °C', '68 °F')
    """
    return f"{celsius * 9 / 5 + 32:.3g} °F" if shown == "F" else f"{celsius:.3g} °C"


def warmth_findings(crop: CropWarmth, days: Days, shown: TemperatureUnit = "C") -> list[Finding]:
    """What is odd with a shelf so warm or cold for a crop; the worst of it."""
    hot, cold = max(days.day_c, days.night_c), min(days.day_c, days.night_c)
    at_hot, at_cold = (f"{crop.crop} at {temp_words(each, shown)}" for each in (hot, cold))
    most = temp_words(LINEAR_TO_C, shown)
    if crop.ceiling_c is not None and hot > crop.ceiling_c:
        message = f"{at_hot}: above {temp_words(crop.ceiling_c, shown)}, where little or none of it comes up."
        remedy = "Cool the shelf, or sow another crop."
        return [Finding(code="shelf-too-hot", severity="odd", message=message, remedy=remedy)]
    if hot > LINEAR_TO_C:
        message = f"{at_hot}: beyond {most} more warmth is not counted, and mould gains."
        remedy = f"Count on no less time than at {most}."
        return [Finding(code="shelf-hot", severity="odd", message=message, remedy=remedy)]
    if crop.best_c is not None and hot > crop.best_c:
        best = temp_words(crop.best_c, shown)
        rule = f"warmer than its best for sprouting, {best}: it may be quicker, but fewer come up"
        remedy = "Count the seedlings of a trial tray."
        return [Finding(code="shelf-warm", severity="odd", message=f"{at_hot}: {rule}.", remedy=remedy)]
    if crop.base_c is not None and cold <= crop.base_c:
        message = f"{at_cold}: at or below its base of {temp_words(crop.base_c, shown)} nothing moves."
        return [Finding(code="shelf-cold", severity="odd", message=message, remedy="Warm the shelf.")]
    return []


def require_base(crop: CropWarmth) -> float:
    """The crop's base temperature [°C]; raises `InputError` where nobody knows it."""
    if crop.base_c is None:
        remedy = "Give one with --base, or fit it to your own looks: trayward bench growth fit."
        raise InputError("crop", crop.crop, "its base temperature is not on record", remedy)
    return crop.base_c
