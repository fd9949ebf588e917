"""Order advice in words: what to order and by when, why not otherwise, and how long what is there lasts."""

from __future__ import annotations

from datetime import date

from trayward.dates import day_words
from trayward.desk.reorder.advice import Advice
from trayward.desk.reorder.packs import Order
from trayward.desk.reorder.reach import days_words
from trayward.farm.supplies import SupplyUnit
from trayward.rounds.words import amount_of

A_UNIT = {"pieces": "a piece", "g": "a kg", "ml": "a litre"}


def order_words(advice: Advice) -> str:
    """
    What to order, in one sentence.

    Examples
    --------
    >>> from decimal import Decimal
    >>> from trayward.desk.reorder.packs import PacksBought
    >>> from trayward.desk.reorder.reach import Reach
    >>> order = Order(supplier="Hillside Seeds", packs=(PacksBought(count=2, size=1000.0, price=Decimal("14.00")),),
    ...     amount=2000.0, cost=Decimal("32.00"), delivery=Decimal("4.00"), a_unit=Decimal("16.00"), lasts_days=63)
    >>> order_words(Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0, order=order))
    'Order 2 kg of Hillside Seeds, 2 packs of 1 kg: 32.00, which is 16.00 a kg. It lasts about 9 weeks.'
    """
    order = advice.order
    if order is None:
        return f"Say {advice.lacks}, then an amount can be advised." if advice.lacks else ""
    what = f"Order {amount_of(order.amount, advice.unit)} of {order.supplier}, {packs_words(order, advice.unit)}"
    return f"{what}: {order.cost}, which is {order.a_unit} {A_UNIT[advice.unit]}. {lasts_words(order)}"


def packs_words(order: Order, unit: SupplyUnit) -> str:
    """The packs of an order: `2 packs of 1 kg`."""
    return " and ".join(
        f"{each.count} {'pack' if each.count == 1 else 'packs'} of {amount_of(each.size, unit)}" for each in order.packs
    )


def lasts_words(order: Order) -> str:
    """How long an order lasts."""
    if order.lasts_days is None:
        return "It lasts a year or more."
    weeks = round(order.lasts_days / 7)
    return f"It lasts about {weeks} {'week' if weeks == 1 else 'weeks'}." if weeks else "It lasts less than a week."


def other_words(order: Order, advice: Advice) -> str:
    """
    Why another order is not advised.

    Examples
    --------
    >>> from decimal import Decimal
    >>> from trayward.desk.reorder.packs import PacksBought
    >>> from trayward.desk.reorder.reach import Reach
    >>> order = Order(supplier="Hillside Seeds", packs=(PacksBought(count=1, size=5000.0, price=Decimal("62.50")),),
    ...     amount=5000.0, cost=Decimal("62.50"), delivery=Decimal(0), a_unit=Decimal("12.50"), lasts_days=None,
    ...     goes_off=1500.0, dearer=Decimal("6.30"))
    >>> other_words(order, Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0))
    '5 kg of Hillside Seeds is 12.50 a kg, but 1.5 kg of it would go off; 6.30 dearer over two years.'
    """
    unit = advice.unit
    begin = f"{amount_of(order.amount, unit)} of {order.supplier} is {order.a_unit} {A_UNIT[unit]}"
    end = f"{order.dearer} dearer over two years."
    if order.goes_off:
        return f"{begin}, but {amount_of(order.goes_off, unit)} of it would go off; {end}"
    return f"{begin}; {end}"


def when_words(advice: Advice, today: date) -> str:
    """
    By when to order.

    Examples
    --------
    >>> from trayward.desk.reorder.reach import Reach
    >>> advice = Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0,
    ...     order_by=date(2026, 12, 1), lead_days=7.0)
    >>> when_words(advice, date(2026, 11, 25))
    'Order by Tue 1 Dec: it takes 7 days to come.'
    """
    if advice.order_by is None or advice.lead_days is None:
        return ""
    days = round(advice.lead_days)
    lead = f"it takes {days} {'day' if days == 1 else 'days'} to come"
    if advice.order_by <= today:
        return f"Order now: {lead}."
    return f"Order by {day_words(advice.order_by)}: {lead}."


def left_words(advice: Advice) -> str:
    """What is there and how long it lasts: `350 g, 9 to 17 days, likely 12`."""
    return f"{amount_of(advice.reach.here, advice.unit)}, {days_words(advice.reach)}"
