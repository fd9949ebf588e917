"""Orders as the page shows them: by day and customer, with what is done, and how sure the rest is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

import msgspec

from trayward.farm.due import lines_due, standing_days
from trayward.farm.orders import LineDue, StandingOrder
from trayward.farm.repeats import rule_in_words
from trayward.farm.state import FarmState
from trayward.plan.types import LineOutlook, Plan
from trayward.units import show_mass

MOST_LINES = 150
"""A page holds about so many lines, in whole days; there is a next page. [-]"""
MOST_DAYS = 14
"""A page holds so many days at most. [d]"""
PAST_DAYS = 14
"""Days back that stand in the fold. [d]"""
LITTLE_G = 0.5
"""Less than this is nothing: no scale of a farm weighs finer. [g]"""


class LineShown(msgspec.Struct, frozen=True, kw_only=True):
    """One line of an order on a day."""

    line: str
    order: str
    """The order's name, or the repeating order's."""
    repeats: bool
    customer: str
    product: str
    due: date
    asked: str
    """How much, as it was asked: `200 g`, `6 × 50 g`; for live trays empty, and `trays` says it."""
    trays: int
    left_g: float
    left_trays: int
    done_g: float
    done_trays: int
    packed_g: float
    value: float
    """What the whole line brings; 0 where no price is known. [farm's currency]"""
    chance: float | None
    """The chance that it is met in full; None where no plan knows it as it is. [-]"""
    sure: bool
    """Whether that is as sure as the farm wants."""
    short: float
    """Expected to be short of so much: grams, or live trays."""
    why: str
    comes_from: str
    raised_by: str

    @property
    def delivered(self) -> bool:
        """Whether all of it went out."""
        return self.left_g <= LITTLE_G and self.left_trays == 0

    @property
    def begun(self) -> bool:
        """Whether some of it went out, and some did not."""
        return not self.delivered and (self.done_g > 0 or self.done_trays > 0)

    @property
    def packed(self) -> bool:
        """Whether what is left of it lies packed."""
        return not self.delivered and self.left_trays == 0 and self.packed_g >= self.left_g - LITTLE_G


class CustomerShown(msgspec.Struct, frozen=True, kw_only=True):
    """What one customer gets on a day."""

    customer: str
    note: str
    lines: tuple[LineShown, ...]

    @property
    def value(self) -> float:
        """What these lines bring, as far as prices are known. [farm's currency]"""
        return sum(line.value for line in self.lines)

    @property
    def unpriced(self) -> int:
        """Lines without a price."""
        return sum(not line.value for line in self.lines)


class DayShown(msgspec.Struct, frozen=True, kw_only=True):
    """A delivery day."""

    day: date
    customers: tuple[CustomerShown, ...]

    @property
    def lines(self) -> tuple[LineShown, ...]:
        """Every line of the day."""
        return tuple(line for customer in self.customers for line in customer.lines)

    @property
    def likely(self) -> float | None:
        """How many lines are likely met in full; None where no plan says of any of them."""
        known = [1.0 if line.delivered else line.chance for line in self.lines]
        told = [chance for chance in known if chance is not None]
        return sum(told) if any(line.chance is not None for line in self.lines) else None

    @property
    def unknown(self) -> int:
        """Lines of which no plan says how sure they are."""
        return sum(line.chance is None and not line.delivered for line in self.lines)


class WeekShown(msgspec.Struct, frozen=True, kw_only=True):
    """What a customer's orders of a week bring. [farm's currency]"""

    customer: str
    lines: int
    value: float
    unpriced: int


class OrdersShown(msgspec.Struct, frozen=True, kw_only=True):
    """The orders of some days."""

    first: date
    days: tuple[DayShown, ...]
    past: tuple[DayShown, ...]
    missed: int
    """Lines of past days of which something did not go out."""
    next_first: date | None
    """Where the next page begins; None: nothing is due after these days."""
    week: tuple[WeekShown, ...]
    """The week of the first day, Monday to Sunday, by customer."""


def orders_shown(state: FarmState, plan: Plan | None, first: date, today: date, unit: str = "g") -> OrdersShown:
    """The lines of the days from one on, as many days as make a page; with it the days gone by, where it is today."""
    known = {line.line: line for line in plan.lines} if plan is not None else {}
    packed = packed_for(state, today)

    def days_of(lines: Iterable[LineDue]) -> list[DayShown]:
        shown = [line_shown(state, line, known.get(line.line), packed.get(line.line, 0.0), unit) for line in lines]
        return _by_day(state, shown)

    ahead = lines_due(state, first, first + timedelta(days=60))
    page, following = _page(ahead, first)
    past = days_of(_since_the_book(state, today)) if first <= today else []
    return OrdersShown(
        first=first,
        days=tuple(days_of(page)),
        past=tuple(reversed(past)),
        missed=sum(not line.delivered for day in past for line in day.lines),
        next_first=following,
        week=week_of(state, first),
    )


def _page(lines: Sequence[LineDue], first: date) -> tuple[list[LineDue], date | None]:
    """Lines of whole days that make a page, and the day the next page begins with."""
    page: list[LineDue] = []
    for day, own in groupby(lines, key=lambda line: line.due):
        of_day = list(own)
        if page and (len(page) + len(of_day) > MOST_LINES or (day - first).days >= MOST_DAYS):
            return page, day
        page += of_day
    return page, None


def _since_the_book(state: FarmState, today: date) -> list[LineDue]:
    """Lines of the days just gone; what was due before the book began is not this book's."""
    begun = state.began.date() if state.began is not None else today
    first = max(today - timedelta(days=PAST_DAYS), begun)
    return lines_due(state, first, today - timedelta(days=1)) if first < today else []


def packed_for(state: FarmState, today: date) -> dict[str, float]:
    """Grams that lie packed for each line of the next days, the first days first. [g]"""
    if state.settings is None or not any(pack.left > 0 for pack in state.packs.values()):
        return {}
    from trayward.plan.days import Days
    from trayward.plan.demand import open_lines

    found = open_lines(state, Days(state.settings, today, MOST_DAYS))
    return {one.line.line: sum(one.packed.values()) for one in found if one.packed}


def line_shown(state: FarmState, line: LineDue, told: LineOutlook | None, packed_g: float, unit: str) -> LineShown:
    """A line with what the plan says of it, as long as it is still the line that the plan knew."""
    name, _, _ = line.line.rpartition("/")
    order, repeated, _ = name.rpartition("@")
    repeats = bool(repeated) and order in state.standing
    same = told is not None and abs(told.grams - line.grams) <= LITTLE_G and told.trays == line.trays
    left_trays = max(0, line.trays - line.done_trays)
    left_g = 0.0 if line.live else max(0.0, line.grams - line.done_g)
    known = told if same else None
    return LineShown(
        line=line.line,
        order=order if repeats else name,
        repeats=repeats,
        customer=line.customer,
        product=line.product,
        due=line.due,
        asked=asked_words(line, unit),
        trays=line.trays,
        left_g=left_g,
        left_trays=left_trays,
        done_g=line.done_g,
        done_trays=line.done_trays,
        packed_g=packed_g,
        value=line.value,
        chance=known.chance if known is not None else None,
        sure=known.met if known is not None else True,
        short=known.short if known is not None else 0.0,
        why=known.why if known is not None else "",
        comes_from=known.comes_from if known is not None else "",
        raised_by=known.raised_by if known is not None else "",
    )


def asked_words(line: LineDue, unit: str) -> str:
    """
    How much of it, as it was asked.

    Examples
    --------
    >>> from datetime import date
    >>> line = LineDue(line="o/1", customer="", product="", due=date(2026, 12, 4), parts=(), live=False, grams=300,
    ...     trays=0, packs=6, pack_g=50)
    >>> asked_words(line, "g")
    '6 × 50 g'
    """
    if line.live:
        return ""
    if line.packs and line.pack_g:
        return f"{line.packs:g} × {show_mass(line.pack_g, unit)}"
    return show_mass(line.grams, unit)


def _by_day(state: FarmState, lines: Sequence[LineShown]) -> list[DayShown]:
    found = []
    for day, of_day in groupby(sorted(lines, key=lambda one: (one.due, one.customer)), key=lambda one: one.due):
        customers = tuple(
            CustomerShown(customer=who, note=_note(state, who), lines=tuple(own))
            for who, own in groupby(of_day, key=lambda one: one.customer)
        )
        found.append(DayShown(day=day, customers=customers))
    return found


def _note(state: FarmState, customer: str) -> str:
    known = state.customers.get(customer)
    return known.note if known is not None else ""


def week_of(state: FarmState, day: date) -> tuple[WeekShown, ...]:
    """What each customer's orders bring in the week of a day; who brings most goes first."""
    monday = day - timedelta(days=day.weekday())
    found: dict[str, list[LineDue]] = {}
    for line in lines_due(state, monday, monday + timedelta(days=6)):
        found.setdefault(line.customer, []).append(line)
    weeks = [
        WeekShown(
            customer=customer,
            lines=len(lines),
            value=sum(line.value for line in lines),
            unpriced=sum(not line.value for line in lines),
        )
        for customer, lines in found.items()
    ]
    return tuple(sorted(weeks, key=lambda one: (-one.value, one.customer)))


# Orders that repeat ---------------------------------------------------------------------------------------------------


class StandingShown(msgspec.Struct, frozen=True, kw_only=True):
    """An order that repeats, in words."""

    standing: str
    customer: str
    repeats: str
    ended: bool
    pauses: tuple[tuple[date, date], ...]
    """Those not over yet."""
    next_days: tuple[date, ...]
    lines: tuple[str, ...]


def standing_shown(one: StandingOrder, today: date, unit: str) -> StandingShown:
    """An order that repeats, with its next days."""
    ahead = standing_days(one, today, today + timedelta(days=120))
    return StandingShown(
        standing=one.standing,
        customer=one.customer,
        repeats=rule_in_words(one.rule),
        ended=one.ended,
        pauses=tuple((pause.first, pause.last) for pause in one.pauses if pause.last >= today),
        next_days=tuple(ahead[:4]),
        lines=tuple(f"{amount_words(line.quantity, line.unit, unit)} {line.product}" for line in one.lines),
    )


def amount_words(quantity: float, counted: str, unit: str) -> str:
    """An amount as it was asked, in the farm's unit: `200 g`, `6 packs`, `1 tray`."""
    if counted == "g":
        return show_mass(quantity, unit)
    noun = counted.removesuffix("s") if quantity == 1 else counted
    return f"{quantity:g} {noun}"


def by_customer(found: Iterable[StandingShown]) -> Mapping[str, list[StandingShown]]:
    """Orders that repeat, by customer."""
    grouped: dict[str, list[StandingShown]] = {}
    for one in sorted(found, key=lambda each: (each.ended, each.customer, each.standing)):
        grouped.setdefault(one.customer, []).append(one)
    return grouped
