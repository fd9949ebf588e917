"""The GS1 application identifiers that a grower's labels and papers use: what each holds and how long it is.

References
----------
GS1 General Specifications, section 3 (formats), 7.8.5 (predefined lengths), 7.11 (character set 82); from memory, and
held against the published checks in the tests.
"""

from __future__ import annotations

import string
from typing import Final, Literal, NamedTuple

from trayward.codes.gs1.keys import require_figures, require_key
from trayward.errors import InputError

Holds = Literal["GTIN", "GLN", "SSCC", "date", "figures", "text"]

SET_82: Final = frozenset(string.ascii_letters + string.digits + "!\"%&'()*+,-./:;<=>?_")
"""What a text field may hold."""

PREDEFINED: Final = (
    *(f"{number:02d}" for number in (*range(5), *range(11, 21))),
    *(f"{number}" for number in (*range(31, 37), 41)),
)
"""Begins of fields of a length that readers know, so that no separator follows."""


class Field(NamedTuple):
    """One application identifier: what it holds, and from how many to how many characters."""

    ai: str
    holds: Holds
    low: int
    high: int
    words: str

    @property
    def separated(self) -> bool:
        """Whether a separator must follow unless it is the last."""
        return not self.ai.startswith(PREDEFINED)


_FIELDS: Final = (
    Field("00", "SSCC", 18, 18, "parcel"),
    Field("01", "GTIN", 14, 14, "trade item"),
    Field("02", "GTIN", 14, 14, "trade item in the parcel"),
    Field("10", "text", 1, 20, "batch or lot"),
    Field("11", "date", 6, 6, "production date"),
    Field("12", "date", 6, 6, "due date"),
    Field("13", "date", 6, 6, "packaging date"),
    Field("15", "date", 6, 6, "best before"),
    Field("16", "date", 6, 6, "sell by"),
    Field("17", "date", 6, 6, "expires"),
    Field("20", "figures", 2, 2, "variant"),
    Field("21", "text", 1, 20, "serial number"),
    Field("22", "text", 1, 20, "consumer product variant"),
    Field("30", "figures", 1, 8, "count"),
    Field("37", "figures", 1, 8, "count in the parcel"),
    Field("240", "text", 1, 30, "further identification"),
    Field("241", "text", 1, 30, "customer's part number"),
    Field("250", "text", 1, 30, "secondary serial number"),
    Field("251", "text", 1, 30, "source"),
    Field("254", "text", 1, 20, "place within a location"),
    Field("400", "text", 1, 30, "customer's order number"),
    *(Field(str(number), "GLN", 13, 13, "place or party") for number in range(410, 418)),
    *(Field(str(number), "text", 1, 30 if number == 90 else 90, "the company's own") for number in range(90, 100)),
)
_BY_AI: Final = {field.ai: field for field in _FIELDS}
_MEASURES: Final = {
    "310": "net weight, kg",
    "320": "net weight, lb",
    "356": "net weight, troy oz",
    "357": "net weight, oz",
}
_AMOUNTS: Final = {"390": "amount to pay", "392": "price of the item"}


def field_of(ai: str) -> Field:
    """
    What an application identifier stands for.

    Raises
    ------
    InputError
        If it is none we use.
    """
    found = _BY_AI.get(ai)
    if found is None and len(ai) == 4 and ai.isdigit():
        stem, points = ai[:3], int(ai[3])
        if stem in _MEASURES and points <= 6:
            found = Field(ai, "figures", 6, 6, _MEASURES[stem])
        elif stem in _AMOUNTS:
            found = Field(ai, "figures", 1, 15, _AMOUNTS[stem])
    if found is None:
        raise InputError("application identifier", ai, "it is none that Trayward knows", "Leave that field out.")
    return found


def begins(text: str) -> Field:
    """The field that an unbracketed text begins with."""
    for length in (2, 3, 4):
        try:
            return field_of(text[:length])
        except InputError:
            continue
    rule = "it begins with no application identifier that Trayward knows"
    raise InputError("element string", text[:20], rule, "Read the code again.")


def require_value(ai: str, value: str) -> str:
    """
    The value, if it can stand in that field: length, characters, check digit, day.

    Raises
    ------
    InputError
        If not.
    """
    field = field_of(ai)
    name = f"({ai}) {field.words}"
    if not field.low <= len(value) <= field.high:
        span = f"{field.low}" if field.low == field.high else f"{field.low} to {field.high}"
        raise InputError(name, value, f"it has {span} characters, not {len(value)}", "Shorten it, or read it again.")
    if field.holds == "text":
        strange = sorted(set(value) - SET_82)
        if strange:
            rule = f"{' '.join(strange)} cannot stand in a GS1 field"
            raise InputError(name, value, rule, "Use letters A to Z, figures and plain marks.")
        return value
    require_figures(name, value)
    if field.holds == "GTIN":
        require_key("GTIN-14", value)
    elif field.holds in ("GLN", "SSCC"):
        require_key(field.holds, value)
    elif field.holds == "date" and not (1 <= int(value[2:4]) <= 12 and int(value[4:]) <= 31):
        raise InputError(name, value, "there is no such day; fields of days are YYMMDD", "Read the code again.")
    return value
