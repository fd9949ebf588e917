"""Invoices: numbers without gaps, totals to the coin, corrected by credit notes alone, paid and owed."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from tests.money.small import CAFE, DINER, MONDAY, a_week, on, ordered
from trayward import Farm
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.bills import Bill, Billing, BillLine, Buyer, Party, ProductRate, TaxRate
from trayward.farm.codec import decode_entry, encode_entry
from trayward.farm.entries import Entry, InvoiceMade, InvoicePaid
from trayward.farm.state import FarmState
from trayward.farm.transitions.bills import apply_invoice, next_number
from trayward.money.invoicing import open_lines, owed, taxes_of
from trayward.money.journal import journal_csv

SELLER = Party(name="Lantern Loft", address="1 Attic Stairs", tax_number="LL-1")
REDUCED = TaxRate(name="reduced", percent=Decimal(7))
STANDARD = TaxRate(name="standard", percent=Decimal(20))
BILLING = Billing(seller=SELLER, prefix="LL-", rates=(REDUCED, STANDARD), usual="reduced", days=14)


def sold(billing: Billing = BILLING) -> Farm:
    farm = a_week()
    farm.set_billing(billing, at=on(9))
    return farm


def made(farm: Farm, name: str) -> Bill:
    return farm.state(on(60)).bills[name].bill


def test_it_works() -> None:
    """The diner had 150 g pea for 6.00 and 4 packs for 9.00; 7 % of 15.00 is 1.05."""
    farm = sold()
    assert farm.invoice(DINER, at=on(10)).names == ("LL-0001",)
    bill = made(farm, "LL-0001")
    assert [(line.product, line.quantity, line.amount) for line in bill.lines] == [
        ("pea", Decimal("150.0"), Decimal("6.00")),
        ("radish", Decimal("4.0"), Decimal("9.00")),
    ]
    assert (bill.net, bill.tax, bill.total) == (Decimal("15.00"), Decimal("1.05"), Decimal("16.05"))
    assert bill.due == bill.day + timedelta(days=14)
    assert farm.invoice(CAFE, at=on(11)).names == ("LL-0002",)


def test_what_went_out_is_asked_for_once() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    with pytest.raises(InputError, match="nothing went out until"):
        farm.invoice(DINER, at=on(11))


def test_the_same_call_sent_twice_makes_one_invoice() -> None:
    farm = sold()
    said: dict[str, Any] = {"at": on(10), "ids": ["device-0001"]}
    assert farm.invoice(DINER, **said).names == farm.invoice(DINER, **said).names == ("LL-0001",)
    assert len(farm.state(on(11)).bills) == 1


def test_an_invoice_stays_as_it_was_when_names_and_prices_change() -> None:
    farm = sold()
    farm.set_buyer(Buyer(customer=DINER, party=Party(name="Harbour Diner Ltd", address="Quay 3"), days=30), at=on(9))
    farm.invoice(DINER, at=on(10))
    before = made(farm, "LL-0001")
    assert (before.buyer.name, before.due) == ("Harbour Diner Ltd", before.day + timedelta(days=30))
    farm.set_buyer(Buyer(customer=DINER, party=Party(name="Other")), at=on(12))
    farm.set_billing(replace(BILLING, seller=Party(name="Other loft"), rates=(), usual=""), at=on(12))
    assert made(farm, "LL-0001") == before


def test_an_invoice_is_never_struck_and_the_way_out_is_named() -> None:
    farm = sold()
    entry = farm.invoice(DINER, at=on(10)).kept[0].entry.id
    with pytest.raises(InputError, match="Credit it instead: trayward money credit LL-0001"):
        farm.strike(entry, "wrong", at=on(11))
    note = farm.credit("LL-0001", "wrong price", at=on(11)).kept[0].entry.id
    with pytest.raises(InputError, match="it made credit note LL-0002"):
        farm.strike(note, "wrong", at=on(12))


def test_a_credit_note_takes_the_next_number_and_what_it_frees_can_be_asked_for_anew() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    assert farm.credit("LL-0001", "wrong price", again=True, at=on(11)).names == ("LL-0002",)
    assert farm.state(on(12)).bills["LL-0001"].owed == 0
    assert farm.invoice(DINER, at=on(12)).names == ("LL-0003",)
    assert made(farm, "LL-0003").total == Decimal("16.05")


def test_part_by_part_no_more_is_credited_than_was_asked_for() -> None:
    """Rounded apart, 7 % of 6.00 and of 9.00 are 0.42 and 0.63; the last note takes what is left, to the coin."""
    farm = sold()
    farm.invoice(DINER, at=on(10))
    first, second = (line.source for line in made(farm, "LL-0001").lines)
    farm.credit("LL-0001", "sour", lines=[first], at=on(11))
    assert made(farm, "LL-0002").total == Decimal("6.42")
    farm.credit("LL-0001", "late", lines=[second], at=on(12))
    assert farm.state(on(13)).bills["LL-0001"].owed == 0
    with pytest.raises(InputError, match="all of it was credited before"):
        farm.credit("LL-0001", "again", at=on(13))
    with pytest.raises(InputError, match="a credit note needs one"):
        farm.credit("LL-0001", " ", at=on(13))
    with pytest.raises(NotFoundError, match="invoice 'LL-0002'"):
        farm.credit("LL-0002", "of a note", at=on(13))


def test_what_is_paid_is_owed_no_more_and_what_is_late_is_overdue() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    farm.invoice_paid("LL-0001", Decimal("6.05"), way="cash", at=on(12))
    state = farm.state(on(12))
    assert owed(state, MONDAY + timedelta(days=24))[0].overdue == 0
    late = owed(state, MONDAY + timedelta(days=25))[0]
    assert (late.customer, late.owed, late.overdue) == (DINER, Decimal("10.00"), Decimal("10.00"))
    assert farm.invoice_paid("LL-0001", Decimal("11.00"), at=on(13)).findings[0].code == "paid-over"
    with pytest.raises(InputError, match="EUR has no smaller coins"):
        farm.invoice_paid("LL-0001", Decimal("0.001"), at=on(13))
    assert "nothing is owed any more" in farm.invoice_paid("LL-0001", Decimal("2.00"), at=on(13)).findings[0].message
    with pytest.raises(InputError, match=r"day = 2027-12-01: it has not come yet"):
        farm.invoice_paid("LL-0001", Decimal("1.00"), day=date(2027, 12, 1), at=on(13))
    with pytest.raises(InputError, match=r"it has not come yet"):
        farm.invoice_sent("LL-0001", day=date(2027, 12, 1), at=on(13))
    with pytest.raises(RefusedError, match="must be more than 0"):
        farm.invoice_paid("LL-0001", Decimal("-1.00"), at=on(13))


def test_a_payment_mistyped_can_be_struck() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    entry = farm.invoice_paid("LL-0001", Decimal("16.05"), at=on(12)).kept[0].entry.id
    farm.strike(entry, "another invoice", at=on(13))
    assert farm.state(on(14)).bills["LL-0001"].owed == Decimal("16.05")


def test_a_delivery_struck_after_it_was_invoiced_is_said() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    made_ = next(each for each in farm.state(on(10)).deliveries if each.customer == DINER)
    farm.strike(made_.entry, "never went", at=on(11))
    codes = [each.code for each in farm.earned(MONDAY, MONDAY + timedelta(days=13), at=on(14)).findings]
    assert codes == ["invoice-struck"]
    farm.credit("LL-0001", "never went", at=on(12))
    assert farm.earned(MONDAY, MONDAY + timedelta(days=13), at=on(14)).findings == ()


def test_no_invoice_is_made_for_a_moment_others_came_after() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(12))
    with pytest.raises(InputError, match="a lower number was made later"):
        farm.invoice(CAFE, at=on(10))


def test_a_number_out_of_turn_or_sums_that_do_not_add_up_are_refused() -> None:
    farm = sold()
    bill = farm.invoice_preview(DINER, at=on(10))
    with pytest.raises(RefusedError, match="the next number is 1"):
        farm.record(InvoiceMade(bill=replace(bill, number=2)), at=on(10))
    with pytest.raises(RefusedError, match="do not add up"):
        farm.record(InvoiceMade(bill=replace(bill, total=Decimal("99.00"))), at=on(10))
    assert farm.state(on(11)).bills == {}


def test_a_number_that_comes_late_stands_in_its_place_and_one_taken_stays_with_who_had_it() -> None:
    """As a book that was brought together from two may have them."""
    bill = sold().invoice_preview(DINER, at=on(10))
    state = FarmState()
    for number, name in ((1, "a"), (4, "d"), (2, "b"), (4, "e"), (2, "c"), (3, "c")):
        body = InvoiceMade(bill=replace(bill, number=number, name=name))
        apply_invoice(state, body, Entry(id=name, at=on(10), recorded=on(10), by="Mo", body=body))
    assert [(name, held.bill.number) for name, held in state.bills.items()] == [("a", 1), ("b", 2), ("c", 3), ("d", 4)]
    assert next_number(state) == 5


def test_nobody_said_who_sells_is_said_with_the_way_out() -> None:
    with pytest.raises(InputError, match="trayward money billing"):
        a_week().invoice(DINER, at=on(10))


def test_an_invoice_comes_back_from_the_book_as_it_went_in() -> None:
    bill = sold().invoice_preview(DINER, at=on(10))
    entry = Entry(id="device-0001", at=on(10), recorded=on(10), by="Mo", body=InvoiceMade(bill=bill))
    assert decode_entry(encode_entry(entry)) == entry


# Tax, worked by hand --------------------------------------------------------------------------------------------------


def line(amount: str, rate: TaxRate = STANDARD) -> BillLine:
    return BillLine(
        source=f"x:{amount}", day=date(2026, 11, 9), product="pea", quantity=Decimal(1), unit="packs",
        price=Decimal(amount), per="pack", amount=Decimal(amount), rate=rate.name, percent=rate.percent,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("per", "rounding", "tax"),
    [
        # Three lines of 0.13 at 20 %: 0.026 each, 0.078 together. Worked by hand.
        ("line", "half up", "0.09"),
        ("document", "half up", "0.08"),
    ],
)
def test_tax_is_rounded_on_each_line_or_once_for_each_rate(per: Any, rounding: Any, tax: str) -> None:
    billing = replace(BILLING, per=per, rounding=rounding)
    _, net, found, total = taxes_of([line("0.13")] * 3, billing, "EUR")
    assert (net, found, total) == (Decimal("0.39"), Decimal(tax), Decimal("0.39") + Decimal(tax))


@pytest.mark.parametrize(("rounding", "tax"), [("half up", "0.03"), ("half even", "0.02")])
def test_half_a_coin_goes_where_the_farm_says(rounding: Any, tax: str) -> None:
    """20 % of 0.125 cannot be; 10 % of 0.25 is 0.025: up it is 0.03, to the even one 0.02. Worked by hand."""
    ten = TaxRate(name="ten", percent=Decimal(10))
    assert taxes_of([line("0.25", ten)], replace(BILLING, rounding=rounding), "EUR")[2] == Decimal(tax)


def test_prices_that_hold_the_tax_are_split_and_stay_what_they_are() -> None:
    """Of 12.00 with 20 % in it, 2.00 is tax; of 10.70 with 7 %, 0.70. Worked by hand."""
    taxes, net, tax, total = taxes_of([line("12.00"), line("10.70", REDUCED)], replace(BILLING, included=True), "EUR")
    assert [(each.net, each.tax) for each in taxes] == [
        (Decimal("10.00"), Decimal("2.00")),
        (Decimal("10.00"), Decimal("0.70")),
    ]
    assert (net, tax, total) == (Decimal("20.00"), Decimal("2.70"), Decimal("22.70"))


def test_a_currency_without_small_coins_has_none_on_its_invoices() -> None:
    assert taxes_of([line("105")], BILLING, "JPY")[2] == Decimal("21")


def test_products_may_have_rates_of_their_own_and_without_rates_no_tax_is_asked() -> None:
    farm = sold(replace(BILLING, products=(ProductRate(product="radish", rate="standard"),)))
    farm.invoice(DINER, at=on(10))
    assert [(each.rate, each.tax) for each in made(farm, "LL-0001").taxes] == [
        ("reduced", Decimal("0.42")),
        ("standard", Decimal("1.80")),
    ]
    small = sold(replace(BILLING, rates=(), usual="", wording="No tax is shown: small business."))
    small.invoice(DINER, at=on(10))
    assert (made(small, "LL-0001").tax, made(small, "LL-0001").total) == (0, Decimal("15.00"))


def test_sales_in_the_account_are_without_the_tax_that_prices_hold() -> None:
    farm = sold(replace(BILLING, included=True))
    sales = farm.earned(MONDAY, MONDAY + timedelta(days=13), at=on(14)).total.parts.sales
    assert sales == Decimal("8.41") + Decimal("5.61") + Decimal("8.41")  # 9.00, 6.00 and 9.00 over 1.07


def test_open_lines_and_the_account_agree_to_the_cent() -> None:
    farm = sold()
    lines = [each for who in (CAFE, DINER) for each in open_lines(farm.state(on(10)), who, date(2027, 1, 1), "EUR")]
    sales = farm.earned(MONDAY, MONDAY + timedelta(days=13), at=on(14)).total.parts.sales
    assert sum(each.amount for each in lines) == sales


# For the bookkeeper ---------------------------------------------------------------------------------------------------


def test_the_rows_for_a_bookkeeper_balance_document_by_document() -> None:
    farm = sold()
    farm.invoice(DINER, at=on(10))
    farm.credit("LL-0001", "sour", lines=[made(farm, "LL-0001").lines[0].source], at=on(11))
    farm.invoice_paid("LL-0001", Decimal("9.63"), at=on(12))
    rows = farm.journal(MONDAY, MONDAY + timedelta(days=13), at=on(14))
    for document in {row.document for row in rows}:
        mine = [row for row in rows if row.document == document]
        assert sum(row.debit for row in mine) == sum(row.credit for row in mine) > 0
    owed_ = sum(row.debit - row.credit for row in rows if row.account == "customers")
    assert owed_ == farm.state(on(14)).bills["LL-0001"].owed == 0
    read = list(csv.DictReader(io.StringIO(journal_csv(rows))))
    assert sum(Decimal(row["debit"] or 0) for row in read) == sum(Decimal(row["credit"] or 0) for row in read)


def test_a_name_that_looks_like_a_formula_is_no_formula_in_the_sheet() -> None:
    from trayward.money.journal import to_csv

    assert to_csv(("name",), [("=1+1",)]) == "name\r\n'=1+1\r\n"


def test_a_payment_for_nothing_is_refused() -> None:
    from trayward.farm.bills import Paid

    with pytest.raises(RefusedError, match="the farm made no invoice of that name"):
        sold().record(InvoicePaid(invoice="LL-9", paid=Paid(day=MONDAY, amount=Decimal(1))), at=on(10))


def test_who_could_be_sent_an_invoice_is_followed_as_lines_go_out_are_invoiced_and_come_back() -> None:
    """Followed from one look to the next it is what each customer's own lines say, also after a credit."""
    farm = a_week()
    farm.set_billing(Billing(seller=Party(name="Lantern Loft")), at=on(8, 10))

    def the_same(at: datetime) -> dict[str, int]:
        state, last = farm.state(at), at.date()
        followed = farm.open_lines(last, at=at)
        own = {name: list(lines) for name in state.customers if (lines := open_lines(state, name, last, "EUR"))}
        assert followed == own
        return {name: len(lines) for name, lines in followed.items()}

    assert the_same(on(9)) == {CAFE: 1, DINER: 2}
    farm.invoice(DINER, at=on(9))
    assert the_same(on(9, 12)) == {CAFE: 1}
    farm.credit(next(iter(farm.state(on(10)).bills)), "not theirs", again=True, at=on(10))
    assert the_same(on(10, 12)) == {CAFE: 1, DINER: 2}
    ordered(farm, CAFE, "pea", 100.0, due=11)
    farm.deliver_due(CAFE, MONDAY + timedelta(days=11), at=on(11), sure=True)
    assert the_same(on(11, 12)) == {CAFE: 2, DINER: 2}
