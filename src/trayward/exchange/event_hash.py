"""The id of a tracing event, made of what it says: the same event written twice has the same id.

References
----------
GS1 Core Business Vocabulary 2.0, section 8.9, EPCIS event hash ID (the text itself not seen). How the string is put
together was read off, and is tested against, the reference implementation by R. Troeger and S. Schmittner,
github.com/RalphTro/epcis-event-hash-generator, version 1.9.3.
RFC 6920 (Farrell et al., 2013), Naming Things with Hashes: the form of the address.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Final

CBV: Final = "https://ref.gs1.org/cbv/"
"""Where the words of the Core Business Vocabulary stand as web addresses."""
PREFIXES: Final = {"cbvmda": "urn:epcglobal:cbv:mda:"}
"""What short names in our events stand for; the document's `@context` says the same."""

_WORDS: Final = {"bizStep": "BizStep", "disposition": "Disp"}
_TYPES: Final = {"bizTransactionList": "BTT", "sourceList": "SDT", "destinationList": "SDT"}
_ELEMENTS: Final = {
    "epcList": "epc", "inputEPCList": "epc", "outputEPCList": "epc", "quantityList": "quantityElement",
    "inputQuantityList": "quantityElement", "outputQuantityList": "quantityElement",
}  # fmt: skip
_FIELDS: Final = (
    "eventTime", "eventTimeZoneOffset", "epcList", "inputEPCList", "quantityList", "inputQuantityList",
    "outputEPCList", "outputQuantityList", "action", "transformationID", "bizStep", "disposition", "readPoint",
    "bizLocation",
)  # fmt: skip
"""In the order in which they count. Then lists of documents and parties, and master data of lots, by their names."""
_LAST: Final = ("bizTransactionList", "sourceList", "destinationList", "ilmd")


def event_time(at: datetime) -> str:
    """
    A moment as events tell it: in UTC, to the millisecond; the offset on the wall stands beside it.

    Examples
    --------
    >>> event_time(datetime.fromisoformat("2020-03-04T11:00:30+01:00"))
    '2020-03-04T10:00:30.000Z'
    """
    return f"{at.astimezone(UTC).isoformat(timespec='milliseconds')[:-6]}Z"


def event_id(event: Mapping[str, Any]) -> str:
    """
    The id of an event: a hash over all it says but its id, when it was recorded, and that it was declared wrong.

    Parameters
    ----------
    event : mapping
        As it stands in the document, with the fields that our events have.
    """
    return ni_address(pre_hash(event))


def ni_address(text: str) -> str:
    """The address of a text by its SHA-256, in the form that events use."""
    return f"ni:///sha-256;{hashlib.sha256(text.encode()).hexdigest()}?ver=CBV2.0"


def pre_hash(event: Mapping[str, Any]) -> str:
    """What an event says, in one order and spelling whoever wrote it."""
    parts = [f"eventType={event['type']}"]
    parts += [_field(name, event[name]) for name in _FIELDS if event.get(name)]
    parts += sorted(_rest(name, event[name]) for name in _LAST if event.get(name))
    return "".join(parts)


def _field(name: str, value: Any) -> str:
    if name in _ELEMENTS:
        return name + "".join(sorted(_element(_ELEMENTS[name], each) for each in value))
    if isinstance(value, Mapping):
        return f"{name}id={value['id']}"
    if name in _WORDS:
        return f"{name}={CBV}{_WORDS[name]}-{value}"
    return f"{name}={value}"


def _element(name: str, value: Any) -> str:
    if isinstance(value, str):
        return f"{name}={value}"
    told = [f"epcClass={value['epcClass']}", f"quantity={number(value['quantity'])}"]
    return name + "".join([*told, *([f"uom={value['uom']}"] if "uom" in value else [])])


def _rest(name: str, value: Any) -> str:
    if name == "ilmd":
        return name + "".join(sorted(f"{_expanded(key)}={text}" for key, text in value.items()))
    return name + "".join(sorted(_pair(name, each) for each in value))


def _pair(name: str, each: Mapping[str, str]) -> str:
    what = next(key for key in each if key != "type")
    return f"type={CBV}{_TYPES[name]}-{each['type']}{what}={each[what]}"


def _expanded(key: str) -> str:
    prefix, _, rest = key.partition(":")
    return f"{{{PREFIXES[prefix]}}}{rest}"


def number(value: float) -> str:
    """A number without zeros that say nothing."""
    return str(int(value)) if int(value) == value else str(value)
