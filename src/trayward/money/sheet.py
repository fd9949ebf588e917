"""An account as a table, as CSV and as a spreadsheet (XLSX)."""

from __future__ import annotations

import io
from collections.abc import Sequence
from decimal import Decimal

from trayward.money.journal import to_csv
from trayward.money.report import Report
from trayward.money.report_words import before_words, report_lines, report_title
from trayward.money.types import CALLED, COSTS, Earned, Row
from trayward.units import money_places


def shown_costs(account: Earned) -> tuple[str, ...]:
    """The costs that came to anything."""
    return tuple(part for part in COSTS if getattr(account.total.parts, part))


def headings(account: Earned) -> tuple[str, ...]:
    """What the columns of an account are called."""
    own = ("own table",) if account.total.parts.own_table else ()
    return (account.by, "sales", *(CALLED[part] for part in shown_costs(account)), "costs", "left", *own)


def cells(account: Earned, row: Row) -> tuple[str | Decimal, ...]:
    """A row's name and amounts, in the order of `headings`."""
    costs = (getattr(row.parts, part) for part in shown_costs(account))
    own = (row.parts.own_table,) if account.total.parts.own_table else ()
    return (row.name, row.parts.sales, *costs, row.costs, row.left, *own)


def account_csv(account: Earned) -> str:
    """An account as CSV: its rows, and together."""
    rows: Sequence[Row] = (*account.rows, account.total)
    return to_csv((*headings(account), "currency"), ((*cells(account, row), account.currency) for row in rows))


def account_xlsx(accounts: Sequence[Earned]) -> bytes:
    """
    Accounts of the same days as a workbook: a sheet for each thing they are told by, sums as formulas.

    Parameters
    ----------
    accounts : sequence of Earned
        The first one leads.

    Returns
    -------
    bytes
        An XLSX file (Office Open XML, ISO/IEC 29500).
    """
    import xlsxwriter

    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, {"in_memory": True, "strings_to_formulas": False}) as book:
        for account in accounts:
            _sheet(book, account)
    return kept.getvalue()


def report_xlsx(report: Report) -> bytes:
    """
    A month's or a year's report as a workbook: what it says in short, then by crop, customer and week or month.

    Returns
    -------
    bytes
        An XLSX file (Office Open XML, ISO/IEC 29500).
    """
    import xlsxwriter

    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, {"in_memory": True, "strings_to_formulas": False}) as book:
        _front(book, report)
        for account in report.accounts:
            _sheet(book, account)
    return kept.getvalue()


def _front(book, report: Report) -> None:  # type: ignore[no-untyped-def]
    sheet = book.add_worksheet("in short")
    bold = book.add_format({"bold": True, "text_wrap": True})
    amount = book.add_format({"num_format": _number_format(report.currency)})
    sheet.write_string(0, 0, report_title(report), bold)
    heads = (report.period.name, before_words(report), "difference") if report.before else (report.period.name,)
    for column, words in enumerate((report.currency, *heads)):
        sheet.write_string(1, column, words, bold)
    for number, each in enumerate(report.changes, start=2):
        sheet.write_string(number, 0, each.what)
        sheet.write_number(number, 1, float(each.now), amount)
        if each.before is not None:
            sheet.write_number(number, 2, float(each.before), amount)
            sheet.write_formula(number, 3, f"=B{number + 1}-C{number + 1}", amount, float(each.now - each.before))
    row = len(report.changes) + 3
    for line in report_lines(report, "g"):
        sheet.write_string(row, 0, line)
        row += 1
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 3, 14)


def _number_format(currency: str) -> str:
    digits = money_places(currency)
    return "#,##0" + ("." + "0" * digits if digits else "")


def _sheet(book, account: Earned) -> None:  # type: ignore[no-untyped-def]
    sheet = book.add_worksheet(f"by {account.by}")
    bold = book.add_format({"bold": True, "text_wrap": True})
    plain = _number_format(account.currency)
    amount, total = (
        book.add_format({"num_format": plain}),
        book.add_format({"num_format": plain, "bold": True, "top": 1}),
    )
    sheet.write_string(0, 0, f"{account.first} to {account.last}, {account.currency}", bold)
    for column, words in enumerate(headings(account)):
        sheet.write_string(1, column, words, bold)
    for number, row in enumerate(account.rows, start=2):
        name, *amounts = cells(account, row)
        sheet.write_string(number, 0, str(name))
        for column, value in enumerate(amounts, start=1):
            sheet.write_number(number, column, float(value), amount)
    end = len(account.rows) + 2
    sheet.write_string(end, 0, "together", total)
    for column, value in enumerate(cells(account, account.total)[1:], start=1):
        letter = chr(ord("A") + column)
        sheet.write_formula(
            end, column, f"=SUM({letter}3:{letter}{end})" if account.rows else "=0", total, float(value)
        )
    sheet.set_column(0, 0, 28)
    sheet.set_column(1, len(headings(account)), 12)
    sheet.freeze_panes(2, 1)
