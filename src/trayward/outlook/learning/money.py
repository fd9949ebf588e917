"""What a gram of a crop brings on this farm and what its seed costs: what the density that pays rests on."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.crops import CropFacts
from trayward.farm.density import seed_for_tray
from trayward.farm.due import lines_due
from trayward.farm.live_seed import ordinary_live_share
from trayward.farm.orders import Product
from trayward.farm.recipes import Recipe, TraySize
from trayward.farm.state import FarmState, SeedLot
from trayward.library.crops import facts_for
from trayward.outlook.learning.response import Worth
from trayward.science.seeds import seeds_in_grams

AROUND = timedelta(days=28)
"""Prices are looked up in the orders of four weeks either way. [d]"""


class Money(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a recipe's money; None where it is to be asked for. `missing` says what to ask."""

    gram: float | None = None
    """What a gram brings. [currency/g]"""
    seed: float | None = None
    """What the seed for one live seed a cm2 costs a tray. [currency cm2]"""
    words: str = ""
    missing: tuple[str, ...] = ()

    def worth(self, what: str) -> Worth | None:
        """What a tray brings and costs as that level moves; None where a price is missing."""
        if self.gram is None or (what == "density" and self.seed is None):
            return None
        return Worth(gram=self.gram, unit=self.seed or 0.0) if what == "density" else Worth(gram=self.gram)


def money_of(state: FarmState, recipe: Recipe, at: datetime) -> Money:
    """
    What a gram of a recipe's crop brings and what its seed costs.

    A gram is worth what the orders of four weeks either way pay for it, by weight; where there are none, the price of a
    product of the crop. Seed costs what the last delivery with a price did.
    """
    day = local_day(at, state.settings_or_usual)
    gram, said = gram_worth(state, recipe.crop, day)
    seed, seed_said = seed_worth(state, recipe, at)
    missing: tuple[str, ...] = () if gram is not None else (f"a price of {recipe.crop}",)
    missing += () if seed is not None else (f"what the {recipe.crop} seed cost and weighs",)
    return Money(gram=gram, seed=seed, words="; ".join(words for words in (said, seed_said) if words), missing=missing)


def gram_worth(state: FarmState, crop: str, day: date) -> tuple[float | None, str]:
    """What a gram of a crop brings, and by what; None where no order and no product says. [currency/g]"""
    value = grams = 0.0
    for line in lines_due(state, day - AROUND, day + AROUND):
        share = sum(part.share for part in line.parts if part.crop == crop)
        if share and line.grams > 0 and line.value > 0:
            value += share * line.value
            grams += share * line.grams
    if grams > 0:
        return value / grams, f"100 g brings {100 * value / grams:.2f}, by the orders of four weeks either way"
    prices = [price for product in state.products.values() if (price := _product_price(product, crop)) is not None]
    if not prices:
        return None, ""
    middle = sum(prices) / len(prices)
    return middle, f"100 g brings {100 * middle:.2f}, by its product's price"


def _product_price(product: Product, crop: str) -> float | None:
    if product.live or product.price <= 0 or not any(part.crop == crop for part in product.parts):
        return None
    if product.price_per == "100 g":
        return product.price / 100
    return product.price / product.pack_g if product.price_per == "pack" and product.pack_g else None


def seed_worth(state: FarmState, recipe: Recipe, at: datetime) -> tuple[float | None, str]:
    """What the seed for one live seed a cm2 costs a tray, and by which lot. [currency cm2]"""
    lots = [lot for lot in state.seed.values() if lot.crop == recipe.crop and lot.cost > 0 and lot.received_g > 0]
    for lot in sorted(lots, key=lambda lot: (lot.received_at, lot.lot), reverse=True):
        grams = _grams_a_unit(state, recipe, lot, at)
        if grams is not None:
            price = lot.cost / lot.received_g
            return price * grams, f"seed costs {100 * price:.2f} for 100 g, by lot {lot.lot}"
    return None, ""


def _grams_a_unit(state: FarmState, recipe: Recipe, lot: SeedLot, at: datetime) -> float | None:
    """Seed of a lot that one live seed a cm2 takes on a tray. [g cm2]"""
    one = msgspec.structs.replace(recipe, live_seeds_per_cm2=1.0)
    return seed_for_tray(one, known_facts(state, recipe.crop), lot, at).grams


def known_facts(state: FarmState, crop: str) -> CropFacts:
    """What is known of a crop, which may be only the farm's own word."""
    try:
        return facts_for(crop, state.crop_facts)
    except NotFoundError:
        return CropFacts(crop=crop, facts=state.crop_facts.get(crop, {}))


def published_densities(state: FarmState, crop: str) -> tuple[float, float] | None:
    """Lowest and highest live seeds a cm2 that sources sow, by an ordinary lot's seed; None where they are blank."""
    facts = known_facts(state, crop)
    tsw, share = facts.number("tsw_g_typ"), ordinary_live_share(facts)
    names = ("sow_g_per_1020_low", "sow_g_per_1020_typ", "sow_g_per_1020_high")
    printed = [grams for name in names if (grams := facts.number(name)) is not None and grams > 0]
    if not tsw or not share or len(printed) < 2:
        return None
    live = [seeds_in_grams(grams, tsw) * share / TraySize().area_cm2 for grams in printed]
    return min(live), max(live)
