"""The pages of money: a glance, what if, and an invoice from made to paid or taken back."""

from __future__ import annotations

from decimal import Decimal
from html import escape

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward.farm.bills import Account, Billing, Party, ProductRate, TaxRate
from trayward.farm.state import FarmState
from trayward.web.app import create_app

BILLING = {"seller": "Lantern Loft", "days": "14", "rate_0": "reduced", "percent_0": "7", "prefix": "LL-"}


def state_of(pages: Pages) -> FarmState:
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def customer_of(pages: Pages) -> str:
    return next(
        each.customer for each in state_of(pages).deliveries if any(line.price and not line.home for line in each.lines)
    )


def invoiced(pages: Pages) -> str:
    pages.post("/money/billing", BILLING, page="/money/billing")
    assert (
        pages.post("/money/invoice/make", {"customer": customer_of(pages)}, page="/money/invoices").status_code == 303
    )
    return next(iter(state_of(pages).bills))


def test_it_works(pages: Pages) -> None:
    words = words_of(pages.get("/money"))
    for told in ("Left", "Sold", "Costs", "Together", "broccoli", "What if"):
        assert told in words


@pytest.mark.parametrize("by", ["crop", "customer", "week", "shelf"])
def test_it_is_told_by_what_one_asks(pages: Pages, by: str) -> None:
    with pages.farm() as farm:
        today = pages.clock.at.date()
        account = farm.earned(today.replace(day=1), today, by=by, at=pages.clock.at)  # type: ignore[arg-type]
    page = pages.get(f"/money?span=month&by={by}")
    assert page.status_code == 200
    assert all(escape(row.name) in page.text for row in account.rows)


def test_another_wage_stands_beside_what_was(pages: Pages) -> None:
    assert "left instead of" in words_of(pages.get("/money?wage=30"))
    assert "left instead of" not in words_of(pages.get("/money"))


def test_an_invoice_is_made_and_paid(pages: Pages) -> None:
    name = invoiced(pages)
    held = state_of(pages).bills[name]
    page = f"/money/invoice?name={name}"
    assert "LL-0001" in words_of(pages.get(page))
    form = {"name": name, "amount": str(held.owed), "way": "cash"}
    assert pages.post("/money/invoice/paid", form, page=page).status_code == 303
    assert state_of(pages).bills[name].owed == 0
    assert "settled" in words_of(pages.get("/money/invoices"))


def test_an_invoice_is_taken_back_by_a_credit_note(pages: Pages) -> None:
    name = invoiced(pages)
    form = {"name": name, "reason": "wrong price", "again": "1"}
    assert pages.post("/money/invoice/credit", form, page=f"/money/invoice?name={name}").status_code == 303
    assert list(state_of(pages).bills) == ["LL-0001", "LL-0002"]
    assert "wrong price" in words_of(pages.get("/money/invoice?name=LL-0002"))


def test_what_makes_no_sense_is_said_and_stays_as_typed(pages: Pages) -> None:
    name = invoiced(pages)
    form = {"name": name, "amount": "much", "way": "cheque 12", "_form": "paid"}
    refused = pages.post("/money/invoice/paid", form, page=f"/money/invoice?name={name}")
    assert refused.status_code == 422
    assert "must be a number" in words_of(refused)
    assert "cheque 12" in refused.text
    assert pages.get("/money/invoice?name=LL-9").status_code == 404


def test_money_is_the_owners(pages: Pages, clock: Clock) -> None:
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        for role, status in (("hand", 403), ("owner", 200)):
            assert client.get("/money", headers={"x-role": role, **SCRIPT}).status_code == status


def test_a_farm_that_sells_nothing_is_told_how_to_begin(clock: Clock, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from trayward import Farm

    book = tmp_path / "shelf.sqlite"
    Farm.create(book, "shelf", at=clock.at).close()
    with TestClient(create_app(str(book), now=clock), base_url=ADDRESS) as client:
        assert "give what you sell a price" in client.get("/money").text


def test_what_the_form_has_no_field_for_stays(pages: Pages) -> None:
    """Rates of single products, accounts and rounding are said from the terminal; the page must not drop them."""
    said = Billing(
        seller=Party(name="Lantern Loft"),
        rates=(TaxRate(name="reduced", percent=Decimal(7)), TaxRate(name="full", percent=Decimal(19))),
        usual="reduced",
        products=(ProductRate(product="pea", rate="full"), ProductRate(product="broccoli", rate="reduced")),
        per="line",
        accounts=(Account(what="sales", account="4000"),),
    )
    with pages.farm() as farm:
        farm.set_billing(said, at=pages.clock.at)
    typed = {**BILLING, "rate_0": "food", "percent_0": "8"}
    assert pages.post("/money/billing", typed, page="/money/billing").status_code == 303
    found = state_of(pages).billing
    assert found is not None
    assert [(rate.name, rate.percent) for rate in found.rates] == [("food", 8), ("full", 19)]
    assert [(each.product, each.rate) for each in found.products] == [("broccoli", "food"), ("pea", "full")]
    assert (found.usual, found.per, found.accounts) == ("food", "line", said.accounts)
    refused = pages.post("/money/billing", {**BILLING, "percent_0": ""}, page="/money/billing")
    assert refused.status_code == 422
    assert "the usual rate stands first" in words_of(refused)


# Prices, buyers, rates ------------------------------------------------------------------------------------------------


def row_of(pages: Pages, product: str) -> int:
    return next(number for number, name in enumerate(sorted(state_of(pages).products)) if name == product)


def test_food_and_other_goods_are_sold_at_their_own_rates(pages: Pages) -> None:
    """Two rates on one invoice, each worked out once; net and tax add up to the total to the coin."""
    customer = "Thimble Row Grocer"
    standard = row_of(pages, "pea punnet")
    typed = {**BILLING, "rate_0": "food", "percent_0": "7", "rate_1": "standard", "percent_1": "19"}
    typed |= {f"product_{standard}": "1", "rounding": "half even", "per": "line"}
    assert pages.post("/money/billing", typed, page="/money/billing").status_code == 303
    billing = state_of(pages).billing
    assert billing is not None
    assert [(rate.name, int(rate.percent)) for rate in billing.rates] == [("food", 7), ("standard", 19)]
    assert [(each.product, each.rate) for each in billing.products] == [("pea punnet", "standard")]
    assert (billing.usual, billing.rounding, billing.per) == ("food", "half even", "line")
    looked = words_of(pages.get(f"/money/invoice/next?customer={customer}"))
    assert "food 7 %" in looked
    assert "standard 19 %" in looked
    assert not state_of(pages).bills
    pages.post("/money/invoice/make", {"customer": customer}, page="/money/invoices")
    bill = next(iter(state_of(pages).bills.values())).bill
    assert {tax.rate for tax in bill.taxes} == {"food", "standard"}
    assert sum(tax.net + tax.tax for tax in bill.taxes) == bill.total


def test_a_rate_that_something_is_sold_at_is_not_taken_out_in_silence(pages: Pages) -> None:
    row = row_of(pages, "pea")
    typed = {**BILLING, "rate_1": "standard", "percent_1": "19", f"product_{row}": "1"}
    pages.post("/money/billing", typed, page="/money/billing")
    gone = {**BILLING, "rate_1": "", "percent_1": "", f"product_{row}": "1", "_form": "billing"}
    refused = pages.post("/money/billing", gone, page="/money/billing")
    assert refused.status_code == 422
    assert "it is sold at a rate that is none" in words_of(refused)
    twice = {**BILLING, "rate_1": "reduced", "percent_1": "9", "_form": "billing"}
    assert "two rates have that name" in words_of(pages.post("/money/billing", twice, page="/money/billing"))


def test_a_customer_has_prices_of_their_own_with_steps_from_a_day_on(pages: Pages) -> None:
    name, row = "Thimble Row Grocer", row_of(pages, "pea punnet")
    page = f"/money/customer?name={name}"
    form = {"customer": name, "valid_from": "2026-12-01", f"price_{row}": "3,20", f"steps_{row}": "from 10 at 3.00"}
    assert pages.post("/money/prices", form, page=page).status_code == 303
    (held,) = state_of(pages).price_lists[name]
    assert held.valid_from.isoformat() == "2026-12-01"
    assert held.prices[0].price == Decimal("3.20")
    assert [(step.least, step.price) for step in held.prices[0].steps] == [(10, 3)]
    assert "prices of their own since" in words_of(pages.get("/money/prices"))


def test_a_price_goes_to_the_product_it_was_typed_for_though_another_came_in_between(pages: Pages) -> None:
    name, row = "Thimble Row Grocer", row_of(pages, "pea punnet")
    page = pages.get(f"/money/customer?name={name}").text
    assert f'name="of_{row}" value="pea punnet"' in page
    form = {"customer": name, f"of_{row - 1}": "pea punnet", f"price_{row - 1}": "3.20"}
    assert pages.post("/money/prices", form, page=f"/money/customer?name={name}").status_code == 303
    assert [each.product for each in state_of(pages).price_lists[name][0].prices] == ["pea punnet"]


@pytest.mark.parametrize(
    ("price", "steps", "said"),
    [
        ("1,500", "", "can be read as 1500"),
        ("much", "", "must be a number"),
        ("-2", "", "must be 0 or more"),
        ("3", "ten packs", "a step is an amount and its price"),
        ("3", "from 10 at 2 from 5 at 1", "larger amounts stand after smaller ones"),
        ("", "from 10 at 3.00", "steps go down from a price of its own"),
    ],
)
def test_a_price_that_makes_no_sense_is_refused_and_stays_as_typed(
    pages: Pages, price: str, steps: str, said: str
) -> None:
    name, row = "Thimble Row Grocer", row_of(pages, "pea punnet")
    form = {"customer": name, f"price_{row}": price, f"steps_{row}": steps, "_form": "prices"}
    refused = pages.post("/money/prices", form, page=f"/money/customer?name={name}")
    assert refused.status_code == 422
    assert said in words_of(refused)
    assert f'value="{price}"' in refused.text
    assert name not in state_of(pages).price_lists


def test_invoices_are_written_to_whom_the_customer_says(pages: Pages) -> None:
    pages.post("/money/billing", BILLING, page="/money/billing")
    name = customer_of(pages)
    form = {"customer": name, "name": "Grocer & Daughters", "address": "2 Hill Road\nHilltown", "tax_number": "TR-1"}
    page = f"/money/customer?name={name}"
    assert pages.post("/money/buyer", {**form, "days": "30"}, page=page).status_code == 303
    pages.post("/money/invoice/make", {"customer": name}, page="/money/invoices")
    bill = next(iter(state_of(pages).bills.values())).bill
    assert (bill.buyer.name, bill.buyer.tax_number, (bill.due - bill.day).days) == ("Grocer & Daughters", "TR-1", 30)
    assert pages.get("/money/customer?name=nobody").status_code == 404


def test_an_invoice_is_sent(pages: Pages) -> None:
    name = invoiced(pages)
    assert "not sent" in words_of(pages.get("/money/invoices"))
    page = f"/money/invoice?name={name}"
    form = {"name": name, "way": "with the delivery", "to": "kitchen", "_form": "sent"}
    assert pages.post("/money/invoice/sent", form, page=page).status_code == 303
    assert "with the delivery, kitchen" in words_of(pages.get(page))
    assert "not sent" not in words_of(pages.get("/money/invoices"))
    early = pages.post("/money/invoice/sent", {**form, "day": "2026-01-01"}, page=page)
    assert early.status_code == 422
    assert "it was made on" in words_of(early)


def test_some_lines_of_an_invoice_are_taken_back(pages: Pages) -> None:
    name = invoiced(pages)
    line = state_of(pages).bills[name].bill.lines[0]
    form = {"name": name, "reason": "it was wilted", "line": line.source}
    assert pages.post("/money/invoice/credit", form, page=f"/money/invoice?name={name}").status_code == 303
    note = state_of(pages).bills["LL-0002"].bill
    assert [each.source for each in note.lines] == [line.source]
    assert line.source not in pages.get(f"/money/invoice?name={name}").text


# Reports --------------------------------------------------------------------------------------------------------------


def test_a_month_and_a_year_are_told(pages: Pages) -> None:
    month = words_of(pages.get("/money/report?period=2026-11"))
    for told in ("Report 2026-11", "not over yet", "By crop", "By customer", "By week", "Best crop", "All costs"):
        assert told in month
    assert "By month" in words_of(pages.get("/money/report?period=2026"))
    assert pages.get("/money/report?period=november").status_code == 422
    assert pages.get("/money/report?period=2027-01").status_code == 422


def test_a_report_is_printed_and_taken_along(pages: Pages) -> None:
    pdf = pages.get("/money/report.pdf?period=2026-11")
    assert pdf.content.startswith(b"%PDF")
    assert pdf.headers["content-disposition"] == 'inline; filename="money-2026-11.pdf"'
    sheet = pages.get("/money/report.xlsx?period=2026-11")
    assert sheet.content.startswith(b"PK")
