"""The sum of money behind density: what one gram more of seed costs and brings, and how much seed pays best."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import msgspec

from trayward.bench.money import bill_words, holds, margin_of_tray, ranged
from trayward.bench.money_told import Told, given_amounts
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import InputError
from trayward.science.costs import SAID, TrayInputs, tray_costs
from trayward.science.money import paying_density
from trayward.science.response import DENSITY_ELASTICITY, ReciprocalLaw
from trayward.units import show_mass, show_money

TENTH = 1.2816
"""Standard deviations from the middle of a normal distribution to its 10th part. [-]"""
STEPS = (0.6, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75)
"""Seed on a tray, as shares of what is sown now. [-]"""
DAMPER = "A denser stand is damper: look closer for mould, whose losses are not counted here."
EVEN = 0.02
"""What a gram costs and brings counts as even within this share. [-]"""


class Answering(msgspec.Struct, frozen=True, kw_only=True):
    """How the weight of a tray answers to seed: per cent more weight for each per cent more seed. [-]"""

    elasticity: float = DENSITY_ELASTICITY[0]
    low: float = DENSITY_ELASTICITY[0] - TENTH * DENSITY_ELASTICITY[1]
    high: float = DENSITY_ELASTICITY[0] + TENTH * DENSITY_ELASTICITY[1]
    words: str = "by published trials alone"
    sources: tuple[str, ...] = ("signore2024", "cecilio2025")
    best_g: float | None = None
    """Seed that pays best, where the farm's own trays say; None: by the law. [g]"""
    best_words: str = ""
    gain: tuple[float, float, float] | None = None
    """What a tray of the best gains over the present one: mean, and 8 in 10 between. [currency]"""
    at_the_end: bool = False
    """It still pays more at the end of what there is ground for."""
    curve: tuple[tuple[float, float], ...] = ()
    """Seed and weight of a tray, where the farm's own trays say. [g]"""


def worth_of_gram(told: Told, fee: float = 0.0) -> float:
    """What a gram more in a tray brings, its pack, trim and fee taken off. [currency/g]"""
    inputs = told.inputs
    if told.price is None:
        raise InputError("price", "none", "what seed is worth depends on it", "Say it: --price 4.50.")
    pack = inputs.pack / inputs.pack_g if inputs.pack_g else 0.0
    return (told.price * (1 - fee) - pack) * (1 - inputs.trim)


def cost_of_seed_gram(inputs: TrayInputs) -> float:
    """What a gram of seed costs a tray that is cut, with that of the lost ones. [currency/g]"""
    return inputs.seed_kg / 1000 / (1 - inputs.lost)


def density_sheet(told: Told, answering: Answering | None = None, fee: float = 0.0) -> Sheet:
    """
    What one gram more of seed costs and brings, and how much seed pays best.

    Parameters
    ----------
    told : Told
        The tray, with its price.
    answering : Answering or None
        How weight answers to seed; published trials where None.
    fee : float
        Share of the price that goes to a market or a shop. [-]

    Raises
    ------
    InputError
        If no price, no seed or no price of seed is known.

    Notes
    -----
    Between the densities that are sown, weight follows the reciprocal law through the present seed and weight
    (`science.response.ReciprocalLaw`); the best is where the last gram of seed brings what it costs. On a farm whose
    trays have taught how weight answers, that curve goes before the law.
    """
    inputs, how = told.inputs, answering or Answering()
    for name in ("seed_g", "seed_kg"):
        if not getattr(inputs, name):
            raise InputError(SAID[name][0], 0, "must be above 0 to weigh one gram more", "Say it.", SAID[name][1])
    tray_costs(inputs)  # refuses what cannot be
    worth, cost = worth_of_gram(told, fee), cost_of_seed_gram(inputs)
    rises = [slope * inputs.weight_g / inputs.seed_g for slope in (how.elasticity, how.low, how.high)]
    best = how.best_g if how.best_g is not None else _best(inputs, how.elasticity, worth, cost)
    each = f"{told.currency}/g" if told.currency else "a g"
    found = [
        Amount(name="1 g of seed costs", value=cost, unit=each, note="lost trays counted"),
        Amount(
            name="1 g of seed brings", value=rises[0] * worth, low=rises[1] * worth, high=rises[2] * worth, unit=each
        ),
        Amount(name="crop of 1 g of seed", value=rises[0], unit="g", low=rises[1], high=rises[2]),
    ]
    if best is not None:
        found += _pays_best(told, how, best, worth, cost, fee)
    return Sheet(
        bench="money",
        task="density",
        title=_density_words(told, how, rises[0] * worth, cost, best),
        given=given_amounts(told),
        found=tuple(found),
        grids=(_by_seed(told, how, fee, best),),
        holds=(*_density_holds(told, how, best), *holds(told)),
        cautions=() if DAMPER in how.best_words else (DAMPER,),
        sources=(*how.sources, *told.sources),
    )


def _pays_best(told: Told, how: Answering, best: float, worth: float, cost: float, fee: float) -> list[Amount]:
    """The seed that pays best, as far as anybody sowed; and what the law alone says where that lies beyond."""
    end = _within(told, best)
    ends = _ends(told.inputs, how, worth, cost) if how.best_g is None else (None, None)
    law: dict[str, Any] = {"unit": "g", "low": ends[0], "high": ends[1]}
    if end == best:
        first = Amount(name="seed that pays best", value=best, kind="mass", note="a tray", **law)
        return [first, _gain(told, how, best, fee)]
    note = "as far as anyone sowed"
    return [
        Amount(name="seed that pays best", value=end, unit="g", kind="mass", note=note),
        _gain(told, how, end, fee),
        Amount(name="by the law alone", value=best, kind="mass", note="seen by nobody", **law),
    ]


def _within(told: Told, seed_g: float) -> float:
    """The nearest seed that anybody sowed and wrote down. [g]"""
    low, high = told.sown_g or (0.0, math.inf)
    return min(max(seed_g, low), high)


def _gain(told: Told, how: Answering, best: float, fee: float) -> Amount:
    """What the best gains over the present; on average by the farm's own trays, else by the law."""
    if how.gain is not None:
        value, low, high = how.gain
        return Amount(
            name="gain over now", value=value, unit=told.currency, kind="money", low=low, high=high, note="a tray, mean"
        )
    value = _left(told, how, best, fee) - _left(told, how, told.inputs.seed_g, fee)
    return Amount(name="gain over now", value=value, unit=told.currency, kind="money", note="a tray")


def _law(inputs: TrayInputs, elasticity: float) -> ReciprocalLaw | None:
    """Weight by grams of seed; None where that answer is no law of falling return."""
    if not 0 < elasticity <= 1:
        return None
    return ReciprocalLaw.with_elasticity(elasticity, inputs.seed_g, inputs.weight_g)


def _best(inputs: TrayInputs, elasticity: float, worth: float, cost: float) -> float | None:
    law = _law(inputs, elasticity)
    if law is None or worth <= 0:
        return None
    return paying_density(law.a, law.b, worth, cost)


def _ends(inputs: TrayInputs, how: Answering, worth: float, cost: float) -> tuple[float | None, float | None]:
    ends = [best for slope in (how.low, how.high) if (best := _best(inputs, slope, worth, cost)) is not None]
    return (min(ends), max(ends)) if len(ends) == 2 else (None, None)


def _weight(told: Told, how: Answering, seed_g: float) -> float:
    """Weight of a tray with so much seed, by the farm's own curve or by the law. [g]"""
    if how.curve:
        return _between(how.curve, seed_g)
    law = _law(told.inputs, how.elasticity)
    return law.of_area(seed_g) if law is not None else told.inputs.weight_g


def _between(curve: tuple[tuple[float, float], ...], seed_g: float) -> float:
    """On a straight line between two points of a curve; at its ends, the end."""
    for (before, low), (after, high) in pairwise(curve):
        if before <= seed_g <= after:
            return low + (high - low) * (seed_g - before) / (after - before)
    return curve[0][1] if seed_g < curve[0][0] else curve[-1][1]


def _left(told: Told, how: Answering, seed_g: float, fee: float) -> float:
    """What a tray with so much seed leaves. [currency]"""
    assert told.price is not None  # the worth of a gram was asked for before
    moved = msgspec.structs.replace(told.inputs, seed_g=seed_g, weight_g=_weight(told, how, seed_g))
    return margin_of_tray(moved, told.price, fee)


def _by_seed(told: Told, how: Answering, fee: float, best: float | None) -> Grid:
    """What trays with less and more seed weigh and leave."""
    low, high = (how.curve[0][0], how.curve[-1][0]) if how.curve else told.sown_g or (0.0, math.inf)
    now, unit = told.inputs.seed_g, told.mass
    seeds = {step * now: "" for step in STEPS if low <= step * now <= high} | {now: "now"}
    if best is not None and low <= best <= high and not any(abs(best - seed) < 0.02 * now for seed in seeds):
        seeds[best] = "pays best"
    rows = [
        (
            show_mass(seed, unit),
            show_mass(_weight(told, how, seed), unit, figures=3),
            bill_words(told, _left(told, how, seed, fee)),
            word,
        )
        for seed, word in sorted(seeds.items())
    ]
    return Grid(
        title="Less seed and more", columns=("Seed", "A tray", "It leaves", ""), rows=tuple(ranged(rows, (0, 1, 2)))
    )


def _density_words(told: Told, how: Answering, brings: float, cost: float, best: float | None) -> str:
    crop = f" of {told.crop}" if told.crop else ""
    first = f"One gram more of seed{crop} on a tray costs {_fine(told, cost)} and brings {_fine(told, brings)}"
    if abs(brings - cost) <= EVEN * cost:
        return f"{first}: what you sow now pays best."
    way = "more" if brings > cost else "less"
    if best is None:
        return f"{first}: {way} seed pays."
    end = _within(told, best)
    words = f"about {show_mass(end, told.mass, figures=2)} a tray"
    if how.at_the_end or end != best:
        return f"{first}: {way} seed pays, as far as there is ground for it, {words}."
    return f"{first}: {way} seed pays, until {words}."


def _fine(told: Told, amount: float) -> str:
    places = 2 if abs(amount) >= 1 else 3
    return show_money(amount, told.currency, places=places)


def _density_holds(told: Told, how: Answering, best: float | None) -> tuple[str, ...]:
    ten = 100 * (1.1**how.elasticity - 1)
    found = [f"10 % more seed gives about {ten:.2g} % more weight, {how.words}."]
    if how.best_words:
        found.append(how.best_words)
    if told.sown_g is not None:
        low, high = (show_mass(grams, told.mass, figures=2) for grams in told.sown_g)
        found.append(f"Sown and written down is {low} to {high} a tray; nothing is known beyond.")
        if best is not None and not told.sown_g[0] <= best <= told.sown_g[1]:
            found.append(
                "The law's best lies outside of that: go there by small steps, and try it first: trayward learn trial."
            )
    found.append("Every gram that can be sold is sold. The same seed sprouts as well when sown thicker.")
    return tuple(found)
