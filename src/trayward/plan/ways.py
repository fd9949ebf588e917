"""Ways to grow what is wanted: each recipe with its cautious days, weight and seed, as the model counts them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from itertools import accumulate

import msgspec

from trayward.farm.kit import Pool
from trayward.farm.recipes import Recipe, wear_of
from trayward.farm.state import FarmState
from trayward.farm.supply_costs import CareCosts, medium_cost
from trayward.outlook.ahead import Outlook
from trayward.plan.days import Days
from trayward.plan.seed import SeedStock, seed_stock

DAY = timedelta(days=1)


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """A recipe as the plan counts it. `starts` is the day each stage begins, counted from sowing; last: ready."""

    recipe: Recipe
    starts: tuple[int, ...]
    grams: float
    """Cautious weight of a tray. [g]"""
    likely: float
    seed_g: float
    """Grams of the crop's first lot a tray takes. [g]"""
    seed_cost: float
    medium_cost: float
    """Medium, or what is kept in store for it, and other supplies a tray is sown with. [farm's currency]"""
    care_cost: float = 0.0
    """Feed, soap and sanitiser, where the farm keeps them in store with prices. [farm's currency]"""

    @property
    def days(self) -> int:
        """Cautious days from sowing to ready."""
        return self.starts[-1]

    def fixed_cost(self, pools: Mapping[str, Pool]) -> float:
        """What a tray costs whatever becomes of it, without hands and light: seed to wear. [farm's currency]"""
        return self.seed_cost + self.medium_cost + self.care_cost + wear_of(self.recipe.kit, pools)


class Ways(msgspec.Struct, kw_only=True):
    """The ways to grow each wanted crop, its seed, and why some crops cannot be grown at all."""

    ways: list[Way]
    seed: dict[str, SeedStock]
    blocked: dict[str, tuple[str, str]]
    """Crop -> limit and sentence."""
    notes: list[str]

    def of(self, crop: str) -> list[Way]:
        """The ways to grow a crop."""
        return [way for way in self.ways if way.recipe.crop == crop]


def find_ways(state: FarmState, outlook: Outlook, at: datetime, crops: Iterable[str], days: Days) -> Ways:
    """Every recipe still sown of the wanted crops, or why there is none that can be planned."""
    found, care = Ways(ways=[], seed={}, blocked={}, notes=[]), CareCosts(state, at)
    for crop in crops:
        recipes = [recipe for recipe in state.recipes_in_use() if recipe.crop == crop]
        if not recipes:
            words = f"There is no recipe for {crop}: set one, so that it can be sown."
            found.blocked[crop] = (f"recipe for {crop}", words)
            continue
        found.seed[crop] = seed_stock(state, crop, recipes, days, at)
        found.notes += found.seed[crop].notes
        problems = [_add_way(found, recipe, outlook, (state, at, care)) for recipe in recipes]
        if all(problems):
            found.blocked[crop] = next(problem for problem in problems if problem)
        else:
            found.notes += [problem[1] for problem in problems if problem]
    return found


def _add_way(
    found: Ways, recipe: Recipe, outlook: Outlook, farm: tuple[FarmState, datetime, CareCosts]
) -> tuple[str, str] | None:
    """Add a recipe as a way, or say which figure is missing."""
    state, at, care = farm
    ahead, grams = outlook.proposed(recipe, at), outlook.cautious_grams(recipe)
    if grams is None or ahead.grams is None:
        return f"yield of {recipe.name}", ahead.grams_basis.words
    stock = found.seed[recipe.crop]
    seed_g = stock.per_tray(recipe)
    if seed_g is None:
        missing = " and ".join(stock.missing(recipe))
        return f"seed of {recipe.crop}", f"Seed for {recipe.name} cannot be weighed out: say {missing}."
    likely = [(stage.ends.likely - at) / DAY for stage in ahead.stages]
    found.ways.append(
        Way(
            recipe=recipe,
            starts=stage_days(likely, outlook.cautious_days(recipe)),
            grams=grams,
            likely=ahead.grams.likely,
            seed_g=seed_g,
            seed_cost=seed_g * stock.price(),
            medium_cost=medium_cost(state, recipe, at, ahead=True),
            care_cost=care.of(recipe),
        )
    )
    return None


def stage_days(likely_ends: list[float], ready: int) -> tuple[int, ...]:
    """
    The day each stage begins, the likely ends stretched so that the last falls on the cautious day.

    Examples
    --------
    >>> stage_days([3.0, 4.0, 8.0], 9)
    (0, 3, 4, 9)
    """
    stretch = ready / likely_ends[-1] if likely_ends and likely_ends[-1] > 0 else 1.0
    begins = [0, *(min(ready, round(end * stretch)) for end in likely_ends[:-1]), ready]
    return tuple(accumulate(begins, max)) if likely_ends else (ready,)
