"""Suppositions of what is asked for and what it brings: orders, customers, products, prices, costs."""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Literal

from msgspec.structs import replace

from trayward.dates import day_words
from trayward.errors import InputError, NotFoundError
from trayward.farm.due import product_named
from trayward.farm.orders import Customer, LineAsked, Order, Part, Pause, Product, StandingOrder
from trayward.farm.repeats import rule_in_words
from trayward.plan.suppose_space import DAY, dated
from trayward.plan.supposed import SupposedState, Supposition, change_lines, held
from trayward.plan.words import FEW, amount_words, weight_unit
from trayward.units import GRAMS_PER_OUNCE
from trayward.words import counted, listed

# New orders -----------------------------------------------------------------------------------------------------------


def _price_words(gram: float) -> str:
    """The price of a gram by the weight this farm prices: `4.50 per 100 g`, `1.28 per oz`."""
    if weight_unit() == "oz":
        return f"{gram * GRAMS_PER_OUNCE:.2f} per oz"
    return f"{gram * 100:.2f} per 100 g"


def line_words(line: LineAsked) -> str:
    """`200 g pea at 4.50 per 100 g`, `6 packs of garden mix`."""
    if line.unit == "g":
        price = f" at {_price_words(line.price)}" if line.price is not None else ""
        return f"{amount_words(line.quantity, 'g')} {line.product}{price}"
    price = f" at {line.price:.2f} each" if line.price is not None else ""
    return f"{counted(line.quantity, line.unit.removesuffix('s'))} of {line.product}{price}"


class NewStanding(Supposition, frozen=True, kw_only=True):
    """A standing order more, of a customer the farm has or a new one."""

    standing: StandingOrder

    def words(self) -> str:
        one = self.standing
        what = listed(map(line_words, one.lines), most=FEW)
        return f"{what} {rule_in_words(one.rule)}, from {day_words(one.start)}, for {one.customer}"

    def note(self) -> str:
        return "What a new order wants before it can be grown counts as let down; say from which day on it is."

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        _welcome(state, self.standing.customer)
        state.standing[_unused(self.standing.standing, state)] = self.standing


class NewOrder(Supposition, frozen=True, kw_only=True):
    """An order more, for one day."""

    order: Order

    def words(self) -> str:
        one = self.order
        return f"{listed(map(line_words, one.lines), most=FEW)} on {day_words(one.due)}, for {one.customer}"

    def apply(self, state: SupposedState, at: datetime) -> None:
        _welcome(state, self.order.customer)
        state.orders[_unused(self.order.order, state)] = self.order
        state.order_placed[self.order.order] = at


def _welcome(state: SupposedState, customer: str) -> None:
    state.customers.setdefault(customer, Customer(name=customer))


def _unused(name: str, state: SupposedState) -> str:
    if name in state.orders or name in state.standing:
        raise InputError("order", name, "the farm has an order of that name", "Give this one another name.")
    return name


# Orders there are -----------------------------------------------------------------------------------------------------


class OrdersTimes(Supposition, frozen=True, kw_only=True):
    """Orders, standing or not, so many times as large; 0: off. From one day to another, or for good."""

    names: tuple[str, ...]
    factor: float
    first: date | None = None
    last: date | None = None
    whose: str = ""
    """The customer, where all the orders are theirs."""

    def words(self) -> str:
        off = "paused" if self.first or self.last else "off"
        what = self._of_a_customer(off) if self.whose else self._of_orders(off)
        return dated(what, self.first, self.last)

    def _of_a_customer(self, off: str) -> str:
        customer = self.whose
        if self.factor == 0:
            return f"everything of {customer} off" if off == "off" else f"everything of {customer} paused"
        if self.factor in (0.5, 2.0):
            return f"twice everything of {customer}" if self.factor > 1 else f"half everything of {customer}"
        return f"{self.factor:g} times everything of {customer}"

    def _of_orders(self, off: str) -> str:
        order = listed(self.names, most=FEW)
        if self.factor == 0:
            return f"{order} off" if off == "off" else f"{order} paused"
        if self.factor in (0.5, 2.0):
            return f"twice {order}" if self.factor > 1 else f"half {order}"
        return f"{self.factor:g} times {order}"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        for name in self.names:
            if name in state.standing:
                self._standing(state, name)
            elif name in state.orders:
                self._once(state, name)
            else:
                raise NotFoundError("order", name, (*state.standing, *state.orders))
        if self.whose in state.customers and self.factor == 0 and not (self.first or self.last):
            # Who is gone for good sends no more orders of the kind that usually come, either.
            state.customers[self.whose] = replace(state.customers[self.whose], spot_orders=False)

    def _once(self, state: SupposedState, name: str) -> None:
        order = state.orders[name]
        if not (self.first or date.min) <= order.due <= (self.last or date.max):
            return
        if self.factor == 0:
            del state.orders[name]
            state.order_placed.pop(name, None)
        else:
            state.orders[name] = replace(order, lines=self._lines(order.lines))

    def _standing(self, state: SupposedState, name: str) -> None:
        one = state.standing[name]
        if self.first is None and self.last is None:
            state.standing[name] = replace(one, lines=self._lines(one.lines), ended=one.ended or self.factor == 0)
            return
        first, last = self.first or date.min, self.last or date.max
        state.standing[name] = replace(one, pauses=(*one.pauses, Pause(first=first, last=last)))
        if self.factor:
            # Under its own name, so that lines of those days are the same lines; its rule is counted from where it was.
            state.standing[f"{name} x {self.factor:g}"] = replace(
                one, lines=self._lines(one.lines), pauses=(*one.pauses, *_outside(first, last))
            )

    def _lines(self, lines: tuple[LineAsked, ...]) -> tuple[LineAsked, ...]:
        return tuple(replace(line, quantity=_times(line, self.factor)) for line in lines)


def _outside(first: date, last: date) -> list[Pause]:
    before = [Pause(first=date.min, last=first - DAY)] if first > date.min else []
    return before + ([Pause(first=last + DAY, last=date.max)] if last < date.max else [])


def _times(line: LineAsked, factor: float) -> float:
    """Packs and trays come whole, and rather one more than one less."""
    grown = line.quantity * factor
    return grown if line.unit == "g" else float(math.ceil(grown - 1e-9))


# Products and prices --------------------------------------------------------------------------------------------------


class ProductGone(Supposition, frozen=True, kw_only=True):
    """A product no longer sold: its order lines are off."""

    product: str

    def words(self) -> str:
        return f"{self.product} no longer sold"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        held(state.products, self.product, "product")
        change_lines(state, lambda line: None if line.product == self.product else line)


class Price(Supposition, frozen=True, kw_only=True):
    """Another price of a product. Lines that have a price of their own keep it."""

    product: str
    price: float
    per: Literal["100 g", "pack", "tray"]

    def words(self) -> str:
        return f"{self.product} at {self.price:.2f} per {self.per}"

    def note(self) -> str:
        return f"Whether as much {self.product} is asked for at that price, nobody knows."

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        known = state.products.get(self.product) or Product(name=self.product, parts=(Part(crop=self.product),))
        self._check(known)
        state.products[self.product] = replace(known, price=self.price, price_per=self.per)

    def _check(self, product: Product) -> None:
        usual = "tray" if product.live else "pack" if product.pack_g else "100 g"
        if (self.per == "tray") != product.live or (self.per == "pack" and not product.pack_g):
            rule = f"it is not sold by the {self.per}"
            raise InputError("price", f"{self.price:g} per {self.per}", rule, f"Give it per {usual}.")


class PricesTimes(Supposition, frozen=True, kw_only=True):
    """Prices so many times as high, those of single lines too; no product named: all of them."""

    factor: float
    products: tuple[str, ...] = ()

    def words(self) -> str:
        percent = abs(self.factor - 1) * 100
        if not self.products:
            return f"everything {percent:g} % dearer" if self.factor > 1 else f"everything {percent:g} % cheaper"
        product = listed(self.products, most=FEW)
        return f"{product} {percent:g} % dearer" if self.factor > 1 else f"{product} {percent:g} % cheaper"

    def note(self) -> str:
        return "Whether as much is asked for at those prices, nobody knows."

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        for name, product in state.products.items():
            if not self.products or name in self.products:
                state.products[name] = replace(product, price=product.price * self.factor)
        change_lines(state, self._line)

    def _line(self, line: LineAsked) -> LineAsked:
        if line.price is None or (self.products and line.product not in self.products):
            return line
        return replace(line, price=line.price * self.factor)


CostName = Literal["wage_h", "energy_kwh", "packaging", "disposal_kg"]
COSTS: dict[CostName, tuple[str, str]] = {
    "wage_h": ("wage", "an hour"),
    "energy_kwh": ("energy", "a kWh"),
    "packaging": ("packaging", "a pack"),
    "disposal_kg": ("disposal", "a kg"),
}
"""What each is called, and what it is paid for."""


class Cost(Supposition, frozen=True, kw_only=True):
    """Another cost, for what the farm's settings give one. [farm's currency]"""

    what: CostName
    amount: float

    def words(self) -> str:
        amount = f"{self.amount:.2f}"
        if self.what == "wage_h":
            return f"wage {amount} an hour"
        if self.what == "energy_kwh":
            return f"energy {amount} a kWh"
        return f"packaging {amount} a pack" if self.what == "packaging" else f"disposal {amount} a kg"

    def apply(self, state: SupposedState, at: datetime) -> None:  # noqa: ARG002
        money = replace(state.set_up.money, **{self.what: self.amount})
        state.settings = replace(state.set_up, money=money)


def crop_names_alone(state: SupposedState, line: LineAsked, crop: str) -> bool:
    """Whether a line asks for nothing but one crop."""
    return all(part.crop == crop for part in product_named(state, line.product).parts)
