"""Element strings: what a GS1-128 bar code or a GS1 DataMatrix holds, built and read back.

References
----------
GS1 General Specifications, section 7.8: FNC1 as separator (read as GS, ASCII 29) behind fields whose length readers do
not know, never behind the last; predefined-length fields first (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final, NamedTuple

from trayward.codes.gs1.fields import begins, field_of, require_value
from trayward.errors import InputError

GS: Final = "\x1d"
"""What a reader gives for FNC1 between fields."""
SYMBOLOGIES: Final = ("]C1", "]d2", "]Q3", "]e0", "]J1")
"""What readers may put before a GS1 code: GS1-128, DataMatrix, QR, DataBar, DotCode."""
_BRACKETED: Final = re.compile(r"\((\d{2,4})\)([^(]*(?:\((?!\d{2,4}\))[^(]*)*)")


class Element(NamedTuple):
    """One field with its value."""

    ai: str
    value: str


def element_string(elements: Iterable[tuple[str, str]]) -> str:
    """
    The text of a code, separators in it as GS; fields of a known length go first, so that few are needed.

    Raises
    ------
    InputError
        If a value cannot stand in its field, or fields contradict one another.

    Examples
    --------
    >>> element_string([("01", "09520123456788"), ("10", "ABC123"), ("17", "180426")])
    '01095201234567881718042610ABC123'
    """
    found = required(elements)
    ordered = sorted(found, key=lambda element: field_of(element.ai).separated)
    return _joined(ordered)


def in_order(elements: Iterable[tuple[str, str]]) -> str:
    """The text of a code with its fields in the order given."""
    return _joined(required(elements))


def _joined(elements: list[Element]) -> str:
    last = len(elements) - 1
    return "".join(
        f"{ai}{value}{GS if field_of(ai).separated and place != last else ''}"
        for place, (ai, value) in enumerate(elements)
    )


def bracketed(elements: Iterable[tuple[str, str]]) -> str:
    """The fields as people read them below a bar code: `(01)09520123456788(10)ABC123`."""
    return "".join(f"({ai}){value}" for ai, value in required(elements))


def read_elements(text: str) -> tuple[Element, ...]:
    """
    The fields of a text that was scanned, or typed with its brackets.

    Raises
    ------
    InputError
        If it is none, a field is unknown or a value cannot be.
    """
    for mark in SYMBOLOGIES:
        text = text.removeprefix(mark)
    text = text.lstrip(GS)
    if not text:
        raise InputError("element string", "nothing", "it must hold a field", "Read the code again.")
    found = _read_bracketed(text) if text.startswith("(") else _read_plain(text)
    return tuple(required(found))


def _read_bracketed(text: str) -> list[Element]:
    found, reached = [], 0
    for part in _BRACKETED.finditer(text):
        if part.start() != reached:
            break
        reached = part.end()
        found.append(Element(part[1], part[2]))
    if reached != len(text):
        raise InputError("element string", text, "each field begins with its number in brackets", "Read it again.")
    return found


def _read_plain(text: str) -> list[Element]:
    found = []
    while text:
        field = begins(text)
        rest = text[len(field.ai) :]
        if field.separated:
            value, _, text = rest.partition(GS)
        else:
            value, text = rest[: field.high], rest[field.high :].removeprefix(GS)
        found.append(Element(field.ai, value))
    return found


def required(elements: Iterable[tuple[str, str]]) -> list[Element]:
    """The fields, each once, if their values can be and they do not contradict one another."""
    found = [Element(ai, require_value(ai, value)) for ai, value in elements]
    held: dict[str, str] = {}
    for ai, value in found:
        if held.setdefault(ai, value) != value:
            raise InputError(f"({ai})", value, f"the code says {held[ai]} there too", "Leave one out.")
    if not found:
        raise InputError("element string", "nothing", "it must hold a field", "Give it a lot or an item.")
    if "01" in held and "02" in held:
        raise InputError("(02)", held["02"], "it cannot stand beside (01)", "Leave one out.")
    if ("02" in held) != ("37" in held):
        rule = "what a parcel holds (02) and how many of it (37) go together"
        raise InputError("(02)", held.get("02", "none"), rule, "Give both, or neither.")
    return list(dict.fromkeys(found))
