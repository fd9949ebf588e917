"""What things are called in events that leave the farm: an address that nobody else has for another thing.

A pack of a product with a GTIN is called by GTIN and lot, as its label says it (GS1 Digital Link; EPCIS 2.0 takes such
addresses for classes and lots). All else has no GS1 key of its own: seed lots, trays, crop in the cold room, orders,
customers. EPCIS takes any URI for those. Where the farm has said its own web address they are called by that, so a
person can read them; else by a `urn:uuid` made of the farm's own mark and the thing's name, which is as unique and the
same in every export. What they are called in words stands in the master data beside the events.

References
----------
GS1 EPCIS 2.0 and CBV 2.0 (forms of private identifiers `obj`, `class`, `loc`, `bt` under a domain of one's own: from
memory). RFC 9562 (Davis, Peabody, Leach, 2024), UUIDs of version 5.
"""

from __future__ import annotations

import uuid
from typing import Final, Literal
from urllib.parse import quote

import msgspec

from trayward.codes import gs1
from trayward.errors import InputError
from trayward.farm.settings import FarmSettings
from trayward.trace.steps import code_of

Sort = Literal["obj", "class", "loc", "party", "bt"]
"""A single thing, a lot or kind, a place, somebody, a document."""
VOCABULARY: Final[dict[Sort, str]] = {
    "class": "urn:epcglobal:epcis:vtype:EPCClass", "loc": "urn:epcglobal:epcis:vtype:BusinessLocation",
    "party": "urn:epcglobal:epcis:vtype:SourceDest", "bt": "urn:epcglobal:epcis:vtype:BusinessTransaction",
}  # fmt: skip
"""Where what is told of names of each sort stands in the master data. Single things have none there."""


class Named(msgspec.Struct, frozen=True, kw_only=True):
    """A name that stands in an event, and what it is in words."""

    sort: Sort
    uri: str
    words: str


class Names:
    """
    The farm's way of calling things, and all that was called so far.

    Parameters
    ----------
    settings : FarmSettings
        Its web address, company prefix and item references count.
    farm : str
        The farm's own mark; never another farm's.
    """

    def __init__(self, settings: FarmSettings, farm: str) -> None:
        self.settings = settings
        self._web = settings.paper.web.rstrip("/")
        self._space = uuid.uuid5(uuid.NAMESPACE_URL, f"trayward:{farm}")
        self._items = {each.product: each.item for each in settings.paper.gs1_items}
        self.called: dict[str, Named] = {}
        self._known: dict[tuple[Sort, str], str] = {}
        """What was called before: a customer or a seed lot stands in thousands of events."""

    def farm(self) -> str:
        """Where it happened."""
        return self._own("loc", "farm", "", self.settings.name)

    def self(self) -> str:
        """The farm, as somebody who sends."""
        return self._own("party", "farm", "", self.settings.name)

    def tray(self, name: str) -> str:
        """A tray with what grows in it."""
        return self._own("obj", "tray", name, f"tray {name}")

    def sowing(self, name: str) -> str:
        """A sowing of seed that nobody named."""
        return self._own("obj", "sowing", name, f"sowing {name}")

    def seed(self, name: str) -> str:
        """A seed lot."""
        return self._own("class", "seed", name, f"seed lot {name}")

    def harvest(self, name: str) -> str:
        """A harvest lot."""
        return self._own("class", "harvest", name, f"harvest lot {code_of(name) or name}")

    def pack(self, name: str, product: str) -> str:
        """A pack lot; by GTIN and lot where the farm has a number for the product."""
        words = f"{product}, pack lot {code_of(name) or name}"
        if link := self._gtin_lot(product, code_of(name)):
            self.called.setdefault(link, Named(sort="class", uri=link, words=words))
            return link
        return self._own("class", "pack", name, words)

    def customer(self, name: str) -> str:
        """Somebody who gets a delivery, or sends seed."""
        return self._own("party", "of", name, name)

    def order(self, name: str) -> str:
        """An order."""
        return self._own("bt", "order", name, f"order {name}")

    def note(self, number: str) -> str:
        """The document that went with a delivery."""
        return self._own("bt", "note", number, f"delivery note {number}")

    def _own(self, sort: Sort, kind: str, name: str, words: str) -> str:
        path = f"{kind}/{quote(name, safe='')}" if name else kind
        known = self._known.get((sort, path))
        if known is None:
            known = (
                f"{self._web}/{sort}/{path}" if self._web else f"urn:uuid:{uuid.uuid5(self._space, f'{sort}/{path}')}"
            )
            self._known[sort, path] = known
            self.called.setdefault(known, Named(sort=sort, uri=known, words=words))
        return known

    def _gtin_lot(self, product: str, lot: str) -> str:
        """GTIN and lot as one address; nothing where there is no number, or the lot cannot stand in one."""
        item = self._items.get(product)
        if item is None or not lot or not self.settings.paper.gs1_prefix:
            return ""
        try:
            gtin = gs1.gtin14(gs1.gtin13(self.settings.paper.gs1_prefix, item))
            return gs1.digital_link([("01", gtin), ("10", lot)])
        except InputError:
            return ""
