"""Supplies come in, are used, counted and thrown away; sowings, packs, feeds and washes take theirs by themselves."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

from trayward.errors import Finding
from trayward.farm.entries import (
    Body,
    Entry,
    Fed,
    OfferSet,
    Packed,
    Sanitised,
    SowingMade,
    SupplyBody,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
    Washed,
)
from trayward.farm.kit_owners import by_tray, first_in_line
from trayward.farm.state import FarmState
from trayward.farm.supplies import (
    TRACE,
    Loose,
    Occasion,
    SupplyHeld,
    SupplyLot,
    Taken,
    exact,
    put_in,
    set_to,
    take,
)
from trayward.farm.transitions.say import (
    Findings,
    between,
    day_of,
    farm_day,
    grows,
    listed,
    more_than_zero,
    odd,
    show,
    wrong,
)

STRAY_SHARE = 0.02
"""A count may differ from the book by so much before it deserves a look: our choice. [-]"""
ML_A_LITRE = 1000.0
MOST_MONEY = Decimal(10_000_000)

Takings = list[tuple[SupplyHeld, float]]


# What other entries take ----------------------------------------------------------------------------------------------


def taken_by(state: FarmState, body: Body) -> Takings:
    """
    What an entry takes of each supply, before it is applied. [unit of each]

    It goes by what the entry will change: trays that are new, packs of a new name, trays that grow, kit that was there.
    """
    of, times, names = _occasion(state, body)
    if times <= 0:
        return []
    found = ((held, held.amount_for(of, *names) * times) for held in state.supplies.values() if not held.dropped)
    return [(held, amount) for held, amount in found if amount > TRACE]


def _occasion(state: FarmState, body: Body) -> tuple[Occasion, float, tuple[str, ...]]:
    """What kind of occasion, how often, and under which names a supply may be asked for it."""
    if isinstance(body, SowingMade):
        recipe = state.recipes.get(body.recipe)
        if recipe is None or body.sowing in state.sowings:
            return "tray", 0.0, ()
        fresh = {sown.tray for sown in body.trays if state.tray(sown.tray) is None}
        return "tray", len(fresh), (recipe.name, recipe.medium.name)
    if isinstance(body, Packed):
        return "pack", 0 if body.pack in state.packs else body.packs, (body.product,)
    if isinstance(body, Fed):
        water = state.settings.water if state.settings is not None else None
        feed = body.feed or (water.feed if water is not None else "")
        fed = sum(grows(state, name) is not None for name in dict.fromkeys(body.trays))
        return "litre", fed * max(body.ml, 0.0) / ML_A_LITRE, (feed,)
    if isinstance(body, Washed | Sanitised) and body.pool in state.kit:
        kept = state.kit[body.pool]
        if isinstance(body, Washed):
            return "washed", min(body.count, kept.dirty), (body.pool, body.soap)
        # On a farm that only washes, sanitising moves no kit and takes its agent all the same.
        count = min(body.count, kept.washed) if kept.pool.sanitise else body.count
        return "sanitised", count, (body.pool, body.agent)
    return "tray", 0.0, ()


def running_short(state: FarmState, body: Body, entry: Entry) -> Findings:
    """Something takes more than the book has of a supply: said once, until it is counted."""
    return [
        _short(entry, held, amount)
        for held, amount in taken_by(state, body)
        if held.short <= TRACE and amount > held.stock + TRACE
    ]


def _short(entry: Entry, held: SupplyHeld, amount: float) -> Finding:
    unit = held.supply.unit
    message = f"{held.supply.name} = {show(held.stock)} {unit} left: this takes {show(amount)} {unit}."
    return odd(entry, "supply-short", message, "Record the delivery that is missing, or count what there is.")


def trays_of(state: FarmState, body: Body) -> dict[str, int]:
    """Which trays a feed, a washing or a sanitising is for, before it is applied: pieces of their kit, or 1 if fed."""
    if isinstance(body, Fed):
        return {name: 1 for name in dict.fromkeys(body.trays) if grows(state, name) is not None}
    if not isinstance(body, Washed | Sanitised) or body.pool not in state.kit:
        return {}
    kept = state.kit[body.pool]
    if isinstance(body, Washed):
        return by_tray(first_in_line(kept, "dirty", min(body.count, kept.dirty)))
    # On a farm that only washes, what is sanitised is what was washed last.
    return by_tray(first_in_line(kept, "washed", min(body.count, kept.washed)) or kept.cleaned)


def note_taken(state: FarmState, body: Body, taken: Takings, trays: dict[str, int], entry: Entry) -> None:
    """Remember what feed and agents went to which trays: a tray's sowing and a pack say that of theirs themselves."""
    of: Occasion | None = (
        "litre" if isinstance(body, Fed)
        else "washed" if isinstance(body, Washed)
        else "sanitised" if isinstance(body, Sanitised)
        else None
    )  # fmt: skip
    if taken and of is not None:
        amounts = {held.supply.name: amount for held, amount in taken}
        state.taken.append(Taken(at=entry.at, of=of, amounts=amounts, trays=trays))


def take_all(state: FarmState, taken: Takings, entry: Entry) -> None:
    """What an entry takes is gone, what is used first before the rest."""
    if taken:
        day = farm_day(state, entry.at)
        for held, amount in taken:
            take(held, amount, entry.at, day)


# Setting up -----------------------------------------------------------------------------------------------------------


def check_supply(state: FarmState, body: SupplySet, entry: Entry) -> Findings:
    supply, found = body.supply, []
    if not supply.name.strip():
        found.append(wrong(entry, "supply-name", "supply = no name: it needs one.", "Name it as on its pack."))
    for each in supply.taken:
        found += more_than_zero(entry, f"{supply.name}, taken by a {each.of}", each.amount, supply.unit)
    found += between(entry, f"{supply.name}, least to keep", supply.keep, 0, 1e9, supply.unit)
    found += between(entry, f"{supply.name}, how surely", supply.surely, 0.5, 0.999)
    found += between(entry, f"{supply.name}, keeps", supply.keeps_days, 1, 36_500, "d")
    held = state.supplies.get(supply.name)
    if held is not None and held.supply.unit != supply.unit and held.lots:
        message = f"{supply.name} = {supply.unit}: the book counts it in {held.supply.unit}."
        found.append(wrong(entry, "supply-unit", message, "Set up another supply for it under a name of its own."))
    return found


def apply_supply(state: FarmState, body: SupplySet, entry: Entry) -> None:
    held = state.supplies.setdefault(body.supply.name, SupplyHeld(supply=body.supply))
    held.supply, held.dropped = body.supply, body.dropped


def check_offer(state: FarmState, body: OfferSet, entry: Entry) -> Findings:
    offer, about = body.offer, f"{body.offer.thing} of {body.offer.supplier}"
    found: Findings = []
    if not offer.seed and offer.thing not in state.supplies:
        found.append(_unknown(state, entry, offer.thing))
    if not offer.supplier.strip():
        found.append(wrong(entry, "offer-supplier", f"{about} = nobody: an offer is of a supplier.", "Name them."))
    if not offer.packs and not body.dropped:
        found.append(wrong(entry, "offer-empty", f"{about} = no packs: an offer has a pack and a price.", "Say both."))
    for pack in offer.packs:
        found += more_than_zero(entry, f"{about}, a pack", pack.size, "")
        found += between(entry, f"{about}, price", float(pack.price), 0, float(MOST_MONEY))
        found += between(entry, f"{about}, packs at that price", pack.least, 1, 1_000_000)
    found += between(entry, f"{about}, days to come", offer.lead_days, 0, 365, "d")
    return found + between(entry, f"{about}, delivery", float(offer.delivery), 0, float(MOST_MONEY))


def apply_offer(state: FarmState, body: OfferSet, entry: Entry) -> None:
    if body.dropped:
        state.offers.pop(body.offer.key, None)
    else:
        state.offers[body.offer.key] = body.offer


# In and out -----------------------------------------------------------------------------------------------------------


def check_received(state: FarmState, body: SupplyReceived, entry: Entry) -> Findings:
    held = state.supplies.get(body.supply)
    if held is None:
        return [_unknown(state, entry, body.supply)]
    about = f"{body.supply}, lot {body.lot}"
    found = more_than_zero(entry, about, body.amount, body.unit) + _unit_problems(held, body, entry)
    if not body.lot.strip():
        found.append(wrong(entry, "supply-lot", f"{body.supply}, lot = no name: it needs one.", "Name the delivery."))
    if body.cost is not None and not 0 <= body.cost <= MOST_MONEY:
        message = f"{about}, cost = {body.cost}: must lie in [0, {MOST_MONEY}]."
        found.append(wrong(entry, "amount", message, "Check what was typed."))
    known = held.lots.get(body.lot)
    if known is not None and known.expected_on is None:
        message = f"{about} = received {day_of(state, known.came_at)}: a lot is received once."
        found.append(
            wrong(entry, "lot-twice", message, "Give this delivery a name of its own, or count what is there.")
        )
    day = farm_day(state, entry.at)
    if body.best_before is not None and body.best_before < day and body.expected_on is None:
        message = f"{about} = best before {body.best_before}: that day is over."
        found.append(odd(entry, "supply-old", message, "Check the date on it; send it back if it is right."))
    return found


def apply_received(state: FarmState, body: SupplyReceived, entry: Entry) -> None:
    """What the delivery does not say again stays as it was ordered."""
    held = state.supplies[body.supply]
    known = held.lots.get(body.lot) or SupplyLot(lot=body.lot, came_at=entry.at, amount=0.0, left=0.0)
    put_in(
        held,
        SupplyLot(
            lot=body.lot,
            came_at=entry.at,
            amount=body.amount,
            left=0.0 if body.expected_on is not None else body.amount,
            best_before=body.best_before or known.best_before or _keeps(state, held, body, entry),
            cost=known.cost if body.cost is None else body.cost,
            supplier=body.supplier or known.supplier,
            supplier_lot=body.supplier_lot or known.supplier_lot,
            document=body.document or known.document,
            expected_on=body.expected_on,
        ),
    )


def _keeps(state: FarmState, held: SupplyHeld, body: SupplyReceived, entry: Entry) -> date | None:
    """The day it goes off by how long the supply keeps, where neither order nor delivery said one."""
    days = held.supply.keeps_days
    came = body.expected_on or farm_day(state, entry.at)
    return came + timedelta(days=days) if days is not None else None


def check_used(state: FarmState, body: SupplyUsed, entry: Entry) -> Findings:
    return _out_problems(state, body, entry)


def apply_used(state: FarmState, body: SupplyUsed, entry: Entry) -> None:
    _gone(state, body, entry, "by hand")


def check_thrown(state: FarmState, body: SupplyThrownAway, entry: Entry) -> Findings:
    return _out_problems(state, body, entry)


def apply_thrown(state: FarmState, body: SupplyThrownAway, entry: Entry) -> None:
    _gone(state, body, entry, "thrown away")


def _gone(state: FarmState, body: SupplyBody, entry: Entry, of: Loose) -> None:
    held, day = state.supplies[body.supply], farm_day(state, entry.at)
    price = take(held, body.amount, entry.at, day, lot=body.lot, used=of == "by hand")
    note_gone(state, entry.at, of, body.supply, body.amount, price)


def note_gone(state: FarmState, at: datetime, of: Loose, name: str, amount: float, price: Decimal | None) -> None:
    """Remember what went without a tray or a pack to count it with, so that no account leaves it out."""
    if abs(amount) > TRACE:
        cost = price * exact(amount) if price is not None else None
        state.taken.append(Taken(at=at, of=of, amounts={name: amount}, cost=cost))


def _out_problems(state: FarmState, body: SupplyUsed | SupplyThrownAway, entry: Entry) -> Findings:
    held = state.supplies.get(body.supply)
    if held is None:
        return [_unknown(state, entry, body.supply)]
    found = more_than_zero(entry, body.supply, body.amount, body.unit) + _lot_problems(held, body, entry)
    if found:
        return found
    there = held.lots[body.lot].left if body.lot else held.stock
    if body.amount <= there + TRACE:
        return []
    unit = held.supply.unit
    message = f"{body.supply} = {show(there)} {unit} left: {show(body.amount)} {unit} are more than that."
    return [odd(entry, "supply-short", message, "Record the delivery that is missing, or count what there is.")]


def check_counted(state: FarmState, body: SupplyCounted, entry: Entry) -> Findings:
    held = state.supplies.get(body.supply)
    if held is None:
        return [_unknown(state, entry, body.supply)]
    found = between(entry, body.supply, body.amount, 0, 1e9, body.unit) + _lot_problems(held, body, entry)
    return found or _unexplained(state, held, body, entry)


def _unexplained(state: FarmState, held: SupplyHeld, body: SupplyCounted, entry: Entry) -> Findings:
    expected = held.lots[body.lot].left if body.lot else held.stock
    away = expected - body.amount
    if abs(away) <= STRAY_SHARE * max(expected, body.amount) or not held.lots:
        return []
    unit = held.supply.unit
    since = f" since {day_of(state, held.counts[-1].at)}" if held.counts else ""
    if away > 0:
        what, way = (
            f"{show(away)} {unit} went unexplained{since}",
            "Look for use that was not recorded or was thrown away",
        )
    else:
        what, way = f"{show(-away)} {unit} more{since}", "Look for a delivery that was not recorded"
    message = f"{body.supply} = {show(body.amount)} {unit} counted: the book expects {show(expected)} {unit}, {what}."
    return [odd(entry, "supply-unexplained", message, f"{way}; the count holds from now on.")]


def apply_counted(state: FarmState, body: SupplyCounted, entry: Entry) -> None:
    gone, price = set_to(state.supplies[body.supply], body.amount, entry.at, farm_day(state, entry.at), body.lot)
    note_gone(state, entry.at, "missing", body.supply, gone, price)


def _unit_problems(held: SupplyHeld, body: SupplyBody, entry: Entry) -> Findings:
    if body.unit == held.supply.unit:
        return []
    message = f"{body.supply} = {show(body.amount)} {body.unit}: the farm counts it in {held.supply.unit}."
    return [wrong(entry, "supply-unit", message, f"Say it in {held.supply.unit}.")]


def _lot_problems(held: SupplyHeld, body: SupplyBody, entry: Entry) -> Findings:
    found, lot = _unit_problems(held, body, entry), body.lot
    if found or not lot:
        return found
    known = held.lots.get(lot)
    if known is None:
        message = f"{held.supply.name}, lot {lot} = none: there is no delivery of that name."
        return [wrong(entry, "lot-unknown", message, f"Lots: {listed([each.lot for each in held.here])}.")]
    if known.expected_on is not None:
        message = f"{held.supply.name}, lot {lot} = on order, due {known.expected_on}: it is not here yet."
        return [wrong(entry, "lot-on-order", message, "Record its delivery first.")]
    return []


def _unknown(state: FarmState, entry: Entry, name: str) -> Finding:
    message = f"supply {name} = none: the farm has no supply of that name."
    return wrong(entry, "supply-unknown", message, f"Supplies: {listed(list(state.supplies))}.")
