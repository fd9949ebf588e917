"""What the sums of money are told: the figures of one tray with where each comes from; the library's where none is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from trayward.bench.types import Amount
from trayward.errors import InputError
from trayward.farm.crops import CropFacts
from trayward.farm.hands import minutes_by_job
from trayward.farm.recipes import Recipe
from trayward.library.recipes import sowing_grams, standard_recipe
from trayward.library.yields import family_yield_prior
from trayward.science.costs import SAID, Job, TrayInputs
from trayward.units import GRAMS_PER_OUNCE, GRAMS_PER_POUND

EXAMPLE = "our example: give yours"
"""Said of a price nobody gave."""
LOOKS = 2
"""Walks a day where no farm says otherwise: morning and evening, common practice, no source. [-]"""
IF_CUT = ("cut", "pack")
"""Jobs that only trays which are cut take."""
GRAMS_PER_KG = 1000.0

EXAMPLES: Mapping[str, Any] = {
    "seed_kg": 30.0, "wear": 0.09, "water_l": 2.0, "water_m3": 4.0, "shelf_kwh_day": 1.152, "shelf_trays": 4.0,
    "kwh": 0.30, "wage_h": 15.0, "pack_g": 50.0, "pack": 0.20, "lost": 0.05,
}  # fmt: skip
"""Made-up prices and habits to begin with: two 36 W lamps for 16 h over four trays, and what Lantern Loft pays."""
MEDIUM = {True: (4.0, 40.0), False: (0.65, 1.0)}
"""Price and uses of a medium, used again or not: made up."""


class Portion(msgspec.Struct, frozen=True, kw_only=True):
    """The weight that costs are said for. [g]"""

    grams: float = 100.0
    words: str = "100 g"


OUNCE = Portion(grams=GRAMS_PER_OUNCE, words="1 oz")


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of one tray, and what is said of them."""

    inputs: TrayInputs
    crop: str = ""
    asked: str = ""
    """The farm's recipe it is, where there is a farm."""
    currency: str = ""
    """Three letters (ISO 4217); empty: not said."""
    origin: dict[str, str] = {}
    """Field of the inputs, or job -> where its figure comes from."""
    weight_low_g: float | None = None
    weight_high_g: float | None = None
    """8 of 10 trays weigh between these. [g]"""
    portion: Portion = Portion()
    price: float | None = None
    """What a gram sells for. [currency/g]"""
    price_origin: str = ""
    sown_g: tuple[float, float] | None = None
    """Least and most seed on a tray that sources sow, or this farm has tried. [g]"""
    sources: tuple[str, ...] = ()
    rests: tuple[str, ...] = ()
    """Sentences on what the figures rest on and leave out."""

    @property
    def name(self) -> str:
        """What is spoken of: `a tray of broccoli`."""
        return f"a tray of {self.crop}" if self.crop else "a tray"

    @property
    def mass(self) -> str:
        """The unit of weight that is read: `g` or `oz`."""
        return "oz" if self.portion == OUNCE else "g"

    @property
    def examples(self) -> bool:
        """Whether a price counts that nobody gave."""
        return EXAMPLE in self.origin.values()


def library_told(crop: str, facts: CropFacts) -> Told:
    """
    A tray of a crop as the library has it, with example prices.

    Parameters
    ----------
    crop : str
        Its name.
    facts : CropFacts
        What is known of it.

    Returns
    -------
    Told
        Seed, days, minutes and weight by the standard recipe; prices are examples and say so.

    Raises
    ------
    InputError
        If the library does not know enough of the crop for a recipe or its weight.
    """
    recipe = standard_recipe(crop, facts=facts)
    prior = recipe.yield_prior if recipe.yield_prior.typical_g else family_yield_prior(crop)
    if prior.typical_g is None:
        raise InputError("weight of a tray", "none", f"the library knows none for {crop}", "Say it: --weight 200 g.")
    seed_g = sowing_grams(facts)
    low, high = facts.number("sow_g_per_1020_low"), facts.number("sow_g_per_1020_high")
    inputs = with_recipe(TrayInputs(weight_g=prior.typical_g, seed_g=seed_g or 0.0, **EXAMPLES), recipe)
    origin = dict.fromkeys(EXAMPLES, EXAMPLE) | {"medium": EXAMPLE, "medium_uses": EXAMPLE}
    origin |= {"weight_g": _weight_words(prior.low_g, prior.high_g), "seed_g": "library"}
    origin |= dict.fromkeys(("lit_days", "shelf_days", *(job.name for job in inputs.jobs)), "standard recipe")
    return Told(
        inputs=inputs,
        crop=crop,
        origin=origin,
        sown_g=(low, high) if low is not None and high is not None and low < high else None,
        sources=_yield_sources(facts),
    )


def plain_told(weight_g: float, seed_g: float) -> Told:
    """A tray of no crop in particular, with example prices; days and minutes are nobody's until they are said."""
    medium, uses = MEDIUM[True]
    inputs = TrayInputs(weight_g=weight_g, seed_g=seed_g, medium=medium, medium_uses=uses, **EXAMPLES)
    return Told(inputs=inputs, origin=dict.fromkeys((*EXAMPLES, "medium", "medium_uses"), EXAMPLE))


def with_recipe(inputs: TrayInputs, recipe: Recipe) -> TrayInputs:
    """The days and minutes of a recipe by its typical stages, and an example price of its medium."""
    lit = sum(stage.days_typical for stage in recipe.growing_stages if stage.ground == "lit")
    dark = sum(stage.days_typical / stage.stack for stage in recipe.growing_stages if stage.ground == "dark")
    medium, uses = MEDIUM[recipe.medium.reusable]
    jobs = minutes_by_job(
        recipe, {}, reached=[stage.name for stage in recipe.stages], days=round(recipe.days_to_ready), looks=LOOKS,
        how="cut",
    )  # fmt: skip
    return msgspec.structs.replace(
        inputs, lit_days=lit, shelf_days=lit + dark, medium=medium, medium_uses=uses, jobs=jobs_of(jobs)
    )


def jobs_of(minutes: Mapping[str, float]) -> tuple[Job, ...]:
    """Jobs by name -> minutes; those that take no time are left out."""
    return tuple(Job(name=name, minutes=spent, if_cut=name in IF_CUT) for name, spent in minutes.items() if spent)


def _weight_words(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return "library"
    return f"library; printed: {low:.0f} to {high:.0f} g"


def _yield_sources(facts: CropFacts) -> tuple[str, ...]:
    names = (f"yield_g_per_1020_{end}" for end in ("low", "typ", "high"))
    keys = [facts.facts[name].source for name in (*names, "sow_g_per_1020_typ") if name in facts.facts]
    return tuple(dict.fromkeys(key for key in keys if key))


# What was given, shown ------------------------------------------------------------------------------------------------

_UNITS = {
    "water_m3": "m3", "feed_l": "l", "kwh": "kWh", "shelf_rent_day": "d", "wage_h": "h",
}  # fmt: skip
_MONEY = ("medium", "wear", "pack")
_MASS = ("weight_g", "seed_g", "pack_g")
_SHARE = ("trim", "lost")
ORDER = (
    "weight_g", "seed_g", "seed_kg", "medium", "medium_uses", "wear", "water_l", "water_m3", "feed_ml", "feed_l",
    "shelf_kwh_day", "shelf_trays", "lit_days", "kwh", "shelf_days", "shelf_rent_day",
)  # fmt: skip
AFTER = ("wage_h", "pack_g", "pack", "trim", "lost")
NEEDS = {
    "shelf_trays": ("shelf_kwh_day", "shelf_rent_day"), "lit_days": ("kwh",), "shelf_kwh_day": ("kwh",),
    "shelf_days": ("shelf_rent_day",), "water_l": ("water_m3",), "feed_ml": ("feed_l",), "medium_uses": ("medium",),
    "pack_g": (),
}  # fmt: skip
"""Figures that say something only together with one of others."""


def given_amounts(told: Told) -> tuple[Amount, ...]:
    """What counts in a tray's cost, in the order of the work; what is nothing is left out."""
    found = [amount_of(told, name) for name in ORDER if _counts(told.inputs, name)]
    found += [_job(told, job) for job in told.inputs.jobs]
    found += [amount_of(told, name) for name in AFTER if _counts(told.inputs, name)]
    if told.price is not None:
        found.append(price_amount(told, told.price, f"price of {told.portion.words}", told.price_origin))
    return tuple(found)


def _counts(inputs: TrayInputs, name: str) -> bool:
    if (name == "wage_h" and not inputs.jobs) or (name == "medium_uses" and inputs.medium_uses == 1):
        return False
    others = NEEDS.get(name, ())
    return bool(getattr(inputs, name)) and (not others or any(getattr(inputs, other) for other in others))


def amount_of(told: Told, name: str) -> Amount:
    """One figure of a tray as people read it."""
    value, note, said = float(getattr(told.inputs, name)), told.origin.get(name, ""), SAID[name][0]
    if name in _MASS:
        ends = (told.weight_low_g, told.weight_high_g) if name == "weight_g" else (None, None)
        return Amount(name=said, value=value, unit="g", kind="mass", low=ends[0], high=ends[1], note=note)
    if name in _MONEY:
        return Amount(name=said, value=value, unit=told.currency, kind="money", note=note)
    if name in _SHARE:
        return Amount(name=said, value=value, unit="-", kind="share", note=note)
    if name == "water_l":
        return Amount(name=said, value=1000 * value, unit="ml", kind="volume", note=note)
    if name == "feed_ml":
        return Amount(name=said, value=value, unit="ml", kind="volume", note=note)
    if name == "seed_kg":
        in_pounds = told.mass == "oz"
        each, unit = (value * GRAMS_PER_POUND / GRAMS_PER_KG, "lb") if in_pounds else (value, "kg")
        return Amount(name=said, value=each, unit=_per(told.currency, unit), note=note)
    return Amount(name=said, value=value, unit=_per(told.currency, _UNITS[name]) if name in _UNITS else SAID[name][1],
                  note=note)  # fmt: skip


def _job(told: Told, job: Job) -> Amount:
    note = told.origin.get(job.name, "")
    return Amount(name=f"hands: {job.name}", value=job.minutes, unit="min", kind="minutes", note=note)


def _per(currency: str, unit: str) -> str:
    return f"{currency}/{unit}" if currency else f"a {unit}"


def price_amount(told: Told, gram: float, name: str, note: str = "") -> Amount:
    """A price of a gram as the price of a portion."""
    return Amount(name=name, value=gram * told.portion.grams, unit=told.currency, kind="money", note=note)
