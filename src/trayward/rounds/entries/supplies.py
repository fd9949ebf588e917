"""Words of entries about seed lots and other supplies, and what suppliers ask."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.entries import (
    OfferSet,
    SeedReceived,
    SeedTested,
    SeedWeighed,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
)
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import new_life
from trayward.rounds.sayings import lot_words
from trayward.rounds.words import amount_of


def seed_lot(body: SeedReceived | SeedTested | SeedWeighed, units: ShownUnits) -> str:
    return f"seed lot {body.lot} {lot_words(body, new_life(body.lot, units))}"


def supply_set(body: SupplySet, units: ShownUnits) -> str:
    del units
    supply = body.supply
    if body.dropped:
        return f"supply {supply.name} is no longer used"
    least = f", at least {amount_of(supply.keep, supply.unit)} to keep" if supply.keep else ""
    return f"supply {supply.name}: {supply.kind}, counted in {supply.unit}{least}"


def offer_set(body: OfferSet, units: ShownUnits) -> str:
    del units
    offer, thing = body.offer, f"seed of {body.offer.thing}" if body.offer.seed else body.offer.thing
    if body.dropped:
        return f"{offer.supplier} sells no {thing} any more"
    packs = ", ".join(f"{pack.price} for {pack.size:.10g}" for pack in offer.packs)
    return f"{offer.supplier} sells {thing}: {packs}"


def supply_received(body: SupplyReceived, units: ShownUnits) -> str:
    del units
    here = f"on order for {day_words(body.expected_on)}" if body.expected_on is not None else "received"
    until = f", best before {day_words(body.best_before)}" if body.best_before is not None else ""
    return f"{amount_of(body.amount, body.unit)} of {body.supply} {here}, lot {body.lot}{until}"


def supply_used(body: SupplyUsed, units: ShownUnits) -> str:
    del units
    return f"{amount_of(body.amount, body.unit)} of {body.supply} used{_because(body.reason)}"


def supply_counted(body: SupplyCounted, units: ShownUnits) -> str:
    del units
    lot = f", lot {body.lot}" if body.lot else ""
    return f"{body.supply}{lot} counted: {amount_of(body.amount, body.unit)}{_because(body.reason)}"


def supply_thrown_away(body: SupplyThrownAway, units: ShownUnits) -> str:
    del units
    return f"{amount_of(body.amount, body.unit)} of {body.supply} thrown away{_because(body.reason)}"


def _because(reason: str) -> str:
    return f": {reason}" if reason else ""
