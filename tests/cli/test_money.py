"""What was sold, invoiced and paid, typed; and the files a spreadsheet opens."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.cli.conftest import Typed

BUYER = "Bäckerei Mühle"


@pytest.fixture
def sold(shelf: Typed) -> Typed:
    """The home shelf after 90 g of broccoli went out at 4 EUR for 100 g, and were invoiced."""
    shelf("sow", "broccoli", "--trays", "1", "--name", "N1")
    shelf("stage", "N1.1", "ready", "--sure")
    cut = shelf.json("cut", "N1.1=95g", "--sure")["names"][0]
    shelf("order", "customer", BUYER)
    shelf("order", "add", BUYER, "today", "90 g broccoli at 4 per 100 g", "--sure")
    assert cut in shelf("deliver", BUYER, "--sure", "--json")
    shelf("money", "billing", "--seller", "Kitchen Shelf")
    shelf("money", "invoice", BUYER)
    return shelf


def test_files_for_a_spreadsheet_keep_the_letters_of_other_languages(sold: Typed, tmp_path: Path) -> None:
    sold("money", "journal", str(tmp_path / "journal.csv"))
    sold("money", "--by", "customer", "--csv", str(tmp_path / "money.csv"))
    for name in ("journal.csv", "money.csv"):
        held = (tmp_path / name).read_bytes()
        # Without its mark a spreadsheet reads the file in the letters of the machine it runs on.
        assert held.startswith(b"\xef\xbb\xbf")
        assert any(BUYER in cell for row in csv.reader(held.decode("utf-8-sig").splitlines()) for cell in row)


def test_what_is_paid_is_told_with_its_currency_and_what_is_too_much_as_such(sold: Typed) -> None:
    total = sold.json("money", "invoices")["invoices"][0]["bill"]["total"]
    assert f"Paid for 0001: 1.50 EUR; {float(total) - 1.5:.2f} EUR are still owed." in sold(
        "money", "paid", "0001", "1,50"
    )
    assert "; nothing is owed any more." in sold("money", "paid", "0001", f"{float(total) - 1.5:.2f}")
    said = sold("money", "paid", "0001", "2")
    assert "Paid for 0001: 2.00 EUR; 2.00 EUR of it is too much." in said
    assert "look: invoice 0001, paid = 2 EUR: nothing is owed any more." in " ".join(said.split())
    assert "paid too much" in sold("money", "invoices")
    refused = sold.refused("money", "paid", "0001", "1", "--day", "2027-12-01", code=2)
    assert refused == "day = 2027-12-01: it has not come yet; today is 2026-11-25. Say the day it happened."
