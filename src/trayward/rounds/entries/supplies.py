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
from trayward.words import Own, filled, in_a_row


def seed_lot(body: SeedReceived | SeedTested | SeedWeighed, units: ShownUnits) -> str:
    return in_a_row((filled("seed lot {lot}", lot=Own(body.lot)), lot_words(body, new_life(body.lot, units))), " ")


def supply_set(body: SupplySet, units: ShownUnits) -> str:
    del units
    supply = body.supply
    if body.dropped:
        return filled("supply {supply} is no longer used", supply=Own(supply.name))
    least = filled("at least {} to keep", amount_of(supply.keep, supply.unit)) if supply.keep else ""
    told = in_a_row((supply.kind, filled("counted in {}", supply.unit), least))
    return in_a_row((filled("supply {supply}", supply=Own(supply.name)), told), ": ")


def offer_set(body: OfferSet, units: ShownUnits) -> str:
    del units
    offer, who, thing = body.offer, Own(body.offer.supplier), Own(body.offer.thing)
    what = filled("seed of {crop}", crop=thing) if offer.seed else thing
    if body.dropped:
        return filled("{supplier} sells no {what} any more", supplier=who, what=what)
    packs = in_a_row(
        filled("{price} for {size}", price=str(pack.price), size=f"{pack.size:.10g}") for pack in offer.packs
    )
    return filled("{supplier} sells {what}: {packs}", supplier=who, what=what, packs=packs)


def supply_received(body: SupplyReceived, units: ShownUnits) -> str:
    del units
    amount, supply = amount_of(body.amount, body.unit), Own(body.supply)
    if body.expected_on is None:
        here = filled("{amount} of {supply} received", amount=amount, supply=supply)
    else:
        due = day_words(body.expected_on)
        here = filled("{amount} of {supply} on order for {day_words}", amount=amount, supply=supply, day_words=due)
    until = day_words(body.best_before) if body.best_before is not None else ""
    best = filled("best before {day_words}", day_words=until) if until else ""
    return in_a_row((here, filled("lot {lot}", lot=Own(body.lot)), best))


def supply_used(body: SupplyUsed, units: ShownUnits) -> str:
    del units
    used = filled("{amount} of {supply} used", amount=amount_of(body.amount, body.unit), supply=Own(body.supply))
    return in_a_row((used, body.reason), ": ")


def supply_counted(body: SupplyCounted, units: ShownUnits) -> str:
    del units
    lot = filled("lot {lot}", lot=Own(body.lot)) if body.lot else ""
    counted = filled("{supply} counted", supply=in_a_row((Own(body.supply), lot)))
    return in_a_row((counted, amount_of(body.amount, body.unit), body.reason), ": ")


def supply_thrown_away(body: SupplyThrownAway, units: ShownUnits) -> str:
    del units
    amount, supply = amount_of(body.amount, body.unit), Own(body.supply)
    return in_a_row((filled("{amount} of {supply} thrown away", amount=amount, supply=supply), body.reason), ": ")
