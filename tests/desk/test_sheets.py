"""Order sheets: the spreadsheets people have, read, mapped, and imported without halves or doubles."""

from __future__ import annotations

import copy
import io
from datetime import UTC, date, datetime
from importlib.resources import files
from pathlib import Path

import msgspec
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trayward.desk.setup.file import ready_setup
from trayward.desk.sheets.demo import demo_order_sheet
from trayward.desk.sheets.order_words import parse_amount, parse_line, product_name
from trayward.desk.sheets.orders import Mapping, OrderSheet, guess_mapping, read_orders, read_sheet, show_mapping
from trayward.desk.sheets.reading import Sheet
from trayward.desk.sheets.words import header_field, read_day
from trayward.errors import InputError
from trayward.farm.due import lines_due
from trayward.farm.entries import (
    Body,
    CustomerSet,
    Entry,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    StandingOrderSet,
)
from trayward.farm.fold import fold
from trayward.farm.state import FarmState

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
LONG = """Customer,Delivery date,Crop,Quantity,Price
Upside Ladle,2026-12-11,broccoli,200 g,4.20
Upside Ladle,2026-12-11,Garden Mix,2 packs,
Moth & Marrow,2026-12-11,radish,0.5 kg,
Moth & Marrow,2026-12-12,live pea tray,3 trays,15
"""


def farm_of(bodies: tuple[Body, ...], state: FarmState | None = None) -> FarmState:
    begin = state.entries if state is not None else 0
    entries = [
        Entry(id=f"sheet-{begin + number:05d}", at=MORNING, recorded=MORNING, by="grower", body=body)
        for number, body in enumerate(bodies)
    ]
    return fold(entries, start=copy.deepcopy(state))  # the fold goes on in place


@pytest.fixture
def loft() -> FarmState:
    """Lantern Loft on the morning it was set up."""
    return farm_of(ready_setup("loft"))


def csv(text: str) -> Sheet:
    return read_sheet(text.encode(), name="orders.csv")


def workbook(
    rows: list[list[object]], *, tab: str = "Orders", first: tuple[str, list[list[object]]] | None = None
) -> bytes:
    """An XLSX file's bytes; `first` is another sheet before the one with the orders."""
    kept = io.BytesIO()
    book = xlsxwriter.Workbook(kept, {"in_memory": True, "strings_to_formulas": False})
    as_day = book.add_format({"num_format": "dd/mm/yyyy"})
    for name, table in [*([first] if first else []), (tab, rows)]:
        page = book.add_worksheet(name)
        for number, row in enumerate(table):
            for column, value in enumerate(row):
                if isinstance(value, date):
                    page.write_datetime(number, column, datetime(value.year, value.month, value.day), as_day)  # noqa: DTZ001
                elif value is not None:
                    page.write(number, column, value)
    book.close()
    return kept.getvalue()


def imported(sheet: Sheet, state: FarmState, mapping: Mapping | None = None, **ways: object) -> OrderSheet:
    return read_orders(sheet, mapping or guess_mapping(sheet, state), state, **ways)  # type: ignore[arg-type]


def reasons(found: OrderSheet) -> list[tuple[int, str]]:
    return [(row.row, row.reason) for row in found.rejected]


# Reading files --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_csv_of_any_separator_and_encoding_reads_the_same(separator: str, encoding: str):
    text = "Customer,Crop,Quantity\nCafé Élan,broccoli,200 g\n".replace(",", separator)
    sheet = read_sheet(text.encode(encoding), name="orders.csv")
    assert sheet.separator == separator
    assert [row.cells for row in sheet.rows] == [
        ("Customer", "Crop", "Quantity"),
        ("Café Élan", "broccoli", "200 g"),
    ]


def test_a_decimal_comma_does_not_pass_for_a_separator():
    sheet = csv("Kunde;Sorte;Menge\nUpside Ladle;radish;1,5 kg\nUpside Ladle;kale;0,2 kg\n")
    assert sheet.separator == ";"
    assert sheet.rows[1].cells == ("Upside Ladle", "radish", "1,5 kg")


def test_rows_keep_the_number_the_spreadsheet_shows():
    sheet = csv("Orders\n\nCustomer,Crop,Quantity\n\nUpside Ladle,kale,90 g\n")
    assert [row.number for row in sheet.rows] == [1, 3, 5]


def test_a_cell_in_quotes_may_hold_separators_and_line_ends():
    sheet = csv('Customer,Crop,Note\nUpside Ladle,kale,"back door,\nbefore 9"\n')
    assert sheet.rows[1].cells == ("Upside Ladle", "kale", "back door, before 9")


def test_a_workbook_gives_days_and_numbers_as_such():
    sheet = read_sheet(workbook([["Customer", "Due", "Crop", "g"], ["Upside Ladle", date(2026, 12, 11), "kale", 90]]))
    assert sheet.rows[1].cells == ("Upside Ladle", date(2026, 12, 11), "kale", 90.0)


def test_the_sheet_of_a_workbook_that_looks_most_like_orders_is_read_unless_one_is_named():
    data = workbook([["Customer", "Due", "Crop", "Quantity"]], tab="December", first=("Notes", [["Read me"]]))
    assert read_sheet(data).tab == "December"
    assert read_sheet(data, tab="Notes").rows[0].cells == ("Read me",)
    with pytest.raises(InputError, match=r"none of that name. It has: Notes, December"):
        read_sheet(data, tab="January")


def test_what_is_no_sheet_is_refused_with_a_way_out(tmp_path: Path):
    with pytest.raises(InputError, match=r"neither a table nor text. Save the sheet as XLSX"):
        read_sheet(b"\x00\x01\x02", name="photo.jpg")
    with pytest.raises(InputError, match="the workbook cannot be read"):
        read_sheet(b"PK\x03\x04 and nothing more", name="broken.xlsx")
    with pytest.raises(InputError, match="there is nothing in it"):
        read_sheet(b"\n\n", name="empty.csv")
    with pytest.raises(InputError, match=r"cannot be read \(No such file"):
        read_sheet(tmp_path / "gone.csv")


# Words of a sheet -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "means"),
    [
        ("Customer", ("customer", "")),
        ("Deliver on:", ("due", "")),
        ("Order date", ("", "")),
        ("Quantity (g)", ("quantity", "g")),
        ("Packs", ("quantity", "packs")),
        ("Preis €/kg", ("price", "kg")),
        ("Price per 100 g", ("price", "100 g")),
        ("Unit price", ("price", "")),
        ("Sorte", ("product", "")),
        ("How often?", ("repeat", "")),
        ("Weather", ("", "")),
    ],
)
def test_a_heading_is_known_by_what_people_call_it(heading: str, means: tuple[str, str]):
    assert header_field(heading) == means


@pytest.mark.parametrize(
    ("cell", "order", "day"),
    [
        ("2026-12-04", "", date(2026, 12, 4)),
        ("4.12.2026", "", date(2026, 12, 4)),
        ("Fri 4 Dec 2026", "", date(2026, 12, 4)),
        ("December 4, 2026", "", date(2026, 12, 4)),
        ("2026-12-04 00:00:00", "", date(2026, 12, 4)),
        ("4/12/2026", "dmy", date(2026, 12, 4)),
        ("12/4/26", "mdy", date(2026, 12, 4)),
        ("4/12/2026", "", None),
        ("14/12/2026", "", date(2026, 12, 14)),
        ("5/5/2026", "", date(2026, 5, 5)),
        ("31/2/2026", "dmy", None),
        (46360.0, "", date(2026, 12, 4)),
        ("46360", "", date(2026, 12, 4)),
        (200.0, "", None),
        ("soon", "", None),
    ],
)
def test_a_day_is_read_in_the_ways_it_is_written_and_never_guessed(cell: object, order: str, day: date | None):
    """46360 is Excel's number of 2026-12-04: days since 1899-12-30 (computed)."""
    assert read_day(cell, order) == day  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "quantity", "unit"),
    [
        ("200 g", 200.0, "g"),
        ("200g", 200.0, "g"),
        ("0,5 kg", 500.0, "g"),
        ("4 oz", 113.398, "g"),
        ("1 lb 4 oz", 566.99, "g"),
        ("1/2 lb", 226.796, "g"),
        ("2 packs", 2.0, "packs"),
        ("3 x Punnets", 3.0, "packs"),
        ("1 live tray", 1.0, "trays"),
        ("6 envases", 6.0, "packs"),
        ("2 Bandejas", 2.0, "trays"),
    ],
)
def test_an_amount_is_read_as_buyers_write_it(text: str, quantity: float, unit: str):
    amount = parse_amount(text)
    assert amount.quantity == pytest.approx(quantity, abs=0.01)
    assert amount.unit == unit


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("lots", "is no amount"),
        ("200", "there is no unit"),
        ("3 bunches", "'bunches' is no unit"),
        ("-5 g", "is no amount"),
    ],
)
def test_an_amount_that_cannot_be_read_is_refused_with_examples(text: str, message: str):
    with pytest.raises(InputError, match=f'{message}.*Write for instance "200 g"'):
        parse_amount(text)


def test_an_order_line_in_words_has_a_price_of_one_gram_pack_or_tray(loft: FarmState):
    crops = ("broccoli", "pea")
    asked = parse_line("300 g of Pea at 4 per 100 g", loft.products, crops)
    assert (asked.line, asked.product, asked.price) == ("pea", "pea", 0.04)
    assert parse_line("6 packs garden mix at 3.50", loft.products, crops).price == 3.5
    for price in ("-4 per 100 g", "−4 per 100 g", "4 per 0 g"):
        with pytest.raises(InputError, match=r"price = .* is no price\. Say"):
            parse_line(f"300 g pea at {price}", loft.products, crops)
    with pytest.raises(InputError, match="does not say of how much"):
        parse_line("300 g pea at 4", loft.products, crops)
    with pytest.raises(InputError, match="the product is a live tray"):
        parse_line("300 g live pea tray", loft.products, crops)


def test_a_live_tray_is_found_by_its_crop_where_there_is_just_one_of_it(loft: FarmState) -> None:
    for words in ("live pea", "Live Peas", "live pea trays", "live pea tray"):
        assert product_name(words, loft.products, ("pea",)) == "live pea tray"
    assert parse_line("2 trays live pea", loft.products, ("pea",)).product == "live pea tray"
    other = msgspec.structs.replace(loft.products["live pea tray"], name="pea tray, large")
    with pytest.raises(InputError, match=r"the farm sells nothing of that name\. Did you mean live pea tray"):
        product_name("live pea", {**loft.products, other.name: other}, ("pea",))
    with pytest.raises(InputError, match="the farm sells nothing of that name"):
        product_name("live kale", loft.products, ("kale",))


def test_a_product_is_known_whatever_its_capitals_and_in_the_plural(loft: FarmState):
    assert product_name("  Garden-Mix ", loft.products, ()) == "garden mix"
    assert product_name("Peas", {}, ("pea",)) == "pea"
    with pytest.raises(InputError, match=r"sells nothing of that name. Did you mean broccoli"):
        product_name("brocoli", {}, ("broccoli", "kale"))


@given(data=st.binary(max_size=300))
def test_no_bytes_make_the_reader_fail_otherwise_than_by_saying_so(data: bytes):
    try:
        sheet = read_sheet(data, name="anything")
    except InputError as err:
        assert err.remedy  # noqa: PT017  either outcome is fine; a refusal must say the way out
    else:
        assert sheet.rows


CELLS = st.one_of(
    st.sampled_from(
        ["Customer", "Due", "Crop", "Quantity", "Unit", "Price", "Upside Ladle", "kale", "garden mix", "2 packs",
         "90 g", "4/12/2026", "2026-12-11", "Total", "every Fri", "-", "1,5", ""]
    ),
    st.text(alphabet="aZ0 ,./-%€é", max_size=6),
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(table=st.lists(st.lists(CELLS, min_size=1, max_size=6), min_size=1, max_size=8))
def test_whatever_stands_in_a_sheet_every_row_is_an_order_or_has_its_reason(loft: FarmState, table: list[list[str]]):
    rows = [",".join('"' + cell.replace('"', "") + '"' for cell in row) for row in table]
    try:
        sheet = csv("\n".join(rows))
    except InputError:
        return
    mapping = guess_mapping(sheet, loft)
    assert show_mapping(mapping)
    found = imported(sheet, loft, mapping)
    assert all(row.reason and row.remedy for row in found.rejected)
    assert not (found.rejected and found.bodies)
    again = imported(sheet, farm_of(found.bodies, loft), mapping)
    assert again.bodies == ()


# Guessing -------------------------------------------------------------------------------------------------------------


def test_a_long_sheet_is_known_by_its_headings():
    mapping = guess_mapping(csv(LONG))
    assert mapping.columns == {"customer": 0, "due": 1, "product": 2, "quantity": 3, "price": 4}
    assert (mapping.header_row, mapping.across, mapping.doubts) == (1, "", ())


def test_headings_below_a_title_are_found():
    assert guess_mapping(csv("Orders for the week\n\n" + LONG)).header_row == 3


def test_a_sheet_without_headings_is_known_by_what_it_holds(loft: FarmState):
    mapping = guess_mapping(csv("Upside Ladle,broccoli,200 g,2026-12-11\nMoth & Marrow,kale,90 g,2026-12-11\n"), loft)
    assert mapping.header_row == 0
    assert mapping.columns == {"customer": 0, "product": 1, "quantity": 2, "due": 3}


def test_customers_side_by_side_make_a_wide_sheet(loft: FarmState):
    sheet = csv(",Upside Ladle,Moth & Marrow\nbroccoli,200 g,\nkale,,90 g\nTotal,200,90\n")
    mapping = guess_mapping(sheet, loft)
    assert (mapping.across, mapping.labels) == ("customer", {1: "Upside Ladle", 2: "Moth & Marrow"})
    assert mapping.doubts == ("Which column holds the day it is due? Or give it for the whole sheet.",)
    whole = msgspec.structs.replace(mapping, due=date(2026, 12, 11))
    found = imported(sheet, loft, whole)
    assert [(order.customer, order.lines[0].product, order.lines[0].quantity) for order in found.orders] == [
        ("Upside Ladle", "broccoli", 200.0),
        ("Moth & Marrow", "kale", 90.0),
    ]


def test_crops_side_by_side_make_a_wide_sheet_whose_heading_may_name_the_unit(loft: FarmState):
    sheet = csv(
        "Client,Date,broccoli,kale,live pea tray\nUpside Ladle,2026-12-11,200 g,0,2\nMoth & Marrow,2026-12-11,-,90 g,\n"
    )
    found = imported(sheet, loft)
    assert guess_mapping(sheet, loft).across == "product"
    assert [(line.product, line.quantity, line.unit) for order in found.orders for line in order.lines] == [
        ("broccoli", 200.0, "g"),
        ("live pea tray", 2.0, "trays"),
        ("kale", 90.0, "g"),
    ]


def test_days_side_by_side_make_a_wide_sheet(loft: FarmState):
    rows = [["Customer", "Crop", date(2026, 12, 8), date(2026, 12, 11)], ["Upside Ladle", "kale", "90 g", "60 g"]]
    sheet = read_sheet(workbook(rows))
    found = imported(sheet, loft)
    assert guess_mapping(sheet, loft).across == "due"
    assert [(order.due, order.lines[0].quantity) for order in found.orders] == [
        (date(2026, 12, 8), 90.0),
        (date(2026, 12, 11), 60.0),
    ]


def test_a_day_of_the_sheet_with_a_number_over_12_settles_what_comes_first():
    rows = "Customer,Due,Crop,Quantity\nA,{},kale,9 g\nA,{},kale,9 g\n"
    assert guess_mapping(csv(rows.format("4/12/2026", "15/12/2026"))).day_order == "dmy"
    assert guess_mapping(csv(rows.format("12/4/2026", "12/15/2026"))).day_order == "mdy"


def test_days_that_may_be_two_days_are_asked_about_and_not_guessed(loft: FarmState):
    sheet = csv("Customer,Due,Crop,Quantity\nUpside Ladle,4/12/2026,kale,90 g\n")
    mapping = guess_mapping(sheet, loft)
    assert mapping.doubts == ("Is 4/12/2026 day first or month first? No day in the sheet tells.",)
    assert reasons(imported(sheet, loft)) == [(2, "due = '4/12/2026': may be either of two days")]
    settled = msgspec.structs.replace(mapping, day_order="dmy")
    assert imported(sheet, loft, settled).orders[0].due == date(2026, 12, 4)


def test_a_mapping_is_shown_in_plain_words_with_what_is_not_used():
    shown = show_mapping(guess_mapping(csv("Kunde;Datum;Sorte;Menge;Wetter\nA;4/12/2026;kale;1,5 kg;rain\n")))
    assert shown.splitlines() == [
        "Row 1 holds the headings. Each row is one order line.",
        'Customer: column A "Kunde".',
        'Crop or product: column C "Sorte".',
        'Quantity: column D "Menge".',
        'Day it is due: column B "Datum".',
        "A comma marks the decimals: 1,5 is one and a half.",
        "Not used: Wetter.",
        "Question: Is 4/12/2026 day first or month first? No day in the sheet tells.",
    ]


# Importing ------------------------------------------------------------------------------------------------------------


def test_rows_of_one_customer_for_one_day_are_one_order(loft: FarmState):
    found = imported(csv(LONG), loft)
    assert found.rejected == ()
    assert found.placed == ("sheet-upside-ladle-261211", "sheet-moth-marrow-261211", "sheet-moth-marrow-261212")
    assert [len(order.lines) for order in found.orders] == [2, 1, 1]
    first = found.orders[0].lines[0]
    assert (first.product, first.quantity, first.unit, first.price) == ("broccoli", 200.0, "g", pytest.approx(0.042))


def test_an_imported_line_is_due_with_its_amount_and_price(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    assert state.findings == []
    due = {line.line: line for line in lines_due(state, date(2026, 12, 11), date(2026, 12, 12))}
    line = due["sheet-upside-ladle-261211/broccoli"]
    assert (line.grams, line.value) == (200.0, pytest.approx(8.4))  # 200 g at 4.20 for 100 g
    assert due["sheet-moth-marrow-261212/live-pea-tray"].trays == 3


def test_importing_the_same_sheet_again_changes_nothing(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    again = imported(csv(LONG), state)
    assert (again.bodies, again.placed, again.changed) == ((), (), ())
    assert len(again.unchanged) == 3


def test_the_same_orders_from_another_kind_of_file_change_nothing(loft: FarmState):
    """What makes an order the same is what it says, not the file or the row it stands in."""
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    rows: list[list[object]] = [
        ["Product", "Client", "Amount", "Date", "Price"],
        ["live pea tray", "Moth & Marrow", "3 trays", date(2026, 12, 12), 15],
        ["radish", "moth & marrow", "500 g", date(2026, 12, 11)],
        ["garden mix", "Upside Ladle", "2 packs", date(2026, 12, 11)],
        ["broccoli", "Upside Ladle", "200 g", date(2026, 12, 11), 4.2],
    ]
    assert imported(read_sheet(workbook(rows)), state).bodies == ()


def test_a_changed_quantity_changes_the_order(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    found = imported(csv(LONG.replace("200 g", "250 g")), state)
    assert found.changed == ("sheet-upside-ladle-261211",)
    (body,) = found.bodies
    assert isinstance(body, OrderChanged)
    after = farm_of(found.bodies, state)
    assert after.orders["sheet-upside-ladle-261211"].lines[0].quantity == 250.0
    assert imported(csv(LONG.replace("200 g", "250 g")), after).bodies == ()


def test_what_was_changed_by_hand_stays_when_the_sheet_has_not_changed(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    known = state.orders["sheet-moth-marrow-261211"]
    by_hand = msgspec.structs.replace(known, lines=(msgspec.structs.replace(known.lines[0], quantity=650.0),))
    state = farm_of((OrderChanged(order=by_hand),), state)
    assert imported(csv(LONG), state).bodies == ()


def test_what_was_cancelled_since_stays_cancelled(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    state = farm_of((OrderCancelled(order="sheet-moth-marrow-261212"),), state)
    found = imported(csv(LONG), state)
    assert found.bodies == ()
    assert "Order sheet-moth-marrow-261212 was cancelled since it was imported, and stays cancelled." in found.notes


@pytest.mark.parametrize(
    "row",
    [
        "Moth & Marrow,2026-12-11,brocoli,600 g",
        "Mothe & Marow,2026-12-11,broccoli,600 g",
        "Moth & Marrow,someday,broccoli,600 g",
    ],
)
def test_an_order_whose_row_cannot_be_read_is_not_reported_as_gone(loft: FarmState, row: str):
    """It stands in the sheet; what is wrong with it is said already."""
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    lines = LONG.splitlines(keepends=True)
    found = imported(csv("".join([lines[0], lines[1], f"{row}\n", lines[4]])), state)
    assert [rejected.row for rejected in found.rejected] == [3]
    assert not any("is not in the sheet" in note for note in found.notes)


def test_rows_taken_out_of_the_sheet_are_reported_and_not_cancelled(loft: FarmState):
    state = farm_of(imported(csv(LONG), loft).bodies, loft)
    rows = LONG.splitlines(keepends=True)
    found = imported(csv("".join([rows[0], rows[1], rows[4]])), state)
    assert found.bodies == ()
    assert found.notes == (
        "Order sheet-upside-ladle-261211 has lines that are not in the sheet, which stay: garden mix.",
        "Order sheet-moth-marrow-261211 (Moth & Marrow, 2026-12-11) is not in the sheet. "
        "It stays; cancel it if it is off.",
    )


@pytest.mark.parametrize(
    ("row", "reason", "remedy"),
    [
        (
            "Upside Ladel,2026-12-11,kale,90 g,",
            "customer = 'Upside Ladel': the farm has none",
            "Did you mean Upside Ladle?",
        ),
        (",2026-12-11,kale,90 g,", "customer = nothing: it has to be given", "Fill it in"),
        ("Upside Ladle,soon,kale,90 g,", "due = 'soon': is no day", "Write it as year-month-day"),
        ("Upside Ladle,2026-12-11,kail,90 g,", "product = 'kail': the farm sells nothing", "Did you mean kale"),
        ("Upside Ladle,2026-12-11,kale,,", "quantity = nothing: it has to be given", "Fill it in"),
        ("Upside Ladle,2026-12-11,kale,90,", "quantity = '90': there is no unit", 'Write for instance "200 g"'),
        ("Upside Ladle,2026-12-11,kale,2 packs,", "= 2 packs: the product has no pack weight", "or order grams"),
        ("Upside Ladle,2026-12-11,live pea tray,1.5 trays,", "live trays come whole", "whole number"),
        ("Upside Ladle,2026-12-11,kale,90 g,cheap", "price = 'cheap': is no price", "Write one number"),
    ],
)
def test_a_row_that_cannot_be_read_is_rejected_with_reason_and_way_out(
    loft: FarmState, row: str, reason: str, remedy: str
):
    found = imported(csv(LONG + row + "\n"), loft)
    rejected = next(entry for entry in found.rejected if entry.row == 6)
    assert reason in rejected.reason
    assert remedy in rejected.remedy
    assert rejected.sentence().startswith("row 6: ")


def test_all_reasons_of_a_row_are_said_at_once(loft: FarmState):
    found = imported(csv("Customer,Due,Crop,Quantity\nNobody,soon,stone,much\n"), loft)
    for word in ("customer", "due", "product", "quantity"):
        assert f"{word} = " in found.rejected[0].reason


def test_nothing_is_imported_while_a_row_is_rejected(loft: FarmState):
    found = imported(csv(LONG + "Upside Ladle,2026-12-15,kail,90 g,\n"), loft)
    assert found.bodies == ()
    assert found.held_back
    assert found.sentence() == (
        "Orders: 3 new, 0 changed, 0 as before, 1 row rejected. Nothing is recorded while rows are rejected."
    )


def test_with_rejected_rows_skipped_whole_orders_go_in_and_an_order_with_a_bad_row_does_not(loft: FarmState):
    found = imported(csv(LONG + "Upside Ladle,2026-12-11,kail,90 g,\n"), loft, skip_rejected=True)
    placed = [body.order.order for body in found.bodies if isinstance(body, OrderPlaced)]
    assert placed == ["sheet-moth-marrow-261211", "sheet-moth-marrow-261212"]
    assert [row.row for row in found.rejected] == [2, 3, 6]
    assert "the order of Upside Ladle for 2026-12-11 has another row that cannot be read" in found.rejected[0].reason


def test_a_bad_cell_of_a_wide_sheet_spoils_only_its_own_order(loft: FarmState):
    sheet = csv("Crop,Date,Upside Ladle,Moth & Marrow\nkale,2026-12-11,2 packs,90 g\nradish,2026-12-11,50 g,60 g\n")
    found = imported(sheet, loft, skip_rejected=True)
    assert [(row.row, row.column) for row in found.rejected] == [(2, "C"), (3, "C")]
    assert [order.customer for order in found.orders] == ["Moth & Marrow"]
    assert len(found.orders[0].lines) == 2


def test_new_customers_are_added_only_when_that_is_asked_for(loft: FarmState):
    sheet = csv("Customer,Due,Crop,Quantity\nVelvet Whisk,2026-12-11,kale,90 g\nvelvet whisk,2026-12-12,kale,90 g\n")
    assert len(imported(sheet, loft).rejected) == 2
    found = imported(sheet, loft, new_customers=True)
    assert [body.customer.name for body in found.bodies if isinstance(body, CustomerSet)] == ["Velvet Whisk"]
    assert {order.customer for order in found.orders} == {"Velvet Whisk"}
    assert farm_of(found.bodies, loft).findings == []


def test_an_empty_customer_or_day_means_as_above_and_that_is_shown(loft: FarmState):
    sheet = csv("Customer,Due,Crop,Quantity\nUpside Ladle,2026-12-11,kale,90 g\n,,radish,60 g\nTotal,,,150 g\n")
    mapping = guess_mapping(sheet, loft)
    assert "An empty customer or day means: as in the row above." in show_mapping(mapping)
    (order,) = imported(sheet, loft, mapping).orders
    assert [line.product for line in order.lines] == ["kale", "radish"]


def test_the_same_asked_for_twice_is_kept_twice_and_said(loft: FarmState):
    found = imported(csv(LONG + "Moth & Marrow,2026-12-11,radish,100 g,\n"), loft)
    order = next(order for order in found.orders if order.order == "sheet-moth-marrow-261211")
    assert [(line.line, line.quantity) for line in order.lines] == [("radish", 500.0), ("radish-2", 100.0)]
    assert "Rows 4, 6 ask for the same; all are kept." in found.notes


def test_a_row_that_asks_for_nothing_is_passed_over_and_said(loft: FarmState):
    found = imported(csv(LONG + "Upside Ladle,2026-12-15,kale,0,\n"), loft)
    assert found.rejected == ()
    assert "Passed over, for they ask for nothing: row 6." in found.notes


def test_orders_due_earlier_are_passed_over(loft: FarmState):
    found = imported(csv(LONG), loft, not_before=date(2026, 12, 12))
    assert found.placed == ("sheet-moth-marrow-261212",)
    assert found.past == ("Upside Ladle on 2026-12-11", "Moth & Marrow on 2026-12-11")


def test_an_order_number_names_the_order_so_a_moved_day_changes_it(loft: FarmState):
    text = "Order no,Customer,Due,Crop,Quantity\nA17,Upside Ladle,2026-12-11,kale,90 g\n"
    state = farm_of(imported(csv(text), loft).bodies, loft)
    found = imported(csv(text.replace("12-11", "12-15")), state)
    assert found.changed == ("sheet-a17",)
    assert farm_of(found.bodies, state).orders["sheet-a17"].due == date(2026, 12, 15)


def test_one_order_number_on_two_days_makes_two_orders(loft: FarmState):
    heading, row = "Order no,Customer,Due,Crop,Quantity\n", "A17,Upside Ladle,2026-12-{},kale,90 g\n"
    text = heading + row.format(11) + row.format(12)
    found = imported(csv(text), loft)
    assert len(set(found.placed)) == 2
    assert imported(csv(text), farm_of(found.bodies, loft)).bodies == ()


def test_a_row_that_repeats_becomes_a_standing_order_once(loft: FarmState):
    text = "Customer,First day,Due,Crop,Quantity,Repeat\nUpside Ladle,,2026-12-11,kale,90 g,every Fri\n"
    found = imported(csv(text), loft)
    (body,) = found.bodies
    assert isinstance(body, StandingOrderSet)
    assert (body.standing.rule, body.standing.start) == ("FREQ=WEEKLY;BYDAY=FR", date(2026, 12, 11))
    state = farm_of(found.bodies, loft)
    assert imported(csv(text), state).bodies == ()
    assert imported(csv(text.replace("90 g", "120 g")), state).changed == found.placed


@pytest.mark.parametrize(
    ("heading", "quantity", "price", "for_one"),
    [
        ("Price per kg", "200 g", "42", 0.042),
        ("Price per 100 g", "2 packs", "6", 3.0),  # a pack of garden mix is 50 g
        ("Unit price", "0.2 kg", "42", 0.042),
        ("Unit price", "2 packs", "3.10", 3.1),
        ("Line total", "2 packs", "€6.20", 3.1),
    ],
)
def test_a_price_is_for_what_its_heading_says(loft: FarmState, heading: str, quantity: str, price: str, for_one: float):
    product = "garden mix" if "pack" in quantity else "broccoli"
    text = f"Customer,Due,Product,Quantity,{heading}\nUpside Ladle,2026-12-11,{product},{quantity},{price}\n"
    (order,) = imported(csv(text), loft).orders
    assert order.lines[0].price == pytest.approx(for_one)


def test_decimal_commas_and_thousands_are_told_apart(loft: FarmState):
    row = "Upside Ladle;11.12.2026;"
    text = f"Kunde;Datum;Sorte;Menge;Preis\n{row}radish;1,5 kg;3,40\n{row}kale;1.200 g;\n"
    lines = imported(csv(text), loft).orders[0].lines
    assert [line.quantity for line in lines] == [1500.0, 1200.0]
    assert lines[0].price == pytest.approx(0.034)
    (order,) = imported(csv('Customer,Due,Crop,Quantity\nUpside Ladle,2026-12-11,radish,"1,200 g"\n'), loft).orders
    assert order.lines[0].quantity == 1200.0


# Lantern Loft's own sheets --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("first_day", [date(2026, 11, 25), date(2027, 12, 1), date(2028, 2, 27)])
def test_the_demo_s_sheet_imports_whole_and_falls_in_the_six_weeks_after_its_day(loft: FarmState, first_day: date):
    found = imported(csv(demo_order_sheet(first_day)), loft)
    assert found.rejected == ()
    assert sum(len(order.lines) for order in found.orders) == 27
    days = [order.due for order in found.orders]
    assert first_day < min(days)
    assert (max(days) - first_day).days <= 42
    assert not {(day.month, day.day) for day in days} & {(12, 25), (12, 26), (1, 1)}


@pytest.mark.parametrize("name", ["lantern-loft-orders.csv", "lantern-loft-orders.xlsx"])
def test_the_example_sheets_of_the_package_import_whole(loft: FarmState, name: str):
    data = (files("trayward.desk.setup") / "ready" / name).read_bytes()
    sheet = read_sheet(data, name=name)
    assert guess_mapping(sheet, loft).doubts == ()
    found = imported(sheet, loft)
    assert found.rejected == ()
    assert len(found.orders) >= 9
