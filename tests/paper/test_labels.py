"""Labels: every printed code is read back from the finished PDF by another's reader, and nothing leaves its label."""

from __future__ import annotations

from datetime import date

import pytest

from tests.paper.seen import codes, overflows, pictures, sizes, text_of
from trayward.codes.gs1.elements import bracketed, element_string
from trayward.codes.gs1.link import digital_link
from trayward.codes.lot import coded
from trayward.errors import InputError
from trayward.paper.label_sheets import ROLLS, SHEETS, LabelSheet, label_sheet, places
from trayward.paper.labels import (
    CAPITAL,
    PackLabel,
    Tag,
    fitted,
    label_pages,
    labels_pdf,
    net_height,
    net_words,
    pack_lines,
)
from trayward.paper.page import A4, Size, Text
from trayward.paper.symbols import QUIET, Symbol, squares

FIELDS = [("01", "09521234500018"), ("15", "261204"), ("10", coded("P261127A"))]
MATRIX = Symbol(kind="matrix", text=element_string(FIELDS), gs1=True)
BARS = Symbol(kind="bars", text=element_string(FIELDS), gs1=True, below=bracketed(FIELDS))
LINK = Symbol(kind="qr", text=digital_link(FIELDS, "https://lantern-loft.example"))
LOT = Symbol(kind="qr", text=coded("P261127A"))
EVERY = [*SHEETS, *(label_sheet(f"roll {measure}") for measure in ROLLS)]
NAMES = [sheet.name for sheet in EVERY]


def label(symbol: Symbol | None = LOT, **told: object) -> PackLabel:
    words: dict[str, object] = {
        "product": "Radish",
        "net_g": 50.0,
        "cut": (date(2026, 11, 27),),
        "best_before": date(2026, 12, 4),
        "basis": "keeps 7 days cold",
        "lot": coded("P261127A"),
        "storage": "Keep at 1 to 5 C.",
        "farm": "Lantern Loft",
        "address": ("Attic, 4 Rope Walk",),
        "symbol": symbol,
    }
    return PackLabel(**{**words, **told})  # type: ignore[arg-type]


@pytest.mark.parametrize("sheet", EVERY, ids=NAMES)
@pytest.mark.parametrize(
    ("symbol", "identifier"), [(LOT, "]Q1"), (LINK, "]Q1"), (MATRIX, "]d2")], ids=["lot", "link", "matrix"]
)
def test_a_square_code_is_read_from_every_sheet_and_roll(sheet: LabelSheet, symbol: Symbol, identifier: str) -> None:
    count = sheet.count
    found = codes(pictures(labels_pdf([label(symbol)] * count, sheet, "Labels"), 300)[0])
    assert len(found) == count
    said = bracketed(FIELDS) if symbol.gs1 else symbol.text
    assert {(each.text, each.symbology_identifier) for each in found} == {(said, identifier)}


@pytest.mark.parametrize("sheet", [each for each in EVERY if each.label.wide > 90 and each.label.high > 35])
def test_bars_are_read_from_labels_that_are_wide_enough(sheet: LabelSheet) -> None:
    picture = pictures(labels_pdf([label(BARS)] * sheet.count, sheet, "Labels"), 300)[0]
    for number in range(sheet.count):
        x, y = sheet.place(number)
        edges = (x, y, x + sheet.label.wide, y + sheet.label.high)
        (found,) = codes(picture.crop(tuple(round(edge / 25.4 * 300) for edge in edges)))  # type: ignore[arg-type]
        assert found.text == bracketed(FIELDS)
        assert found.symbology_identifier == "]C1"


def test_the_published_gs1_128_is_read_back() -> None:
    # (01)60000116030603, the worked example of check TRAC-04 (a public barcode support thread; ISO/IEC 15417).
    bars = Symbol(kind="bars", text="0160000116030603", gs1=True, below="(01)60000116030603")
    (found,) = codes(pictures(labels_pdf([label(bars)], label_sheet("roll 100 x 50"), "Labels"), 300)[0])
    assert (found.text, found.symbology_identifier) == ("(01)60000116030603", "]C1")


def test_bars_on_a_label_that_is_too_narrow_are_refused() -> None:
    with pytest.raises(InputError, match="Take a wider label"):
        labels_pdf([label(BARS)], label_sheet("63.5 x 33.9"), "Labels")


@pytest.mark.parametrize("sheet", EVERY, ids=NAMES)
def test_words_stay_on_their_label_and_beside_the_code(sheet: LabelSheet) -> None:
    pages = label_pages([label()] * sheet.count, sheet)
    assert overflows(pages) == []
    corners = [sheet.place(number) for number in range(sheet.count)]
    texts = [mark for mark in pages[0].marks if isinstance(mark, Text)]
    for text in texts:
        assert any(
            x <= text.left and text.left + text.wide <= x + sheet.label.wide and y <= text.y <= y + sheet.label.high
            for x, y in corners
        )


def test_long_names_and_letters_of_other_languages_fit_or_are_refused() -> None:
    long = label(product="Jaramago piñón größer Rübstiel łąka €5 " * 2, words="Antes de comer, enjuágalo. " * 3)
    pages = label_pages([long], label_sheet("99.1 x 67.7"))
    assert overflows(pages) == []
    pdf = labels_pdf([long], label_sheet("99.1 x 67.7"), "Labels")
    assert "piñón größer" in text_of(pdf)
    assert "€5" in text_of(pdf)
    with pytest.raises(InputError, match="Take a larger label"):
        labels_pdf([long], label_sheet("roll 50 x 25"), "Labels")


def test_everything_a_label_has_to_say_stands_on_it() -> None:
    text = text_of(labels_pdf([label(words="Rinse before eating.")], label_sheet("63.5 x 38.1"), "Labels"))
    for words in (
        "Radish", "50 g", "Best before Fri 4 Dec 2026", "Cut Fri 27 Nov 2026", "keeps 7 days cold",
        f"Lot {coded('P261127A')}", "Keep at 1 to 5 C. Rinse before eating.", "Lantern Loft, Attic, 4 Rope Walk",
    ):  # fmt: skip
        assert words in text


@pytest.mark.parametrize(("grams", "high"), [(50.0, 2.0), (50.1, 3.0), (200.0, 3.0), (1000.0, 4.0), (1001.0, 6.0)])
def test_the_net_weight_is_as_high_as_the_rule_asks(grams: float, high: float) -> None:
    # Council Directive 76/211/EEC, annex I: 2, 3, 4 and 6 mm up to 50, 200, 1000 g and above (from memory).
    assert net_height(grams) == high
    made = fitted(tuple(pack_lines(label(net_g=grams))), Size(60.0, 60.0))
    net = next(line for line in made if line.words.endswith(" g") or line.words.endswith(" kg"))
    assert net.size * CAPITAL * 25.4 / 72 >= high


def test_net_weight_in_ounces_says_grams_too() -> None:
    # 21 CFR 101.7: both systems (from memory). 50 g / 28.349523125 g = 1.7637 oz.
    assert net_words(50.0, ounces=True) == "Net Wt 1.76 oz (50 g)"
    assert net_words(1500.0) == "1.5 kg"


# Where labels lie -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", SHEETS, ids=[sheet.name for sheet in SHEETS])
def test_labels_lie_on_their_sheet_and_not_on_each_other(sheet: LabelSheet) -> None:
    corners = [sheet.place(number) for number in range(sheet.count)]
    assert len(set(corners)) == sheet.count
    for x, y in corners:
        assert x >= -0.01
        assert x + sheet.label.wide <= sheet.page.wide + 0.01
        assert y >= -0.01
        assert y + sheet.label.high <= sheet.page.high + 0.01
    assert corners[1][0] - corners[0][0] >= sheet.label.wide - 0.01


def test_a_begun_sheet_is_filled_from_its_first_free_place_on() -> None:
    sheet = label_sheet("63.5x33.9")
    told = list(places(sheet, 20, start=23))
    assert [page for page, _, _ in told[:3]] == [0, 0, 1]
    assert told[0][1:] == sheet.place(22)
    assert told[2][1:] == sheet.place(0)


def test_labels_are_moved_to_where_the_printer_meets_them() -> None:
    sheet = label_sheet("63.5x33.9")
    (_, x, y), *_ = places(sheet, 1, move=(1.5, -0.5))
    assert (x, y) == pytest.approx((sheet.place(0)[0] + 1.5, sheet.place(0)[1] - 0.5))


@pytest.mark.parametrize(
    ("how", "match"),
    [({"start": 25}, "places 1 to 24"), ({"start": 0}, "places 1 to 24"), ({"move": (30.0, 0.0)}, "right"),
     ({"move": (0.0, float("nan"))}, "down")],
)  # fmt: skip
def test_places_that_are_not_there_are_refused(how: dict[str, object], match: str) -> None:
    with pytest.raises(InputError, match=match):
        list(places(label_sheet("63.5x33.9"), 1, **how))  # type: ignore[arg-type]


def test_a_roll_has_a_page_for_each_label() -> None:
    made = sizes(labels_pdf([label()] * 3, label_sheet("roll 76 x 51"), "Labels"))
    assert made == [pytest.approx((76.0, 51.0), abs=0.1)] * 3


@pytest.mark.parametrize("word", ["17 x 3", "roll 5 x 5", "the usual", "roll 400 x 20"])
def test_labels_nobody_knows_are_refused_with_those_there_are(word: str) -> None:
    with pytest.raises(InputError, match="labels"):
        label_sheet(word)


def test_sheets_are_named_by_their_measures_alone() -> None:
    assert SHEETS[0].name == "3 x 8 of 63.5 x 33.9 mm on A4"
    assert SHEETS[0].page == A4


# Tags and the light edge ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["A1", "Shelf by the door", "D1.12a", "ñ" * 60])
def test_a_tag_shows_its_name_and_its_code(name: str) -> None:
    tag = Tag(name=name, about="rack A, dark, 8 spots", symbol=Symbol(kind="qr", text=name))
    sheet = label_sheet("99.1 x 38.1")
    assert overflows(label_pages([tag], sheet)) == []
    (found,) = codes(pictures(labels_pdf([tag], sheet, "Tags"), 300)[0])
    assert found.text == name


@pytest.mark.parametrize("name", ["261111G.2", "261113D.1", "261114D.3", "261104H.1"])
def test_a_tag_of_a_tray_has_its_whole_name(name: str) -> None:
    # As large as its room, a name was cut off where the sum of its letters came out wider by a last digit.
    tag = Tag(name=name, about="pea, sown 2026-11-14", symbol=Symbol(kind="qr", text=coded(name)))
    (page,) = label_pages([tag], label_sheet("101.6 x 50.8"))
    assert name in [mark.words for mark in page.marks if isinstance(mark, Text)]


def test_a_code_has_the_light_edge_it_needs() -> None:
    # ISO/IEC 18004: 4 squares; ISO/IEC 16022: 1 square (from memory).
    assert (QUIET["qr"], QUIET["matrix"]) == (4, 1)
    sheet = label_sheet("roll 57 x 32")
    (page,) = label_pages([label()], sheet)
    boxes = [mark for mark in page.marks if not isinstance(mark, Text)]
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    least = min(mark.x for mark in boxes)
    each = min(mark.wide for mark in boxes if hasattr(mark, "wide"))
    assert len(squares(LOT)) == 21
    assert max(text.left + text.wide for text in texts) <= least - 4 * each + 0.01


def test_the_same_labels_are_the_same_bytes() -> None:
    assert labels_pdf([label()], SHEETS[0], "Labels") == labels_pdf([label()], SHEETS[0], "Labels")
