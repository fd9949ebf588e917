"""From the cold room to the customer: packed, delivered, thrown away."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from msgspec.structs import replace

from trayward.farm.bills import DeliveryMade, LineGone, Thrown
from trayward.farm.due import product_named
from trayward.farm.entries import Delivered, Entry, LineDelivered, LotGrams, PackCount, Packed, ThrownAway
from trayward.farm.orders import Customer, LineAsked
from trayward.farm.prices import price_asked
from trayward.farm.state import FarmState, PackLot
from trayward.farm.transitions.holding import done_with, leave_spot, send_kit_away
from trayward.farm.transitions.orders import line_asked, line_known, product_known
from trayward.farm.transitions.say import (
    ROUNDING_G,
    Findings,
    day_of,
    farm_day,
    growing_problems,
    grows,
    listed,
    more_than_zero,
    odd,
    show,
    twice,
    wrong,
)
from trayward.farm.transitions.trouble import live_held, lots_held, packs_held

UNDERWEIGHT = 0.98
OVERWEIGHT = 1.2
"""What went in, against what the packs say: outside these shares it deserves a look. [-]"""

GO_OUT = "go out"


def check_packed(state: FarmState, body: Packed, entry: Entry) -> Findings:
    name = f"pack lot {body.pack}"
    found = more_than_zero(entry, f"{name}, packs", body.packs, "packs")
    found += more_than_zero(entry, f"{name}, one pack", body.pack_g, "g")
    if body.pack in state.packs:
        message = f"{name} = packed {day_of(state, state.packs[body.pack].packed_at)}: a name is used once."
        found.append(wrong(entry, "pack-twice", message, "Strike this one and record it under a name of its own."))
    found += _grams_problems(state, body.parts, entry, "pack")
    found += lots_held(state, body.parts, entry, "packed")
    if not found:
        found += _pack_weight(body, entry)
    if not product_known(state, body.product):
        message = f"{name} = {body.product}: the farm neither sells nor grows anything of that name."
        found.append(odd(entry, "product-unknown", message, "Set up the product, or check the name."))
    return found + _wrong_crops(state, body, entry)


def apply_packed(state: FarmState, body: Packed, entry: Entry) -> None:
    if body.pack in state.packs or body.packs <= 0:
        return
    parts: dict[str, float] = {}
    for part in body.parts:
        parts[part.harvest] = parts.get(part.harvest, 0.0) + part.grams
        _take(state, part)
    state.packs[body.pack] = PackLot(
        pack=body.pack,
        product=body.product,
        packed_at=entry.at,
        packs=body.packs,
        left=body.packs,
        pack_g=body.pack_g,
        parts=parts,
        best_before=body.best_before,
    )


def check_delivered(state: FarmState, body: Delivered, entry: Entry) -> Findings:
    about = f"delivery {body.delivery}"
    found: Findings = []
    if body.customer not in state.customers:
        message = f"{about}, customer = {body.customer}: the farm has no customer of that name."
        found.append(odd(entry, "customer-unknown", message, "Set up the customer, or check the name."))
    if not body.lines:
        found.append(wrong(entry, "nothing-named", f"{about}, lines = none: it must hold something.", "Say what went."))
    for line in body.lines:
        if not line_known(state, line.line):
            message = f"{about}, line = {line.line}: nobody ordered that."
            found.append(odd(entry, "line-unknown", message, "Check the line's name, or place the order first."))
    found += _packs_problems(state, [count for line in body.lines for count in line.packs], entry, GO_OUT)
    loose = [part for line in body.lines for part in line.loose]
    found += _grams_problems(state, loose, entry, "deliver") + lots_held(state, loose, entry, "delivered")
    found += packs_held(state, [count for line in body.lines for count in line.packs], entry)
    trays = tuple(tray for line in body.lines for tray in line.trays)
    if trays:
        found += growing_problems(state, entry, trays, "delivered") + twice(entry, "tray", list(trays))
        found += live_held(state, trays, entry)
    return found + [finding for line in body.lines for finding in _live_problems(state, line, entry)]


def apply_delivered(state: FarmState, body: Delivered, entry: Entry) -> None:
    day = farm_day(state, entry.at)
    gone = [_line_out(state, body, line, entry, day) for line in body.lines]
    state.deliveries.append(
        DeliveryMade(
            entry=entry.id, delivery=body.delivery, customer=body.customer, day=day,
            lines=tuple(line for line in gone if line.packs or line.loose or line.trays),
        )
    )  # fmt: skip


def _line_out(state: FarmState, body: Delivered, line: LineDelivered, entry: Entry, day: date) -> LineGone:
    """What goes out for a line leaves the cold room and the racks, and is noted at the price of the day."""
    before = state.delivered_trays.get(line.line, 0) if line.trays else state.delivered.get(line.line, 0.0)
    packs, loose = _packs_out(state, line.packs), _loose_out(state, line.loose)
    grams = sum(state.packs[pack].pack_g * count for pack, count in packs.items()) + sum(loose.values())
    trays = tuple(tray for tray in line.trays if _take_live(state, tray, entry))
    if grams:
        state.delivered[line.line] = state.delivered.get(line.line, 0.0) + grams
    if trays:
        state.delivered_trays[line.line] = state.delivered_trays.get(line.line, 0) + len(trays)
    gone = LineGone(line=line.line, packs=packs, loose=loose, trays=trays, before=float(before))
    asked = line_asked(state, line.line)
    return gone if asked is None else _priced(state, body.customer, gone, asked, day)


def _priced(state: FarmState, customer: str, gone: LineGone, asked: LineAsked, day: date) -> LineGone:
    product = product_named(state, asked.product)
    found = price_asked(state, state.customers.get(customer) or Customer(name=customer), product, asked, day)
    gone = replace(gone, product=asked.product, unit=asked.unit, asked=asked.quantity, pack_g=product.pack_g)
    if found is None:
        return gone
    return replace(gone, price=found.price, per=found.per, home=found.home, own=found.own)


def check_thrown_away(state: FarmState, body: ThrownAway, entry: Entry) -> Findings:
    if not body.parts and not body.packs:
        return [wrong(entry, "nothing-named", "lots = none: at least one must be named.", "Say which is thrown away.")]
    found = _grams_problems(state, body.parts, entry, "throw away")
    return found + _packs_problems(state, body.packs, entry, "be thrown away")


def apply_thrown_away(state: FarmState, body: ThrownAway, entry: Entry) -> None:
    loose, packs = _loose_out(state, body.parts), _packs_out(state, body.packs)
    if loose or packs:
        state.thrown.append(Thrown(day=farm_day(state, entry.at), loose=loose, packs=packs, reason=body.reason))


# Checks ---------------------------------------------------------------------------------------------------------------


def _grams_problems(state: FarmState, parts: Iterable[LotGrams], entry: Entry, deed: str) -> Findings:
    found: Findings = []
    asked: dict[str, float] = {}
    for part in parts:
        found += more_than_zero(entry, f"harvest lot {part.harvest}", part.grams, "g")
        asked[part.harvest] = asked.get(part.harvest, 0.0) + part.grams
    for name, grams in asked.items():
        lot = state.harvests.get(name)
        if lot is None:
            message = f"harvest lot {name} = none: nothing was cut under that name."
            recent = listed([lot.harvest for lot in state.harvests.values() if lot.left_g > 0][-8:])
            found.append(wrong(entry, "harvest-unknown", message, f"In the cold room: {recent}."))
        elif grams > lot.left_g + ROUNDING_G:
            message = f"harvest lot {name} = {show(lot.left_g)} g left: {show(grams)} g of it is too much to {deed}."
            found.append(wrong(entry, "harvest-short", message, "Weigh what is left, or name another lot too."))
        elif deed != "throw away" and entry.at > lot.cut_at + timedelta(days=lot.cold_room_days + 1):
            message = f"harvest lot {name} = cut {day_of(state, lot.cut_at)}: it keeps {lot.cold_room_days} d cold."
            found.append(odd(entry, "harvest-old", message, "Look at it and smell it; when in doubt, throw it away."))
    return found


def _live_problems(state: FarmState, line: LineDelivered, entry: Entry) -> Findings:
    """Live trays of another crop than was asked for, or that nobody has called ready."""
    asked = line_asked(state, line.line)
    product = state.products.get(asked.product) if asked is not None else None
    crops = {part.crop for part in product.parts} if product else {asked.product} if asked is not None else set()
    found: Findings = []
    for tray in (tray for name in line.trays if (tray := grows(state, name)) is not None):
        if crops and tray.crop not in crops:
            message = f"tray {tray.tray} = {tray.crop}: {line.line} is for {listed(sorted(crops))}."
            found.append(odd(entry, "live-crop", message, "Check the tray; strike this if another one went out."))
        recipe = state.recipes.get(tray.recipe)
        if recipe is not None and tray.stage != recipe.stages[-1].name:
            message = f"tray {tray.tray} = {tray.stage}: nobody has called it {recipe.stages[-1].name}."
            found.append(odd(entry, "live-unready", message, "Look whether it was the right tray."))
    return found


def _packs_problems(state: FarmState, packs: Iterable[PackCount], entry: Entry, deed: str) -> Findings:
    found: Findings = []
    asked: dict[str, int] = {}
    for count in packs:
        found += more_than_zero(entry, f"pack lot {count.pack}", count.packs, "packs")
        asked[count.pack] = asked.get(count.pack, 0) + count.packs
    for name, number in asked.items():
        lot = state.packs.get(name)
        if lot is None:
            message = f"pack lot {name} = none: nothing was packed under that name."
            found.append(wrong(entry, "pack-unknown", message, "Check the name on the label."))
        elif number > lot.left:
            message = f"pack lot {name} = {lot.left} packs left: {number} cannot {deed}."
            found.append(wrong(entry, "pack-short", message, "Count what is left, or name another lot too."))
        elif deed == GO_OUT and lot.best_before is not None and day_of(state, entry.at) > lot.best_before.isoformat():
            message = f"pack lot {name} = best before {lot.best_before}: that day is over."
            found.append(odd(entry, "pack-old", message, "Do not sell it unless you are sure the date is wrong."))
    return found


def _pack_weight(body: Packed, entry: Entry) -> Findings:
    went_in, said = sum(part.grams for part in body.parts), body.packs * body.pack_g
    if UNDERWEIGHT * said <= went_in <= OVERWEIGHT * said:
        return []
    message = (
        f"pack lot {body.pack} = {show(went_in)} g: {body.packs} packs of {show(body.pack_g)} g are {show(said)} g."
    )
    return [odd(entry, "pack-weight", message, "Weigh a pack, or correct what went in.")]


def _wrong_crops(state: FarmState, body: Packed, entry: Entry) -> Findings:
    product = state.products.get(body.product)
    crops = {part.crop for part in product.parts} if product else {body.product}
    lots = [state.harvests[part.harvest] for part in body.parts if part.harvest in state.harvests]
    return [
        odd(
            entry,
            "pack-crop",
            f"harvest lot {lot.harvest} = {lot.crop}: {body.product} has none of it.",
            "Check the lot.",
        )
        for lot in lots
        if lot.crop not in crops
    ]


# Changes --------------------------------------------------------------------------------------------------------------


def _take(state: FarmState, part: LotGrams) -> float:
    """Grams that leave a harvest lot: what is said, but never more than is left."""
    lot = state.harvests.get(part.harvest)
    if lot is None or not part.grams > 0:
        return 0.0
    taken = min(part.grams, lot.left_g)
    left = lot.left_g - taken
    state.harvests[part.harvest] = replace(lot, left_g=0.0 if left <= ROUNDING_G else left)
    return taken


def _loose_out(state: FarmState, parts: Iterable[LotGrams]) -> dict[str, float]:
    """Grams that leave harvest lots, by lot. [g]"""
    found: dict[str, float] = {}
    for part in parts:
        taken = _take(state, part)
        if taken:
            found[part.harvest] = found.get(part.harvest, 0.0) + taken
    return found


def _packs_out(state: FarmState, counts: Iterable[PackCount]) -> dict[str, int]:
    """Packs that leave pack lots, by lot."""
    found: dict[str, int] = {}
    for count in counts:
        taken = _take_packs(state, count.pack, count.packs)
        if taken:
            found[count.pack] = found.get(count.pack, 0) + taken
    return found


def _take_packs(state: FarmState, pack: str, packs: int) -> int:
    lot = state.packs.get(pack)
    taken = max(0, min(packs, lot.left)) if lot is not None else 0
    if lot is not None and taken:
        state.packs[pack] = replace(lot, left=lot.left - taken)
    return taken


def _take_live(state: FarmState, name: str, entry: Entry) -> int:
    """A live tray goes out as it stands; its kit is away until it comes back."""
    tray = grows(state, name)
    if tray is None:
        return 0
    tray.fate = "delivered"
    tray.ended_at = entry.at
    leave_spot(state, tray)
    send_kit_away(state, tray)
    done_with(state, tray)
    return 1
