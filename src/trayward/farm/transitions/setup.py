"""Setting up the farm: settings, shelves, kit pools, customers, products and the farm's own crop figures."""

from __future__ import annotations

import math
import string

from trayward.errors import InputError
from trayward.farm.calendar import zone
from trayward.farm.crops import Fact
from trayward.farm.entries import CropFactSet, CustomerSet, Entry, FarmSet, KitSet, PlaceSet, ProductSet
from trayward.farm.kit import PoolState
from trayward.farm.kit_clear import clearing_problems
from trayward.farm.kit_marks import to_dry
from trayward.farm.places import shelf_of
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.farm.transitions.holding import hold_kit, kit_needed
from trayward.farm.transitions.kit import start_drying
from trayward.farm.transitions.say import Findings, between, from_error, listed, odd, show, twice, wrong

SHARES_ROUNDING = 0.005
"""Shares of a mix are typed with two or three digits; thirds then add up to 0.99 or 0.999. [-]"""


def check_farm(state: FarmState, body: FarmSet, entry: Entry) -> Findings:
    settings = body.settings
    found = twice(entry, "round", [walk.name for walk in settings.rounds])
    try:
        zone(settings)
    except InputError as err:
        found.append(from_error(entry, "timezone", "farm settings", err))
    if not settings.rounds:
        found.append(wrong(entry, "rounds", "rounds = none: a farm walks at least one round a day.", "Name one."))
    for minutes in settings.work_minutes:
        found += between(entry, "work minutes", minutes, 0, 24 * 60 * 100, "min")
    found += between(entry, "calm", settings.calm, 0, 10_000)
    for overhead in settings.money.overheads:
        found += between(entry, f"{overhead.name} a month", overhead.month, 0, 100_000_000)
    found += twice(entry, "overhead", [overhead.name for overhead in settings.money.overheads])
    found += _other_currency(state, settings, entry)
    return found + between(entry, "caution", settings.caution, 0, 1)


def _other_currency(state: FarmState, settings: FarmSettings, entry: Entry) -> Findings:
    """Once something was sold, a currency stays: yesterday's prices would become others."""
    before = state.settings.money.currency if state.settings is not None else settings.money.currency
    if settings.money.currency == before or not (state.deliveries or state.bills):
        return []
    message = (
        f"currency = {settings.money.currency}: this book has sold in {before}, and its amounts would mean others."
    )
    return [wrong(entry, "currency", message, f"Keep {before}, or begin another book in {settings.money.currency}.")]


def apply_farm(state: FarmState, body: FarmSet, entry: Entry) -> None:
    state.settings = body.settings


def check_place(state: FarmState, body: PlaceSet, entry: Entry) -> Findings:
    shelf = body.shelf
    found = between(entry, f"shelf {shelf.name}, spots", shelf.spots, 0, 100_000)
    found += between(entry, f"shelf {shelf.name}, stack", shelf.stack, 1, len(string.ascii_lowercase))
    if not shelf.name or "." in shelf.name:
        message = f"shelf = {shelf.name!r}: its name must be some letters or digits, without a dot."
        found.append(wrong(entry, "shelf-name", message, "For instance A1."))
    if found:
        return found
    lost = sorted({spot for spot in state.spots if shelf_of(spot) == shelf.name} - set(shelf.spot_names()))
    if not lost:
        return []
    message = f"shelf {shelf.name} = {shelf.spots} spots, {shelf.stack} high: trays stand on {listed(lost)}."
    return [wrong(entry, "spots-in-use", message, "Move these trays first, then change the shelf.")]


def apply_place(state: FarmState, body: PlaceSet, entry: Entry) -> None:
    if body.shelf.spots:
        state.shelves[body.shelf.name] = body.shelf
    else:
        state.shelves.pop(body.shelf.name, None)


def check_kit(state: FarmState, body: KitSet, entry: Entry) -> Findings:
    pool = body.pool
    found = between(entry, f"kit {pool.name}, count", pool.count, 0, 10_000_000)
    found += between(entry, f"kit {pool.name}, drying time", pool.dry_hours, 0, 24 * 14, "h")
    for name, value, rule in clearing_problems(pool.clearing):
        found.append(
            wrong(entry, "amount", f"kit {pool.name}, {name} = {show(value)}: {rule}.", "Check what was typed.")
        )
    kept = state.kit.get(pool.name)
    if kept is not None and 0 <= pool.count < kept.in_use:
        message = f"kit {pool.name} = {pool.count}: {kept.in_use} are in use by trays that stand now."
        found.append(odd(entry, "kit-short", message, "Count the pool."))
    return found


def apply_kit(state: FarmState, body: KitSet, entry: Entry) -> None:
    pool = body.pool
    kept = state.kit.get(pool.name)
    if kept is None:
        state.kit[pool.name] = PoolState(pool=pool)
        _take_up(state, pool.name)
        return
    both, kept.pool = kept.pool.sanitise, pool
    if kept.washed and both and not pool.sanitise:
        count, kept.washed = kept.washed, 0
        start_drying(kept, count, entry.at)
        to_dry(kept, (mark for mark in kept.marks.values() if mark.where == "washed"), entry.at)


def _take_up(state: FarmState, pool: str) -> None:
    """Trays sown before the pool was set up hold their share of it too."""
    for tray in state.trays.values():
        needed = kit_needed(state.recipes[tray.recipe], tray.stage).get(pool, 0)
        if needed:
            hold_kit(state, tray, {**tray.kit, pool: needed})


def check_customer(state: FarmState, body: CustomerSet, entry: Entry) -> Findings:
    return between(entry, f"customer {body.customer.name}, weight", body.customer.weight, 0, 1000)


def apply_customer(state: FarmState, body: CustomerSet, entry: Entry) -> None:
    state.customers[body.customer.name] = body.customer


def check_product(state: FarmState, body: ProductSet, entry: Entry) -> Findings:
    product = body.product
    name = f"product {product.name}"
    found = between(entry, f"{name}, pack", product.pack_g, 0.1, 100_000, "g")
    found += between(entry, f"{name}, price", product.price, 0, 1_000_000)
    found += twice(entry, "crop", [part.crop for part in product.parts])
    for part in product.parts:
        found += between(entry, f"{name}, share of {part.crop}", part.share, 0, 1)
    total = sum(part.share for part in product.parts)
    if not abs(total - 1.0) <= SHARES_ROUNDING * max(2, len(product.parts)):
        message = f"{name}, shares = {show(total)} in all: they must add up to 1."
        found.append(wrong(entry, "shares", message, "Give each crop its share by weight."))
    return found


def apply_product(state: FarmState, body: ProductSet, entry: Entry) -> None:
    state.products[body.product.name] = body.product


def check_crop_fact(state: FarmState, body: CropFactSet, entry: Entry) -> Findings:
    if isinstance(body.value, str) or math.isfinite(body.value):
        return []
    return [wrong(entry, "amount", f"{body.crop}, {body.name} = {body.value}: must be a number.", "Measure it again.")]


def apply_crop_fact(state: FarmState, body: CropFactSet, entry: Entry) -> None:
    value = body.value if isinstance(body.value, str) else float(body.value)
    fact = Fact(value=value, trust="farm", note=body.note)
    state.crop_facts.setdefault(body.crop, {})[body.name] = fact
