"""What a report says in sentences, the same on the terminal, on paper and in a spreadsheet."""

from __future__ import annotations

from decimal import Decimal

from trayward.dates import day_words
from trayward.farm.repeats import MONTH_NAMES
from trayward.money.report import Planned, Report, Stood
from trayward.money.types import Earned
from trayward.units import show_mass, show_money
from trayward.words import counted


def period_words(report: Report) -> str:
    """The month or the year in words: `November 2026`."""
    first = report.period.first
    return f"{first.year}" if report.period.is_year else f"{MONTH_NAMES[first.month - 1]} {first.year}"


def report_title(report: Report) -> str:
    """What a report says in one sentence."""
    currency, parts = report.currency, report.total.parts
    sold, costs = show_money(float(parts.sales), currency), show_money(float(parts.costs), currency)
    sums = f"{sold} sold, {costs} of costs, {_left(parts.left, currency)}"
    if report.over:
        return f"{period_words(report)}: {sums}."
    return f"{period_words(report)} up to {day_words(report.last)}: {sums}."


def _left(left: Decimal, currency: str) -> str:
    return f"{show_money(float(abs(left)), currency)} {'left' if left >= 0 else 'lost'}"


def before_words(report: Report) -> str:
    """What it is held against: `2026-10`, or as many days of it."""
    assert report.before is not None
    former = report.period.before
    if report.before.last == former.last:
        return former.name
    return f"{former.name} to {day_words(report.before.last)}"


def report_lines(report: Report, mass: str) -> list[str]:
    """What stands out, sentence by sentence. `mass`: the unit of weights."""
    found = [*_grown(report.crops, mass), *_lost(report.crops, mass)]
    found += [f"Best {_stood_words(stood, report.currency)}" for stood in report.best]
    found += [f"Least {_stood_words(stood, report.currency)}" for stood in report.worst]
    return [*found, *plan_lines(report.planned, report.currency)]


def _grown(account: Earned, mass: str) -> list[str]:
    found = [
        f"{counted(account.trays_cut, 'tray')} cut, {show_mass(account.cut_g, mass)}; "
        f"{show_mass(account.sold_g, mass)} delivered; {counted(account.trays_live, 'live tray')}."
    ]
    if account.per_kg is not None:
        found.append(f"Left for a kilogram delivered: {account.per_kg} {account.currency}.")
    if account.per_spot_week is not None:
        found.append(f"Left for a spot and week: {account.per_spot_week} {account.currency}.")
    return found


def _lost(account: Earned, mass: str) -> list[str]:
    lost, currency = account.lost, account.currency
    found = []
    if lost.trays:
        found.append(f"Lost: {counted(lost.trays, 'tray')} thrown away, at a cost of {lost.trays_cost} {currency}.")
    if lost.thrown_g:
        thrown = show_mass(lost.thrown_g, mass)
        found.append(f"Lost: {thrown} cut and thrown away, at a cost of {lost.thrown_cost} {currency}.")
    if lost.short_lines:
        short = counted(lost.short_lines, "order line")
        found.append(f"Not earned: {short} fell short; that would have brought {lost.short_value} {currency} more.")
    return found


def _stood_words(stood: Stood, currency: str) -> str:
    return f"{stood.by}: {stood.name}, {show_money(float(stood.left), currency)} left."


def plan_lines(planned: Planned | None, currency: str) -> list[str]:
    """What came of the plan."""
    if planned is None:
        return ["No plan was kept before it began, so there is none to hold it against."]
    days = f"{day_words(planned.first)} to {day_words(planned.last)}"
    expected, sold = show_money(float(planned.sales), currency), show_money(float(planned.sold), currency)
    return [
        f"The plan kept before it began saw {days}: {expected} to be sold, and {sold} was.",
        f"It called {planned.sure} of {counted(planned.lines, 'order line')} met; {planned.met} were.",
    ]
