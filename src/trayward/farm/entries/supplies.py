"""Entries about supplies other than seed, and what suppliers ask."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from trayward.farm.entries.body import Body
from trayward.farm.supplies import Offer, Supply, SupplyUnit


class SupplySet(Body, frozen=True, kw_only=True):
    """A supply other than seed is as said from now on: what it is, what takes of it, how much should be there."""

    KIND = "supply set"
    supply: Supply
    dropped: bool = False
    """True: it is no longer used; what is left of it stays in the book."""

    def subjects(self) -> tuple[str, ...]:
        return (f"supply:{self.supply.name}",)


class OfferSet(Body, frozen=True, kw_only=True):
    """What a supplier asks for a supply or for seed of a crop, from now on."""

    KIND = "offer set"
    offer: Offer
    dropped: bool = False
    """True: it is not sold by them any more."""

    def subjects(self) -> tuple[str, ...]:
        return (f"{'crop' if self.offer.seed else 'supply'}:{self.offer.thing}",)


class SupplyBody(Body, frozen=True, kw_only=True):
    """An entry about some of a supply. `unit` is the supply's own, so that the entry can be read alone."""

    supply: str
    amount: float
    """How much. [unit]"""
    unit: SupplyUnit
    """What it is counted in."""
    lot: str = ""
    """Which delivery of it; empty: what is to be used first, or all of it."""

    def subjects(self) -> tuple[str, ...]:
        return (f"supply:{self.supply}",)


class SupplyReceived(SupplyBody, frozen=True, kw_only=True):
    """A delivery of a supply, here or on order."""

    KIND = "supply received"
    best_before: date | None = None
    cost: Decimal | None = None
    """What all of it cost, without tax that comes back. [farm's currency]"""
    supplier: str = ""
    supplier_lot: str = ""
    document: str = ""
    expected_on: date | None = None
    """Set: it is on order and arrives that day; recording it again without this field receives it."""


class SupplyUsed(SupplyBody, frozen=True, kw_only=True):
    """Some of a supply was used, beside what the book counts off by itself."""

    KIND = "supply used"
    reason: str = ""


class SupplyCounted(SupplyBody, frozen=True, kw_only=True):
    """What there is of a supply in all, or of one lot of it, as counted: from now on that holds."""

    KIND = "supply counted"
    reason: str = ""


class SupplyThrownAway(SupplyBody, frozen=True, kw_only=True):
    """Some of a supply was thrown away: spoilt, spilt, past its day."""

    KIND = "supply thrown away"
    reason: str
