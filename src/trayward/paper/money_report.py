"""A month's or a year's report on paper: in short, against the time before and the plan, then row by row."""

from __future__ import annotations

from decimal import Decimal

from trayward.farm.settings import FarmSettings
from trayward.money.report import Changed, Report
from trayward.money.report_words import before_words, report_lines, report_title
from trayward.money.types import Earned, Row
from trayward.paper.flow import Column, Flow, Words
from trayward.paper.paper import Paper
from trayward.paper.tongue import Tongue, later

BY = {
    "crop": later("By crop"), "customer": later("By customer"), "week": later("By week"), "month": later("By month"),
}  # fmt: skip
SUMS = {
    "sold": later("sold"), "seed": later("seed"), "medium and wear": later("medium and wear"), "hands": later("hands"),
    "light": later("light"), "packs": later("packs"), "disposal": later("disposal"), "overheads": later("overheads"),
    "supplies otherwise": later("supplies otherwise"), "feed": later("feed"),
    "soap and sanitiser": later("soap and sanitiser"), "own table": later("own table"),
    "all costs": later("all costs"), "left": later("left"),
}  # fmt: skip
NOBODY = {
    "trays thrown away": later("trays thrown away"), "cut, thrown away": later("cut, thrown away"),
    "in the cold room": later("in the cold room"), "still growing": later("still growing"),
    "empty spots": later("empty spots"), "not known": later("not known"),
}  # fmt: skip
FIGURE = 22.5
"""Room for an amount. [mm]"""


def report_sheet(report: Report, paper: Paper, settings: FarmSettings) -> bytes:
    """The report as one PDF, black on white."""
    tongue = paper.tongue
    period = f"{report.period.first.year}" if report.period.is_year else tongue.month(report.period.first)
    first, last = tongue.plain_day(report.period.first), tongue.plain_day(report.last)
    about = tongue._("%(first)s to %(last)s, in %(currency)s", first=first, last=last, currency=report.currency)
    flow = paper.flow(tongue._("Money, %(period)s", period=period), about)
    flow.words(tongue.said(report_title(report)), bold=True)
    flow.gap(3.0)
    _against(flow, report)
    flow.gap(2.0)
    for line in report_lines(report, settings.units.mass):
        flow.words(tongue.said(line))
    for account in report.accounts:
        _account(flow, account)
    _holds(flow, report)
    return flow.pdf()


def _against(flow: Flow, report: Report) -> None:
    """Each sum, with the time before and the difference where there is one."""
    columns = [Column(), Column(title=report.period.name, wide=34.0, align="right")]
    if report.before is not None:
        columns += [
            Column(title=flow.tongue.said(before_words(report)), wide=38.0, align="right"),
            Column(title=later("Difference"), wide=34.0, align="right"),
        ]
    flow.table(columns)
    for each in report.changes:
        flow.row(*_change(each, report, flow.tongue))
    flow.end_table()
    if report.before is None:
        words = flow.tongue._("The book begins later than the time before, so there is nothing to hold it against.")
        flow.words(words)


def _change(each: Changed, report: Report, tongue: Tongue) -> tuple[str | Words, ...]:
    bold = each.what in ("sold", "all costs", "left")
    amounts = [each.now] if report.before is None else [each.now, each.before, each.difference]
    shown = [_amount(amount, tongue) for amount in amounts]
    if report.before is not None and each.difference is not None and each.difference > 0:
        shown[-1] = f"+{shown[-1]}"
    what = tongue._(SUMS.get(each.what, each.what))
    return tuple(Words(words=words, bold=bold) for words in (what, *shown))


def _amount(amount: Decimal | None, tongue: Tongue) -> str:
    return "" if amount is None else tongue.money(amount).replace("-", "\u2212")


def _account(flow: Flow, account: Earned) -> None:
    flow.gap(5.0)
    tongue = flow.tongue
    flow.heading_line(tongue._(BY[account.by]), keep=26.0)
    if not account.rows:
        flow.words(tongue._("Nothing left the racks and nothing was sold."))
        return
    heads = (later("Sold"), later("Seed"), later("Hands"), later("Light"), later("Other"), later("Left"))
    flow.table((Column(), *(Column(title=head, wide=FIGURE, align="right") for head in heads)))
    for row in account.rows:
        flow.row(tongue._(NOBODY.get(row.name, row.name)) if row.nobody else row.name, *_cells(row, tongue))
    total = (Words(words=words, bold=True) for words in _cells(account.total, tongue))
    flow.row(Words(words=tongue._("together"), bold=True), *total)
    flow.end_table()


def _cells(row: Row, tongue: Tongue) -> list[str]:
    parts = row.parts
    return [
        _amount(each, tongue) for each in (parts.sales, parts.seed, parts.hands, parts.energy, parts.other, row.left)
    ]


def _holds(flow: Flow, report: Report) -> None:
    flow.gap(5.0)
    tongue = flow.tongue
    flow.heading_line(tongue._("What the figures rest on"), keep=14.0)
    for words in report.crops.holds:
        flow.words(tongue.said(words))
    for finding in report.findings:
        flow.words(tongue._("Deserves a look: %(finding)s", finding=tongue.said(finding.sentence())))
