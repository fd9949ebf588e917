"""Entries from the cold room to the customer: packed, delivered, thrown away."""

from __future__ import annotations

from datetime import date

import msgspec

from trayward.farm.entries.body import Body


class PackCount(msgspec.Struct, frozen=True, kw_only=True):
    """Some packs of one filling."""

    pack: str
    packs: int


class LotGrams(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one harvest lot. [g]"""

    harvest: str
    grams: float


class Packed(Body, frozen=True, kw_only=True):
    """Packs filled from harvest lots. `parts` is the total over all packs."""

    KIND = "packed"
    pack: str
    product: str
    packs: int
    pack_g: float
    parts: tuple[LotGrams, ...]
    best_before: date | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"pack:{self.pack}", f"product:{self.product}", *(f"harvest:{part.harvest}" for part in self.parts))


class LineDelivered(msgspec.Struct, frozen=True, kw_only=True):
    """What went out for one line: packs, loose grams of harvest lots, or live trays."""

    line: str
    packs: tuple[PackCount, ...] = ()
    loose: tuple[LotGrams, ...] = ()
    trays: tuple[str, ...] = ()


class Delivered(Body, frozen=True, kw_only=True):
    """A delivery to a customer."""

    KIND = "delivered"
    delivery: str
    customer: str
    lines: tuple[LineDelivered, ...]
    document: str = ""

    def subjects(self) -> tuple[str, ...]:
        found = [f"delivery:{self.delivery}", f"customer:{self.customer}"]
        for line in self.lines:
            found.append(f"order:{line.line.rpartition('/')[0]}")
            found += [f"pack:{count.pack}" for count in line.packs]
            found += [f"harvest:{part.harvest}" for part in line.loose]
            found += [f"tray:{tray}" for tray in line.trays]
        return tuple(dict.fromkeys(found))


class ThrownAway(Body, frozen=True, kw_only=True):
    """Cut crop that will not be sold, loose out of harvest lots or in packs."""

    KIND = "thrown away"
    parts: tuple[LotGrams, ...] = ()
    packs: tuple[PackCount, ...] = ()
    reason: str

    def subjects(self) -> tuple[str, ...]:
        lots = tuple(f"harvest:{part.harvest}" for part in self.parts)
        return (*lots, *(f"pack:{count.pack}" for count in self.packs))
