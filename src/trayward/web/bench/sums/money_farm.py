"""What the farm's own book says of a tray's money: its account, its lots, its yield, and how weight answers to seed."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import msgspec

from trayward.bench.money_density import Answering, cost_of_seed_gram, worth_of_gram
from trayward.bench.money_told import Told, jobs_of, library_told
from trayward.desk.lookup import facts_of, lots_for, recipe_named
from trayward.errors import InputError
from trayward.farm.density import seed_for_tray
from trayward.farm.hands import minutes_by_job
from trayward.farm.recipes import Recipe, wear_of
from trayward.science.costs import TrayInputs
from trayward.web.bench.sums.declared import Given

if TYPE_CHECKING:
    from trayward.farm.state import FarmState, SeedLot
    from trayward.outlook.types import TrayOutlook
    from trayward.study.account import Rates

FARM = "the farm's settings"
SAME = 0.01
"""Seed that differs by less from the recipe's is the recipe's. [-]"""


def farm_told(given: Given, name: str) -> Told:
    """
    A tray of a recipe, or of a crop with one recipe, by the farm's own account.

    Seed, medium, wear, hands and light are counted by the functions that the plan and the season study count by, over
    the days its outlook says are likely. Water, feed and rent the farm's account does not know: 0 until they are said.
    """
    from trayward.outlook.learning.money import gram_worth
    from trayward.study.account import Rates, price_of_seed

    state, settings = given.state, given.settings
    recipe = recipe_named(state, name)
    ahead, lot = _ahead(given, recipe), _next_lot(given, recipe)
    if ahead.grams is None:
        raise InputError("weight of a tray", "none", ahead.grams_basis.words.rstrip("."), "Say it: --weight 200 g.")
    rates, starts, days = Rates(state, settings, given.today), *_days(given, ahead)
    seed_g = seed_for_tray(recipe, facts_of(state, recipe.crop), lot, given.at).grams or 0.0
    price, words = gram_worth(state, recipe.crop, given.today)
    pack_g = _pack_of(state, recipe.crop)
    lit, dark = (_spots_days(recipe, rates, starts, days, ground) for ground in ("lit", "dark"))
    shelf_trays, shelf_kwh = _lit_shelf(state, rates)
    money = settings.money
    inputs = TrayInputs(
        weight_g=ahead.grams.likely,
        seed_g=seed_g,
        seed_kg=1000 * price_of_seed(state, lot.lot) if lot is not None else 0.0,
        medium=recipe.medium.cost,
        wear=wear_of(recipe.kit, rates.pools),
        shelf_kwh_day=shelf_kwh,
        shelf_trays=shelf_trays,
        lit_days=lit,
        kwh=money.energy_kwh,
        shelf_days=lit + dark,
        jobs=jobs_of(_minutes(recipe, rates, days)),
        wage_h=money.wage_h,
        pack_g=pack_g,
        pack=money.packaging if pack_g else 0.0,
        lost=ahead.loss,
    )
    return Told(
        inputs=inputs,
        crop=recipe.crop,
        asked=recipe.name,
        currency=money.currency,
        origin=_origin(inputs, lot, ahead),
        weight_low_g=ahead.grams.low,
        weight_high_g=ahead.grams.high,
        price=price,
        price_origin=_price_words(words),
        sown_g=None,
        rests=(_rests_words(ahead.grams_basis.words), *_missing(inputs, lot, recipe)),
    )


def not_grown_told(given: Given, name: str) -> Told | None:
    """The library's tray at the farm's prices, of a crop the farm has no recipe for; None where it has one."""
    from trayward.library.crops import crop_names
    from trayward.study.account import Rates

    recipes = given.state.recipes.values()
    if name not in crop_names() or any(name in (recipe.name, recipe.crop) for recipe in recipes):
        return None
    told, money = library_told(name, facts_of(given.state, name)), given.settings.money
    trays, kwh = _lit_shelf(given.state, Rates(given.state, given.settings, given.today))
    known = {"wage_h": money.wage_h, "kwh": money.energy_kwh, "pack": money.packaging}
    known |= {"shelf_trays": trays, "shelf_kwh_day": kwh}
    inputs = msgspec.structs.replace(told.inputs, **known)
    rests = (
        f"The farm has no recipe for {name}: a tray as the library has it, at the farm's prices where it has them.",
    )
    origin = told.origin | dict.fromkeys(known, FARM)
    return msgspec.structs.replace(told, inputs=inputs, origin=origin, currency=money.currency, rests=rests)


def _ahead(given: Given, recipe: Recipe) -> TrayOutlook:
    lot = _next_lot(given, recipe)
    return given.farm.outlook(given.at).proposed(recipe, given.at, lot.lot if lot is not None else "")


def _next_lot(given: Given, recipe: Recipe) -> SeedLot | None:
    """The lot that is sown next."""
    lots = lots_for(given.state, recipe.crop, given.at)
    return lots[0] if lots else None


def _days(given: Given, ahead: TrayOutlook) -> tuple[tuple[int, ...], int]:
    """The whole day each stage likely begins, as the plan rounds them, and the day it is likely cut."""
    from trayward.plan.ways import DAY, stage_days

    likely = [(stage.ends.likely - given.at) / DAY for stage in ahead.stages]
    starts = stage_days(likely, round(likely[-1]) if likely else 0)
    return starts, starts[-1]


def _minutes(recipe: Recipe, rates: Rates, days: int) -> dict[str, float]:
    names = [stage.name for stage in recipe.stages]
    return minutes_by_job(recipe, rates.pools, reached=names, days=days, looks=rates.looks, how="cut")


def _spots_days(recipe: Recipe, rates: Rates, starts: tuple[int, ...], leave: int, ground: str) -> float:
    """Days of a floor position it takes up, a stack sharing one. [d]"""
    ends = [*starts[1:], leave]
    return sum(
        (end - begin) * rates.position_share(ground, stage.stack)
        for stage, begin, end in zip(recipe.stages, starts, ends, strict=True)
        if stage.ground == ground
    )


def _lit_shelf(state: FarmState, rates: Rates) -> tuple[float, float]:
    """Trays on a lit shelf and what its lamps use in a day, the mean over them. [-], [kWh/d]"""
    spots = [shelf.spots for shelf in state.shelves.values() if shelf.kind == "lit" and shelf.spots > 0]
    trays = sum(spots) / len(spots) if spots else 1.0
    return trays, rates.position_kwh * trays


def _pack_of(state: FarmState, crop: str) -> float:
    """The net weight its packs usually have; 0 where it is sold loose. [g]"""
    packs = Counter(
        product.pack_g
        for product in state.products.values()
        if product.pack_g and not product.live and [part.crop for part in product.parts] == [crop]
    )
    return packs.most_common(1)[0][0] if packs else 0.0


def _origin(inputs: TrayInputs, lot: SeedLot | None, ahead: TrayOutlook) -> dict[str, str]:
    found = dict.fromkeys(("wage_h", "kwh", "pack"), FARM)
    found |= dict.fromkeys(("medium", "seed_g", *(job.name for job in inputs.jobs)), "recipe")
    found |= dict.fromkeys(("wear", "shelf_trays", "shelf_kwh_day"), "the farm's setup")
    found |= dict.fromkeys(("lit_days", "shelf_days", "lost"), "outlook")
    found["seed_kg"] = f"lot {lot.lot}" if lot is not None else ""
    found["weight_g"] = f"outlook, {ahead.grams_basis.own_trays} own trays"
    found["pack_g"] = "its product"
    return found


def _price_words(words: str) -> str:
    """`by the orders of four weeks either way` of `100 g brings 3.00, by the orders of four weeks either way`."""
    return words.partition(", ")[2]


def _rests_words(words: str) -> str:
    return f"Weight of a tray: {words[:1].lower()}{words[1:]}"


def _missing(inputs: TrayInputs, lot: SeedLot | None, recipe: Recipe) -> tuple[str, ...]:
    found = []
    if lot is None:
        found.append(f"No seed of {recipe.crop} is here: its price counts as 0 until you say --seed-price.")
    elif not inputs.seed_kg:
        found.append(f"What lot {lot.lot} cost is not known: say --seed-price.")
    if not inputs.wage_h:
        found.append("Hands count as unpaid: the farm's settings name no wage.")
    found.append("The farm's account knows no water, feed and rent: say them if they are to count.")
    return tuple(found)


# Density --------------------------------------------------------------------------------------------------------------


def farm_answering(given: Given, told: Told, fee: float) -> Answering | None:
    """How weight answers to seed by the farm's own trays, and what pays best; None where seed cannot be weighed out."""
    import numpy as np

    from trayward.outlook.learning.money import Money
    from trayward.outlook.learning.of_farm import density_response, response_of
    from trayward.outlook.learning.points import TENTHS

    recipe, model = recipe_named(given.state, told.asked), given.farm.outlook(given.at).yields
    usual_g = seed_for_tray(recipe, facts_of(given.state, recipe.crop), _next_lot(given, recipe), given.at).grams
    if not usual_g or told.price is None:
        return None
    a_unit = usual_g / recipe.live_seeds_per_cm2
    response, now = response_of(model, recipe), told.inputs.seed_g / a_unit
    basis = response.basis(np.array([now]))[0]
    heavier = told.inputs.weight_g / float(np.exp(response.mean @ basis))
    money = Money(gram=worth_of_gram(told, fee) * heavier, seed=cost_of_seed_gram(told.inputs) * a_unit)
    found = density_response(model, given.state, recipe, given.at, money)
    draws = response.draws()
    slopes = draws[:, 1] + 2 * draws[:, 2] * basis[1]
    low, middle, high = (float(slope) for slope in np.quantile(slopes, TENTHS))
    rests = "published trials" if not found.own_trays else f"published trials and {found.own_trays} own trays"
    best, as_sown = found.best, abs(now / recipe.live_seeds_per_cm2 - 1) < SAME
    return Answering(
        elasticity=middle,
        low=low,
        high=high,
        words=f"by {rests}; looked at within {found.bounds.words}",
        best_g=best.level * a_unit if best is not None else None,
        best_words=best.words if best is not None and as_sown else "",
        gain=(best.gain.mean or best.gain.likely, best.gain.low, best.gain.high) if best and as_sown else None,
        at_the_end=best is not None and not best.peak,
        curve=tuple((point.level * a_unit, point.grams * heavier) for point in found.curve),
    )
