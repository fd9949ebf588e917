"""Orders in, packs and deliveries out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Unpack

import msgspec

from trayward.desk.core import DeskCore, Receipt, Said, worked_out
from trayward.desk.lookup import trays_named
from trayward.desk.naming import Taken, next_name
from trayward.errors import Finding, InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due
from trayward.farm.entries import (
    CustomerSet,
    Delivered,
    LineDelivered,
    LotGrams,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    PackCount,
    Packed,
    StandingOrderPaused,
    StandingOrderSet,
    ThrownAway,
)
from trayward.farm.orders import Customer, LineAsked, LineDue, Order, Pause, Product, StandingOrder
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot
from trayward.farm.transitions.say import show

LITTLE_G = 0.06
"""Packs are filled to a tenth of a gram: a line that lacks no more than this has all it asked for. [g]"""
GOOD_WEIGHT = 1.1
"""So much more than asked is good weight; beyond it a delivery deserves a look. [-]"""


class Selling(DeskCore):
    """Orders, standing orders, packing, delivering and throwing away."""

    @worked_out(OrderPlaced)
    def place_order(
        self,
        customer: str,
        due: date,
        lines: Sequence[LineAsked],
        *,
        order: str = "",
        note: str = "",
        source: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Somebody wants something on a day. `names` of the receipt holds the order."""
        state = self.state(said["at"])
        self._known_customer(state, customer)
        name = order or next_name(due, Taken(self.book, "order", state.orders), "O")
        placed = Order(order=name, customer=customer, due=due, lines=tuple(lines), note=note, source=source)
        return self.record(OrderPlaced(order=placed), **said, names=(name,))

    def change_order(self, order: Order, **said: Unpack[Said]) -> Receipt:
        """The order is as said from now on."""
        return self.record(OrderChanged(order=order), **said, names=(order.order,))

    def cancel_order(self, order: str, reason: str = "", **said: Unpack[Said]) -> Receipt:
        """The order is off."""
        return self.record(OrderCancelled(order=order, reason=reason), **said)

    def set_standing(self, standing: StandingOrder, **said: Unpack[Said]) -> Receipt:
        """A repeating order is as said from now on."""
        self._known_customer(self.state(said["at"]), standing.customer)
        body = StandingOrderSet(standing=standing)
        return self.record(body, **said, names=(standing.standing,))

    def pause_standing(self, standing: str, first: date, last: date, **said: Unpack[Said]) -> Receipt:
        """No deliveries of a repeating order from `first` to `last`, both included."""
        if last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        body = StandingOrderPaused(standing=standing, pause=Pause(first=first, last=last))
        return self.record(body, **said)

    def end_standing(self, standing: str, **said: Unpack[Said]) -> Receipt:
        """A repeating order comes to its end: nothing more is due for it."""
        held = self.state(said["at"]).standing
        if standing not in held:
            raise NotFoundError(
                "standing order", standing, tuple(held), "See them with: trayward order list --standing"
            )
        ended = msgspec.structs.replace(held[standing], ended=True)
        return self.record(StandingOrderSet(standing=ended), **said, names=(standing,))

    def set_customer(self, customer: Customer, **said: Unpack[Said]) -> Receipt:
        """A customer is as said from now on."""
        return self.record(CustomerSet(customer=customer), **said, names=(customer.name,))

    def due(self, first: date, last: date, *, at: datetime) -> list[LineDue]:
        """Order lines due from one day to another, standing orders spelt out."""
        return lines_due(self.state(at), first, last)

    @worked_out(Packed)
    def pack(
        self,
        product: str,
        packs: int,
        *,
        pack_g: float | None = None,
        parts: Mapping[str, float] | None = None,
        best_before: date | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Fill packs from harvest lots, oldest first unless `parts` names them (grams in all). [g]

        Crop that has been in the cold room longer than it keeps is packed only where `parts` names it.

        Returns
        -------
        Receipt
            `names` holds the pack lot.
        """
        settings = self.settings(said["at"])
        day = local_day(said["at"], settings)
        state = self._at_hand(said["at"])
        made = state.products.get(product) or Product(name=product, parts=())
        net = pack_g if pack_g is not None else made.pack_g
        if net is None or not 0 < net < float("inf") or packs < 1:
            raise InputError(
                "pack", f"{packs} of {net}", "both must be more than 0", "Say how many and their net weight.", "g"
            )
        lots = dict(parts) if parts else oldest_lots(state, made, net * packs, day)
        taken = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in lots.items())
        name = next_name(day, Taken(self.book, "pack", state.packs), "P")
        body = Packed(
            pack=name,
            product=product,
            packs=packs,
            pack_g=net,
            parts=taken,
            best_before=best_before or keeps_until(state, lots, settings),
        )
        return self.record(body, **said, names=(name,))

    @worked_out(Delivered)
    def deliver(
        self, customer: str, lines: Sequence[LineDelivered], *, document: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """A delivery to a customer, line by line. `names` of the receipt holds the delivery.

        What goes out beyond what was asked, or for somebody else's line, is kept, and the receipt says that it is odd.
        """
        state = self.state(said["at"])
        self._known_customer(state, customer)
        odd = beyond_asked(state, customer, lines)
        name = next_name(local_day(said["at"], self.settings(said["at"])), Taken(self.book, "delivery"), "D")
        body = Delivered(delivery=name, customer=customer, lines=tuple(lines), document=document)
        receipt = self.record(body, **said, names=(name,))
        return msgspec.structs.replace(receipt, findings=(*receipt.findings, *odd))

    @worked_out(Delivered)
    def deliver_due(
        self, customer: str, day: date, *, trays: Sequence[str] = (), document: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """Deliver everything due to a customer on a day, from what is packed and cut; live trays are named.

        What is past its days in the cold room stays behind; so does what went out for these lines already.

        Raises
        ------
        InputError
            If nothing is due, there is nothing to deliver, or a tray is named that nobody asked for.
        """
        named = [tray.tray for tray in trays_named(self.state(said["at"]), trays)] if trays else []
        state = self._at_hand(said["at"])
        self._known_customer(state, customer)
        due = [line for line in lines_due(state, day, day) if line.customer == customer]
        if not due:
            remedy = "See what is due with: trayward order list"
            raise InputError("delivery", f"{customer} on {day}", "nothing is due", remedy)
        if all(line.done_trays >= line.trays if line.live else line.grams - line.done_g <= LITTLE_G for line in due):
            rule, remedy = "all of it has been delivered", "If more went out, record it with: deliver line by line."
            raise InputError("delivery", f"{customer} on {day}", rule, remedy)
        lines = fill_lines(state, due, named, local_day(said["at"], self.settings(said["at"])))
        left = [name for name in named if not any(name in line.trays for line in lines)]
        if left:
            rule = f"{customer} is not due that many live trays of that crop on {day}"
            raise InputError("trays", ", ".join(left), rule, "Leave them out, or place an order for them first.")
        if not lines:
            remedy = "Cut and pack first, or name what goes out."
            raise InputError("delivery", f"{customer} on {day}", "there is nothing cut or packed for it", remedy)
        return self.deliver(customer, lines, document=document, **said)

    def throw_away(
        self, parts: Mapping[str, float], reason: str, *, packs: Mapping[str, int] | None = None, **said: Unpack[Said]
    ) -> Receipt:
        """Cut crop that will not be sold: grams of each harvest lot [g], and packs of each pack lot."""
        lots = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in parts.items())
        counts = tuple(PackCount(pack=pack, packs=number) for pack, number in (packs or {}).items())
        return self.record(ThrownAway(parts=lots, packs=counts, reason=reason), **said)

    @staticmethod
    def _known_customer(state: FarmState, customer: str) -> None:
        if customer not in state.customers:
            remedy = "Add one with: trayward order customer"
            raise NotFoundError("customer", customer, tuple(state.customers), remedy)


def beyond_asked(state: FarmState, customer: str, lines: Sequence[LineDelivered]) -> list[Finding]:
    """What is odd about a delivery, held against the orders: somebody else's line, or more than was asked for."""
    found: list[Finding] = []
    for name in dict.fromkeys(line.line for line in lines):
        asked = _line_named(state, name)
        if asked is None:
            continue
        if asked.customer != customer:
            message = f"line {name} = {asked.customer}: it was delivered to {customer}."
            found.append(Finding(code="line-customer", severity="odd", message=message, remedy="Check the line."))
        mine = [line for line in lines if line.line == name]
        message = _too_much(asked, _grams_of(state, mine), sum(len(line.trays) for line in mine))
        if message:
            remedy = "If it was mistyped, strike it and say it anew."
            found.append(Finding(code="line-over", severity="odd", message=message, remedy=remedy))
    return found


def _line_named(state: FarmState, name: str) -> LineDue | None:
    """A line by its name, `ORDER/LINE` or `STANDING@DATE/LINE`; None where nobody ordered it."""
    order, _, _ = name.rpartition("/")
    if order in state.orders:
        day = state.orders[order].due
    else:
        try:
            day = date.fromisoformat(order.rpartition("@")[2])
        except ValueError:
            return None
    return next((line for line in lines_due(state, day, day) if line.line == name), None)


def _grams_of(state: FarmState, lines: Sequence[LineDelivered]) -> float:
    packed = sum(
        count.packs * state.packs[count.pack].pack_g
        for line in lines
        for count in line.packs
        if count.pack in state.packs
    )
    return packed + sum(part.grams for line in lines for part in line.loose)


def _too_much(asked: LineDue, grams: float, trays: int) -> str:
    """Why this is more than a line asked for, a tenth more for good weight allowed; empty where it is not."""
    if asked.live:
        total = asked.done_trays + trays
        return f"line {asked.line} = {total} trays: {asked.trays} were asked for." if total > asked.trays else ""
    total_g = asked.done_g + grams
    if total_g <= asked.grams * GOOD_WEIGHT + LITTLE_G:
        return ""
    return f"line {asked.line} = {show(total_g)} g: {show(asked.grams)} g were asked for."


def oldest_lots(state: FarmState, product: Product, grams: float, day: date | None = None) -> dict[str, float]:
    """Harvest lots to take `grams` of a product from: each crop its share, oldest cut first. [g]

    With `day`, the farm's day, lots that have been in the cold room longer than they keep are left alone.

    Raises
    ------
    InputError
        If the cold room does not hold enough of a crop.
    """
    taken: dict[str, float] = {}
    shares = {part.crop: part.share for part in product.parts} or {product.name: 1.0}
    for crop, share in shares.items():
        taken |= _oldest_of(state, crop, grams * share, day)
    return taken


def _oldest_of(state: FarmState, crop: str, grams: float, day: date | None) -> dict[str, float]:
    of_crop = [lot for lot in state.harvests.values() if lot.crop == crop and lot.left_g > 0]
    lots = sorted((lot for lot in of_crop if _good(state, lot, day)), key=lambda lot: (lot.cut_at, lot.harvest))
    held = sum(lot.left_g for lot in lots)
    if held < grams - 0.01:
        old = ", ".join(lot.harvest for lot in of_crop if lot not in lots)
        remedy = f"Cut more, or pack fewer; {old} is past its days." if old else "Cut more, or pack fewer."
        raise InputError(f"cut {crop}", show(held), f"this takes {show(grams)} g", remedy, "g")
    taken: dict[str, float] = {}
    for lot in lots:
        part = min(lot.left_g, grams - sum(taken.values()))
        if part > 0.005:
            taken[lot.harvest] = rounded(part, lot.left_g)
    return taken


def rounded(grams: float, held: float) -> float:
    """Grams to a thousandth, never more than there is: a round number up would be refused. [g]"""
    return min(round(grams, 3), held)


def _good(state: FarmState, lot: HarvestLot, day: date | None) -> bool:
    """Whether a lot is within the days its crop keeps cold."""
    if day is None or state.settings is None:
        return True
    return day <= local_day(lot.cut_at, state.settings) + timedelta(days=lot.cold_room_days)


def keeps_until(state: FarmState, lots: Mapping[str, float], settings: FarmSettings) -> date | None:
    """The last good day of what is made from these lots: the first of theirs, by the recipe's cold-room life."""
    days = [
        local_day(lot.cut_at, settings) + timedelta(days=lot.cold_room_days)
        for name in lots
        if (lot := state.harvests.get(name)) is not None
    ]
    return min(days) if days else None


def fill_lines(
    state: FarmState, due: Sequence[LineDue], trays: Sequence[str], day: date | None = None
) -> list[LineDelivered]:
    """What goes out for each line: packs of its product first, then loose grams, oldest first; live trays as named.

    With `day`, the farm's day, what is past its best-before day or its days in the cold room is left alone.
    """
    packs_left = {
        lot.pack: lot.left
        for lot in sorted(state.packs.values(), key=lambda lot: lot.packed_at)
        if lot.left > 0 and (day is None or lot.best_before is None or day <= lot.best_before)
    }
    loose_left = {
        name: lot.left_g for name, lot in state.harvests.items() if lot.left_g > LITTLE_G and _good(state, lot, day)
    }
    trays_left = list(trays)
    filled: list[LineDelivered] = []
    for line in due:
        if line.live:
            mine = _matching_trays(state, line, trays_left)
            made = LineDelivered(line=line.line, trays=tuple(mine))
        else:
            made = _fill_cut_line(state, line, packs_left, loose_left)
        if made.packs or made.loose or made.trays:
            filled.append(made)
    return filled


def _matching_trays(state: FarmState, line: LineDue, trays_left: list[str]) -> list[str]:
    crops = {part.crop for part in line.parts}
    fitting = [name for name in trays_left if (tray := state.tray(name)) is not None and tray.crop in crops]
    mine = fitting[: max(line.trays - line.done_trays, 0)]
    for name in mine:
        trays_left.remove(name)
    return mine


def _fill_cut_line(
    state: FarmState, line: LineDue, packs_left: dict[str, int], loose_left: dict[str, float]
) -> LineDelivered:
    wanted = line.grams - line.done_g
    packs: list[PackCount] = []
    for name in list(packs_left):
        lot = state.packs[name]
        fits = lot.product == line.product and (line.pack_g is None or abs(lot.pack_g - line.pack_g) < 0.5)
        count = min(packs_left[name], int((wanted + LITTLE_G) // lot.pack_g)) if fits else 0
        if count > 0:
            packs.append(PackCount(pack=name, packs=count))
            packs_left[name] -= count
            wanted -= count * lot.pack_g
    loose: list[LotGrams] = []
    # A line asked for in packs goes out in packs; loose grams fill only what was asked for by weight.
    if line.pack_g is None and wanted > LITTLE_G:
        loose = _loose_for(state, line, wanted, loose_left)
    return LineDelivered(line=line.line, packs=tuple(packs), loose=tuple(loose))


def _loose_for(state: FarmState, line: LineDue, wanted: float, loose_left: dict[str, float]) -> list[LotGrams]:
    held = {
        part.crop: sum(left for name, left in loose_left.items() if state.harvests[name].crop == part.crop)
        for part in line.parts
    }
    # A mix goes out in its shares: the scarcest part decides how much of the whole can.
    whole = min([wanted, *(held[part.crop] / part.share for part in line.parts if part.share > 0)])
    loose: list[LotGrams] = []
    for part in line.parts:
        need = whole * part.share
        for name in sorted(loose_left, key=lambda lot: (state.harvests[lot].cut_at, lot)):
            take = min(loose_left[name], need) if state.harvests[name].crop == part.crop else 0.0
            if take > 0.005:
                loose.append(LotGrams(harvest=name, grams=rounded(take, loose_left[name])))
                loose_left[name] -= take
                need -= take
    return loose
