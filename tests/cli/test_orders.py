"""Orders from the terminal, one by one and by the sheet."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Typed

SHEET = """Kunde;Produkt;Menge;Einheit;Lieferdatum
home;broccoli;95;g;04.12.2026
home;pea;0,2;kg;04.12.2026
Corner Cafe;radish;120;g;05.12.2026
"""


def due(typed: Typed, customer: str) -> dict[str, dict[str, Any]]:
    lines = typed.json("order", "list", "--days", "60")["lines"]
    return {line["line"]: line for line in lines if line["customer"] == customer}


def unwrapped(said: str) -> str:
    return " ".join(said.split())


def test_an_order_is_placed_changed_and_cancelled(shelf: Typed) -> None:
    shelf("order", "customer", "Corner Cafe", "--weight", "2", "--note", "back door")
    said = shelf("order", "add", "Corner Cafe", "friday", "200 g broccoli", "0.3 kg pea at 4 per 100 g")
    assert "Order O261127A: Corner Cafe, Fri 27 Nov, 200 g broccoli, 300 g pea at 4 per 100 g." in " ".join(
        said.split()
    )
    assert due(shelf, "Corner Cafe")["O261127A/broccoli"]["grams"] == 200.0
    shelf("order", "change", "O261127A", "--day", "2026-11-28", "--line", "250 g broccoli")
    [line] = due(shelf, "Corner Cafe").values()
    assert (line["due"], line["grams"], line["weight"]) == ("2026-11-28", 250.0, 2.0)
    shelf("order", "cancel", "O261127A", "--reason", "closed")
    assert due(shelf, "Corner Cafe") == {}


def test_a_name_given_twice_is_refused(shelf: Typed) -> None:
    shelf("order", "add", "home", "friday", "50 g kale", "--name", "O1")
    said = shelf.refused("order", "add", "home", "friday", "60 g kale", "--name", "O1", code=2)
    assert said == "order = O1: there is one of that name. Change it, or take another name."


def test_a_standing_order_repeats_pauses_and_ends(shelf: Typed) -> None:
    shelf("order", "customer", "Corner Cafe")
    said = shelf("order", "standing", "cafe", "Corner Cafe", "every Tue and Fri", "200 g pea", "--except", "2026-12-25")
    assert "every Tuesday and Friday from Wed 25 Nov" in said
    assert {"cafe@2026-11-27/pea", "cafe@2026-12-01/pea", "cafe@2026-12-22/pea"} <= set(due(shelf, "Corner Cafe"))
    assert "cafe@2026-12-25/pea" not in due(shelf, "Corner Cafe")
    shelf("order", "pause", "cafe", "2026-12-01", "2026-12-08")
    assert "cafe@2026-12-01/pea" not in due(shelf, "Corner Cafe")
    assert "cafe@2026-12-11/pea" in due(shelf, "Corner Cafe")
    shelf("order", "cancel", "cafe")
    assert due(shelf, "Corner Cafe") == {}
    assert "ended" in shelf("order", "list", "--standing")


def test_a_sheet_is_shown_and_asked_about_before_it_is_kept(shelf: Typed, tmp_path: Path) -> None:
    sheet = tmp_path / "orders.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    shelf("order", "customer", "Corner Cafe")
    said = shelf("order", "import", str(sheet), stdin="n\n")
    assert 'Customer: column A "Kunde".' in said
    assert "Keep 2 orders?" in said
    assert "Nothing was kept." in said
    assert due(shelf, "Corner Cafe") == {}
    shelf("order", "import", str(sheet), stdin="y\n")
    assert [line["grams"] for line in due(shelf, "Corner Cafe").values()] == [120.0]
    again = shelf.json("order", "import", str(sheet), "--yes")
    assert (len(again["unchanged"]), again["kept"]) == (2, [])


def test_rows_that_cannot_be_read_are_reported_and_nothing_is_kept_by_halves(shelf: Typed, tmp_path: Path) -> None:
    sheet = tmp_path / "orders.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    result = shelf.run("order", "import", str(sheet), "--yes")
    assert result.exit_code == 1
    assert "Rejected: row 4: customer = 'Corner Cafe'" in result.stdout
    assert not any(line.startswith("sheet-") for line in due(shelf, "home"))
    result = shelf.run("order", "import", str(sheet), "--yes", "--skip-rejected")
    assert result.exit_code == 1
    assert "sheet-home-261204/broccoli" in due(shelf, "home")
    shelf("order", "import", str(sheet), "--yes", "--new-customers")
    assert len(due(shelf, "Corner Cafe")) == 1


def test_columns_can_be_named_where_the_guess_is_wrong(shelf: Typed, tmp_path: Path) -> None:
    sheet = tmp_path / "odd.csv"
    sheet.write_text("greens,how heavy,remarks\nbroccoli,95,for soup\n", encoding="utf-8")
    said = shelf.refused("order", "import", str(sheet), "--yes", code=2)
    assert "no column was found for it" in said
    done = shelf.json(
        "order", "import", str(sheet), "--yes", "--for", "home", "--due", "2026-12-04", "--unit", "g",
        "--map", "quantity=how heavy", "--map", "product=A",
    )  # fmt: skip
    assert done["placed"] == ["sheet-home-261204"]
    wrong = shelf.refused("order", "import", str(sheet), "--map", "colour=greens", code=2)
    assert "field = colour: a sheet has none of that name" in wrong
    wrong = shelf.refused("order", "import", str(sheet), "--map", "product=crop", code=2)
    assert wrong == "heading = crop: the sheet has no such column. It has: greens, how heavy, remarks."


def test_orders_of_the_past_are_passed_over_unless_asked_for(shelf: Typed, tmp_path: Path) -> None:
    sheet = tmp_path / "orders.csv"
    sheet.write_text("customer,product,quantity,unit,due\nhome,radish,100,g,2026-11-20\n", encoding="utf-8")
    assert shelf.json("order", "import", str(sheet), "--yes")["past"] == ["home on 2026-11-20"]
    assert shelf.json("order", "import", str(sheet), "--yes", "--past")["placed"] == ["sheet-home-261120"]


@pytest.mark.parametrize("words", [["--json"]])
def test_without_anybody_to_ask_yes_must_be_said(shelf: Typed, tmp_path: Path, words: list[str]) -> None:
    sheet = tmp_path / "orders.csv"
    sheet.write_text("customer,product,quantity,unit,due\nhome,radish,100,g,2026-12-04\n", encoding="utf-8")
    assert "Say --yes with --json." in shelf.refused("order", "import", str(sheet), *words, code=2)


def test_the_name_of_a_line_is_never_broken(shelf: Typed) -> None:
    """It is what a delivery names."""
    shelf("order", "customer", "The Long Walk to the Lantern Kitchen")
    shelf("order", "add", "The Long Walk to the Lantern Kitchen", "friday", "200 g broccoli")
    said = shelf("order", "list", "--days", "60")
    assert max(len(line) for line in said.splitlines()) <= 80
    for line in shelf.json("order", "list", "--days", "60")["lines"]:
        assert f" {line['line']}\n" in said


def test_the_lines_of_the_help_of_order_add_are_taken_at_the_loft(bare: Typed) -> None:
    bare("init", "--setup", "loft")
    help_text = unwrapped(bare("order", "add", "--help"))
    lines = re.findall(r'"([^"]+)"', help_text[help_text.index("A line is") : help_text.index("live pea") + 10])
    assert len(lines) == 3
    bare("order", "add", "Upside Ladle", "friday", *lines, "--name", "L1")
    asked = bare.json("order", "list")["lines"]
    assert {"broccoli", "garden mix", "live pea tray"} <= {line["product"] for line in asked if "L1/" in line["line"]}


def test_an_order_of_a_mistyped_year_is_asked_about_and_kept_where_it_is_meant(shelf: Typed) -> None:
    asked = shelf.refused("order", "add", "home", "2035-01-01", "150 g broccoli", code=1)
    # From Wednesday, 25 November 2026, by a calendar.
    assert "order, due = 2035-01-01: that is 2959 days ahead. Check the year. Did you mean 2027-01-01?" in asked
    assert "Mon 1 Jan 2035" in shelf("order", "add", "home", "2035-01-01", "150 g broccoli", "--sure")
    over = shelf.refused("order", "change", "O350101A", "--day", "2026-11-20", code=1)
    assert "order, due = 2026-11-20: is past; today is 2026-11-25." in over


def test_where_ounces_are_read_an_order_is_told_in_them(shelf: Typed) -> None:
    metric = shelf("init", "--setup", "shelf", "--show")
    setup = shelf.folder / "us.toml"
    setup.write_text(metric.replace('mass = "g"', 'mass = "oz"'), encoding="utf-8")
    shelf("setup", str(setup), "--yes")
    assert "3 oz broccoli" in shelf("order", "add", "home", "2026-12-04", "3 oz broccoli", "--sure")
