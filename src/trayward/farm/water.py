"""What a farm that states its water is told in its rounds: feed and acid of the mix, and how to mend a reading."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from trayward.errors import InputError
from trayward.farm.settings import FarmWater
from trayward.science.solution_constants import CA_G
from trayward.science.solution_reagents import Product, read_product

SOFT_MEQ = 0.5
"""Below this alkalinity calcium makes no difference that shows. [meq/l]"""

if TYPE_CHECKING:
    from trayward.science.solution import Solution
    from trayward.science.solution_dose import Dose


class Part(NamedTuple):
    """One thing that goes into the mix."""

    name: str
    each: float
    """[ml/l], or [g/l] of a powder."""
    unit: str
    note: str = ""
    """What the figure leaves open."""


class Mix(NamedTuple):
    """What goes into the feed mix, in order; `note` says why something is missing."""

    parts: tuple[Part, ...]
    note: str = ""


@lru_cache(maxsize=64)
def solution_of(water: FarmWater) -> Solution:
    """A farm's water as totals. [mol/l]"""
    from trayward.science.solution import water_of

    return water_of(
        water.ph,
        water.alkalinity_meq,
        temp_c=water.temp_c,
        calcium_mg=water.calcium_mg,
        magnesium_mg=water.magnesium_mg,
        ec_ds_m=water.ec_ds_m or None,
    )


@lru_cache(maxsize=512)
def dose_of(water: FarmWater, label: str, target_ph: float) -> Dose:
    """What brings a farm's water to a pH, with the acid or base of a label."""
    from trayward.science.solution_dose import dose_to_ph

    return dose_to_ph(solution_of(water), read_product(label), target_ph)


def as_if_hard(water: FarmWater, product: Product) -> FarmWater | None:
    """
    The water with as much calcium as its alkalinity speaks for, where that matters and the farm does not say.

    Citric acid pairs with calcium and lets its protons go: a quarter less of it does in hard water.

    Examples
    --------
    >>> hard = as_if_hard(FarmWater(ph=7.8, alkalinity_meq=3.6), read_product("citric 50 %"))
    >>> round(hard.calcium_mg)
    72
    >>> as_if_hard(FarmWater(ph=7.8, alkalinity_meq=3.6), read_product("nitric 38 %")) is None
    True
    """
    if "citrate" not in product.reagent.adds or water.calcium_mg or water.alkalinity_meq < SOFT_MEQ:
        return None
    return msgspec.structs.replace(water, calcium_mg=water.alkalinity_meq / 2 * CA_G)


def mix_of(water: FarmWater, feed_ph: tuple[float, float]) -> Mix:
    """
    Feed and acid of a farm's mix.

    Parameters
    ----------
    water : FarmWater
        As the farm states it.
    feed_ph : tuple of float
        What the recipe wants, from and to. [-]

    Returns
    -------
    Mix
        Feed to the middle of the EC wanted, and acid to the middle of the pH. Empty where the water is within already,
        nothing is stated, or it cannot be done; then `note` says so.

    Notes
    -----
    Acid is worked out for the water alone: what the feed does to the pH nobody knows but its maker, so it is measured.
    Where calcium is not stated, citric acid is worked out as for hard water: what is missing is soon stirred in, what
    is too much is not taken out again.

    Examples
    --------
    >>> mix = mix_of(FarmWater(ph=7.8, alkalinity_meq=3.6, acid="citric 50 %"), (5.5, 6.0))
    >>> mix.parts[0].name, round(mix.parts[0].each, 2)
    ('citric acid 50 %', 0.31)
    >>> mix.parts[0].note
    'begin with this, soft water takes 0.405 ml/l'
    """
    parts, notes = [], []
    for make in (_feed, lambda known: _acid(known, feed_ph)):
        try:
            part = make(water)
        except InputError as error:
            notes.append(str(error))
            continue
        if part is not None and part.each > 0:
            parts.append(part)
    return Mix(tuple(parts), " ".join(notes))


def _feed(water: FarmWater) -> Part | None:
    if water.feed_ec_ds_m is None or not water.feed_gain_ds_m:
        return None
    from trayward.science.solution_feed import concentrate_for_ec

    each = concentrate_for_ec(sum(water.feed_ec_ds_m) / 2, water.ec_ds_m, water.feed_gain_ds_m)
    return Part(water.feed or "feed", each, "ml")


def _acid(water: FarmWater, feed_ph: tuple[float, float]) -> Part | None:
    low, high = feed_ph
    if not water.acid or low <= water.ph <= high:
        return None
    product = read_product(water.acid)
    target = (low + high) / 2
    full = float(dose_of(water, water.acid, target).amount)
    hard = as_if_hard(water, product)
    if hard is None:
        return Part(product.label, full, product.unit)
    first = float(dose_of(hard, water.acid, target).amount)
    return Part(product.label, first, product.unit, f"begin with this, soft water takes {full:.3g} {product.unit}/l")


def ph_remedy(water: FarmWater | None, ph: float, feed_ph: tuple[float, float]) -> str:
    """
    What to do about a feed whose pH is not as the recipe wants it.

    Parameters
    ----------
    water : FarmWater or None
        As the farm states it.
    ph : float
        As read. [-]
    feed_ph : tuple of float
        Wanted, from and to. [-]

    Notes
    -----
    The acid that is missing is what takes the farm's water to the pH wanted, less what takes it to the pH read.

    Examples
    --------
    >>> ph_remedy(FarmWater(ph=7.8, alkalinity_meq=3.6, acid="citric 50 %"), 6.6, (5.5, 6.0))
    'Measure again. If it is so, stir in about 0.18 ml citric acid 50 % for each litre, by and by; goggles and gloves.'
    """
    again = "Measure again with a clean, calibrated meter"
    label = "correct it as the label of the acid or base says."
    if water is None or not water.acid:
        return f"{again}; {label}"
    product, low, high = read_product(water.acid), *feed_ph
    water = as_if_hard(water, product) or water
    if product.reagent.acid != (ph > high):
        what = "Too much acid: mix it anew with less, or add plain water" if ph < low else "Mix it anew with less of it"
        return f"{again}. {what}, a little at a time."
    try:
        began = water.ph if (ph > water.ph) == product.reagent.acid else ph
        before = 0.0 if began == water.ph else float(dose_of(water, water.acid, round(began, 2)).amount)
        more = float(dose_of(water, water.acid, (low + high) / 2).amount) - before
    except InputError:
        return f"{again}; {label}"
    return (
        f"Measure again. If it is so, stir in about {more:.2g} {product.unit} {product.label} for each litre, "
        "by and by; goggles and gloves."
    )


def ec_remedy(water: FarmWater, ec_ds_m: float) -> str:
    """
    What to do about a feed whose EC is not as the farm wants it.

    Parameters
    ----------
    water : FarmWater
        As the farm states it; with the EC wanted.
    ec_ds_m : float
        As read. [dS/m]

    Examples
    --------
    >>> wanted = FarmWater(ph=7.8, alkalinity_meq=3.6, ec_ds_m=0.4, feed_gain_ds_m=0.3, feed_ec_ds_m=(1.0, 1.4))
    >>> ec_remedy(wanted, 2.0)
    'Stir in about 1 l of plain water for each litre, and measure again.'
    >>> ec_remedy(wanted, 0.6)
    'Stir in about 2 ml of feed for each litre, and measure again.'
    """
    from trayward.science.solution_feed import concentrate_for_ec, dilution

    assert water.feed_ec_ds_m is not None
    middle = sum(water.feed_ec_ds_m) / 2
    try:
        if ec_ds_m > middle:
            litres = dilution(1.0, ec_ds_m, middle, water.ec_ds_m)
            return f"Stir in about {litres:.2g} l of plain water for each litre, and measure again."
        more = concentrate_for_ec(middle, ec_ds_m, water.feed_gain_ds_m)
    except InputError:
        return "Measure again, and mix it anew as the label says."
    return f"Stir in about {more:.2g} ml of {water.feed or 'feed'} for each litre, and measure again."
