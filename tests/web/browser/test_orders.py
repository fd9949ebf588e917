"""Orders in a real browser: an order with a doubt, and a spreadsheet looked at and kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, Shown, assert_fits, assert_for_everyone, axe, shot
from trayward import Farm
from trayward.farm.orders import Customer, LineAsked

SHEET = """Customer,Deliver on,Item,Quantity
Upside Ladle,2026-12-11,radish,80 g
Moth & Marow,2026-12-11,basil,60 g
Tin Whistle Canteen,2026-12-15,broccoli,120 g
"""


@pytest.mark.parametrize("path", ["/orders", "/orders/standing/thimble-tue", "/orders/new", "/orders/customers"])
def test_the_pages_fit_the_screen_and_pass_axe(page_at: PageAt, path: str) -> None:
    assert_for_everyone(page_at(path), path.strip("/").replace("/", "-"))


def test_what_a_customer_brings_stands_at_the_right_of_a_long_name(page_at: PageAt, server: Server) -> None:
    name = "The Association of Friends of the Upside Ladle on the Quay"
    with Farm.open(str(server.book)) as farm:
        line = LineAsked(line="radish", product="radish", quantity=80.0, price=0.05)
        farm.set_customer(Customer(name=name), at=server.clock.at, by="Ada")
        farm.place_order(name, server.clock.at.date(), (line,), at=server.clock.at, by="Ada")
    page = page_at("/orders")
    head = page.locator(".customer h3").filter(has_text=name)
    box, price = head.bounding_box(), head.locator(".figure").bounding_box()
    assert box is not None
    assert price is not None
    assert price["x"] + price["width"] == pytest.approx(box["x"] + box["width"], abs=1)
    assert_fits(page)


def test_an_order_that_looks_mistyped_is_mended_and_taken_back(page_at: PageAt, complaints: Shown) -> None:
    page = page_at("/orders/new")
    page.get_by_label("Customer").select_option("Upside Ladle")
    page.get_by_label("What").first.select_option("radish")
    page.get_by_label("How much").first.fill("60000")
    page.get_by_role("button", name="Keep the order").click()
    expect(page.locator("section.fault")).to_contain_text("Did you mean 60 g?")
    assert axe(page) == []
    page.get_by_label("How much").first.fill("60")
    page.get_by_role("button", name="Keep the order").click()
    expect(page.locator(".said")).to_contain_text("Ordered: 60 g radish for Upside Ladle")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".said")).to_contain_text("Taken back.")
    complaints.clear()  # the browser's own word about the answer 422


@pytest.mark.parametrize("wide", ["phone", "desk"])
def test_a_spreadsheet_is_looked_at_row_by_row_and_kept(page_at: PageAt, tmp_path: Path, wide: str) -> None:
    sheet = tmp_path / "orders.csv"
    sheet.write_text(SHEET, encoding="utf-8")
    page = page_at("/orders/import", wide)
    page.get_by_label("File").set_input_files(sheet)
    page.get_by_role("button", name="Look at it").click()
    expect(page.locator(".cell-wrong")).to_contain_text("the farm has none of that name")
    shot(page, f"orders-preview-{wide}")
    assert_fits(page)
    assert axe(page) == []
    page.locator("#columns > summary").click()
    page.get_by_label("Leave out orders").check()
    page.get_by_role("button", name="Read it so").click()
    page.get_by_role("button", name="Keep 2 orders").click()
    expect(page.locator(".said")).to_contain_text("2 orders kept.")
