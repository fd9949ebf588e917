"""Sheets from plain structs: what stands on them, that nothing overflows, that they are black on white."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal

import msgspec
import numpy as np
import pypdfium2
import pytest

from tests.paper.seen import overflows, pictures, sizes, text_of
from trayward.farm.bills import Bill, BillLine, TaxSum
from trayward.farm.bills import Party as BillParty
from trayward.farm.settings import METRIC, US, FarmSettings, ShownUnits
from trayward.paper.flow import BODY
from trayward.paper.fonts import width, wrapped
from trayward.paper.goods_sheets import (
    DeliveryNote,
    NoteLine,
    Party,
    Picked,
    PickFor,
    PickLine,
    delivery_note,
    pick_list,
)
from trayward.paper.harvest_sheet import CutTold, TrayToCut, WashTold, harvest_sheet, wash_list
from trayward.paper.invoice import invoice_of, invoice_sheet
from trayward.paper.page import A4, LETTER, Page, Size, Text
from trayward.paper.paper import Paper, paper_of
from trayward.paper.round_sheet import LETTERS, round_sheet
from trayward.paper.sowing_sheet import LotShare, SowingTold, sowing_sheet
from trayward.paper.tongue import money_words
from trayward.rounds.types import Amount, Round, RoundRow

AT = datetime(2026, 11, 27, 7, 10, tzinfo=UTC)
LONG = "Jaramago piñón, größer Rübstiel & łąka für €5 im Haus am Wald"
"""A name of 60 letters and more, in several languages."""
PATHLESS = "W" * 70
"""A word that fits no line."""


def look(number: int, **told: object) -> RoundRow:
    words: dict[str, object] = {
        "row": f"look-{number}", "number": number, "kind": "look", "place": f"A{number % 40}", "crop": "radish",
        "stage": "germinate", "do": "Look: radish, 2 trays", "how": "Lift cover and weight, mist if dry.",
        "cue": "More yellow shoot than brown seed?", "trays": (f"261125A.{number}",), "spots": (f"A1.{number}a",),
        "amounts": (Amount(what="mist", value=30.0, unit="ml", note="if dry"),),
    }  # fmt: skip
    return RoundRow(**{**words, **told})  # type: ignore[arg-type]


def a_round(*rows: RoundRow) -> Round:
    return Round(round="2026-11-27 morning", at=AT, rows=rows, minutes=12.0, notes=("The kept plan is of Mon 2 Nov.",))


def paper(size: Size = A4, farm: str = "Lantern Loft") -> Paper:
    return Paper(farm=farm, printed=AT, size=size)


CUT = RoundRow(
    row="cut-1", number=3, kind="cut", place="A2", crop="pea", stage="ready", trays=("261114C.1", "261114C.2"),
    spots=("A2.1", "A2.2"), do="Cut: pea, 2 trays", how="Cut 13 to 25 mm above the medium.", why="For the table.",
)  # fmt: skip
SOWING = SowingTold(
    day=date(2026, 11, 27), recipe="radish on coir", crop="radish", trays=4, seed_g=28.0, number=5,
    lots=(LotShare(lot="RAD-26-1", grams=112.0),), spots=("D1.1a", "D1.1b"),
)  # fmt: skip
HARVEST = CutTold(
    number=3, crop="pea", lots=("PEA-26-1",), why="For Moth & Marrow.",
    trays=(TrayToCut(tray="261114C.1", spot="A2.1", low_g=320.0, high_g=470.0), TrayToCut(tray="261114C.2", spot="")),
)  # fmt: skip
WASH = WashTold(number=7, do="Sanitise: mesh mats", sanitise=True, count=6, how="Follow the label.")
PICKS = PickFor(
    customer="Moth & Marrow", day=date(2026, 11, 27),
    lines=(
        PickLine(
            line="O1/1", product="pea", asked="4 packs of 50 g", from_=(Picked(code="P1-3", packs=3),), short="1 pack"
        ),
    ),
)  # fmt: skip
NOTE = DeliveryNote(
    number="D261127A-X", day=date(2026, 11, 27), seller=Party(name="Lantern Loft", lines=("Attic, 4 Rope Walk",)),
    buyer=Party(name="Moth & Marrow", lines=("2 Wick Lane",)), storage="Keep at 1 to 5 C.",
    lines=(NoteLine(product="pea", quantity="4 packs of 50 g", lots=("P1-3",), best_before=date(2026, 12, 4)),),
)  # fmt: skip


def bill(count: int = 2, product: str = "pea") -> Bill:
    line = BillLine(
        source="e:O1/1", day=date(2026, 11, 27), product=product, quantity=Decimal("4"), unit="packs",
        price=Decimal("3.20"), per="pack", amount=Decimal("12.80"), rate="VAT", percent=Decimal("7.0"),
    )  # fmt: skip
    return Bill(
        number=1, name="LL-2026-001", customer="Moth & Marrow", day=date(2026, 11, 27), due=date(2026, 12, 11),
        seller=BillParty(name="Lantern Loft", address="Attic, 4 Rope Walk\nLantern Quay", tax_number="LL 12345"),
        buyer=BillParty(name="Moth & Marrow", address="2 Wick Lane"), currency="EUR", lines=(line,) * count,
        taxes=(TaxSum(rate="VAT", percent=Decimal("7.0"), net=Decimal("12345.60"), tax=Decimal("864.19")),),
        net=Decimal("12345.60"), tax=Decimal("864.19"), total=Decimal("13209.79"), pay_to="To our account.",
    )  # fmt: skip


MADE: dict[str, Callable[[Paper], bytes]] = {
    "round": lambda on: round_sheet(a_round(look(1), look(2), CUT), on, "261127-0710"),
    "sowing": lambda on: sowing_sheet([SOWING], on, "Fri 27 Nov", "261127-0710"),
    "harvest": lambda on: harvest_sheet([HARVEST], on, "2026-11-27 morning", "261127-0710"),
    "washing": lambda on: wash_list([WASH], on, "2026-11-27 morning", "261127-0710"),
    "picks": lambda on: pick_list([PICKS], on, "Fri 27 Nov"),
    "note": lambda on: delivery_note(NOTE, on),
    "invoice": lambda on: invoice_sheet(invoice_of(bill()), on),
}
EVERY = pytest.mark.parametrize("name", MADE)


@EVERY
@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
def test_a_sheet_has_its_paper_its_farm_its_date_and_its_page_number(name: str, size: Size) -> None:
    pdf = MADE[name](paper(size))
    assert sizes(pdf) == [pytest.approx((size.wide, size.high), abs=0.1)]
    text = text_of(pdf)
    for words in ("Lantern Loft", "page 1 of 1", "27"):
        assert words in text


@EVERY
def test_the_same_sheet_is_the_same_bytes(name: str) -> None:
    assert MADE[name](paper()) == MADE[name](paper())


@EVERY
@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
def test_nothing_on_a_sheet_lies_upon_another(name: str, size: Size, laid_out: list[Page]) -> None:
    MADE[name](paper(size, farm=LONG))
    assert overflows(laid_out) == []


@EVERY
def test_all_that_is_read_is_11_points_or_larger(name: str, laid_out: list[Page]) -> None:
    MADE[name](paper())
    assert min(mark.size for page in laid_out for mark in page.marks if isinstance(mark, Text)) >= BODY == 11.0


@EVERY
def test_a_sheet_is_black_on_white_and_wastes_no_toner(name: str) -> None:
    pdf = MADE[name](paper())
    coloured = np.asarray(pypdfium2.PdfDocument(pdf)[0].render(scale=1.0).to_pil().convert("RGB")).astype(int)
    assert (coloured.max(axis=2) == coloured.min(axis=2)).all()
    # Strokes are full black: at 300 dots an inch ink is either there or not, but for the edges of letters.
    fine = np.asarray(pictures(pdf, 300)[0])
    assert ((fine > 40) & (fine < 215)).sum() < (fine <= 40).sum()
    assert 0.002 < (fine < 128).mean() < 0.08


@EVERY
def test_letters_are_embedded(name: str) -> None:
    pdf = MADE[name](paper())
    assert b"DejaVuSans" in pdf
    assert b"/FontFile2" in pdf


# The round ------------------------------------------------------------------------------------------------------------


def test_a_round_sheet_has_the_rows_with_their_numbers_boxes_and_lines_for_grams(laid_out: list[Page]) -> None:
    text = text_of(MADE["round"](paper()))
    for words in (
        "Round 2026-11-27 morning", "Look: radish, 2 trays", "More yellow shoot than brown seed?", "ready", "not yet",
        "dry", "problem", "Mist 30 ml a tray if dry.", "Cut: pea, 2 trays", "261114C.1", "Notes",
        "--sheet 261127-0710", "Lift cover and weight",
    ):  # fmt: skip
        assert words in text, words
    boxes = [mark for mark in laid_out[0].marks if not isinstance(mark, Text) and getattr(mark, "wide", 0) == 6.0]
    assert len(boxes) == 4 + 4 + 3


def test_an_empty_round_says_so() -> None:
    text = text_of(round_sheet(a_round(), paper(), "261127-0710"))
    assert "There is nothing to do now." in text
    assert "Tick" not in text


def test_long_names_and_words_without_blanks_stay_in_their_column(laid_out: list[Page]) -> None:
    rows = [
        look(1, do=f"Look: {LONG}, 2 trays.", place=LONG, cue=LONG, spots=(LONG,) * 3),
        look(2, do=f"Look: {PATHLESS}.", place=PATHLESS, spots=tuple(f"A1.{spot}" for spot in range(60))),
        look(3, kind="cut", do="Cut: pea.", trays=tuple(f"261114C.{tray}" for tray in range(30))),
    ]
    text = text_of(round_sheet(a_round(*rows), paper(), "261127-0710"))
    assert overflows(laid_out) == []
    assert "and 36 more" in text
    assert all(f"261114C.{tray}" in text for tray in range(30))


def test_1200_rows_are_on_as_many_pages_as_they_take_each_once(laid_out: list[Page]) -> None:
    pdf = round_sheet(a_round(*(look(number) for number in range(1, 1201))), paper(), "261127-0710")
    pages = len(pypdfium2.PdfDocument(pdf))
    numbers = [
        mark.words for page in laid_out for mark in page.marks
        if isinstance(mark, Text) and mark.size == 14.0 and mark.bold
    ]  # fmt: skip
    assert numbers == [str(number) for number in range(1, 1201)]
    assert f"page {pages} of {pages}" in text_of(pdf)
    assert pages < 200


def test_rows_that_go_on_overleaf_say_whose_they_are(laid_out: list[Page]) -> None:
    lines = tuple(PickLine(line=f"O1/{line}", product="pea", asked="40 g") for line in range(60))
    pick_list([PickFor(customer="Moth & Marrow", day=date(2026, 11, 27), lines=lines)], paper(), "Fri 27 Nov")
    headings = [
        [mark.words for mark in page.marks if isinstance(mark, Text) and mark.size == 13.0] for page in laid_out
    ]
    assert headings[0] == ["Moth & Marrow, Fri 27 Nov"]
    assert headings[1:] == [["Moth & Marrow, Fri 27 Nov, continued"]] * (len(laid_out) - 1) != []


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
def test_no_place_stands_at_the_foot_of_a_page_without_a_row(size: Size, laid_out: list[Page]) -> None:
    long = " ".join(["mustard"] * 60)
    rows = [look(number, cue=long if number % 3 else "") for number in range(1, 60)]
    round_sheet(a_round(*rows), paper(size), "261127-0710")
    assert overflows(laid_out) == []
    for page in laid_out:
        marks = [mark for mark in page.marks if isinstance(mark, Text)]
        places = [mark.y for mark in marks if mark.size == 13.0 and mark.words.startswith("A")]
        numbers = [mark.y for mark in marks if mark.size == 14.0]
        assert max(places, default=0.0) < max(numbers, default=1.0)


@pytest.mark.parametrize("room", range(18, 60))
def test_a_figure_and_its_unit_are_not_torn_apart(room: float) -> None:
    words = "Water below 240 ml a tray if dry, by 1 Dec, 4 packs (60 g) and 5.5 to 6.0"
    lines = wrapped(words, room, BODY)
    assert " ".join(lines) == words
    for pair in ("240 ml", "1 Dec,", "4 packs", "(60 g)"):
        assert any(pair in line for line in lines)
    assert max(width(line, BODY) for line in lines) <= room


def test_a_unit_that_does_not_fit_beside_its_figure_goes_below_it() -> None:
    assert wrapped("12345678 ml", width("12345678 ", BODY), BODY) == ["12345678", "ml"]


def test_a_job_with_one_box_has_the_room_of_the_others_for_its_words(laid_out: list[Page]) -> None:
    how = "Scrape, rinse warm, wash with food-safe soap, rinse hot, stand up to dry, " * 3
    wash = RoundRow(row="w", number=3, kind="wash", place="wash place", crop="", do="Wash: cover, 1", how=how, count=1)
    round_sheet(a_round(look(1), wash), paper())
    assert overflows(laid_out) == []
    rooms = {mark.words[:5]: mark.room for mark in laid_out[0].marks if isinstance(mark, Text) and mark.room}
    assert rooms["Wash:"] > rooms["Look:"] + 30.0


def test_where_a_letter_asks_for_several_things_each_says_for_which_rows() -> None:
    heavy, below = "Lift cover and weight, the heavy one.", "Water below."
    rows = [look(1), look(2), look(3, how=heavy), look(4), look(5, stage="light", how=below)]
    text = text_of(round_sheet(a_round(*rows), paper()))
    assert "G, no 1-2, 4: Lift cover and weight, mist if dry." in text
    assert "G, no 3: Lift cover and weight, the heavy one." in text
    assert "L: Water below." in text


def test_stages_have_the_letters_of_the_terminal() -> None:
    from trayward.cli.show import stage_letter

    assert {stage: stage_letter(stage) for stage in LETTERS} == dict(LETTERS)


# The others -----------------------------------------------------------------------------------------------------------


def test_a_sowing_sheet_says_how_much_of_which_lot_goes_where() -> None:
    text = text_of(MADE["sowing"](paper()))
    for words in (
        "4 trays: radish on coir",
        "28 g a tray",
        "112 g of RAD-26-1",
        "To D1.1a, D1.1b.",
        "Fri 27 Nov: 4 trays",
    ):
        assert words in text, words


def test_a_harvest_sheet_says_what_a_tray_likely_weighs_and_leaves_a_line() -> None:
    text = text_of(MADE["harvest"](paper()))
    for words in ("261114C.1", "320 to 470 g", "Weighed", "Seed of PEA-26-1."):
        assert words in text, words


@pytest.mark.parametrize(("units", "unit"), [(METRIC, "C"), (US, "F")], ids=["metric", "US"])
def test_the_warmth_of_a_rinse_is_written_beside_its_unit(units: ShownUnits, unit: str) -> None:
    wash = msgspec.structs.replace(WASH, do="Wash: mesh mats", sanitise=False)
    assert f"rinse {unit}" in text_of(wash_list([wash], msgspec.structs.replace(paper(), units=units), ""))


def test_a_washing_list_carries_the_caution() -> None:
    text = text_of(MADE["washing"](paper()))
    for words in ("Sanitise: mesh mats", "6 to do", "ppm", "never mix them", "Local codes and licensed practice"):
        assert words in text, words


def test_a_pick_list_says_what_is_short() -> None:
    text = text_of(MADE["picks"](paper()))
    for words in ("Moth & Marrow, Fri 27 Nov", "3 x P1-3", "Short: 1 pack", "4 packs of 50 g"):
        assert words in text, words


def test_a_delivery_note_names_both_sides_and_every_lot() -> None:
    text = text_of(MADE["note"](paper()))
    for words in ("Attic, 4 Rope Walk", "2 Wick Lane", "P1-3", "Fri 4 Dec 2026", "Keep at 1 to 5 C.", "received"):
        assert words in text, words


def test_an_invoice_says_the_books_own_figures_and_adds_nothing_up() -> None:
    text = text_of(MADE["invoice"](paper()))
    for words in (
        "Number LL-2026-001", "4 packs", "3.20", "12.80", "VAT 7 % of 12 345.60", "864.19", "13 209.79 EUR",
        "Tax number LL 12345", "To be paid by Fri 11 Dec 2026.", "Lantern Quay",
    ):  # fmt: skip
        assert words in text, words


def untaxed(days: int) -> Bill:
    line = bill().lines[0]
    out = tuple(
        msgspec.structs.replace(line, day=date(2026, 11, 1 + day), price=Decimal("3.2"), rate="", percent=Decimal(0))
        for day in range(days)
    )
    nothing = (TaxSum(rate="", percent=Decimal(0), net=Decimal("12.80"), tax=Decimal(0)),)
    return msgspec.structs.replace(bill(), lines=out, taxes=nothing)


def test_an_invoice_without_tax_has_neither_a_column_nor_a_line_for_it_and_prices_have_all_their_cents() -> None:
    text = text_of(invoice_sheet(invoice_of(untaxed(1)), paper()))
    assert "4 packs 3.20 12.80" in text
    for words in ("Tax Amount", "Net", " of 12"):
        assert words not in text


def test_an_invoice_of_many_days_says_the_first_and_the_last() -> None:
    assert "Delivered: Sun 1 Nov 2026, Mon 2 Nov 2026 " in text_of(invoice_sheet(invoice_of(untaxed(2)), paper()))
    many = text_of(invoice_sheet(invoice_of(untaxed(9)), paper()))
    assert "Delivered: Sun 1 Nov 2026 to Mon 9 Nov 2026, each line with its day" in many


@pytest.mark.parametrize(("units", "unit"), [(METRIC, "C"), (US, "F")], ids=["metric", "US"])
def test_a_temperature_is_written_beside_its_unit(units: ShownUnits, unit: str) -> None:
    on = msgspec.structs.replace(paper(), units=units)
    assert text_of(pick_list([PICKS], on, "")).partition("in the cold room ")[2][0] == unit
    assert text_of(delivery_note(NOTE, on)).partition("temperature ")[2][0] == unit


def test_what_is_sold_by_weight_is_priced_for_100_g_and_says_ounces_where_they_are_read() -> None:
    loose = msgspec.structs.replace(
        bill().lines[0], quantity=Decimal("85.049"), unit="g", price=Decimal("0.04"), per="g", amount=Decimal("3.40")
    )
    sold = msgspec.structs.replace(bill(), lines=(loose,))
    metric = text_of(invoice_sheet(invoice_of(sold), paper()))
    assert "85.049 g 4.00 VAT 7 % 3.40" in metric
    assert "price for 100 g" in metric
    assert "3 oz (85.049 g) 4.00" in text_of(invoice_sheet(invoice_of(sold, mass="oz"), paper()))


def test_a_credit_note_names_the_invoice_it_takes_from() -> None:
    import msgspec

    taken = msgspec.structs.replace(bill(), credits="LL-2026-001", reason="wilted", name="LL-2026-002")
    text = text_of(invoice_sheet(invoice_of(taken), paper()))
    assert "Credit note" in text
    assert "Takes back from LL-2026-001: wilted" in text
    assert "To be paid by" not in text


def test_an_invoice_of_many_long_lines_goes_on_and_keeps_its_totals_together(laid_out: list[Page]) -> None:
    pdf = invoice_sheet(invoice_of(bill(40, LONG)), paper())
    assert overflows(laid_out) == []
    last = laid_out[-1]
    words = [mark.words for mark in last.marks if isinstance(mark, Text)]
    assert "Total" in words
    assert "Net" in words
    assert len(laid_out) == len(pypdfium2.PdfDocument(pdf)) > 1


def test_money_in_a_column_sets_thousands_apart() -> None:
    assert money_words(Decimal("1234567.80")) == "1 234 567.80"


def test_paper_is_letter_where_ounces_or_inches_are_read_and_what_is_asked_for_counts() -> None:
    assert paper_of(FarmSettings(name="Lantern Loft"), AT).size == A4
    assert paper_of(FarmSettings(name="Lantern Loft", units=US), AT).size == LETTER
    assert paper_of(FarmSettings(name="Lantern Loft", units=US), AT, "a4").size == A4
    with pytest.raises(ValueError, match="Say A4 or Letter"):
        paper_of(FarmSettings(name="Lantern Loft"), AT, "B5")


def test_ounces_stand_where_the_farm_reads_ounces() -> None:
    on = Paper(farm="Lantern Loft", printed=AT, size=LETTER, units=US)
    text = text_of(harvest_sheet([HARVEST], on, "2026-11-27 morning"))
    assert "11 oz to 1 lb" in text
    assert " g " not in text
