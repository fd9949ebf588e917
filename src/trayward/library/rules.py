"""
Which public rules may apply to a farm: readings that follow from facts, with citations, and never a verdict.

The texts, thresholds and dates are data (`data/rules.json`), each with its source, whether it was seen, and when it was
last checked. A farm sets its own figure where an agency has adjusted one. What a rule asks for stands as kinds of
hygiene record, so that a page can say which of them the farm keeps.

References
----------
The digest of rules in the design notes, and the citations in each row; a row that is not `seen` is from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Literal

import msgspec

from trayward.errors import InputError

_FILE = Path(__file__).with_name("data") / "rules.json"

Country = Literal["US", "EU", "GB", ""]
Leaning = Literal["may apply", "does not seem to apply", "cannot be told"]
GrownIn = Literal["soil or substrate", "mat", "water", ""]
AtSale = Literal["cut off", "with roots", ""]
Taken = Literal["before true leaves", "at true leaves", ""]
Cuts = Literal["farm", "customer", ""]
YEARS = 3
"""So many years of sales are averaged (112.4(a), 112.5(a))."""


class Threshold(msgspec.Struct, frozen=True, kw_only=True):
    """An amount or a date that a rule turns on, as a setting."""

    key: str
    title: str
    value: float | date
    unit: str = ""
    base_year: int | None = None
    source: str
    seen: bool
    note: str = ""
    checked: date | None = None
    """When somebody last looked; None: as the table."""


class Rule(msgspec.Struct, frozen=True, kw_only=True):
    """A rule, what it would ask for, and the sentences that tell why it may or may not apply."""

    key: str
    country: Country
    title: str
    source: str
    seen: bool
    records: tuple[str, ...]
    """Kinds of hygiene record."""
    others: tuple[str, ...]
    because: dict[str, str]


class _Table(msgspec.Struct, frozen=True, kw_only=True):
    checked: date
    thresholds: tuple[Threshold, ...]
    dates: tuple[Threshold, ...]
    readings: tuple[Rule, ...]


class CropAsked(msgspec.Struct, frozen=True, kw_only=True):
    """The four facts of a crop, and where it stands on the traceability list by who set it."""

    crop: str
    medium: GrownIn = ""
    roots: AtSale = ""
    stage: Taken = ""
    cuts: Cuts = ""
    """Who cuts it from its roots."""
    listed: bool | None = None
    why: str = ""
    """The reason for `listed`."""


class FarmAsked(msgspec.Struct, frozen=True, kw_only=True):
    """What a farm is: where, what it sells and to whom. None: not said."""

    country: Country = ""
    sells: bool = True
    produce: float | None = None
    """Average a year of the last 3. [USD for the US thresholds]"""
    food: float | None = None
    """All food sold, average a year. [USD]"""
    near_share: float | None = None
    """Share of food sales that goes to consumers, and to restaurants and shops nearby. [-]"""
    years: float = YEARS
    """So many years the average is of. [a]"""
    crops: tuple[CropAsked, ...] = ()


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """What one rule comes to, for the farm or for one crop."""

    key: str
    title: str
    crops: tuple[str, ...] = ()
    """Of which crops; none: of the farm as a whole."""
    leaning: Leaning
    because: tuple[str, ...]
    records: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    dates: tuple[Threshold, ...] = ()
    source: str
    seen: bool


@cache
def _table() -> _Table:
    return msgspec.json.decode(_FILE.read_bytes(), type=_Table)


def checked() -> date:
    """When the table was last checked."""
    return _table().checked


def thresholds(own: Mapping[str, float] | None = None, own_checked: date | None = None) -> tuple[Threshold, ...]:
    """
    Every threshold; `own` are figures that the farm looked up itself, on the day `own_checked`.

    Raises
    ------
    InputError
        If one of them is no threshold's, or not above 0.
    """
    known = {each.key: each for each in _table().thresholds}
    for key, value in (own or {}).items():
        if key not in known:
            raise InputError("threshold", key, "there is none of that name", f"Take one of: {', '.join(known)}.")
        if not 0 < value < 1e12:
            raise InputError(key, value, "must be above 0", "Look the current figure up.", "USD")
        known[key] = msgspec.structs.replace(
            known[key], value=value, source="set by the farm", seen=True, checked=own_checked
        )
    return _dated(known.values())


def _dated(found: Iterable[Threshold]) -> tuple[Threshold, ...]:
    """With the day they were checked: their own, or the table's."""
    return tuple(msgspec.structs.replace(each, checked=each.checked or checked()) for each in found)


def readings(farm: FarmAsked, own: Mapping[str, float] | None = None) -> tuple[Reading, ...]:
    """
    What follows from the facts of a farm, rule by rule.

    Parameters
    ----------
    farm : FarmAsked
        What is known; what is not said leads to `cannot be told`, with what to ask.
    own : mapping, optional
        Key of a threshold -> the figure the farm looked up. [USD]

    Returns
    -------
    tuple of Reading
        None of them is a verdict: local codes and licensed practice decide.
    """
    if farm.near_share is not None and not 0 <= farm.near_share <= 1:
        raise InputError("share", farm.near_share, "must lie in [0, 1]", "Say the share of all food sales.")
    for name, value in (("produce", farm.produce), ("food", farm.food)):
        if value is not None and not 0 <= value < 1e15:
            raise InputError(name, value, "must be an amount, 0 or more", "Say the average of a year.", "USD")
    rules = [rule for rule in _table().readings if rule.country == farm.country]
    limits = {each.key: float(each.value) for each in thresholds(own) if isinstance(each.value, int | float)}
    return tuple(each for rule in rules for each in _together(_READ[rule.key](rule, farm, limits)))


def _together(found: Iterable[Reading]) -> Iterable[Reading]:
    """Crops of which the same is to be said, said once."""
    by_words: dict[tuple[str, ...], Reading] = {}
    for each in found:
        words = (each.leaning, *each.because)
        before = by_words.get(words)
        crops = (*before.crops, *each.crops) if before else each.crops
        by_words[words] = msgspec.structs.replace(each, crops=crops)
    return by_words.values()


# One rule each --------------------------------------------------------------------------------------------------------

Limits = Mapping[str, float]


def _said(rule: Rule, leaning: Leaning, *because: str, crop: str = "", dates: Sequence[str] = ()) -> Reading:
    asks = leaning != "does not seem to apply"
    found = _dated(each for each in _table().dates if asks and each.key in dates)
    return Reading(
        key=rule.key, title=rule.title, crops=(crop,) if crop else (), leaning=leaning, because=because,
        records=rule.records if asks else (), others=rule.others if asks else (), dates=found, source=rule.source,
        seen=rule.seen,
    )  # fmt: skip


def _dollars(amount: float) -> str:
    # A blank sets thousands apart in every language; a comma would be a mark of decimals in some.
    return f"{amount:,.0f} USD".replace(",", " ")


def _years(farm: FarmAsked) -> str:
    return f"{min(farm.years, YEARS):.3g} years"


def _us_sprouts(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    del limits
    for crop in farm.crops:
        key, leaning = _sprout_key(crop)
        yield _said(rule, leaning, rule.because[key], crop=crop.crop)


def _sprout_key(crop: CropAsked) -> tuple[str, Leaning]:
    if not crop.roots:
        return "unknown", "cannot be told"
    if crop.roots == "cut off":
        return ("cut in water", "cannot be told") if crop.medium == "water" else ("cut", "does not seem to apply")
    if crop.cuts == "customer":
        return "roots, farm does not cut", "cannot be told"
    if crop.stage == "before true leaves":
        return "whole", "may apply"
    return ("roots" if crop.stage else "unknown"), "cannot be told"


def _us_produce(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    if farm.produce is None:
        yield _said(rule, "cannot be told", rule.because["unknown"])
        return
    limit = limits["us_not_covered"]
    key = "below" if farm.produce <= limit else "above"
    because = [rule.because[key].format(sales=_dollars(farm.produce), years=_years(farm), limit=_dollars(limit))]
    if farm.years < YEARS:
        because.append(rule.because["short"].format(years=_years(farm)))
    small, very_small = farm.produce <= limits["us_small"], farm.produce <= limits["us_very_small"]
    water = "us_water_very_small" if very_small else "us_water_small" if small else "us_water_large"
    yield _said(rule, "does not seem to apply" if key == "below" else "may apply", *because, dates=(water,))


def _us_qualified(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    if farm.food is None or farm.near_share is None:
        yield _said(rule, "cannot be told", rule.because["unknown"])
        return
    limit = limits["us_qualified"]
    values = {"sales": _dollars(farm.food), "limit": _dollars(limit), "share": f"{farm.near_share:.0%}"}
    # Both comparisons are strict (112.5(a)).
    failed = [key for key, fails in (("size", farm.food >= limit), ("buyers", farm.near_share <= 0.5)) if fails]
    leaning: Leaning = "does not seem to apply" if failed else "may apply"
    yield _said(rule, leaning, *(rule.because[key].format(**values) for key in failed or ["met"]))


def _us_trace(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    # Small farms are left out by this rule's own line, and where part 112 does not cover them (1.1305).
    limit = max(limits["us_trace_exempt"], limits["us_not_covered"])
    small = farm.produce is not None and farm.produce <= limit
    for crop in farm.crops:
        key = "unset" if crop.listed is None else "listed" if crop.listed else "not listed"
        because = [rule.because[key].format(reason=crop.why or "no reason given")]
        leaning: Leaning = "cannot be told" if crop.listed is None else "may apply"
        if small:
            because.append(rule.because["small"].format(sales=_dollars(farm.produce or 0), limit=_dollars(limit)))
        if small or crop.listed is False:
            leaning = "does not seem to apply"
        yield _said(rule, leaning, *because, crop=crop.crop, dates=("us_trace",))


def _whoever_sells(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    del limits
    leaning: Leaning = "may apply" if farm.sells else "does not seem to apply"
    yield _said(rule, leaning, rule.because["sells" if farm.sells else "home"])


def _eu_sprouts(rule: Rule, farm: FarmAsked, limits: Limits) -> Iterator[Reading]:
    del limits
    for crop in farm.crops:
        whole = crop.roots == "with roots" and crop.stage == "before true leaves"
        key = "cut" if crop.roots and crop.stage else "unknown"
        if whole:
            key = "whole" if crop.medium == "water" else "roots"
        leanings: dict[str, Leaning] = {"whole": "may apply", "cut": "does not seem to apply"}
        yield _said(rule, leanings.get(key, "cannot be told"), rule.because[key], crop=crop.crop)


_READ = {
    "us_sprouts": _us_sprouts, "us_produce": _us_produce, "us_qualified": _us_qualified, "us_trace": _us_trace,
    "eu_hygiene": _whoever_sells, "eu_step": _whoever_sells, "eu_sprouts": _eu_sprouts,
    "gb_hygiene": _whoever_sells, "gb_sprouts": _eu_sprouts,
}  # fmt: skip
