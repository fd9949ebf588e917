"""A recall on paper: every customer and lot is on it, grams add up, and what was kept stays as it was kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import msgspec
import numpy as np
import pypdfium2
import pytest

from tests.paper.seen import overflows, pictures, text_of
from tests.trace.made import Made, chain, contact, cut, delivered, packed, sown
from trayward.farm import entries as said
from trayward.farm.orders import Customer
from trayward.farm.recalls import Contact, Recall, Told
from trayward.farm.settings import US, FarmSettings
from trayward.paper.page import Box, Page, Text
from trayward.paper.recall_sheet import kept_recall_pdf, recall_sheet_pdf, steps_of
from trayward.trace.recall import KeptRecall, RecallLot, RecallSheet, StillGood, recall_sheet
from trayward.trace.types import Start

LOFT = FarmSettings(name="Lantern Loft", timezone="Europe/Madrid")
OUNCES = msgspec.structs.replace(LOFT, units=US)


def of(made: Made, kind: str, name: str) -> RecallSheet:
    return recall_sheet(made, Start(kind=kind, name=name))


def printed(found: RecallSheet, settings: FarmSettings = LOFT, **more: object) -> str:
    return text_of(recall_sheet_pdf(found, settings, at=found.at, **more))  # type: ignore[arg-type]


def kept_of(found: RecallSheet, *reached: str, **changed: object) -> KeptRecall:
    told = tuple(
        Told(customer=each.customer, grams=each.grams, packs=each.packs, reached=each.customer in reached)
        for each in found.customers
    )
    recall = Recall(
        recall="R261127A", about=found.start.subject, reason="yearly exercise", exercise=True, began=found.at,
        ended=found.at + timedelta(minutes=18), harvests=(), packs=(), told=told, cut_g=found.cut_g,
        accounted_g=found.accounted_g, findings=tuple(each.message for each in found.findings),
    )  # fmt: skip
    return KeptRecall(
        recall=msgspec.structs.replace(recall, **changed), by="Ada Reed", written=recall.ended, sheet=found
    )


def large(packs: int = 300, customers: int = 24) -> Made:
    """A harvest lot in many fillings of a pack: 60 to one customer at once, of the others four to each in turn."""
    made = Made()
    sown(made, "W1", ("T1",), {"S1": 20.0})
    cut(made, "H1", {"T1": 50.0 * packs})
    for number in range(1, customers + 1):
        made.say(said.CustomerSet(customer=Customer(name=f"Cafe {number}")))
    for number in range(1, packs + 1):
        packed(made, f"P{number}", 1, {"H1": 50.0})
    delivered(made, "D0", "Cafe 1", packs={f"P{number}": 1 for number in range(1, 61)})
    for first in range(61, packs + 1, 4):
        four = {f"P{number}": 1 for number in range(first, first + 4)}
        delivered(made, f"D{first}", f"Cafe {first // 4 % customers + 1}", packs=four)
    return made


def test_the_sheet_names_every_customer_with_how_to_reach_them_what_they_got_and_when() -> None:
    made = chain()
    made.say(
        said.ContactSet(
            contact=Contact(customer="A", phone="0100 1", person="Kim", address="1 Mill Lane, Lantern Quay")
        )
    )
    found = of(made, "lot", "S1")
    text = printed(found, began=found.at - timedelta(minutes=4))
    for words in (
        "Recall sheet", "Asked seed lot S1", "Ask for Kim, telephone 0100 1, 1 Mill Lane, Lantern Quay",
        "4 packs of P1-", "2 packs of P1-", "100 g loose of H1-", "250 g loose of H2-", "Sun 1 Nov 2026", "note D3",
        "No telephone and no e-mail is in the book. Had 250 g loose", "100 % of 750 g cut is accounted for",
        "In the cold room: 100 g loose of H1-", "D3, Ada", "led by", "page 1 of 3", "Defer to local codes".lower(),
    ):  # fmt: skip
        assert words in text, words
    for each in found.customers:
        assert f" {each.customer} " in text


def test_each_customer_has_one_box_to_tick_and_lines_for_by_whom_and_when(laid_out: list[Page]) -> None:
    found = of(chain(), "lot", "S1")
    recall_sheet_pdf(found, LOFT, at=found.at)
    words = [mark.words for page in laid_out for mark in page.marks if isinstance(mark, Text)]
    boxes = [mark for page in laid_out for mark in page.marks if isinstance(mark, Box)]
    # A box for what is held in the cold room, and one for each customer.
    assert len(boxes) == 1 + len(found.customers)
    assert words.count("by, at") == len(found.customers)
    # Two more lines stand under "Others who were told".
    assert words.count("by") == words.count("at") == 2


def test_the_first_page_says_whom_to_telephone_first_and_what_may_still_be_there(laid_out: list[Page]) -> None:
    made = large(packs=300, customers=24)
    for number in range(1, 25):
        made.say(said.ContactSet(contact=Contact(customer=f"Cafe {number}", phone=f"0100 {number:02d}", person="Kim")))
    found = of(made, "harvest", "H1")
    some = StillGood(packs=2, until=date(2026, 11, 28), likely_g=50.0)
    none = StillGood(until=date(2026, 11, 20))
    told = tuple(msgspec.structs.replace(each, good=some if number < 20 else none)
                 for number, each in enumerate(found.customers))  # fmt: skip
    found = msgspec.structs.replace(found, customers=told)
    recall_sheet_pdf(found, LOFT, at=found.at)
    first = [mark.words for mark in laid_out[0].marks if isinstance(mark, Text)]
    # 17 of 24 stand on the first page, as much as fits it with lines for a pencil; the last of them on the second.
    assert sum(words.startswith("Cafe ") for words in first) >= 16
    second = [mark.words for mark in laid_out[1].marks if isinstance(mark, Text)]
    listed = [words for words in (*first, *second) if words.startswith("Cafe ")][: len(found.customers)]
    assert listed == [each.customer for each in found.customers]
    assert found.customers[0].contact.phone in " ".join(first)
    assert "2 packs, good until Sat 28 Nov" in " ".join(first)
    assert "Past its last day, Fri 20 Nov" in " ".join(second)


@pytest.mark.parametrize(
    ("share", "expected"),
    [((50.0, 16.7, 16.7, 16.6), [50, 17, 17, 16, 0]), ((100.0, 60.0, 25.5, 4.5), [100, 60, 26, 4, 10]),
     ((250.0, 280.0, 0.0, 0.0), [250, 280, 0, 0, -30]), ((99.6, 33.2, 33.2, 33.2), [100, 34, 33, 33, 0])],
)  # fmt: skip
def test_rounded_grams_still_add_up(share: tuple[float, float, float, float], expected: list[int]) -> None:
    cut_g, out, here, thrown = share
    lot = RecallLot(harvest="H", code="", crop="pea", cut_g=cut_g, delivered_g=out, here_g=here, thrown_g=thrown)
    row = steps_of(lot, 1.0)
    assert row == expected
    assert row[0] == sum(row[1:])


def test_grams_of_each_lot_and_of_all_stand_in_rows_that_add_up() -> None:
    text = printed(of(chain(), "lot", "S1"))
    assert "pea" in text
    assert "500 400 100 0 0" in text
    assert "250 250 0 0 0" in text
    assert "All 750 650 100 0 0" in text
    # 500 g, 400 g and 100 g: 17.6, 14.1 and 3.5 oz.
    assert "17.6 14.1 3.5 0.0 0.0" in printed(of(chain(), "lot", "S1"), OUNCES)


def test_more_gone_out_than_was_cut_is_told_below_zero_and_as_a_finding() -> None:
    made = chain()
    delivered(made, "D4", "B", loose={"H2": 30.0})
    text = printed(of(made, "harvest", "H2"))
    assert "250 280 0 0 -30" in text
    assert "more went out than was cut" in text
    assert "everything adds up" not in text


def test_of_a_lot_of_which_nothing_was_sold_nobody_is_called_and_all_is_held() -> None:
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 20.0})
    cut(made, "H1", {"T1": 300.0})
    text = printed(of(made, "lot", "S1"))
    for words in ("Nobody had of it.", "None was filled.", "In the cold room: 300 g loose", "Do not cut: tray T2",
                  "300 0 300 0 0", "Nothing: everything adds up."):  # fmt: skip
        assert words in text, words


def test_a_lot_that_was_never_cut_says_so() -> None:
    made = Made()
    sown(made, "W1", ("T1",), {"S1": 20.0})
    text = printed(of(made, "lot", "S1"))
    assert "Nothing was cut of it." in text
    assert "Do not cut: tray T1" in text


def test_300_packs_stand_on_as_many_pages_as_they_take_each_where_it_belongs(laid_out: list[Page]) -> None:
    found = of(large(), "harvest", "H1")
    pdf = recall_sheet_pdf(found, LOFT, at=found.at)
    pages = len(pypdfium2.PdfDocument(pdf))
    text = text_of(pdf)
    assert 10 < pages < 30
    assert f"page {pages} of {pages}" in text
    assert overflows(laid_out) == []
    for pack in found.packs:
        # Once where it went, once among the packs.
        assert text.count(f"1 pack of {pack.code}, pea") == 1, pack.pack
        assert f" {pack.code} pea 1 of 50 g 1 gone out" in text, pack.pack
    for customer in found.customers:
        assert f"{customer.customer} " in text
    assert "Cafe 1, continued" in text
    assert "15000 15000 0 0 0" in text


def test_a_kept_recall_says_how_long_it_took_who_was_reached_and_who_kept_it() -> None:
    made = chain()
    contact(made, "A")
    text = text_of(kept_recall_pdf(kept_of(of(made, "lot", "S1"), "A", "B"), LOFT, at=made.at))
    for words in (
        "Recall exercise", "R261127A", "yearly exercise", "nothing was called back", "It took 18 minutes",
        "Reached 2 of 3 customers", "NOT REACHED", "as R261127A by Ada Reed", "100 % of 750 g cut",
        "No telephone and no e-mail in the book: B and C.",
    ):  # fmt: skip
        assert words in text, words
    assert text.count("NOT REACHED") == 1
    assert "Why Ended" not in text


def test_a_true_recall_is_not_called_an_exercise() -> None:
    text = text_of(kept_recall_pdf(kept_of(of(chain(), "lot", "S1"), exercise=False), LOFT, at=chain().at))
    assert "Crop was called back." in text
    assert "xercise:" not in text


def test_what_was_kept_stays_on_paper_when_the_book_is_put_right_later() -> None:
    made = chain()
    then = of(made, "harvest", "H2")
    made.strike(next(e.id for e in made.entries if isinstance(e.body, said.Delivered) and e.body.delivery == "D3"))
    kept = msgspec.structs.replace(kept_of(then, "C"), sheet=of(made, "harvest", "H2"))
    assert kept.changed
    text = text_of(kept_recall_pdf(kept, LOFT, at=made.at))
    for words in ("as it was kept", "The book was put right since", "says no longer that anything went to them",
                  "250 g in all", "told"):  # fmt: skip
        assert words in text, words


MADE: dict[str, Callable[[FarmSettings], bytes]] = {
    "small": lambda farm: recall_sheet_pdf(of(chain(), "lot", "S1"), farm, at=chain().at),
    "letter": lambda farm: recall_sheet_pdf(of(chain(), "pack", "P1"), farm, at=chain().at, size="Letter"),
    "kept": lambda farm: kept_recall_pdf(kept_of(of(chain(), "lot", "S1"), "A"), farm, at=chain().at),
}


@pytest.mark.parametrize("name", MADE)
def test_it_is_black_on_white_nothing_lies_upon_another_and_it_is_the_same_every_time(
    name: str, laid_out: list[Page]
) -> None:
    pdf = MADE[name](LOFT)
    assert overflows(laid_out) == []
    assert min(mark.size for page in laid_out for mark in page.marks if isinstance(mark, Text)) >= 11.0
    coloured = np.asarray(pypdfium2.PdfDocument(pdf)[0].render(scale=1.0).to_pil().convert("RGB")).astype(int)
    assert (coloured.max(axis=2) == coloured.min(axis=2)).all()
    assert all((np.asarray(page) < 128).mean() < 0.08 for page in pictures(pdf, 72))
    assert MADE[name](LOFT) == pdf
