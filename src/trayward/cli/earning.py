"""The commands `money`: what the farm earned, what if prices were others, price lists, invoices, what is owed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import click

from trayward.cli import people
from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.files import OVER, file_named, save
from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER, WHOLE
from trayward.cli.show import Column, answer, looks, table, wrapped, written
from trayward.cli.tongue import LANGUAGE, tongue_of
from trayward.cli.when import parse_day
from trayward.money.coins import amount_of, price_words
from trayward.money.types import BY as WAYS
from trayward.rounds.words import counted
from trayward.units import show_mass, show_money

if TYPE_CHECKING:
    from trayward.farm.bills import Bill, BillHeld
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

        save(csv_path, account_csv(account).encode(), name="csv")
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
        save(path, journal_csv(rows).encode())

    def human() -> None:
        shown = [
            [str(row.day), row.document, row.account, row.words, str(row.debit or ""), str(row.credit or "")]
            for row in rows
        ]  # fmt: skip
        table(HEADINGS[:-1], shown, none="Nothing was invoiced, paid or used up.")
        if file:
            wrapped(f"Saved: {file}")

    answer(given, {"rows": rows}, human)


# Prices and habits ----------------------------------------------------------------------------------------------------


@money.add("prices", example='trayward money prices "Corner Cafe" pea=3.00 --valid-from 2026-12-01', records=True)
@click.argument("customer")
@click.argument("prices", nargs=-1, metavar="PRODUCT=MONEY...")
@click.option("--valid-from", metavar="DAY", help="First day they hold; today if left out. Example: 2026-12-01.")
def prices(given: Given, customer: str, prices: Sequence[str], valid_from: str | None) -> None:
    """A CUSTOMER's own prices from a day on, all of them; what went out before keeps its price.

    Larger amounts may have other prices: "pea punnet=3.40 from 10 at 3.00".
    """
    from trayward.money.listed import listed_price

    said = _pairs(prices, "pea=3.00")
    listed = [listed_price(name, text) for name, text in said.items()]
    begin = parse_day(valid_from, given.today) if valid_from else given.today
    receipt = given.farm.set_prices(customer, listed, begin, **given.said)
    written(given, receipt, f"Prices of {customer} from {begin}: {', '.join(prices) or 'none of their own'}.")


@money.add("billing", example='trayward money billing --seller "Lantern Loft" --rate reduced=7', records=True)
@click.option("--seller", required=True, metavar="NAME", help='Who sells. Example: "Lantern Loft".')
@click.option("--address", default="", metavar="WORDS", help='Where. Example: "1 Attic Stairs".')
@click.option("--tax-number", default="", metavar="WORDS", help="The number the tax office gave. Example: LL-1.")
@click.option("--prefix", default="", metavar="WORDS", help="Stands before every number. Example: LL-.")
@click.option("--days", type=WHOLE, default=14, metavar="DAYS", help="Days to pay; 14 if left out. Example: 30.")
@click.option(
    "--rate",
    "rates",
    multiple=True,
    metavar="NAME=PERCENT",
    help="A rate of tax, the usual first. Example: reduced=7.",
)
@click.option(
    "--product", "products", multiple=True, metavar="PRODUCT=RATE", help="Its own rate. Example: pea=standard."
)
@click.option("--included", is_flag=True, help="Prices hold the tax already. Example: --included.")
@click.option("--half-even", is_flag=True, help="Half a coin goes to the even one, not up. Example: --half-even.")
@click.option("--each-line", is_flag=True, help="Tax is rounded on each line, not once. Example: --each-line.")
@click.option("--wording", default="", metavar="WORDS", help='Words that must stand on it. Example: "No tax."')
@click.option("--pay-to", default="", metavar="WORDS", help='How to pay. Example: "cash or transfer".')
@click.option(
    "--account", "accounts", multiple=True, metavar="WHAT=NAME", help="Your name of an account. Example: sales=4000."
)
def billing(given: Given, rates: Sequence[str], products: Sequence[str], accounts: Sequence[str], **told: Any) -> None:
    """How invoices are written from now on. For rates and words defer to a licensed bookkeeper and the local rules."""
    from trayward.farm.bills import Account, Billing, Party, ProductRate, TaxRate

    asked = _pairs(rates, "reduced=7")
    made = Billing(
        seller=Party(name=told["seller"], address=told["address"], tax_number=told["tax_number"]),
        prefix=told["prefix"],
        days=told["days"],
        rates=tuple(TaxRate(name=name, percent=amount_of(text, name)) for name, text in asked.items()),
        products=tuple(ProductRate(product=a, rate=b) for a, b in _pairs(products, "pea=standard").items()),
        included=told["included"],
        rounding="half even" if told["half_even"] else "half up",
        per="line" if told["each_line"] else "document",
        wording=told["wording"],
        pay_to=told["pay_to"],
        accounts=tuple(Account(what=a, account=b) for a, b in _pairs(accounts, "sales=4000").items()),
    )
    receipt = given.farm.set_billing(made, **given.said)
    written(given, receipt, f"Invoices are written from {told['seller']}, {told['days']} days to pay.")


@money.add("buyer", example='trayward money buyer "Corner Cafe" --name "Corner Cafe Ltd" --days 30', records=True)
@click.argument("customer")
@click.option("--name", required=True, metavar="NAME", help='As invoices name them. Example: "Corner Cafe Ltd".')
@click.option("--address", default="", metavar="WORDS", help='Where. Example: "2 Hill Road".')
@click.option("--tax-number", default="", metavar="WORDS", help="Their tax number. Example: CC-9.")
@click.option("--days", type=WHOLE, metavar="DAYS", help="Days to pay, where they differ. Example: 30.")
def buyer(given: Given, customer: str, name: str, address: str, tax_number: str, days: int | None) -> None:
    """Whom a CUSTOMER's invoices are written to."""
    from trayward.farm.bills import Buyer, Party

    party = Party(name=name, address=address, tax_number=tax_number)
    receipt = given.farm.set_buyer(Buyer(customer=customer, party=party, days=days), **given.said)
    written(given, receipt, f"Invoices of {customer} are written to {name}.")


# Invoices -------------------------------------------------------------------------------------------------------------


@money.add("invoice", example='trayward money invoice "Corner Cafe" --up-to 2026-11-30', records=True)
@click.argument("customer")
@click.option("--up-to", metavar="DAY", help="The last day of delivery; today if left out. Example: 2026-11-30.")
@click.option("--look", is_flag=True, help="Only show it; nothing is recorded. Example: --look.")
def invoice(given: Given, customer: str, up_to: str | None, look: bool) -> None:
    """Make the next invoice of a CUSTOMER: what went out and stands on none yet. A credit note alone corrects it."""
    until = parse_day(up_to, given.today) if up_to else None
    if look:
        bill = given.farm.invoice_preview(customer, until, at=given.at)
        answer(given, bill, lambda: _show(bill))
        return
    receipt = given.farm.invoice(customer, until, **given.said)
    bill = given.state.bills[receipt.names[0]].bill
    written(given, receipt, f"Invoice {bill.name} to {customer}: {bill.total} {bill.currency}, due {bill.due}.")


@money.add("credit", example='trayward money credit 0001 --reason "wrong price" --again', records=True)
@click.argument("invoice")
@click.option("--reason", required=True, metavar="WORDS", help='Why. Example: "wrong price".')
@click.option("--again", is_flag=True, help="What it takes away may be invoiced anew. Example: --again.")
def credit(given: Given, invoice: str, reason: str, again: bool) -> None:
    """Make a credit note for what is left of an INVOICE."""
    receipt = given.farm.credit(invoice, reason, again=again, **given.said)
    bill = given.state.bills[receipt.names[0]].bill
    written(given, receipt, f"Credit note {bill.name} for invoice {invoice}: {bill.total} {bill.currency}.")


@money.add("sent", example='trayward money sent 0001 --way mail --to "office"', records=True)
@click.argument("invoice")
@click.option("--day", metavar="DAY", help="When it went; today if left out. Example: yesterday.")
@click.option("--way", default="", metavar="WORDS", help="How it went. Example: mail.")
@click.option("--to", default="", metavar="WORDS", help="To whom. Example: office.")
def sent(given: Given, invoice: str, day: str | None, way: str, to: str) -> None:
    """An INVOICE or credit note went to the customer."""
    went = parse_day(day, given.today) if day else given.today
    receipt = given.farm.invoice_sent(invoice, day=went, way=way, to=to, **given.said)
    written(given, receipt, f"Invoice {invoice} was sent on {went}.")


@money.add("paid", example="trayward money paid 0001 16.05 --way cash", records=True)
@click.argument("invoice")
@click.argument("amount")
@click.option("--day", metavar="DAY", help="When it came; today if left out. Example: yesterday.")
@click.option("--way", default="", metavar="WORDS", help="How it came. Example: cash.")
def paid(given: Given, invoice: str, amount: str, day: str | None, way: str) -> None:
    """Money came for an INVOICE."""
    came = parse_day(day, given.today) if day else None
    receipt = given.farm.invoice_paid(invoice, amount_of(amount, "amount"), day=came, way=way, **given.said)
    held = given.state.bills[invoice]
    written(given, receipt, f"Paid for {invoice}: {amount}; {held.owed} {held.bill.currency} are still owed.")


@money.add("invoices", example="trayward money invoices")
def invoices(given: Given) -> None:
    """Invoices and credit notes, with what is owed and overdue."""
    bills, owed = list(given.state.bills.values()), given.farm.owed(at=given.at)

    def human() -> None:
        rows = [
            [held.bill.name, str(held.bill.day), held.bill.customer, f"{held.bill.total} {held.bill.currency}",
             f"credits {held.bill.credits}" if held.bill.credits else str(held.owed),
             _standing(held, given.today)]
            for held in bills
        ]  # fmt: skip
        table(("Number", "Day", "Customer", "Total", "Owed", ""), rows, none="No invoice was made yet.")
        for each in owed:
            wrapped(f"{each.customer} owes {each.owed}, of which {each.overdue} is overdue.")

    answer(given, {"invoices": bills, "owed": owed}, human)


def _standing(held: BillHeld, today: date) -> str:
    from trayward.money.invoicing import standing_of

    standing = standing_of(held, today)
    if standing == "open":
        return f"due {held.bill.due}" if held.sent else f"not sent, due {held.bill.due}"
    return standing


def _show(bill: Bill) -> None:
    wrapped(f"Invoice {bill.name} to {bill.buyer.name}, {bill.day}, due {bill.due}; nothing is recorded yet.")
    rows = [[str(line.day), line.product, f"{line.quantity:g} {line.unit}",
             f"{price_words(line.price, bill.currency)} / {line.per}",
             str(line.amount)]
            for line in bill.lines]  # fmt: skip
    table(("Day", "What", "How much", "Price", "Amount"), rows)
    for each in bill.taxes:
        if each.tax:
            wrapped(f"{each.rate} {each.percent} % of {each.net}: {each.tax}")
    wrapped(f"Total {bill.total} {bill.currency}. {bill.wording}".strip())


# Said words -----------------------------------------------------------------------------------------------------------


def _days(given: Given, first: str | None, last: str | None) -> tuple[date, date]:
    end = parse_day(last, given.today, "last day") if last else given.today
    return parse_day(first, given.today, "first day") if first else end - timedelta(days=7 * WEEKS - 1), end


def _number(text: str, name: str) -> float:
    return float(amount_of(text, name))


def _pairs(words: Sequence[str], example: str) -> dict[str, str]:
    return people.pairs(words, example, spaced=True)
