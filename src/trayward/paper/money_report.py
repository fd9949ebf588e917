"""A month's or a year's report on paper: in short, against the time before and the plan, then row by row."""

from __future__ import annotations

from decimal import Decimal

from trayward.farm.settings import FarmSettings
from trayward.money.report import Changed, Report
from trayward.money.report_words import before_words, period_words, report_lines, report_title
from trayward.money.types import Earned, Row
from trayward.paper.flow import Column, Flow, Words
from trayward.paper.invoice import money_words
from trayward.paper.paper import Paper

BY = {"crop": "By crop", "customer": "By customer", "week": "By week", "month": "By month"}
FIGURE = 22.5
"""Room for an amount. [mm]"""


def report_sheet(report: Report, paper: Paper, settings: FarmSettings) -> bytes:
    """The report as one PDF, black on white."""
    about = f"{report.period.first} to {report.last}, in {report.currency}"
    flow = paper.flow(f"Money, {period_words(report)}", about)
    flow.words(report_title(report), bold=True)
    flow.gap(3.0)
    _against(flow, report)
    flow.gap(2.0)
    for line in report_lines(report, settings.units.mass):
        flow.words(line)
    for account in report.accounts:
        _account(flow, account)
    _holds(flow, report)
    return flow.pdf()


def _against(flow: Flow, report: Report) -> None:
    """Each sum, with the time before and the difference where there is one."""
    columns = [Column(), Column(title=report.period.name, wide=34.0, align="right")]
    if report.before is not None:
        columns += [
            Column(title=before_words(report), wide=38.0, align="right"),
            Column(title="Difference", wide=34.0, align="right"),
        ]
    flow.table(columns)
    for each in report.changes:
        flow.row(*_change(each, report))
    flow.end_table()
    if report.before is None:
        flow.words("The book begins later than the time before, so there is nothing to hold it against.")


def _change(each: Changed, report: Report) -> tuple[str | Words, ...]:
    bold = each.what in ("sold", "all costs", "left")
    amounts = [each.now] if report.before is None else [each.now, each.before, each.difference]
    shown = [_amount(amount) for amount in amounts]
    if report.before is not None:
        shown[-1] = _signed(each.difference)
    return tuple(Words(words=words, bold=bold) for words in (each.what, *shown))


def _amount(amount: Decimal | None) -> str:
    return "" if amount is None else money_words(amount).replace("-", "\u2212")


def _signed(amount: Decimal | None) -> str:
    return f"+{_amount(amount)}" if amount is not None and amount > 0 else _amount(amount)


def _account(flow: Flow, account: Earned) -> None:
    flow.gap(5.0)
    flow.heading_line(BY[account.by], keep=26.0)
    if not account.rows:
        flow.words("Nothing left the racks and nothing was sold.")
        return
    heads = ("Sold", "Seed", "Hands", "Light", "Other", "Left")
    flow.table((Column(), *(Column(title=head, wide=FIGURE, align="right") for head in heads)))
    for row in account.rows:
        flow.row(row.name, *_cells(row))
    flow.row(Words(words="together", bold=True), *(Words(words=words, bold=True) for words in _cells(account.total)))
    flow.end_table()


def _cells(row: Row) -> list[str]:
    parts = row.parts
    return [_amount(each) for each in (parts.sales, parts.seed, parts.hands, parts.energy, parts.other, row.left)]


def _holds(flow: Flow, report: Report) -> None:
    flow.gap(5.0)
    flow.heading_line("What the figures rest on", keep=14.0)
    for words in report.crops.holds:
        flow.words(words)
    for finding in report.findings:
        flow.words(f"Deserves a look: {finding.sentence()}")
