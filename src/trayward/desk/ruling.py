"""
What the farm's own record says of the facts that rules turn on: crops, sales, buyers, and records kept.

What its grower answered on the page of rules may be kept in the settings; every face reads the answers from there.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl

import msgspec

from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.hygiene.kinds import title_of
from trayward.hygiene.pack import RuleShown
from trayward.library.rules import YEARS, CropAsked, FarmAsked, GrownIn, readings
from trayward.units import require_one_meaning

if TYPE_CHECKING:
    from trayward.desk.desk import Desk
    from trayward.farm.recipes import Recipe

YEAR_D = 365.25
SUBSTRATES = ("soil", "coir", "peat", "hemp", "jute", "vermiculite", "perlite", "compost", "wool")
"""Words in a medium's name by which it is a substrate: the trade's own, common practice, no source."""

WATER = frozenset(("water", "only", "alone", "plain", "hydroponic", "hydroponics", "none", "no", "medium"))
"""A medium called by these words alone is water: the trade's own, common practice, no source."""


FACTS = ("medium", "roots", "stage", "cuts")
"""The four facts of a crop, as answers are called."""
OF_THRESHOLD = "set-"
"""Begins the answer that is a threshold the farm looked up itself."""


class RulesSaid(msgspec.Struct, frozen=True, kw_only=True):
    """What was answered on rules, understood."""

    words: dict[str, str]
    """Every answer by its name, as it was typed."""
    near: tuple[str, ...] = ()
    """Customers that are consumers, or restaurants and shops nearby."""

    @property
    def country(self) -> str:
        """Where the farm is; empty: not said."""
        return self.words.get("country", "")

    @property
    def figures(self) -> dict[str, float]:
        """Sales [USD a year] and the share of near buyers [-], those that were said."""
        sums = ("produce", "food")
        found: dict[str, float] = {name: _figure(name, self.words[name]) for name in sums if name in self.words}
        if "near_share" in self.words:
            found["near_share"] = _figure("near_share", self.words["near_share"]) / 100
        return found

    @property
    def own(self) -> dict[str, float]:
        """Thresholds that the farm looked up itself. [USD]"""
        said = {name: word for name, word in self.words.items() if name.startswith(OF_THRESHOLD)}
        return {name.removeprefix(OF_THRESHOLD): _figure(name, word) for name, word in said.items()}

    def crop(self, crop: CropAsked) -> CropAsked:
        """A crop with what was said of it. `InputError` for a fact that is none of those asked."""
        try:
            return said_of(crop, self.words)
        except msgspec.ValidationError:
            raise InputError(crop.crop, "a fact", "is none of those asked", "Choose one of the list.") from None


def answers_kept(words: str) -> RulesSaid:
    """
    The answers on rules that a farm keeps, from its settings.

    Examples
    --------
    >>> kept = answers_kept("country=US&roots=cut+off&produce=18000&near=Otter&near=Moth+Bar")
    >>> kept.country, kept.figures, kept.near
    ('US', {'produce': 18000.0}, ('Otter', 'Moth Bar'))
    """
    pairs = [(name, word.strip()) for name, word in parse_qsl(words) if word.strip()]
    return RulesSaid(words=dict(pairs), near=tuple(word for name, word in pairs if name == "near"))


def _figure(name: str, word: str) -> float:
    require_one_meaning(word, name=name)
    try:
        return float(word.replace(" ", "").replace(",", "."))
    except ValueError:
        raise InputError(name, word, "must be a number", "Answer it again on the page of rules.") from None


def said_of(crop: CropAsked, said: Mapping[str, str]) -> CropAsked:
    """A crop with what was said of it: of it alone (`roots-basil`), else of all (`roots`)."""
    changed: dict[str, object] = {}
    for name in FACTS:
        word = said.get(f"{name}-{crop.crop}", "") or said.get(name, "")
        if word:
            changed[name] = word
    listed = said.get(f"listed-{crop.crop}", "")
    if listed in ("yes", "no"):
        changed |= {"listed": listed == "yes", "why": said.get(f"why-{crop.crop}", "")}
    return msgspec.convert({**msgspec.structs.asdict(crop), **changed}, CropAsked)


def rules_shown(desk: Desk, at: datetime) -> tuple[RuleShown, ...]:
    """What follows from the answers on rules that the farm keeps, for an inspection pack; nothing where none is."""
    kept = answers_kept(desk.settings(at).rules)
    if not kept.country:
        return ()
    farm = farm_asked(desk, at, near=kept.near, crops=kept.crop, said={"country": kept.country, **kept.figures})
    counts = records_kept(desk, at)
    return tuple(
        RuleShown(
            leaning=each.leaning, title=each.title, crops=each.crops, because=each.because,
            records=tuple((title_of(kind), counts.get(kind, 0)) for kind in each.records), others=each.others,
            source=each.source, seen=each.seen,
        )
        for each in readings(farm, kept.own)
    )  # fmt: skip


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
