"""Seed comes in, is tested and weighed. Sowing takes it out (`sowing`)."""

from __future__ import annotations

from decimal import Decimal

from trayward.errors import Finding
from trayward.farm.entries import Entry, SeedReceived, SeedTested, SeedWeighed
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.transitions.say import (
    ROUNDING_G,
    Findings,
    between,
    day_of,
    listed,
    more_than_zero,
    odd,
    wrong,
)
from trayward.farm.transitions.supplies import note_gone
from trayward.units import show_mass

STRAY_G = 5.0
STRAY_SHARE = 0.05
"""A scale and the book may differ this much, both ways of counting together, before it deserves a look."""


def lot_unknown(state: FarmState, entry: Entry, lot: str) -> Finding:
    """Somebody names seed that never came."""
    message = f"seed lot {lot} = none: the farm has no lot of that name."
    return wrong(entry, "lot-unknown", message, f"Record its delivery first. Lots: {listed(list(state.seed))}.")


def not_here(entry: Entry, lot: SeedLot) -> Finding:
    """Somebody uses seed that is still on order."""
    message = f"seed lot {lot.lot} = on order, due {lot.expected_on}: it is not here yet."
    return wrong(entry, "lot-on-order", message, "Record its delivery first.")


def take_seed(lot: SeedLot, grams: float) -> None:
    """Seed leaves a lot."""
    lot.left_g -= grams
    if abs(lot.left_g) <= ROUNDING_G:
        lot.left_g = 0.0


def check_received(state: FarmState, body: SeedReceived, entry: Entry) -> Findings:
    name = f"seed lot {body.lot}"
    found = more_than_zero(entry, name, body.grams, "g")
    found += more_than_zero(entry, f"{name}, germination", body.germination, "(a share)")
    found += between(entry, f"{name}, germination", body.germination, 0, 1)
    found += more_than_zero(entry, f"{name}, weight of 1000 seeds", body.tsw_g, "g")
    found += between(entry, f"{name}, cost", body.cost, 0, 10_000_000)
    known = state.seed.get(body.lot)
    if known is not None and known.expected_on is None:
        message = f"{name} = received {day_of(state, known.received_at)}: a lot is received once."
        found.append(wrong(entry, "lot-twice", message, "Give this delivery a name of its own, or weigh the lot."))
    elif known is not None and known.crop != body.crop:
        message = f"{name} = {body.crop}: it was ordered as {known.crop}."
        found.append(odd(entry, "lot-crop", message, "Check the label."))
    return found


def apply_received(state: FarmState, body: SeedReceived, entry: Entry) -> None:
    """What the delivery does not say again stays as it was ordered."""
    known = state.seed.get(body.lot)
    fresh = _lot(body, entry)
    if known is not None:
        fresh.variety = body.variety or known.variety
        fresh.supplier = body.supplier or known.supplier
        fresh.supplier_lot = body.supplier_lot or known.supplier_lot
        fresh.germination = known.germination if body.germination is None else body.germination
        fresh.tsw_g = known.tsw_g if body.tsw_g is None else body.tsw_g
        fresh.cost = body.cost or known.cost
        fresh.treated = body.treated or known.treated
        fresh.sprouted, fresh.tested, fresh.tests = known.sprouted, known.tested, known.tests
        fresh.left_g += known.left_g
    state.seed[body.lot] = fresh


def _lot(body: SeedReceived, entry: Entry) -> SeedLot:
    return SeedLot(
        lot=body.lot,
        crop=body.crop,
        received_at=entry.at,
        received_g=body.grams,
        left_g=0.0 if body.expected_on is not None else body.grams,
        variety=body.variety,
        supplier=body.supplier,
        supplier_lot=body.supplier_lot,
        germination=body.germination,
        tsw_g=body.tsw_g,
        cost=body.cost,
        treated=body.treated,
        expected_on=body.expected_on,
    )


def check_tested(state: FarmState, body: SeedTested, entry: Entry) -> Findings:
    if body.lot not in state.seed:
        return [lot_unknown(state, entry, body.lot)]
    name = f"seed lot {body.lot}"
    found = more_than_zero(entry, f"{name}, weight of 1000 seeds", body.tsw_g, "g")
    found += more_than_zero(entry, f"{name}, tested", body.tested, "seeds")
    if (body.sprouted is None) != (body.tested is None):
        message = f"{name}, test = half said: it needs both how many sprouted and how many were tested."
        found.append(wrong(entry, "test-half", message, "Say both, for instance 43 of 50."))
    elif body.tested is not None:
        found += between(entry, f"{name}, sprouted", body.sprouted, 0, max(0, body.tested), "seeds")
    elif body.tsw_g is None:
        found.append(wrong(entry, "test-empty", f"{name}, test = nothing: it must say a result.", "Say what was seen."))
    return found


def apply_tested(state: FarmState, body: SeedTested, entry: Entry) -> None:
    lot = state.seed[body.lot]
    if body.sprouted is not None and body.tested:
        lot.sprouted += body.sprouted
        lot.tested += body.tested
        lot.tests = [*lot.tests, (entry.at, body.sprouted, body.tested)]
    lot.tsw_g = lot.tsw_g if body.tsw_g is None else body.tsw_g


def check_weighed(state: FarmState, body: SeedWeighed, entry: Entry) -> Findings:
    lot = state.seed.get(body.lot)
    if lot is None:
        return [lot_unknown(state, entry, body.lot)]
    if lot.expected_on is not None:
        return [not_here(entry, lot)]
    found = between(entry, f"seed lot {body.lot}", body.grams, 0, 10_000_000, "g")
    return found or _stray(entry, lot, body.grams)


def _stray(entry: Entry, lot: SeedLot, grams: float) -> Findings:
    stray = abs(grams - lot.left_g)
    if stray <= STRAY_G or stray <= STRAY_SHARE * max(grams, abs(lot.left_g)):
        return []
    way = "less" if grams < lot.left_g else "more"
    message = (
        f"seed lot {lot.lot} = {show_mass(grams)} on the scale: that is {show_mass(stray)} {way} than the book's "
        f"{show_mass(lot.left_g)}."
    )
    return [
        odd(entry, "seed-stray", message, "Look for a sowing that was not recorded or weighed off; the scale counts.")
    ]


def apply_weighed(state: FarmState, body: SeedWeighed, entry: Entry) -> None:
    lot = state.seed[body.lot]
    # More than was taken off cannot come back: the rest came with a delivery nobody wrote down.
    missing = max(lot.left_g - body.grams, min(lot.left_g - lot.received_g, 0.0))
    lot.left_g = body.grams
    price = Decimal(repr(lot.cost / lot.received_g)) if lot.cost > 0 and lot.received_g > 0 else None
    note_gone(state, entry.at, "seed missing", body.lot, missing, price)
