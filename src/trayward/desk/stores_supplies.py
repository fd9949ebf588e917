"""Supplies other than seed: set up, received, used, counted, thrown away; and what to order of them and of seed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Unpack

from trayward.desk.core import DeskCore, Receipt, Said, require_to_come, worked_out
from trayward.desk.doubts import Doubts, doubted, slipped
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.entries import (
    OfferSet,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
)
from trayward.farm.state import FarmState
from trayward.farm.supplies import Offer, Supply, SupplyHeld
from trayward.rounds.words import amount_of, slug

if TYPE_CHECKING:
    from trayward.desk.reorder.advice import Advice


class Supplying(DeskCore):
    """Supplies other than seed, and order advice for seed too."""

    def set_supply(self, supply: Supply, *, dropped: bool = False, **said: Unpack[Said]) -> Receipt:
        """A supply is as said from now on; `dropped`: it is no longer used."""
        return self.record(SupplySet(supply=supply, dropped=dropped), **said, names=(supply.name,))

    def set_offer(self, offer: Offer, *, dropped: bool = False, **said: Unpack[Said]) -> Receipt:
        """What a supplier asks for a supply or for seed of a crop the farm grows; `dropped`: they sell it no more."""
        state = self.state(said["at"])
        crops = {recipe.crop for recipe in state.recipes.values()}
        ends = dropped and offer.key in state.offers
        if offer.seed and offer.thing not in crops and not ends:
            known = f"It grows: {', '.join(sorted(crops))}."
            raise InputError("crop", offer.thing, "the farm grows nothing of that name", known)
        return self.record(OfferSet(offer=offer, dropped=dropped), **said)

    @worked_out(SupplyReceived)
    def receive_supply(
        self,
        supply: str,
        amount: float,
        *,
        lot: str = "",
        best_before: date | None = None,
        cost: Decimal | None = None,
        supplier: str = "",
        supplier_lot: str = "",
        document: str = "",
        expected_on: date | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """
        A delivery of a supply, here now or on order for a day to come. [unit of the supply]

        Returns
        -------
        Receipt
            `names` holds the lot.
        """
        held, today = supply_named(self.state(said["at"]), supply), local_day(said["at"], self.settings(said["at"]))
        require_to_come(expected_on, today)
        name = lot.strip() or free_lot(held, today)
        body = SupplyReceived(
            supply=held.supply.name, amount=amount, unit=held.supply.unit, lot=name, best_before=best_before, cost=cost,
            supplier=supplier, supplier_lot=supplier_lot, document=document, expected_on=expected_on,
        )  # fmt: skip
        return self._say(body, names=(name,), **said)

    def use_supply(
        self, supply: str, amount: float, reason: str = "", *, lot: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """Some of a supply was used, beside what the book counts off by itself. [unit of the supply]"""
        held = supply_named(self.state(said["at"]), supply)
        body = SupplyUsed(supply=held.supply.name, amount=amount, unit=held.supply.unit, lot=lot, reason=reason)
        return self.record(body, **said)

    def throw_supply(self, supply: str, amount: float, reason: str, *, lot: str = "", **said: Unpack[Said]) -> Receipt:
        """Some of a supply was thrown away. [unit of the supply]"""
        if not reason.strip():
            raise InputError("reason", "nothing", "what is thrown away has one", "Say it: spoilt, spilt, past its day.")
        held = supply_named(self.state(said["at"]), supply)
        body = SupplyThrownAway(supply=held.supply.name, amount=amount, unit=held.supply.unit, lot=lot, reason=reason)
        return self.record(body, **said)

    def count_supply(
        self, supply: str, amount: float, reason: str = "", *, lot: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """What there is of a supply in all, or of one lot, as counted; it holds from now on. [unit of the supply]"""
        held = supply_named(self.state(said["at"]), supply)
        body = SupplyCounted(supply=held.supply.name, amount=amount, unit=held.supply.unit, lot=lot, reason=reason)
        expected = held.lots[lot].left if lot in held.lots else held.stock
        return self._say(body, doubts=count_doubts(held, expected, amount), **said)

    def count_supplies(self, amounts: Mapping[str, float], **said: Unpack[Said]) -> Receipt:
        """What there is of several supplies, as counted on one walk. [unit of each]"""
        if not amounts:
            raise InputError("count", "nothing", "at least one is counted", "Type what you counted; leave the rest.")
        state = self.state(said["at"])
        held = {name: supply_named(state, name) for name in amounts}
        doubts = [
            doubt for name, amount in amounts.items() for doubt in count_doubts(held[name], held[name].stock, amount)
        ]
        bodies = [
            SupplyCounted(supply=name, amount=amount, unit=held[name].supply.unit) for name, amount in amounts.items()
        ]
        return self._say(*bodies, doubts=doubts, **said)

    def order_advice(self, at: datetime) -> tuple[Advice, ...]:
        """When to order what, and how much: for the seed of every crop and every other supply, the next one first."""
        from trayward.desk.reorder.advice import order_advice
        from trayward.plan.done import plan_before

        state = self.state(at)
        return order_advice(state, self.settings(at), plan_before(state), at)


def supply_named(state: FarmState, name: str) -> SupplyHeld:
    """A supply by its name. Raises NotFoundError."""
    if name not in state.supplies:
        raise NotFoundError("supply", name, tuple(state.supplies), "Set it up first.")
    return state.supplies[name]


def free_lot(held: SupplyHeld, today: date) -> str:
    """A name for a delivery that no other has: the supply and the month, with a number where it has to."""
    name = f"{slug(held.supply.name)}-{today:%y%m}"
    return next(each for each in (name, *(f"{name}-{number}" for number in range(2, 10_000))) if each not in held.lots)


def count_doubts(held: SupplyHeld, expected: float, amount: float) -> Doubts:
    """A count that is a slip of the finger away from what the book expects."""
    found, unit = slipped(amount, expected), held.supply.unit
    if found is not None:
        rule = f"the book expects {amount_of(expected, unit)}"
        yield doubted(
            (f"supply {held.supply.name}", "counted"), amount, unit, found, (0.0, expected), rule,
            lambda value, _: amount_of(value, unit),
        )  # fmt: skip
