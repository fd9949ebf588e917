"""The shipped crop table: every value with its unit, its source and how far it is to be trusted.

The table is data (`data/crops.json`), read on first use. A blank stays a blank.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import msgspec

from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import CropFacts, Fact

_DATA = Path(__file__).with_name("data")


class Emergence(msgspec.Struct, frozen=True, kw_only=True):
    """How seed of one crop, sown 13 mm deep, came up at one steady temperature.

    temp_c [°C], days [d] until it showed, normal_pct [%] of seedlings that were normal; None where the table is blank.
    `none_sprouted` is what the table says outright.
    """

    crop: str
    temp_c: float
    source: str
    days: float | None = None
    normal_pct: float | None = None
    none_sprouted: bool = False
    note: str = ""


@cache
def _table() -> dict[str, CropFacts]:
    listed = msgspec.json.decode((_DATA / "crops.json").read_bytes(), type=list[CropFacts])
    return {facts.crop: facts for facts in listed}


@cache
def emergence() -> tuple[Emergence, ...]:
    """Days to emergence against temperature, as published, for the crops that were tried."""
    return msgspec.json.decode((_DATA / "emergence.json").read_bytes(), type=tuple[Emergence, ...])


def crop_names() -> tuple[str, ...]:
    """Every crop the library knows, in the table's order."""
    return tuple(_table())


def library_facts(crop: str) -> CropFacts:
    """What the library says of a crop; raises `NotFoundError` for one it does not know."""
    try:
        return _table()[crop]
    except KeyError:
        remedy = "Set the crop's own figures with the farm's setup, or pick a crop the library knows."
        raise NotFoundError("crop", crop, crop_names(), remedy, whose="library") from None


def fact_columns() -> tuple[str, ...]:
    """What a farm may say of a crop: every column of the table, and what only it knows.

    The latter are its usual germination (`germ_pct_usual`) [%] and how long ordered seed takes to come
    (`seed_lead_days`) [d].
    """
    columns = (column for facts in _table().values() for column in facts.facts)
    return (*dict.fromkeys(columns), "germ_pct_usual", "seed_lead_days")


def fact_said(column: str, value: float | str) -> float | str:
    """
    What a farm says of a crop, if it can be so.

    Raises
    ------
    InputError
        For a word where the table has figures, another word than it knows, or a figure that cannot be.

    Examples
    --------
    >>> fact_said("mucilaginous", "yes"), fact_said("tsw_g_typ", 3.3)
    ('yes', 3.3)
    """
    held = [facts.facts[column].value for facts in _table().values() if column in facts.facts]
    words = tuple(dict.fromkeys(one for one in held if isinstance(one, str)))
    if words:
        if value not in words:
            raise InputError("value", value, f"must be one of {', '.join(words)}", f"For instance {words[0]}.")
        return value
    if isinstance(value, str) or not math.isfinite(value):
        raise InputError("value", value, "must be a number", "For instance 5.8.")
    # Temperatures alone may lie below zero.
    low, high = (-math.inf if column.startswith("t_") else 0.0), (100.0 if "_pct_" in column else math.inf)
    if not low <= value <= high:
        rule = f"must lie in [0, {high:g}]" if high < math.inf else "must not be below 0"
        raise InputError("value", value, rule, "Check what was typed.")
    return value


def facts_for(crop: str, farm_facts: dict[str, dict[str, Fact]]) -> CropFacts:
    """
    What is known of a crop on this farm.

    Parameters
    ----------
    crop : str
        Its name; the library need not know it.
    farm_facts : dict
        What the farm itself said: crop -> column of the table -> fact.

    Returns
    -------
    CropFacts
        The farm's word before the library's, value by value.
    """
    known = _table().get(crop, CropFacts(crop=crop))
    said = farm_facts.get(crop)
    if not said:
        return known
    return msgspec.structs.replace(
        known, facts={**known.facts, **{name: _decimal(fact) for name, fact in said.items()}}
    )


def _decimal(fact: Fact) -> Fact:
    """A whole number typed by a grower is a number like any other."""
    if isinstance(fact.value, int):
        return msgspec.structs.replace(fact, value=float(fact.value))
    return fact
