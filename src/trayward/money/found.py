"""What an account could not know: said as findings, so that nothing counts as free in silence."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from trayward.errors import Finding
from trayward.farm.state import FarmState
from trayward.money.followed import Sources
from trayward.money.grown import TrayCoster
from trayward.rounds.words import amount_of

MOST = 8
"""So many names are told one by one."""


class Unknown(msgspec.Struct):
    """What was met on the way that has no price or no home."""

    no_price: dict[str, list[str]] = {}
    """Product -> order lines that went out without a price."""
    given: list[str] = []
    """Order lines of which more went out than was asked for."""
    packs: int = 0
    """Packs filled that cost nothing."""


def findings_of(coster: TrayCoster, unknown: Unknown, state: FarmState) -> tuple[Finding, ...]:
    """What the account had to leave out or could not know, the largest first."""
    found = [
        odd("seed-cost", f"seed lot {lot} = no cost: {grams:.0f} g of it were sown and count as free.",
             "Receive the lot again with its cost, or say it in the setup.", f"lot:{lot}")
        for lot, grams in sorted(coster.no_seed_cost.items(), key=lambda item: -item[1])
    ]  # fmt: skip
    found += [
        odd("medium-cost", f"recipe {name} = no cost of medium or wear: {trays} trays of it count as free of that.",
             "Give its medium a cost, or its kit a wear.", f"recipe:{name}")
        for name, trays in sorted(coster.no_medium.items())
    ]  # fmt: skip
    found += [
        odd("supply-cost", f"supply {name} = no cost: {amount_of(amount, unit_of(state, name))} of it count as free.",
             "Say what a delivery of it cost.", f"supply:{name}")
        for name, amount in sorted(coster.no_supply_cost.items())
    ]  # fmt: skip
    found += [
        odd("no-price", f"product {name} = no price: {len(lines)} delivered lines bring nothing ({_some(lines)}).",
             "Give the product a price; lines that went out before keep what they were sold at.", f"product:{name}")
        for name, lines in sorted(unknown.no_price.items())
    ]  # fmt: skip
    if coster.no_minutes:
        message = f"wage = none: {coster.no_minutes / 60:.0f} h of hands count as free."
        found.append(odd("no-wage", message, "Say what an hour of hands costs, in the setup under money."))
    if unknown.packs:
        message = f"packaging = no cost: {unknown.packs} packs count as free."
        found.append(odd("no-packaging", message, "Say what a pack costs, in the setup under money."))
    for shelf in sorted(coster.no_watts):
        message = f"shelf {shelf}, lamp = no watts: its light is reckoned from its umol/s at a usual lamp's 2.5 umol/J."
        found.append(odd("lamp-watts", message, "Say the lamp's watts, best by a meter at the plug."))
    if unknown.given:
        message = f"{len(unknown.given)} lines = more went out than was asked for: {_some(unknown.given)}."
        found.append(odd("given-more", message, "If the customer pays for it, change the order."))
    return tuple(found) + bill_findings(state, coster.sources)


def unit_of(state: FarmState, supply: str) -> str:
    """What a supply is counted in."""
    held = state.supplies.get(supply)
    return held.supply.unit if held is not None else ""


def bill_findings(state: FarmState, sources: Sources | None = None) -> tuple[Finding, ...]:
    """
    What is odd about the invoices: lines whose delivery was struck since, and numbers that are missing.

    `sources`: what went out as it was read before, so that not all deliveries are read again.
    """
    there = (sources or Sources()).of(state) if state.bills else set[str]()
    found = []
    for held in state.bills.values():
        bill = held.bill
        gone = [line.source for line in bill.lines if line.source not in there]
        if gone and not bill.credits and held.credit < bill.total:
            lines = _some(source.partition(":")[2] for source in gone)
            message = (
                f"invoice {bill.name} = {len(gone)} lines of it were struck since, or went out otherwise: {lines}."
            )
            remedy = f"Credit them: trayward money credit {bill.name}"
            found.append(odd("invoice-struck", message, remedy, f"invoice:{bill.name}"))
    numbers = [held.bill.number for held in state.bills.values()]
    missing = sorted(set(range(1, max(numbers, default=0) + 1)) - set(numbers))
    if missing:
        message = f"invoice number {_some(str(number) for number in missing)} = none: numbers should have no gaps."
        found.append(odd("invoice-gap", message, "An invoice was taken back; say why to who keeps your books."))
    return tuple(found)


def odd(code: str, message: str, remedy: str, about: str = "") -> Finding:
    """A finding about what can be but deserves a look; `about`: the invoice or customer, as `kind:name`."""
    return Finding(code=code, severity="odd", message=message, remedy=remedy, about=about)


def _some(names: Iterable[str]) -> str:
    told = list(names)
    return ", ".join(told[:MOST]) + (", ..." if len(told) > MOST else "")
