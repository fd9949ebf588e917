"""The sum of money that asks which figure moves the cost of a tray, or what it leaves, most."""

from __future__ import annotations

from typing import Literal

import msgspec

from trayward.bench.money import bill_words, costs_at, holds, margin_of_tray, ranged, said
from trayward.bench.money_told import Told, given_amounts
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import InputError
from trayward.science.costs import SAID, Swing, TrayInputs, swings, tray_costs
from trayward.units import show_mass

Of = Literal["cost", "margin"]

LABELS = {
    "seed_kg": "seed: grams or price",
    "kwh": "light: kWh, days or price",
    "shelf_rent_day": "rent",
    "water_m3": "water",
    "feed_l": "feed",
    "wage_h": "wage, or all minutes",
    "medium": "price of the medium",
    "pack": "price of a pack",
    "lost": "trays lost",
    "trim": "trimmed away",
}
"""Figures that are named otherwise beside a swing: one may stand for what only counts multiplied with it."""


class Moved(msgspec.Struct, frozen=True, kw_only=True):
    """What a figure makes of the sum when it is lower and higher, in words and money. [currency]"""

    what: str
    now: str
    lower: float
    higher: float


class Moves(msgspec.Struct, frozen=True, kw_only=True):
    """What a sum is, and what each figure makes of it; the widest first. [currency]"""

    what: str
    base: float
    rows: tuple[Moved, ...]
    title: str


def moves(told: Told, share: float, of: Of = "cost") -> Moves:
    """
    What each figure makes of the cost of a portion, or of what a tray leaves, when it is lower and higher.

    Parameters
    ----------
    told : Told
        The tray; with its price for what it leaves.
    share : float
        How much lower and higher. [-]
    of : "cost" or "margin"
        The sum.

    Raises
    ------
    InputError
        If the margin is asked for and no price is known, or a figure cannot be.
    """
    grams, price = told.portion.grams, told.price

    def cost(inputs: TrayInputs) -> float:
        return tray_costs(inputs).gram * grams

    def margin(inputs: TrayInputs) -> float:
        assert price is not None  # checked below
        return margin_of_tray(inputs, price)

    if of == "margin" and price is None:
        raise InputError("price", "none", "what is left depends on it", "Say it: --price 4.50.")
    worth = cost if of == "cost" else margin
    base = worth(told.inputs)
    rows = [_moved(told, one) for one in swings(told.inputs, share, worth)]
    if of == "margin" and price is not None:
        saleable = tray_costs(told.inputs).saleable_g * price
        now = said(told, price * grams)
        rows.append(Moved(what=f"price of {told.portion.words}", now=now, lower=base - share * saleable,
                          higher=base + share * saleable))  # fmt: skip
        rows.sort(key=lambda row: -abs(row.higher - row.lower))
    what = f"cost of {told.portion.words}" if of == "cost" else "what a tray leaves"
    return Moves(what=what, base=base, rows=tuple(rows), title=_moves_words(told, what, base, rows, share))


def _moved(told: Told, one: Swing) -> Moved:
    if one.name.startswith("hands: "):
        what = f"minutes to {one.name.removeprefix('hands: ')}"
        return Moved(what=what, now=f"{one.present:.3g} min", lower=one.lower, higher=one.higher)
    what = LABELS.get(one.name, SAID[one.name][0])
    return Moved(what=what, now=_now(told, one), lower=one.lower, higher=one.higher)


def _now(told: Told, one: Swing) -> str:
    """The figure as it is; for those that stand for others, what they come to on a tray."""
    if one.name in ("weight_g", "pack_g"):
        return show_mass(one.present, told.mass)
    if one.name in ("lost", "trim"):
        return f"{100 * one.present:.3g} %"
    if one.name == "shelf_trays":
        return f"{one.present:.3g}"
    if one.name == "wage_h":
        return f"{said(told, one.present)}/h"
    lines = {line.name: line.amount for line in tray_costs(told.inputs).lines}
    line = {"seed_kg": "seed", "kwh": "light", "water_m3": "water", "feed_l": "feed", "shelf_rent_day": "rent"}
    if one.name in line:
        return f"{said(told, lines[line[one.name]])} a tray"
    return said(told, one.present)


def _moves_words(told: Told, what: str, base: float, rows: list[Moved], share: float) -> str:
    if not rows:
        return f"Nothing moves the {what}."
    first = rows[0]
    worse = max(first.lower, first.higher) if "cost" in what else min(first.lower, first.higher)
    way = "less" if worse == first.lower else "more"
    asked = what if what.startswith("what") else f"the {what}"
    name = first.what.split(":")[0]
    of = f"{told.crop[:1].upper()}{told.crop[1:]}: {name}" if told.crop else f"{name[:1].upper()}{name[1:]}"
    return (
        f"{of} moves {asked} most: {100 * share:.3g} % {way} makes it "
        f"{said(told, worse)} instead of {said(told, base)}."
    )


def moves_sheet(told: Told, share: float, of: Of = "cost") -> Sheet:
    """The same as a sheet: each figure, and what the sum is with it lower and higher."""
    found = moves(told, share, of)
    less, more = f"{100 * share:.3g} % less", f"{100 * share:.3g} % more"
    written = [(row.what, row.now, bill_words(told, row.lower), bill_words(told, row.higher)) for row in found.rows]
    rows = tuple(ranged(written, (1, 2, 3)))
    amounts = [Amount(name=found.what, value=found.base, unit=told.currency, kind="money", note="as things are")]
    if told.weight_low_g and told.weight_high_g and of == "cost":
        ends = [
            costs_at(told.inputs, weight).gram * told.portion.grams
            for weight in (told.weight_high_g, told.weight_low_g)
        ]
        amounts[0] = msgspec.structs.replace(amounts[0], low=ends[0], high=ends[1], note="as its weight varies")
    return Sheet(
        bench="money",
        task="moves",
        title=found.title,
        given=(
            Amount(name="moved by", value=share, unit="-", kind="share", note="one at a time"),
            *given_amounts(told),
        ),
        found=tuple(amounts),
        grids=(
            Grid(
                title=f"{found.what[:1].upper()}{found.what[1:]}, with one figure lower and higher",
                columns=("Figure", "Now", less, more),
                rows=rows,
            ),
        ),
        holds=(
            "One figure moves at a time, the rest as they are; what counts only multiplied with it moves it as much.",
            *holds(told),
        ),
        sources=told.sources,
    )
