"""What each customer was sold, over years, without an account of what it cost: followed as deliveries are made."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import date
from decimal import Decimal

from trayward.farm.bills import DeliveryMade, LineGone
from trayward.farm.fresh import Fresh
from trayward.farm.state import FarmState
from trayward.money.coins import from_micro, rounded, to_micro
from trayward.money.invoicing import without_tax
from trayward.money.sold import billed, worth


class Takings:
    """What each customer was sold, day by day. [currency]"""

    def __init__(self) -> None:
        self._fresh: Fresh[DeliveryMade] = Fresh()
        self._of: dict[str, tuple[list[date], list[int]]] = {}
        """Customer -> days in order, and what was sold to the end of each. [millionths of the currency]"""

    def between(self, state: FarmState, currency: str, first: date, last: date) -> dict[str, Decimal]:
        """What each customer was sold from one day to another, both included, without tax; who bought nothing is not
        named. The same as an account's sales by customer."""
        self._follow(state, currency)
        found = {}
        for customer, (days, sums) in self._of.items():
            begin, end = bisect_left(days, first), bisect_right(days, last)
            sold = (sums[end - 1] if end else 0) - (sums[begin - 1] if begin else 0)
            if sold:
                found[customer] = rounded(from_micro(sold), currency)
        return found

    def _follow(self, state: FarmState, currency: str) -> None:
        anew, deliveries = self._fresh.of(state.deliveries, under=(currency, state.billing))
        if anew:
            self._of = {}
        for delivery in deliveries:
            sold = sum(brought_by(state, line, currency) for line in delivery.lines)
            days, sums = self._of.setdefault(delivery.customer, ([], []))
            days.append(delivery.day)
            sums.append((sums[-1] if sums else 0) + sold)


def brought_by(state: FarmState, line: LineGone, currency: str) -> int:
    """What a delivered line brought, without tax; 0 at home, and where there is no price. [millionths]"""
    amount = None if line.home else worth(line, billed(state, line))
    if amount is None:
        return 0
    return to_micro(rounded(without_tax(amount, line.product, state.billing), currency))
