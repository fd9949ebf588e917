"""Money for programs: from prices to a paid invoice."""

from __future__ import annotations

from tests.web.api.conftest import Program


def test_an_invoice_goes_from_prices_to_paid(farm: Program) -> None:
    customer = "Thimble Row Grocer"
    price = {"product": "pea punnet", "price": "3.20", "steps": [{"least": "10", "price": "3.00"}]}
    farm.kept("/money/prices", customer=customer, valid_from="2026-11-01", prices=[price])
    farm.kept("/money/buyer", customer=customer, name="Grocer & Daughters", days=30)
    rates = [{"name": "food", "percent": "7"}, {"name": "standard", "percent": "19"}]
    billing = {"seller": {"name": "Lantern Loft"}, "rates": rates, "usual": "food"}
    farm.kept("/money/billing", billing=billing)
    told = farm.told("/money/prices")
    assert told["lists"][0]["prices"] == [price]
    name = farm.kept("/money/invoices", customer=customer)["entries"][0]["id"]
    (made,) = farm.told("/money/invoices")["invoices"]
    bill = made["held"]["bill"]
    assert (name != "", bill["buyer"]["name"], made["standing"]) == (True, "Grocer & Daughters", "open")
    farm.kept("/money/sent", invoice=bill["name"], way="by mail")
    assert farm.say("/money/paid", invoice=bill["name"], amount="1,500").status_code == 422
    farm.kept("/money/paid", invoice=bill["name"], amount=bill["total"])
    one = farm.told(f"/money/invoices/{bill['name']}")
    assert (one["standing"], float(one["owed"]), one["held"]["sent"][0]["way"]) == ("settled", 0.0, "by mail")
    assert farm.told("/money/owed")["owed"] == []


def test_what_was_earned_and_the_report_add_up_to_the_same(farm: Program) -> None:
    earned = farm.told("/money/earned?first=2026-11-01&last=2026-11-25&by=customer")
    report = farm.told("/money/report?period=2026-11")
    assert earned["total"]["left"] == report["crops"]["total"]["left"]
    assert farm.get("/money/report?period=soon").status_code == 422
