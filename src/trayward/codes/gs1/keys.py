"""GS1 keys: trade items (GTIN), places (GLN) and parcels (SSCC), with their check digits.

References
----------
GS1 General Specifications, section 7.9, Check digit calculations; worked example on gs1.org, How to calculate a check
digit manually.
"""

from __future__ import annotations

from typing import Final

from trayward.errors import InputError

PREFIX_LENGTHS: Final = range(4, 13)
"""Figures a company prefix may have. GS1 General Specifications, glossary (from memory)."""
KEY_LENGTHS: Final = {"GTIN-8": 8, "GTIN-12": 12, "GTIN-13": 13, "GTIN-14": 14, "GLN": 13, "SSCC": 18}
GET_ONE: Final = "A GS1 member organisation gives it out; without one, leave it blank and use the farm's own codes."


def check_digit(body: str) -> int:
    """
    The check digit that follows some figures: weights 3 and 1 from the right, up to the next ten. [-]

    Examples
    --------
    >>> check_digit("629104150021")
    3
    """
    require_figures("number", body)
    total = sum(int(figure) * (3 if place % 2 == 0 else 1) for place, figure in enumerate(reversed(body)))
    return -total % 10


def is_valid_key(key: str) -> bool:
    """Whether a number of 8, 12, 13, 14 or 18 figures ends in its check digit."""
    if not (key.isascii() and key.isdigit()) or len(key) not in KEY_LENGTHS.values():
        return False
    return check_digit(key[:-1]) == int(key[-1])


def require_key(kind: str, key: str) -> str:
    """
    The key, if it is one of that kind (`GTIN-13`, `GLN`, `SSCC`, ...).

    Raises
    ------
    InputError
        If its length or its check digit is wrong; the right digit is named.
    """
    length = KEY_LENGTHS[kind]
    require_figures(kind, key)
    if len(key) != length:
        raise InputError(kind, key, f"it has {length} figures, not {len(key)}", "Read it off the label again.")
    right = check_digit(key[:-1])
    if right != int(key[-1]):
        rule = f"its last figure does not fit the others, which would end in {right}"
        raise InputError(kind, key, rule, "A figure is wrong or two changed places: read it off the label again.")
    return key


def require_prefix(prefix: str) -> str:
    """The farm's company prefix, if it can be one. Raises `InputError` where there is none, or it cannot be."""
    if not prefix:
        raise InputError("GS1 company prefix", "none", "this code is made with one", GET_ONE)
    require_figures("GS1 company prefix", prefix)
    if len(prefix) not in PREFIX_LENGTHS:
        rule = f"it has {PREFIX_LENGTHS.start} to {PREFIX_LENGTHS.stop - 1} figures, not {len(prefix)}"
        raise InputError("GS1 company prefix", prefix, rule, GET_ONE)
    return prefix


def gtin13(prefix: str, item: str) -> str:
    """
    The number of a trade item: company prefix, the farm's own item reference, check digit.

    Raises
    ------
    InputError
        If prefix and reference do not fit into 12 figures.

    Examples
    --------
    >>> gtin13("629104", "150021")
    '6291041500213'
    """
    return _made("item reference", require_prefix(prefix), item, 12)


def gtin14(gtin: str, indicator: str = "0") -> str:
    """A GTIN in 14 figures: as it is with indicator 0, or the number of a case of it (1 to 8; 9: by weight)."""
    kind = f"GTIN-{len(gtin)}" if f"GTIN-{len(gtin)}" in KEY_LENGTHS else "GTIN-13"
    padded = require_key(kind, gtin).zfill(14)
    if indicator == "0":
        return padded
    if len(indicator) != 1 or indicator not in "123456789" or padded[0] != "0":
        raise InputError("indicator", indicator, "it is one figure from 1 to 9 before a GTIN of 8 to 13", "Leave it 0.")
    body = indicator + padded[1:-1]
    return body + str(check_digit(body))


def gln(prefix: str, place: str) -> str:
    """The number of a place or a party: company prefix, the farm's own reference, check digit."""
    return _made("place reference", require_prefix(prefix), place, 12)


def sscc(extension: str, prefix: str, serial: str) -> str:
    """
    The number of a parcel: extension digit, company prefix, serial reference, check digit.

    Examples
    --------
    >>> sscc("0", "4012345", "000000111")
    '040123450000001112'
    """
    if len(extension) != 1:
        raise InputError("extension digit", extension, "it is one figure", "Take 0.")
    require_figures("extension digit", extension)
    return _made("serial reference", extension + require_prefix(prefix), serial, 17)


def require_figures(thing: str, text: str) -> None:
    """Raise `InputError` for what is not figures 0 to 9 alone."""
    if not (text.isascii() and text.isdigit()):
        raise InputError(thing, text or "nothing", "it is figures 0 to 9 alone", "Leave out blanks and letters.")


def _made(thing: str, prefix: str, reference: str, figures: int) -> str:
    """Prefix and reference, filled up with zeros between them, and the check digit."""
    require_figures(thing, reference)
    room = figures - len(prefix)
    if len(reference) > room or room < 1:
        rule = f"behind the prefix {prefix} there is room for {max(room, 0)} figures"
        raise InputError(thing, reference, rule, "Take a shorter one.")
    body = prefix + reference.zfill(room)
    return body + str(check_digit(body))
