"""What two plans side by side come to: money, service, crops and limits, each with the change and without it."""

from __future__ import annotations

from datetime import date

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.types import Plan

CENT = 0.005
"""What is less than this is nothing. [currency]"""


class Side(msgspec.Struct, frozen=True):
    """A farm and the plan made for it."""

    state: FarmState
    plan: Plan


class Between(msgspec.Struct, frozen=True, kw_only=True):
    """What a change is worth in the futures both plans were checked by, over the plan's days. [currency]"""

    count: int
    """How many futures."""
    mean: float
    """Worth (margin less the price of letting down), with the change less without it."""
    low: float
    high: float
    """Between these the mean lies, as surely as so many futures can tell: 95 in 100."""
    tenth: float
    ninetieth: float
    """Of ten futures eight lie between these."""
    better: float
    worse: float
    """Share of futures in which it is worth more, and less, with the change. [-]"""
    margin: float
    """The mean difference of the margin alone."""
    own: float
    own_low: float
    own_high: float
    """The same as worth, by what the plans are chosen by: being as sure as the farm wants is paid for, too."""

    @property
    def agrees(self) -> bool:
        """Whether what the plans are chosen by says the same as the money, or surely the contrary."""
        return self.own * self.mean >= 0 or self.unlike

    @property
    def unlike(self) -> bool:
        """Whether there is more money at the cost of being sure, or less for being surer; and that for sure."""
        return self.mean * self.own < 0 and self.own_low * self.own_high > 0


class Beside(msgspec.Struct, frozen=True, kw_only=True):
    """One figure of both plans; `difference` is with it less as it is."""

    what: str
    with_it: float
    as_it_is: float
    difference: float
    unit: str = ""


class CustomerBeside(msgspec.Struct, frozen=True, kw_only=True):
    """How many lines of a customer are due, and how many of them are met in full."""

    customer: str
    lines_with_it: int
    met_with_it: int
    lines_as_it_is: int
    met_as_it_is: int


class LimitBeside(msgspec.Struct, frozen=True, kw_only=True):
    """What a limit lacks at most on one day, and in how many weeks it is in the way; 0: not in the way."""

    limit: str
    unit: str
    short_with_it: float
    weeks_with_it: int
    short_as_it_is: float
    weeks_as_it_is: int


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """What a change would be worth, by two plans of the same days. Money in the farm's currency, weights in g."""

    what_if: tuple[str, ...]
    """What is supposed, as it was understood."""
    verdict: str
    told_apart: bool
    """Whether the plans differ in worth by more than chance and the search can make."""
    worth_a_week: float
    """Margin less what letting down costs, with it less as it is. [currency/week]"""
    margin_a_week: float
    """The margin alone. [currency/week]"""
    doubt_a_week: float
    """How far the worth may lie from what is said; where both plans were not made for the same futures, how far they
    together may lie from their best. [currency/week]"""
    currency: str
    first: date
    last: date
    money: tuple[Beside, ...]
    """Over all the plan's days. [currency]"""
    service: tuple[Beside, ...]
    customers: tuple[CustomerBeside, ...]
    crops: tuple[Beside, ...]
    """Trays sown."""
    limits: tuple[LimitBeside, ...]
    newly_met: tuple[str, ...]
    """Order lines in both plans, short as it is and met in full with it."""
    no_longer_met: tuple[str, ...]
    notes: tuple[str, ...]
    as_it_is: Plan
    with_it: Plan
    between: Between | None = None
    """Future by future, over all the plan's days; None where the plans were not made for the same futures."""
