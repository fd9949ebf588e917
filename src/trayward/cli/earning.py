"""The commands `money`: what the farm earned, reports, what if prices were others; `invoicing` has those that write."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import click

from trayward.cli import people
from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.files import OVER, file_named, save
from trayward.cli.given import Given, group
from trayward.cli.invoicing import COMMANDS as INVOICING
from trayward.cli.numbers import NUMBER
from trayward.cli.show import Column, answer, looks, table, wrapped
from trayward.cli.tongue import LANGUAGE, tongue_of
from trayward.cli.when import parse_day
from trayward.money.coins import money_of
from trayward.money.types import BY as WAYS
from trayward.units import show_mass, show_money
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.money.report import Report
    from trayward.money.types import By, Earned, Row

WEEKS = 4
"""Weeks back that count where nobody says from when."""
BY = click.option("--by", "way", type=click.Choice(WAYS), default="crop", help="By what it is told. Example: customer.")
FROM = click.option(
    "--from", "first", metavar="DAY", help="First day; four weeks back if left out. Example: 2026-11-01."
)
TO = click.option("--to", "last", metavar="DAY", help="Last day; today if left out. Example: 2026-11-30.")


@group("money", example="trayward money --by customer --from 2026-11-01 --to 2026-11-30")
@BY
@FROM
@TO
@click.option("--csv", "csv_file", metavar="FILE", help=f"Save it as CSV too, {OVER}. Example: november.csv.")
@click.option("--xlsx", metavar="FILE", help=f"Save a spreadsheet too, {OVER}. Example: november.xlsx.")
@with_picture
def money(
    given: Given, way: By, first: str | None, last: str | None, csv_file: str | None, xlsx: str | None,
    picture: str | None, phone: bool,
) -> None:  # fmt: skip
    """What was earned after seed, medium and wear, hands, light, packs and overheads; by crop, if not said."""
    drawing = Drawing(picture, phone=phone)
    csv_path = file_named(csv_file, ".csv", name="csv") if csv_file else None
    xlsx_path = file_named(xlsx, ".xlsx", name="xlsx") if xlsx else None
    begin, end = _days(given, first, last)
    account = given.farm.earned(begin, end, by=way, at=given.at)
    if csv_path:
        from trayward.money.sheet import account_csv

        save(csv_path, account_csv(account).encode("utf-8-sig"), name="csv")
    if xlsx_path:
        from trayward.money.sheet import account_xlsx

        others = [other for other in ("crop", "customer", "week") if other != way]
        more = [given.farm.earned(begin, end, by=other, at=given.at) for other in others]  # type: ignore[arg-type]
        save(xlsx_path, account_xlsx([account, *more]), name="xlsx")

    def draw(wide: Any) -> Any:
        from trayward.pictures.earned import earned_picture

        return earned_picture(_figures(account), _title(account), wide=wide)

    saved = drawing.save(draw)
    answer(given, {"account": account, **saved}, lambda: tell(given, account))
    drawing.tell(given)


def tell(given: Given, account: Earned) -> None:
    """An account in words and a table."""
    if not account.rows:
        wrapped(f"From {account.first} to {account.last} nothing left the racks and nothing was sold.")
        looks(account.findings)
        return
    wrapped(_title(account))
    click.echo("")
    columns = (
        account.by,
        *(Column(name, right=True) for name in ("sold", "seed", "hands", "light", "other", "costs", "left")),
    )
    table(columns, [_cells(row) for row in (*account.rows, account.total)])
    click.echo("")
    for words in _more(given, account):
        wrapped(words, "  ")
    looks(account.findings)


def _cells(row: Row) -> list[str]:
    """A row that fits the terminal: what is not named stands together."""
    parts = row.parts
    amounts = (parts.sales, parts.seed, parts.hands, parts.energy, parts.other, row.costs, row.left)
    return [row.name, *(str(each) for each in amounts)]


def _title(account: Earned) -> str:
    parts = account.total
    sales = show_money(float(parts.parts.sales), account.currency)
    costs, left = show_money(float(parts.costs), account.currency), show_money(float(parts.left), account.currency)
    return f"{account.first} to {account.last}: {sales} sold, {costs} of costs, {left} left."


def _more(given: Given, account: Earned) -> list[str]:
    lost, unit = account.lost, given.units.mass
    found = [
        f"{counted(account.trays_cut, 'tray')} cut, {show_mass(account.cut_g, unit)}; "
        f"{show_mass(account.sold_g, unit)} delivered; {counted(account.trays_live, 'live tray')}."
    ]
    if account.per_kg is not None:
        found.append(f"Left for a kilogram delivered: {account.per_kg} {account.currency}.")
    if account.per_spot_week is not None:
        found.append(f"Left for a spot and week: {account.per_spot_week} {account.currency}.")
    if lost.trays:
        found.append(
            f"Lost: {counted(lost.trays, 'tray')} thrown away, at a cost of {lost.trays_cost} {account.currency}."
        )
    if lost.thrown_g:
        thrown = show_mass(lost.thrown_g, unit)
        found.append(f"Lost: {thrown} cut and thrown away, at a cost of {lost.thrown_cost} {account.currency}.")
    if lost.short_lines:
        found.append(
            f"Not earned: {counted(lost.short_lines, 'order line')} fell short; that would have brought "
            f"{lost.short_value} {account.currency} more."
        )
    return found + list(account.holds)


@money.add("report", example="trayward money report 2026-11 --pdf november.pdf --xlsx november.xlsx")
@click.argument("period", required=False)
@click.option("--pdf", metavar="FILE", help=f"Save it for the printer too, {OVER}. Example: november.pdf.")
@click.option("--xlsx", metavar="FILE", help=f"Save a spreadsheet too, {OVER}. Example: november.xlsx.")
@click.option("--size", default="", metavar="PAPER", help="A4 or Letter; the farm's if left out. Example: A4.")
@LANGUAGE
@with_picture
def report(
    given: Given, period: str | None, pdf: str | None, xlsx: str | None, size: str, language: str,
    picture: str | None, phone: bool,
) -> None:  # fmt: skip
    """A month or a year: PERIOD is 2026-11 or 2026; this month if left out. Against the time before and the plan."""
    drawing = Drawing(picture, phone=phone)
    pdf_path = file_named(pdf, ".pdf", name="pdf") if pdf else None
    xlsx_path = file_named(xlsx, ".xlsx", name="xlsx") if xlsx else None
    found = given.farm.money_report(period or f"{given.today:%Y-%m}", at=given.at)
    if pdf_path:
        from trayward.paper.money_report import report_sheet
        from trayward.paper.paper import paper_of

        paper = paper_of(given.settings, given.at, size, tongue_of(given, language))
        save(pdf_path, report_sheet(found, paper, given.settings), name="pdf")
    if xlsx_path:
        from trayward.money.sheet import report_xlsx

        save(xlsx_path, report_xlsx(found), name="xlsx")

    def draw(wide: Any) -> Any:
        from trayward.money.report_words import report_title
        from trayward.pictures.earned import earned_report_picture

        heads = "Month by month" if found.period.is_year else "Week by week"
        title = report_title(found)
        return earned_report_picture(
            _figures(found.times), _figures(found.crops), title, times_are=heads, wide=wide
        )  # fmt: skip

    saved = drawing.save(draw)
    files = {"pdf": pdf} if pdf else {}
    files |= {"xlsx": xlsx} if xlsx else {}
    answer(given, {"report": found, **files, **saved}, lambda: _tell_report(given, found, list(files.values())))
    drawing.tell(given)


def _tell_report(given: Given, found: Report, files: list[str]) -> None:
    """A report in words and tables."""
    from trayward.money.report_words import before_words, report_lines, report_title

    wrapped(report_title(found))
    click.echo("")
    columns: list[Column | str] = ["", Column(found.period.name, right=True)]
    if found.before is not None:
        columns += [Column(before_words(found), right=True), Column("difference", right=True)]
    rows = [
        [each.what, str(each.now), *([str(each.before), str(each.difference)] if found.before is not None else [])]
        for each in found.changes
    ]
    table(columns, rows)
    for account in found.accounts:
        click.echo("")
        figures = [Column(name, right=True) for name in ("sold", "costs", "left")]
        lines = [[row.name, str(row.parts.sales), str(row.costs), str(row.left)] for row in account.rows]
        table([account.by, *figures], lines, none="Nothing left the racks and nothing was sold.")
    click.echo("")
    for words in report_lines(found, given.units.mass):
        wrapped(words, "  ")
    looks(found.findings)
    for file in files:
        wrapped(f"Saved: {file}", "  ")


def _figures(account: Earned) -> Any:
    from trayward.pictures.types import EarnedBar, EarnedFigures

    bars = tuple(
        EarnedBar(
            name=row.name, sales=float(row.parts.sales), costs=float(row.costs), left=float(row.left), nobody=row.nobody
        )
        for row in account.rows
    )
    return EarnedFigures(bars=bars, currency=account.currency)


@money.add("if", example='trayward money if --wage 18 --price "pea=3.20" --from 2026-11-01')
@BY
@FROM
@TO
@click.option("--wage", type=NUMBER, metavar="MONEY", help="An hour of hands. Example: 18.")
@click.option("--energy", type=NUMBER, metavar="MONEY", help="A kilowatt hour. Example: 0.42.")
@click.option("--pack", type=NUMBER, metavar="MONEY", help="A pack. Example: 0.30.")
@click.option("--disposal", type=NUMBER, metavar="MONEY", help="A kilogram thrown away. Example: 0.20.")
@click.option("--price", "prices", multiple=True, metavar="PRODUCT=MONEY", help="A product's price. Example: pea=3.20.")
@click.option("--monthly", multiple=True, metavar="NAME=MONEY", help="What comes every month. Example: rent=400.")
def what_if(
    given: Given, way: By, first: str | None, last: str | None, wage: float | None, energy: float | None,
    pack: float | None, disposal: float | None, prices: Sequence[str], monthly: Sequence[str],
) -> None:  # fmt: skip
    """The same record at other prices or wages, side by side; what would have been ordered then, nobody knows."""
    from trayward.money.types import Supposed

    begin, end = _days(given, first, last)
    supposed = Supposed(
        wage_h=wage, energy_kwh=energy, packaging=pack, disposal_kg=disposal,
        prices={name: _number(text, name) for name, text in _pairs(prices, "pea=3.20").items()},
        overheads={name: _number(text, name) for name, text in _pairs(monthly, "rent=400").items()},
    )  # fmt: skip
    found = given.farm.earned_if(begin, end, supposed, by=way, at=given.at)

    def human() -> None:
        wrapped(f"With {'; '.join(found.words)}, {_title(found.then)}")
        click.echo("")
        then = {row.name: row.left for row in found.then.rows}
        rows = [
            [row.name, str(row.left), str(then.get(row.name, "")), str(then[row.name] - row.left)]
            for row in found.now.rows
        ]
        rows.append(["together", str(found.now.total.left), str(found.then.total.left), str(found.difference)])
        table((way, "left", "left then", "difference"), rows)

    answer(given, found, human)


@money.add("journal", example="trayward money journal november.csv --from 2026-11-01 --to 2026-11-30")
@click.argument("file", required=False)
@FROM
@TO
def journal(given: Given, file: str | None, first: str | None, last: str | None) -> None:
    """Rows for a bookkeeper, invoices, payments, costs by month. One with a licence says what counts."""
    from trayward.money.journal import HEADINGS, journal_csv

    path = file_named(file, ".csv") if file else None
    begin, end = _days(given, first, last)
    rows = given.farm.journal(begin, end, at=given.at)
    if path:
        save(path, journal_csv(rows).encode("utf-8-sig"))

    def human() -> None:
        shown = [
            [str(row.day), row.document, row.account, row.words, str(row.debit or ""), str(row.credit or "")]
            for row in rows
        ]  # fmt: skip
        table(HEADINGS[:-1], shown, none="Nothing was invoiced, paid or used up.")
        if file:
            wrapped(f"Saved: {file}")

    answer(given, {"rows": rows}, human)


# Said words -----------------------------------------------------------------------------------------------------------


def _days(given: Given, first: str | None, last: str | None) -> tuple[date, date]:
    end = parse_day(last, given.today, "last day") if last else given.today
    return parse_day(first, given.today, "first day") if first else end - timedelta(days=7 * WEEKS - 1), end


def _number(text: str, name: str) -> float:
    return float(money_of(text, name))


def _pairs(words: Sequence[str], example: str) -> dict[str, str]:
    return people.pairs(words, example, spaced=True)


for _invoicing in INVOICING:
    money.add_command(_invoicing)
