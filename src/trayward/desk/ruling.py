"""What the farm's own record says of the facts that rules turn on: crops, sales, buyers, and records kept."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import msgspec

from trayward.farm.calendar import local_day
from trayward.library.rules import YEARS, CropAsked, FarmAsked, GrownIn

if TYPE_CHECKING:
    from trayward.desk.desk import Desk
    from trayward.farm.recipes import Recipe

YEAR_D = 365.25
SUBSTRATES = ("soil", "coir", "peat", "hemp", "jute", "vermiculite", "perlite", "compost", "wool")
"""Words in a medium's name by which it is a substrate: the trade's own, common practice, no source."""

WATER = frozenset(("water", "only", "alone", "plain", "hydroponic", "hydroponics", "none", "no", "medium"))
"""A medium called by these words alone is water: the trade's own, common practice, no source."""


class SalesKnown(msgspec.Struct, frozen=True, kw_only=True):
    """What was sold in the last 3 years. [farm's currency]"""

    first: date
    last: date
    years: float
    """So many of them the record holds. [a]"""
    currency: str
    by_customer: dict[str, Decimal]
    """Without tax, the largest first."""

    @property
    def total(self) -> Decimal:
        """All of it."""
        return sum(self.by_customer.values(), Decimal(0))

    @property
    def average(self) -> float:
        """A year; a record younger than a year counts as the year it stands in, not as more."""
        return float(self.total) / min(max(self.years, 1.0), YEARS)

    def share_of(self, customers: Collection[str]) -> float | None:
        """The share that went to these customers; None where nothing was sold. [-]"""
        near = sum((self.by_customer.get(name, Decimal(0)) for name in set(customers)), Decimal(0))
        return float(near / self.total) if self.total > 0 else None


def sales_known(desk: Desk, at: datetime) -> SalesKnown:
    """What the money room says was sold in the 3 years up to a moment, by customer."""
    today = local_day(at, desk.settings(at))
    first = _years_before(today, YEARS)
    sold = desk.sold_to(first, today, at=at)
    began = next((local_day(kept.entry.at, desk.settings(at)) for kept in desk.book.entries(until_seq=1)), today)
    years = min((today - max(first, began)).days / YEAR_D, float(YEARS))
    ordered = dict(sorted(sold.items(), key=lambda each: (-each[1], each[0])))
    return SalesKnown(
        first=first, last=today, years=years, currency=desk.settings(at).money.currency, by_customer=ordered
    )


def _years_before(day: date, years: int) -> date:
    leap = (day.month, day.day) == (2, 29)
    return day.replace(year=day.year - years, day=28) if leap else day.replace(year=day.year - years)


def crops_known(desk: Desk, at: datetime) -> tuple[CropAsked, ...]:
    """The crops of the farm's recipes with the medium that each grows on; the other facts are the grower's to say."""
    state = desk.state(at)
    found: dict[str, GrownIn] = {}
    for recipe in state.recipes_in_use():
        found.setdefault(recipe.crop, grown_in(recipe))
    live = {part.crop for product in state.products.values() if product.live for part in product.parts}
    return tuple(
        CropAsked(
            crop=crop, medium=medium, roots="with roots" if crop in live else "cut off",
            cuts="customer" if crop in live else "farm", stage="at true leaves",
        )
        for crop, medium in sorted(found.items())
    )  # fmt: skip


def grown_in(recipe: Recipe) -> GrownIn:
    """What a recipe's medium counts as where rules ask."""
    words = re.findall(r"\w+", recipe.medium.name.lower())
    if any(part in word for word in words for part in SUBSTRATES):
        return "soil or substrate"
    # A mat that lies in water is a mat: only what is called nothing but water counts as water alone.
    if words and set(words) <= WATER:
        return "water"
    return "mat" if words else ""


def records_kept(desk: Desk, at: datetime) -> dict[str, int]:
    """How many records of each kind were written in the last year, struck ones left out."""
    today = local_day(at, desk.settings(at))
    kept: dict[str, int] = {}
    for each in desk.records(_years_before(today, 1), today, at=at, kit=True):
        if each.struck is None:
            kept[each.kind] = kept.get(each.kind, 0) + 1
    return kept


def farm_asked(
    desk: Desk, at: datetime, *, near: Collection[str] = (), crops: Callable[[CropAsked], CropAsked] | None = None,
    said: Mapping[str, object] | None = None, sales: SalesKnown | None = None,
) -> FarmAsked:  # fmt: skip
    """
    The facts of a farm: what its record says, under what its grower says.

    Parameters
    ----------
    near : collection of str
        Customers that are consumers, or restaurants and shops in the same state or within 275 miles.
    crops : callable, optional
        Changes what is known of a crop to what is said of it.
    said : mapping, optional
        Fields of `FarmAsked` as the grower says them.
    sales : SalesKnown, optional
        Where they were worked out already.
    """
    known = sales or sales_known(desk, at)
    dollars = known.currency == "USD" and known.total > 0
    settings = desk.settings(at)
    told = FarmAsked(
        sells=settings.sells, produce=known.average if dollars else None, food=known.average if dollars else None,
        near_share=known.share_of(near) if near else None, years=max(known.years, 1.0) if dollars else YEARS,
        crops=tuple(map(crops, crops_known(desk, at))) if crops else crops_known(desk, at),
    )  # fmt: skip
    if not settings.sells:
        told = msgspec.structs.replace(told, produce=0.0, food=0.0)
    changed = {name: value for name, value in (said or {}).items() if value is not None}
    if {"produce", "food"} & set(changed):
        changed.setdefault("years", float(YEARS))
    return msgspec.structs.replace(told, **changed)
