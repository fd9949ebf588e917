"""The month and the year: what was earned by whom and what, against the time before and against what was planned.

A month that is not over is held against as many days of the one before. The plan it is held against is the one that was
kept last before it began: what it expected to go out, at the prices the lines have in the book.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Literal

import msgspec

from trayward.errors import Finding, InputError
from trayward.farm.calendar import local_day, month_end
from trayward.farm.due import lines_due
from trayward.farm.state import FarmState
from trayward.money.coins import exact, from_micro, rounded
from trayward.money.earned import earned
from trayward.money.grown import KnownCosts
from trayward.money.invoicing import without_tax
from trayward.money.sold import Flow
from trayward.money.takings import brought_by
from trayward.money.terms import Terms
from trayward.money.types import CALLED, COSTS, By, Earned, Row
from trayward.plan.types import Plan

DAY = timedelta(days=1)
MET = 0.999
"""A line counts as met from this part of it on: scales differ by a gram."""


class Period(msgspec.Struct, frozen=True, kw_only=True):
    """A month or a year of the calendar."""

    name: str
    """`2026-11` or `2026`."""
    first: date
    last: date

    @property
    def is_year(self) -> bool:
        """Whether it is a year."""
        return len(self.name) == 4

    @property
    def months(self) -> tuple[date, ...]:
        """The first days of its months."""
        return tuple(self.first.replace(month=month) for month in range(1, 13)) if self.is_year else (self.first,)

    @property
    def before(self) -> Period:
        """The one before it."""
        day = self.first - DAY
        return period_of(f"{day:%Y}" if self.is_year else f"{day:%Y-%m}")


class Changed(msgspec.Struct, frozen=True, kw_only=True):
    """A sum now and in the time before. [currency]"""

    what: str
    now: Decimal
    before: Decimal | None

    @property
    def difference(self) -> Decimal | None:
        """By how much it grew; None where there is nothing to hold it against. [currency]"""
        return None if self.before is None else self.now - self.before


class Planned(msgspec.Struct, frozen=True, kw_only=True):
    """What a plan expected of the days it saw, and what came of them."""

    made_at: datetime
    first: date
    last: date
    sales: Decimal
    """Without tax, by what it expected to go out. [currency]"""
    sold: Decimal
    """What was sold on the same days. [currency]"""
    lines: int
    """Order lines it saw."""
    sure: int
    """Of those, how many it called met."""
    met: int
    """How many were."""


class Stood(msgspec.Struct, frozen=True, kw_only=True):
    """A row that stands out."""

    by: Literal["crop", "customer", "week", "month"]
    name: str
    left: Decimal


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """A month or a year of a farm. [currency]"""

    period: Period
    last: date
    """The last day it tells of: today, where the period is not over."""
    over: bool
    crops: Earned
    customers: Earned
    times: Earned
    """By week of a month, by month of a year."""
    before: Earned | None
    """As many days of the period before; None where the book begins later."""
    changes: tuple[Changed, ...]
    """Sold, each cost, all costs, left."""
    planned: Planned | None
    best: tuple[Stood, ...]
    worst: tuple[Stood, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def total(self) -> Row:
        """All together."""
        return self.crops.total

    @property
    def currency(self) -> str:
        """The farm's."""
        return self.crops.currency

    @property
    def accounts(self) -> tuple[Earned, ...]:
        """The same days by crop, by customer, by week or month."""
        return (self.crops, self.customers, self.times)


def period_of(text: str) -> Period:
    """
    A month or a year as it is typed.

    Raises
    ------
    InputError
        If it is neither.

    Examples
    --------
    >>> period_of("2026-11").last, period_of("2026").first, period_of("2026-01").before.name
    (datetime.date(2026, 11, 30), datetime.date(2026, 1, 1), '2025-12')
    """
    match = re.fullmatch(r"(20\d\d|21\d\d)(?:-(0[1-9]|1[0-2]))?", text.strip())
    if match is None:
        raise InputError(
            "period", text.strip() or "nothing", "must be a month or a year", "For instance 2026-11 or 2026."
        )
    year, month = int(match[1]), match[2]
    if month is None:
        return Period(name=match[1], first=date(year, 1, 1), last=date(year, 12, 31))
    first = date(year, int(month), 1)
    return Period(name=match[0], first=first, last=month_end(first))


def report(
    state: FarmState, terms: Terms, period: Period, *, at: datetime, plans: Sequence[Plan] = (),
    known: KnownCosts | None = None,
) -> Report:  # fmt: skip
    """
    Everything a month's or a year's report says.

    Parameters
    ----------
    state : FarmState
        The farm as the book has it at `at`.
    terms : Terms
        What things cost through time.
    period : Period
        Which month or year.
    at : datetime
        Now: a period that is not over is told up to today.
    plans : sequence of Plan
        The plans that were kept last before the period's months began, in that order.
    known : KnownCosts, optional
        What trays cost that was worked out before.

    Raises
    ------
    InputError
        If the period lies ahead.
    """
    today = local_day(at, terms.settings)
    if period.first > today:
        raise InputError("period", period.name, "it has not begun", "Ask for one that has.")
    last = min(period.last, today)
    by_time: By = "month" if period.is_year else "week"

    # By crop, by customer, by week: what a tray cost is worked out once.
    costs = known or KnownCosts()

    def told(by: By) -> Earned:
        return earned(state, terms, period.first, last, by=by, at=at, known=costs)

    crops, customers, times = told("crop"), told("customer"), told(by_time)
    before = _before(state, terms, period, last, at, costs)
    best, worst = _stood((crops, customers, times), _home(state))
    return Report(
        period=period, last=last, over=last == period.last and today > last, crops=crops, customers=customers,
        times=times, before=before, changes=_changes(crops, before),
        planned=_planned(state, terms, period.first, min(last, today - DAY), plans), best=best, worst=worst,
        findings=crops.findings,
    )  # fmt: skip


def _before(
    state: FarmState, terms: Terms, period: Period, last: date, at: datetime, known: KnownCosts
) -> Earned | None:
    """As many days of the period before, where the book knows it from its beginning."""
    former = period.before
    if state.began is None or local_day(state.began, terms.settings) > former.first:
        return None
    end = former.last if last == period.last else min(former.last, former.first + (last - period.first))
    return earned(state, terms, former.first, end, by="crop", at=at, known=known)


def _changes(now: Earned, before: Earned | None) -> tuple[Changed, ...]:
    def changed(what: str, field: str) -> Changed:
        return Changed(
            what=what, now=_sum(now, field), before=_sum(before, field) if before is not None else None
        )  # fmt: skip

    costs = [
        changed(CALLED[part], part) for part in COSTS if _sum(now, part) or (before is not None and _sum(before, part))
    ]
    return (changed("sold", "sales"), *costs, changed("all costs", "costs"), changed("left", "left"))


def _sum(account: Earned, field: str) -> Decimal:
    found: Decimal = getattr(account.total.parts, field)
    return found


def _home(state: FarmState) -> set[str]:
    """Those of the customers who are the grower's own table."""
    return {name for name, customer in state.customers.items() if customer.home}


def _stood(accounts: Sequence[Earned], home: set[str]) -> tuple[tuple[Stood, ...], tuple[Stood, ...]]:
    """The best and the worst of each kind; where there is only one, it is neither. Home earns nothing."""
    best, worst = [], []
    for account in accounts:
        rows = sorted(
            (row for row in account.rows if not row.nobody and row.name not in home),
            key=lambda row: (-row.left, row.name),
        )
        if len(rows) > 1:
            best.append(Stood(by=account.by, name=rows[0].name, left=rows[0].left))  # type: ignore[arg-type]
            worst.append(Stood(by=account.by, name=rows[-1].name, left=rows[-1].left))  # type: ignore[arg-type]
    return tuple(best), tuple(worst)


# Against the plan -----------------------------------------------------------------------------------------------------


def _planned(state: FarmState, terms: Terms, first: date, last: date, plans: Sequence[Plan]) -> Planned | None:
    """What the plans saw of the days that are over, each from where the one before it no longer looks."""
    seen = [(plan, max(plan.first, first), min(plan.last, last)) for plan in plans]
    seen = [(plan, begin, end) for plan, begin, end in seen if begin <= end]
    if not seen:
        return None
    lines, home = {line.line: line for line in lines_due(state, first, last)}, _home(state)
    sales, counted, sure, met, days = Decimal(0), 0, 0, 0, set[date]()
    for number, (plan, begin, end) in enumerate(seen):
        stop = min(end, seen[number + 1][1] - DAY) if number + 1 < len(seen) else end
        days |= {begin + number * DAY for number in range((stop - begin).days + 1)}
        for told in plan.lines:
            line = lines.get(told.line)
            if not begin <= told.due <= stop or told.customer in home or line is None:
                continue
            counted, sure = counted + 1, sure + told.met
            whole, expected = (told.trays, told.met_trays) if told.trays else (told.grams, told.met_grams)
            share = min(expected / whole, 1.0) if whole else 0.0
            sales += without_tax(exact(line.value) * exact(round(share, 6)), line.product, state.billing)
            done = line.done_trays / line.trays if line.live and line.trays else line.done_g / max(line.grams, 1e-9)
            met += done >= MET
    currency = terms.settings.money.currency
    return Planned(
        made_at=seen[0][0].made_at, first=min(days), last=max(days), sales=rounded(sales, currency),
        sold=_sold(state, days, currency), lines=counted, sure=sure, met=met,
    )  # fmt: skip


def _sold(state: FarmState, days: set[date], currency: str) -> Decimal:
    """What was sold on some days, as the account counts it. [currency]"""
    micro = sum(
        brought_by(state, line, currency)
        for delivery in Flow(state, min(days)).deliveries(max(days))
        for line in (delivery.lines if delivery.day in days else ())
    )
    return rounded(from_micro(micro), currency)
