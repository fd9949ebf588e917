"""The traceability record as a sortable sheet: complete rows, what is missing named, read back by another library."""

from __future__ import annotations

import io

import python_calamine

from tests.trace.made import Made, chain
from trayward.farm import entries as said
from trayward.farm.orders import Customer
from trayward.farm.recalls import Contact
from trayward.farm.settings import FarmPaper, FarmSettings
from trayward.trace.sortable import HEAD, key_data, key_data_findings, key_data_rows, key_data_workbook
from trayward.trace.types import Start

LOT = Start(kind="lot", name="S1")


def complete() -> Made:
    made = chain()
    settings = FarmSettings(name="Lantern Loft", paper=FarmPaper(address=("1 Mill Lane", "Harbour")))
    made.say(said.FarmSet(settings=settings))
    for name in ("A", "B", "C"):
        made.say(said.ContactSet(contact=Contact(customer=name, address=f"{name} Street 1")))
    return made


def test_every_harvest_packing_and_shipping_of_a_lot_is_a_row() -> None:
    rows = key_data(complete(), LOT)
    told = [(row.event, row.lot[:2], row.quantity, row.unit, row.recipient) for row in rows]
    assert [row.day for row in rows] == sorted(row.day for row in rows)
    assert sorted(told) == [
        ("harvesting", "H1", 500.0, "g", ""),
        ("harvesting", "H2", 250.0, "g", ""),
        ("initial packing", "P1", 6, "packs", ""),
        ("shipping", "H1", 100.0, "g", "B"),
        ("shipping", "H2", 250.0, "g", "C"),
        ("shipping", "P1", 2, "packs", "B"),
        ("shipping", "P1", 4, "packs", "A"),
    ]
    assert key_data_findings(rows) == ()


def test_a_shipping_record_without_its_document_or_addresses_says_what_is_missing() -> None:
    # TRAC-14 of the published checks: 21 CFR 1.1340(a)(1)-(8).
    made = complete()
    part = (said.LotGrams(harvest="H1", grams=10.0),)
    line = said.LineDelivered(line="O9/1", loose=part)
    made.say(said.Delivered(delivery="D9", customer="A", lines=(line,)))
    rows = key_data(made, LOT)
    assert [row.missing() for row in rows if row.missing()] == [("kind of document", "number of the document")]
    assert "missing in 1 of 5 rows" in key_data_findings(rows)[0].message
    bare = key_data(chain(), LOT)
    assert all("our own address" in row.missing() for row in bare)
    assert {words for row in bare if row.event == "shipping" for words in row.missing()} >= {"the recipient's address"}


def test_what_went_to_ones_own_table_is_no_shipping() -> None:
    made = complete()
    made.say(said.CustomerSet(customer=Customer(name="C", home=True)))
    assert "C" not in {row.recipient for row in key_data(made, LOT)}


def test_a_struck_delivery_is_no_row() -> None:
    made = complete()
    made.strike(next(entry.id for entry in made.entries if isinstance(entry.body, said.Delivered)))
    assert "A" not in {row.recipient for row in key_data(made, LOT)}


def test_the_workbook_is_read_back_by_another_library() -> None:
    rows = key_data(complete(), LOT)
    book = python_calamine.load_workbook(io.BytesIO(key_data_workbook(rows)))
    head, *read = book.get_sheet_by_index(0).to_python()
    assert tuple(head) == HEAD
    assert len(read) == len(rows)
    assert [line[1] for line in read] == [row.day for row in rows]
    assert [line[5] for line in read] == [round(row.quantity, 1) for row in rows]
    assert [line[2] for line in read] == [row.lot for row in rows]


def test_words_that_look_like_a_formula_stay_words() -> None:
    made = complete()
    made.say(said.ContactSet(contact=Contact(customer="C", address="=1+1")))
    book = python_calamine.load_workbook(io.BytesIO(key_data_workbook(key_data(made, LOT))))
    assert "=1+1" in {line[11] for line in book.get_sheet_by_index(0).to_python()}


def test_the_sheet_of_a_lot_nobody_has_has_no_rows() -> None:
    assert key_data_rows(key_data(chain(), Start(kind="harvest", name="H9"))) == []
    assert key_data_workbook(())[:2] == b"PK"
