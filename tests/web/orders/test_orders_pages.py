"""The pages of orders: written down, changed, called off, repeated, paused, and taken from a spreadsheet."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.sow.conftest import ByHeader
from trayward.farm.due import lines_due, standing_days
from trayward.farm.state import FarmState
from trayward.plan.types import LineOutlook, Plan
from trayward.web.app import create_app

NEW = {"customer": "Upside Ladle", "due": "2026-12-04", "product_1": "radish", "amount_1": "80 g", "_form": "order"}
SHEET = b"""Customer,Deliver on,Item,Quantity
Upside Ladle,2026-12-11,radish,80 g
Moth & Marow,2026-12-11,basil,60 g
Tin Whistle Canteen,2026-12-15,broccoli,120 g
"""


def state_of(pages: Pages) -> FarmState:
    pages.clock.forward(minutes=1)
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def placed(pages: Pages, form: dict[str, str] = NEW) -> str:
    """The name of an order just placed."""
    before = set(state_of(pages).orders)
    answer = pages.post("/orders/new", form, page="/orders/new")
    assert answer.status_code == 303, words_of(answer)
    (name,) = set(state_of(pages).orders) - before
    return name


def test_it_works(pages: Pages) -> None:
    today = pages.clock.at.date()
    with pages.farm() as farm:
        due = farm.due(today, today + timedelta(days=7), at=pages.clock.at)
        chances = tuple(
            LineOutlook(
                line=line.line, customer=line.customer, crop=line.product, due=line.due, grams=line.grams, met_grams=0,
                trays=line.trays, chance=0.3, sure=0.8, short=12.0, raised_by="One tray more of it helps.",
            )
            for line in due
        )  # fmt: skip
        plan = Plan(made_at=pages.clock.at, first=today, last=today + timedelta(days=7), lines=chances)
        farm.keep_plan(plan, at=pages.clock.at, by="Ada")
    pages.clock.forward(minutes=1)
    told = words_of(pages.get("/orders"))
    assert "likely in full" in told
    assert "3 in 10" in told
    assert "One tray more of it helps." in told
    assert "EUR" in told


PAGES = [
    "/orders",
    "/orders?from=2026-12-04",
    "/orders/new",
    "/orders/standing",
    "/orders/standing-new",
    "/orders/customers",
    "/orders/import",
    "/orders/standing/thimble-tue",
    "/orders/customer/Moth%20%26%20Marrow",
]


@pytest.mark.parametrize("path", PAGES)
def test_every_page_opens(pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 200


@pytest.mark.parametrize(
    "path", ["/orders/order/none", "/orders/standing/none", "/orders/customer/No", "/orders/import/x"]
)
def test_what_is_not_there_is_not_found(pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_an_order_is_written_down(pages: Pages) -> None:
    name = placed(pages)
    order = state_of(pages).orders[name]
    assert (order.customer, order.due) == ("Upside Ladle", date(2026, 12, 4))
    assert [(line.product, line.quantity, line.unit) for line in order.lines] == [("radish", 80.0, "g")]


def test_a_number_alone_is_packs_of_what_is_sold_in_packs_and_a_price_is_for_a_pack(pages: Pages) -> None:
    form = NEW | {
        "product_1": "garden mix",
        "amount_1": "4",
        "price_1": "4,50",
        "product_2": "radish",
        "amount_2": "2 oz",
    }
    name = placed(pages, form)
    first, second = state_of(pages).orders[name].lines
    assert (first.quantity, first.unit, first.price) == (4.0, "packs", 4.5)
    assert second.quantity == pytest.approx(56.699, abs=0.001)  # 28.3495 g an ounce


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"amount_1": "some"}, "amount_1"),
        ({"amount_1": ""}, "amount_1"),
        ({"product_1": "unobtainium"}, "product_1"),
        ({"customer": ""}, "customer"),
        ({"due": "soon"}, "due"),
        ({"due": "2026-11-01"}, "due"),
        ({"product_1": "live pea tray", "amount_1": "100 g"}, "amount_1"),
        ({"price_1": "dear"}, "price_1"),
    ],
)
def test_bad_input_stands_at_its_field_and_keeps_what_was_typed(
    pages: Pages, wrong: dict[str, str], field: str
) -> None:
    answer = pages.post("/orders/new", NEW | {"note": "before ten"} | wrong, page="/orders/new")
    assert answer.status_code == 422
    assert f'id="order-{field}-wrong"' in answer.text
    assert 'value="before ten"' in answer.text


def test_an_amount_that_looks_mistyped_is_asked_about_once(pages: Pages) -> None:
    form = NEW | {"amount_1": "60000"}
    asked = pages.post("/orders/new", form, page="/orders/new")
    assert asked.status_code == 422
    assert "Did you mean 60 g?" in words_of(asked)
    name = placed(pages, form | {"sure": "1"})
    assert state_of(pages).orders[name].lines[0].quantity == 60_000.0


def test_a_day_of_another_year_is_asked_about_once(pages: Pages) -> None:
    asked = pages.post("/orders/new", NEW | {"due": "2036-12-04"}, page="/orders/new")
    assert asked.status_code == 422
    assert "due = 2036-12-04: that is 3662 days ahead. Check the year. Did you mean 2026-12-04?" in words_of(asked)
    assert 'id="order-due-wrong"' in asked.text
    name = placed(pages, NEW | {"due": "2036-12-04", "sure": "1"})
    assert state_of(pages).orders[name].due == date(2036, 12, 4)


def test_an_order_is_changed_and_its_lines_keep_their_names(pages: Pages) -> None:
    name = placed(pages)
    form = NEW | {"order": name, "product_1": "basil", "amount_1": "40 g", "product_2": "radish", "amount_2": "90 g"}
    answer = pages.post("/orders/change", form | {"due": "2026-12-05"}, page=f"/orders/order/{name}")
    assert answer.status_code == 303, words_of(answer)
    order = state_of(pages).orders[name]
    assert order.due == date(2026, 12, 5)
    assert [(line.line, line.quantity) for line in order.lines] == [("basil", 40.0), ("radish", 90.0)]


def test_a_change_that_changes_nothing_is_not_kept(pages: Pages) -> None:
    name = placed(pages)
    answer = pages.post("/orders/change", NEW | {"order": name}, page=f"/orders/order/{name}")
    assert answer.status_code == 422
    assert "nothing is different" in words_of(answer)


def test_amounts_are_read_and_shown_in_spanish(pages: Pages) -> None:
    pages.client.headers["accept-language"] = "es"
    name = placed(pages, NEW | {"product_1": "garden mix", "amount_1": "6 envases"})
    assert [(line.quantity, line.unit) for line in state_of(pages).orders[name].lines] == [(6.0, "packs")]
    assert 'value="6 envases"' in pages.get(f"/orders/order/{name}").text
    assert "6 envases garden mix" in words_of(pages.get(f"/orders/customer/{NEW['customer']}"))


def test_an_order_is_called_off_and_back_with_undo(pages: Pages) -> None:
    name = placed(pages)
    answer = pages.post("/orders/cancel", {"order": name, "reason": "closed"}, page=f"/orders/order/{name}")
    assert answer.status_code == 303
    assert name not in state_of(pages).orders
    entry = re.search(r'name="entry" value="([^"]+)"', pages.get("/orders").text)
    assert entry is not None
    pages.post("/undo", {"entry": entry[1]}, page="/orders")
    assert name in state_of(pages).orders


STANDING = {
    "customer": "Upside Ladle", "product_1": "radish", "amount_1": "80 g", "how": "weekly", "every": "2", "days": "TH",
    "start": "2026-12-01", "last": "2027-03-31", "_form": "standing",
}  # fmt: skip


def repeated(pages: Pages) -> str:
    before = set(state_of(pages).standing)
    answer = pages.post("/orders/standing", STANDING, page="/orders/standing-new")
    assert answer.status_code == 303, words_of(answer)
    (name,) = set(state_of(pages).standing) - before
    return name


def test_an_order_repeats_is_paused_goes_on_skips_a_day_and_ends(pages: Pages) -> None:
    name = repeated(pages)
    assert state_of(pages).standing[name].rule == "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH;UNTIL=20270331"
    page, pause = f"/orders/standing/{name}", {"pause_first": "2026-12-20", "pause_last": "2027-01-05"}
    assert pages.post("/orders/pause", {"standing": name, **pause}, page=page).status_code == 303
    assert len(state_of(pages).standing[name].pauses) == 1
    assert pages.post("/orders/go-on", {"standing": name, **pause}, page=page).status_code == 303
    assert state_of(pages).standing[name].pauses == ()
    skipped = pages.post("/orders/skip", {"standing": name, "skip": "2026-12-03"}, page=page)
    assert skipped.status_code == 303, words_of(skipped)
    assert state_of(pages).standing[name].except_on == (date(2026, 12, 3),)
    assert pages.post("/orders/end", {"standing": name}, page=page).status_code == 303
    assert state_of(pages).standing[name].ended
    assert pages.post("/orders/go-on", {"standing": name}, page=page).status_code == 303
    assert not state_of(pages).standing[name].ended


def test_a_customer_who_wants_twice_as_much_once_gets_it_and_the_repeat_stays(pages: Pages) -> None:
    with pages.farm() as farm:
        before = farm.state(pages.clock.at)
        name, one = next((name, one) for name, one in before.standing.items() if one.rule.startswith("FREQ=WEEKLY"))
    first, second, *_ = standing_days(one, pages.clock.at.date(), pages.clock.at.date() + timedelta(days=60))
    where = f"/orders/new?instead={name}&day={first.isoformat()}"
    found = pages.get(where)
    fields = dict(re.findall(r'name="(amount_1|product_1|instead_on)"[^>]*value="([^"]*)"', found.text))
    assert fields["instead_on"] == first.isoformat()
    form = {"customer": one.customer, "due": first.isoformat(), "instead": name, "instead_on": first.isoformat()}
    form |= {"product_1": one.lines[0].product, "amount_1": "160 g" if one.lines[0].unit == "g" else "4", "sure": "1"}
    assert pages.post("/orders/new", form, page=where).status_code == 303
    with pages.farm() as farm:
        asked = [line for line in lines_due(farm.state(pages.clock.at), first, second) if line.customer == one.customer]
    mine = {line.line.partition("/")[0] for line in asked}
    assert f"{name}@{first.isoformat()}" not in mine, "left out that day"
    assert f"{name}@{second.isoformat()}" in mine, "and due as ever the next time"
    assert sum(line.due == first and not line.line.startswith(name) for line in asked) == 1
    again = pages.post("/orders/new", form, page=where)
    assert again.status_code == 422
    assert "nothing of it is due that day" in words_of(again)


@pytest.mark.parametrize(
    ("path", "form", "words"),
    [
        ("/orders/pause", {"pause_first": "2026-12-20", "pause_last": "2026-12-01"}, "it comes before the first"),
        ("/orders/skip", {"skip": "2026-12-02"}, "nothing of it is due that day"),
        ("/orders/standing", STANDING | {"last": "2026-12-02"}, "no delivery day comes of it"),
        ("/orders/standing", {**STANDING, "days": ""}, "on which days"),
    ],
)
def test_a_repeat_that_cannot_be_is_refused(pages: Pages, path: str, form: dict[str, str], words: str) -> None:
    answer = pages.post(path, {**form, "standing": "thimble-tue"}, page="/orders/standing/thimble-tue")
    assert answer.status_code == 422
    assert words in words_of(answer)


def test_a_customer_is_added_and_weighed(pages: Pages) -> None:
    form = {"new": "1", "name": "Lamp & Ladder", "weight": "2", "note": "blue door", "spot_orders": "1"}
    assert pages.post("/orders/customer", form, page="/orders/customers").status_code == 303
    kept = state_of(pages).customers["Lamp & Ladder"]
    assert (kept.weight, kept.note, kept.home, kept.spot_orders) == (2.0, "blue door", False, True)
    twice = pages.post("/orders/customer", form, page="/orders/customers")
    assert twice.status_code == 422
    assert "there is a customer of that name" in words_of(twice)
    near = pages.post(
        "/orders/customer", form | {"name": "lamp & ladders", "_form": "customer"}, page="/orders/customers"
    )
    assert near.status_code == 422
    assert "it is hardly told from Lamp" in words_of(near)
    assert 'id="customer-name-wrong"' in near.text


# From a spreadsheet ---------------------------------------------------------------------------------------------------


def brought(pages: Pages, content: bytes = SHEET, name: str = "orders.csv") -> str:
    """The page of a sheet just brought."""
    files = {"sheet": (name, content, "text/csv")}
    answer = pages.post("/orders/import", page="/orders/import", files=files)
    assert answer.status_code == 303, words_of(answer)
    return str(answer.headers["location"])


def hidden(text: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', text)
    assert found is not None
    return found[1]


def test_a_sheet_is_shown_row_by_row_with_what_is_wrong_at_its_cell(pages: Pages) -> None:
    page = pages.get(brought(pages))
    assert re.search(r'class="cell-wrong"><span>Moth &amp; Marow</span><span class="wrong-words', page.text)
    assert "Nothing is kept while a row cannot be read" in words_of(page)
    assert "/orders/import/keep" not in page.text
    assert "Did you mean Moth &amp; Marrow" in page.text


def test_what_can_be_read_is_kept_just_as_it_was_shown(pages: Pages) -> None:
    address = brought(pages)
    token = address.rpartition("/")[2]
    columns = {"column_customer": "0", "column_due": "1", "column_product": "2", "column_quantity": "3"}
    read = pages.post("/orders/import/read", {"token": token, **columns, "skip_rejected": "1"}, page=address)
    assert read.status_code == 303, words_of(read)
    page = pages.get(address)
    kept = pages.post("/orders/import/keep", {"token": token, "seal": hidden(page.text, "seal")}, page=address)
    assert kept.status_code == 303, words_of(kept)
    state = state_of(pages)
    ladle = next(
        one for one in state.orders.values() if (one.customer, one.due) == ("Upside Ladle", date(2026, 12, 11))
    )
    assert [(line.product, line.quantity) for line in ladle.lines if line.product == "radish"] == [("radish", 80.0)]
    assert "There is nothing new in it." in words_of(pages.get(address))  # left open, it says what is so now
    again = pages.get(brought(pages))
    assert "0 new orders, 0 changed, 2 as before" in words_of(again)


def test_a_sheet_is_not_kept_where_the_book_has_moved_on(pages: Pages) -> None:
    address = brought(pages, SHEET.replace(b"Moth & Marow", b"Moth & Marrow"))
    token, seal = address.rpartition("/")[2], hidden(pages.get(address).text, "seal")
    with pages.farm() as farm:
        from trayward.desk.sheets.orders import guess_mapping, read_orders, read_sheet

        sheet = read_sheet(SHEET.replace(b"Moth & Marow", b"Moth & Marrow"))
        state = farm.state(pages.clock.at)
        farm.record(read_orders(sheet, guess_mapping(sheet, state), state).bodies[0], at=pages.clock.at, by="Ben")
    pages.clock.forward(minutes=1)
    answer = pages.post("/orders/import/keep", {"token": token, "seal": seal}, page=address)
    assert answer.status_code == 422
    assert "Look at it again" in words_of(answer)


def test_a_column_that_was_guessed_wrong_can_be_said(pages: Pages) -> None:
    address = brought(pages, b"A;B;C;D\nUpside Ladle;2026-12-11;radish;80 g\n")
    token = address.rpartition("/")[2]
    twice = {"token": token, "column_customer": "0", "column_product": "0", "_form": "columns"}
    refused = pages.post("/orders/import/read", twice, page=address)
    assert refused.status_code == 422
    assert "its column is that of the customer" in words_of(refused)
    columns = {"column_customer": "0", "column_due": "1", "column_product": "2", "column_quantity": "3"}
    assert pages.post("/orders/import/read", {"token": token, **columns}, page=address).status_code == 303
    assert "1 new order" in words_of(pages.get(address))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04 not a workbook", "cannot be read"),
        (b"\x00\x01\x02", "neither a table nor text"),
        (b"Customer,Item\n" + b"x,y\n" * 6000, "more than 5000 rows"),
    ],
)
def test_what_is_no_sheet_of_orders_is_refused(pages: Pages, content: bytes, words: str) -> None:
    answer = pages.post("/orders/import", page="/orders/import", files={"sheet": ("a.xlsx", content, "x")})
    assert answer.status_code == 422
    assert words in words_of(answer)


def test_no_file_is_asked_for_again(pages: Pages) -> None:
    answer = pages.post("/orders/import", {}, page="/orders/import")
    assert answer.status_code == 422
    assert "no file was chosen" in words_of(answer)


ACTS = ["new", "change", "cancel", "standing", "pause", "go-on", "skip", "end", "customer", "import", "import/read"]


@pytest.mark.parametrize("path", [f"/orders/{act}" for act in (*ACTS, "import/keep")])
@pytest.mark.parametrize(("role", "status"), [("reader", 403), ("hand", 403), ("stranger", 303)])
def test_only_who_keeps_the_farm_writes_orders(book: Path, clock: Clock, path: str, role: str, status: int) -> None:
    with TestClient(create_app(str(book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        answer = client.post(path, headers={"x-role": role, "Trayward-Script": "1"}, follow_redirects=False)
        assert answer.status_code == status


def test_a_sheet_is_only_for_who_brought_it(book: Path, clock: Clock) -> None:
    from trayward.errors import NotFoundError
    from trayward.web.orders.sheets import KEPT_FOR, Table

    table = Table()
    mine = table.bring(SHEET, "orders.csv", "Ada", clock.at)
    assert table.of(mine.token, "Ada", clock.at) == mine
    with pytest.raises(NotFoundError, match="choose the file again"):
        table.of(mine.token, "Ben", clock.at)
    with pytest.raises(NotFoundError, match="choose the file again"):
        table.of(mine.token, "Ada", clock.at + 2 * KEPT_FOR)


def test_a_farm_without_orders_says_what_to_do(tmp_path: Path, clock: Clock) -> None:
    from trayward import Farm

    path = tmp_path / "bare.sqlite"
    with Farm.create(path, "shelf", at=clock.at) as farm:
        for name in list(farm.state(clock.at).standing):
            farm.end_standing(name, at=clock.at, by="Ada")
    with TestClient(create_app(str(path), now=clock), base_url=ADDRESS) as client:
        assert "Nothing is due in the coming weeks." in words_of(client.get("/orders"))
        chosen = re.search(r'<option value="([^"]+)" selected', client.get("/orders/new").text)
    assert chosen is not None, "who alone orders need not be chosen"
