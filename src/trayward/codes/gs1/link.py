"""GS1 Digital Link: the fields of a code as a web address that any phone opens.

References
----------
GS1 Digital Link standard: URI syntax (path of the key and its qualifiers in a fixed order, the rest as query); examples
of the GS1 Digital Link toolkit README (github.com/gs1/GS1DigitalLinkToolkit.js) and of the GS1 Barcode Syntax Engine's
tests (github.com/gs1/gs1-syntax-engine), which ours is held against.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final
from urllib.parse import parse_qsl, quote, unquote, urlsplit

from trayward.codes.gs1.elements import Element, required
from trayward.codes.gs1.fields import require_value
from trayward.errors import InputError

GS1_ADDRESS: Final = "https://id.gs1.org"
QUALIFIERS: Final[dict[str, tuple[str, ...]]] = {"01": ("22", "10", "21"), "00": (), "414": ("254",), "417": ()}
"""Keys an address may begin with, and what may follow each in the path, in this order."""


def digital_link(elements: Iterable[tuple[str, str]], address: str = GS1_ADDRESS) -> str:
    """
    Fields as a web address.

    Parameters
    ----------
    elements : iterable of (str, str)
        Application identifiers and values, in any order; one of them a key (GTIN, SSCC, GLN of a place).
    address : str
        Where it leads: the farm's own site, or GS1's.

    Raises
    ------
    InputError
        If a value cannot stand in its field, or there is no key to begin with.

    Examples
    --------
    >>> digital_link([("10", "ABC123"), ("01", "12312312312333")], "https://example.com")
    'https://example.com/01/12312312312333/10/ABC123'
    """
    found = required(elements)
    held = {element.ai: element.value for element in found}
    key = next((ai for ai in QUALIFIERS if ai in held), None)
    if key is None:
        raise InputError("digital link", "no key", "an address begins with a GTIN, an SSCC or a GLN", "Add one.")
    path = [ai for ai in (key, *QUALIFIERS[key]) if ai in held]
    query = [element for element in found if element.ai not in path]
    steps = "".join(f"/{ai}/{quote(held[ai], safe='')}" for ai in path)
    asked = "&".join(f"{ai}={quote(value, safe='')}" for ai, value in query)
    return f"{address.rstrip('/')}{steps}{f'?{asked}' if asked else ''}"


def read_digital_link(address: str) -> tuple[Element, ...]:
    """
    The fields of a Digital Link address; a GTIN of fewer figures is filled up to 14.

    Raises
    ------
    InputError
        If there is no key in it, or a value cannot be.
    """
    parts = urlsplit(address.strip())
    steps = [unquote(step) for step in parts.path.split("/")]
    begin = next(
        (place for place in reversed(range(len(steps))) if steps[place] in QUALIFIERS and _key_at(steps, place)), None
    )
    if parts.scheme not in ("http", "https") or begin is None:
        rule = "it is no GS1 Digital Link: no item, parcel or place in it"
        raise InputError("address", address[:80], rule, "Scan the code again.")
    pairs = list(zip(steps[begin::2], steps[begin + 1 :: 2], strict=False))
    allowed = (steps[begin], *QUALIFIERS[steps[begin]])
    strange = [ai for ai, _ in pairs if ai not in allowed]
    if strange or len(steps[begin:]) % 2:
        raise InputError("address", address[:80], "its path does not fit its key", "Scan the code again.")
    asked = [(ai, value) for ai, value in parse_qsl(parts.query, keep_blank_values=True) if ai.isdigit()]
    filled = [(ai, value.zfill(14) if ai == "01" else value) for ai, value in (*pairs, *asked)]
    return tuple(required(filled))


def _key_at(steps: list[str], place: int) -> bool:
    """Whether a step is a key with its value behind it, not a value that happens to look like one."""
    if place + 1 >= len(steps):
        return False
    try:
        require_value(steps[place], steps[place + 1].zfill(14) if steps[place] == "01" else steps[place + 1])
    except InputError:
        return False
    return True
