"""Orders in, packs and deliveries out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from itertools import chain
from typing import TypeVar, Unpack

import msgspec

from trayward.desk.core import DeskCore, Receipt, Said, worked_out
from trayward.desk.going_out import LITTLE_G, beyond_asked, fill_lines, keeps_until, last_day, oldest_lots
from trayward.desk.lookup import trays_named
from trayward.desk.naming import Taken, next_name, require_told_apart
from trayward.desk.order_doubts import day_doubts, order_doubts, start_doubts
from trayward.errors import Doubt, DoubtError, InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due, standing_days
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
from trayward.farm.state import FarmState


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
        instead_of: tuple[str, date] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Somebody wants something on a day. `names` of the receipt holds the order.

        `instead_of`: a repeating order and one of its days, on which this is wanted instead; both are kept together.
        Raises `DoubtError` where its day, an amount or a price looks mistyped and nobody is `sure`; so do changes.
        """
        state = self.state(said["at"])
        self._known_customer(state, customer)
        if order in state.orders or order in state.standing:
            raise InputError("order", order, "there is one of that name", "Change it, or take another name.")
        left_out = (_left_out(state, *instead_of),) if instead_of is not None else ()
        _ask_again(said, day_doubts(due, self._today(said)), order_doubts(state, customer, lines))
        name = order or next_name(due, Taken(self.book, "order", state.orders), "O")
        placed = Order(order=name, customer=customer, due=due, lines=tuple(lines), note=note, source=source)
        return self.record(OrderPlaced(order=placed), *left_out, **said, names=(name,))

    def change_order(self, order: Order, **said: Unpack[Said]) -> Receipt:
        """The order is as said from now on."""
        state = self.state(said["at"])
        held = _held(state.orders, "order", order.order)
        self._known_customer(state, order.customer)
        if held.due != order.due:
            _ask_again(said, day_doubts(order.due, self._today(said)))
        if held.lines != order.lines:
            _ask_again(said, order_doubts(state, order.customer, order.lines, but=order.order))
        return self.record(OrderChanged(order=order), **said, names=(order.order,))

    def cancel_order(self, order: str, reason: str = "", **said: Unpack[Said]) -> Receipt:
        """The order is off."""
        _held(self.state(said["at"]).orders, "order", order)
        return self.record(OrderCancelled(order=order, reason=reason), **said)

    def set_standing(self, standing: StandingOrder, **said: Unpack[Said]) -> Receipt:
        """A repeating order is as said from now on. Raises `InputError` for days of which none is to come."""
        state = self.state(said["at"])
        self._known_customer(state, standing.customer)
        held, today = state.standing.get(standing.standing), self._today(said)
        if held is None or _days_of(held) != _days_of(standing):
            _require_days(standing, today)
            _ask_again(said, start_doubts(standing.start, today))
        if held is None or held.lines != standing.lines:
            _ask_again(said, order_doubts(state, standing.customer, standing.lines, but=standing.standing))
        body = StandingOrderSet(standing=standing)
        return self.record(body, **said, names=(standing.standing,))

    def pause_standing(self, standing: str, first: date, last: date, **said: Unpack[Said]) -> Receipt:
        """No deliveries of a repeating order from `first` to `last`, both included."""
        if last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        _held(self.state(said["at"]).standing, "standing order", standing)
        body = StandingOrderPaused(standing=standing, pause=Pause(first=first, last=last))
        return self.record(body, **said)

    def end_standing(self, standing: str, **said: Unpack[Said]) -> Receipt:
        """A repeating order comes to its end: nothing more is due for it."""
        held = _held(self.state(said["at"]).standing, "standing order", standing)
        ended = msgspec.structs.replace(held, ended=True)
        return self.record(StandingOrderSet(standing=ended), **said, names=(standing,))

    def set_customer(self, customer: Customer, **said: Unpack[Said]) -> Receipt:
        """A customer is as said from now on. Raises `InputError` for a new name hardly told from another's."""
        require_told_apart("customer", customer.name, self.state(said["at"]).customers)
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
        _require_sold(state, product, named=bool(parts))
        made = state.products.get(product) or Product(name=product, parts=())
        net = pack_g if pack_g is not None else made.pack_g
        if packs < 1:
            raise InputError("packs", packs, "at least 1 is filled", "Give a whole number of packs.")
        if net is None:
            rule = f"{product} has no net weight of a pack"
            raise InputError("net weight", "nothing", rule, "Say what one pack weighs, or set it for the product.")
        if not 0 < net < float("inf"):
            raise InputError("net weight", f"{net:g}", "must be more than 0 g", "Say what one pack weighs.", "g")
        lots = dict(parts) if parts else oldest_lots(state, made, net * packs, day)
        taken = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in lots.items())
        name = next_name(day, Taken(self.book, "pack", state.packs), "P")
        good_until = best_before or keeps_until(state, lots, settings)
        body = Packed(
            pack=name,
            product=product,
            packs=packs,
            pack_g=net,
            parts=taken,
            best_before=good_until,
        )
        receipt = self._say(body, **said, names=(name,))
        return receipt.with_findings(last_day(name, good_until, day))

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
        receipt = self._say(body, **said, names=(name,))
        return receipt.with_findings(odd)

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
        if not reason.strip():
            rule, remedy = "what is thrown away has one", "Say it: past its day, limp, a bad smell."
            raise InputError("reason", "nothing", rule, remedy)
        lots = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in parts.items())
        counts = tuple(PackCount(pack=pack, packs=number) for pack, number in (packs or {}).items())
        return self._say(ThrownAway(parts=lots, packs=counts, reason=reason), **said)

    def _today(self, said: Said) -> date:
        """The farm's own day on which something is said."""
        return local_day(said["at"], self.settings(said["at"]))

    @staticmethod
    def _known_customer(state: FarmState, customer: str) -> None:
        if customer not in state.customers:
            remedy = "Add one with: trayward order customer"
            raise NotFoundError("customer", customer, tuple(state.customers), remedy)


def _left_out(state: FarmState, name: str, day: date) -> StandingOrderSet:
    """A repeating order without one of its days, of which nothing may have gone out yet."""
    held = _held(state.standing, "standing order", name)
    if day not in standing_days(held, day, day):
        raise InputError("day", day.isoformat(), "nothing of it is due that day", "Give a day on which it is due.")
    begun = {*state.delivered, *state.delivered_trays}
    if any(line.startswith(f"{name}@{day.isoformat()}/") for line in begun):
        remedy = "Write what is wanted besides as an order of its own."
        raise InputError("day", day.isoformat(), "something of it went out already", remedy)
    return StandingOrderSet(standing=msgspec.structs.replace(held, except_on=(*held.except_on, day)))


def _ask_again(said: Said, *doubts: Iterable[Doubt]) -> None:
    """Raise `DoubtError` for what looks mistyped, unless whoever says it is sure."""
    found = () if said.get("sure") else tuple(chain(*doubts))
    if found:
        raise DoubtError(found)


def _days_of(standing: StandingOrder) -> tuple[object, ...]:
    """What its days come of, but for single ones that are left out."""
    return standing.rule, standing.start, standing.also_on


def _require_days(standing: StandingOrder, today: date) -> None:
    """A repeat that never comes round is a slip: a last day before the first, or a rule that hits nothing."""
    first = max(standing.start, today)
    last = date(min(first.year + 2, date.max.year), 12, 31)
    if not standing_days(msgspec.structs.replace(standing, pauses=(), ended=False), first, last):
        rule, remedy = "no delivery day comes of it", "Check the days, the first and the last."
        raise InputError("repeat rule", standing.rule, rule, remedy)


HeldT = TypeVar("HeldT")


def _held(known: Mapping[str, HeldT], kind: str, name: str) -> HeldT:
    """An order of that name. Raises `NotFoundError` where there is none."""
    if name not in known:
        standing = " --standing" if kind == "standing order" else ""
        raise NotFoundError(kind, name, tuple(known), f"See them with: trayward order list{standing}")
    return known[name]


def _require_sold(state: FarmState, product: str, *, named: bool) -> None:
    """Raise `NotFoundError` for packs of what is neither a product nor a crop, where no lots are named for them."""
    crops = {recipe.crop for recipe in state.recipes.values()} | {lot.crop for lot in state.harvests.values()}
    if not named and product not in state.products and product not in crops:
        remedy = "Say one of them, a crop, or the lots that are packed."
        raise NotFoundError("product", product, tuple(state.products), remedy, also=tuple(sorted(crops)))
