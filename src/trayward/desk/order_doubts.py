"""What looks mistyped in an order: a day that is past or far off, an unusual amount, a price far from the product's.

Bounds are our choice and wide, as in `doubts`: a question is worth asking only where the answer is likely to be "no, I
meant ...". Where nobody has asked for the product before, no amount is doubted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from statistics import median

from msgspec.structs import replace

from trayward.desk.doubts import Doubts, doubted, masses
from trayward.errors import Doubt
from trayward.farm.due import product_named
from trayward.farm.orders import LineAsked, Order, StandingOrder
from trayward.farm.prices import comes_to, own_price
from trayward.farm.state import FarmState
from trayward.outlook.doubt import OF_WEIGHT, POINT, UNTRIED_FACTOR, Slip, Suspicion, suspect
from trayward.outlook.types import Range
from trayward.units import show_money

AROUND = 2.0
"""Customers may well ask for half the least and twice the most they ever asked for. [-]"""
PRICE_FACTOR = 1.5
"""8 in 10 prices of a line are this near to the product's. [-]"""
CENTS = (*POINT, Slip(0.01), Slip(100.0))
"""The point of a price one place off, or cents for whole coins."""
MOST_AHEAD_DAYS = 400
"""Orders a year and a little ahead are taken as they are said. [d]"""
LONG_PAST_DAYS = 200
"""A day so long past is likelier of the wrong year than of the wrong day. [d]"""


def day_doubts(due: date, today: date, about: tuple[str, str] = ("order", "due")) -> Doubts:
    """The day of an order that is past, or so far ahead that it is likelier of a mistyped year."""
    rule = f"is past; today is {today}" if due < today else far_ahead(due, today)
    if rule:
        yield _day_doubt(due, today, rule, about)


def start_doubts(start: date, today: date) -> Doubts:
    """The first day of a repeating order, far ahead; a past one is an order that has been going on."""
    rule = far_ahead(start, today)
    if rule:
        yield _day_doubt(start, today, rule, ("standing order", "start"))


def far_ahead(day: date, today: date) -> str:
    """What is odd about a day more than `MOST_AHEAD_DAYS` ahead, in words; empty for one that is not."""
    ahead = (day - today).days
    return f"that is {ahead} days ahead. Check the year" if ahead > MOST_AHEAD_DAYS else ""


def _day_doubt(day: date, today: date, rule: str, about: tuple[str, str]) -> Doubt:
    meant = _other_year(day, today)
    return Doubt(
        subject=about[0], what=about[1], value=day.isoformat(), expected_low=today.isoformat(),
        expected_high=(today + timedelta(days=MOST_AHEAD_DAYS)).isoformat(), said=day.isoformat(), rule=rule,
        perhaps=meant.isoformat() if meant else None, perhaps_said=meant.isoformat() if meant else "",
    )  # fmt: skip


def _other_year(day: date, today: date) -> date | None:
    """The same day of the year to come; None where the year is hardly what was mistyped."""
    if -LONG_PAST_DAYS < (day - today).days < 0:
        return None
    for year in (today.year, today.year + 1):
        try:
            meant = day.replace(year=year)
        except ValueError:  # the 29th of February
            continue
        if meant >= today:
            return meant
    return None


def order_doubts(state: FarmState, customer: str, lines: Sequence[LineAsked], *, but: str = "") -> Doubts:
    """
    Lines whose amount or price looks mistyped.

    Parameters
    ----------
    state : FarmState
        The farm, with the orders it knows.
    customer : str
        Who asks; what they asked for before goes first, else what anybody did.
    lines : sequence of LineAsked
        What they ask for.
    but : str
        The order that is being changed: it is no witness for itself.
    """
    for line in (each for each in lines if each.quantity > 0):  # what is not is refused, not doubted
        yield from _amount(state, customer, line, but)
        yield from _price(state, line)


def usual_amounts(state: FarmState, customer: str, line: LineAsked, but: str = "") -> list[float]:
    """What was asked of a product before, by this customer or else by anybody, in the line's unit. [g, packs, trays]"""
    orders: dict[str, Order | StandingOrder] = {**state.orders, **state.standing}
    asked = [
        (order.customer, known)
        for name, order in orders.items()
        if name != but
        for known in order.lines
        if known.product == line.product
    ]
    theirs = [known for who, known in asked if who == customer]
    found = _in_unit(state, line, theirs)
    return found or _in_unit(state, line, [known for _, known in asked])


def _in_unit(state: FarmState, line: LineAsked, known: Iterable[LineAsked]) -> list[float]:
    pack = product_named(state, line.product).pack_g or 0.0
    found = []
    for one in known:
        if one.unit == line.unit:
            found.append(one.quantity)
        elif pack and {one.unit, line.unit} == {"g", "packs"}:
            found.append(one.quantity / pack if line.unit == "packs" else one.quantity * pack)
    return [amount for amount in found if amount > 0]


def _amount(state: FarmState, customer: str, line: LineAsked, but: str) -> Doubts:
    before = usual_amounts(state, customer, line, but)
    if not before:
        return
    low, high = min(before), max(before)
    expected = Range(low=low / AROUND, likely=median(before), high=high * AROUND)
    pack = product_named(state, line.product).pack_g
    as_grams = (Slip(1 / pack),) if line.unit == "packs" and pack else ()
    slips = OF_WEIGHT if line.unit == "g" else (*as_grams, *POINT)
    found = suspect(line.quantity, expected, slips, least_factor=UNTRIED_FACTOR)
    if found is not None:
        yield _doubt(state, line, found, low, high)


def _doubt(state: FarmState, line: LineAsked, found: Suspicion, low: float, high: float) -> Doubt:
    if line.unit == "g":
        show = masses(state)
        between = show(low, "") if low == high else f"{show(low, '')} to {show(high, '')}"
        rule = f"so far {between} was asked for at a time"
        return doubted((line.product, "amount"), line.quantity, "g", found, (low, high), rule, show)
    between = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    rule = f"so far {between} {line.unit} were asked for at a time"
    meant = round(found.perhaps) if found.perhaps is not None else None
    return Doubt(
        subject=line.product, what="amount", value=line.quantity, unit=line.unit, expected_low=low, expected_high=high,
        perhaps=meant, said=f"{line.quantity:g} {line.unit}", rule=rule,
        perhaps_said=f"{meant} {line.unit}" if meant else "",
    )  # fmt: skip


def usual_price(state: FarmState, line: LineAsked) -> float:
    """What one gram, pack or tray of a line costs by the product's price; 0 where that does not say."""
    product = product_named(state, line.product)
    grams = 1.0 if line.unit == "g" else product.pack_g or 0.0
    found = own_price(product, live=line.unit == "trays")
    return comes_to(found, replace(line, quantity=1.0), grams) if found is not None else 0.0


def _price(state: FarmState, line: LineAsked) -> Doubts:
    usual = usual_price(state, line)
    if line.price is None or line.price <= 0 or usual <= 0:
        return
    expected = Range(low=usual / PRICE_FACTOR, likely=usual, high=usual * PRICE_FACTOR)
    found = suspect(line.price, expected, CENTS)
    if found is None:
        return
    times, per = (100.0, "100 g") if line.unit == "g" else (1.0, line.unit.removesuffix("s"))

    def show(price: float) -> str:
        return f"{show_money(price * times)} per {per}"

    meant = found.perhaps
    yield Doubt(
        subject=line.product, what="price", value=line.price, expected_low=expected.low, expected_high=expected.high,
        perhaps=meant, said=show(line.price), rule=f"it is sold at {show(usual)}",
        perhaps_said=show(meant) if meant is not None else "",
    )  # fmt: skip
