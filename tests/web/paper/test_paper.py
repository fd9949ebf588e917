"""Sheets and labels on the pages: listed, opened as PDF, guarded, and what a label's code leads to."""

from __future__ import annotations

import re

import pypdfium2
import pytest

from tests.web.conftest import Pages, words_of
from trayward.codes.lot import coded
from trayward.desk.ports import Wanted
from trayward.farm.entries import Delivered, Washed
from trayward.paper.kept_rows import sheet_rows
from trayward.rounds.told import write_told

SHEETS = ("round", "sowing", "harvest", "washing", "picks")


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def test_it_works(pages: Pages) -> None:
    page = pages.get("/paper")
    assert page.status_code == 200
    assert "nobody needs a printer" in words_of(page)
    for name in SHEETS:
        assert f'href="/paper/{name}.pdf"' in page.text


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_opens_in_the_browser_under_the_strict_policy(pages: Pages, name: str) -> None:
    response = pages.get(f"/paper/{name}.pdf")
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/pdf"
    assert response.headers["content-disposition"].startswith("inline")
    assert "default-src 'none'" in response.headers["content-security-policy"]
    assert "Lantern Loft" in text_of(response.content)


def test_the_round_on_paper_has_the_rows_of_the_page(pages: Pages) -> None:
    with pages.farm() as farm:
        rows = farm.round(pages.clock()).rows
    text = " ".join(text_of(pages.get("/paper/round.pdf").content).split())
    for row in rows:
        assert row.do[:20] in text


@pytest.mark.parametrize(
    ("page", "sheet"),
    [("/round", "/paper/round.pdf"), ("/harvest", "/paper/harvest.pdf"), ("/orders", "/paper/picks.pdf"),
     ("/racks", "/paper"), ("/stores", "/paper/washing.pdf"), ("/more", "/paper")],
)  # fmt: skip
def test_a_page_leads_to_its_sheet(pages: Pages, page: str, sheet: str) -> None:
    assert f'href="{sheet}"' in pages.get(page).text


def test_a_paper_that_does_not_exist_is_refused_in_words(pages: Pages) -> None:
    response = pages.get("/paper/round.pdf?size=B5")
    assert response.status_code in (404, 422)
    assert "Say A4 or Letter" in words_of(response)


def test_labels_without_a_lot_are_refused_in_words(pages: Pages) -> None:
    assert "Tick at least one" in words_of(pages.get("/paper/labels.pdf?on=63.5x33.9"))


def test_labels_for_what_is_in_the_cold_room(pages: Pages) -> None:
    with pages.farm() as farm:
        state = farm.state(pages.clock())
        lot = max(state.harvests.values(), key=lambda lot: lot.cut_at)
    response = pages.get(f"/paper/labels.pdf?lot={lot.harvest}&on=63.5x33.9&copies=2")
    assert response.status_code == 200
    assert text_of(response.content).count(coded(lot.harvest)) == 2


def test_a_code_leads_to_what_it_stands_on(pages: Pages) -> None:
    with pages.farm() as farm:
        state = farm.state(pages.clock())
        tray, lot = next(iter(state.growing())).tray, next(iter(state.harvests))
    assert pages.get(f"/code/{coded(tray)}").url.path == f"/tray/{tray}"
    assert lot in str(pages.get(f"/code/{coded(lot)}").url)
    assert pages.get("/code/H999999Z-0").status_code == 404


def test_a_roll_of_ones_own_measure(pages: Pages) -> None:
    response = pages.get("/paper/tags.pdf?of=shelves&on=63.5x33.9&roll=80x40")
    assert response.status_code == 200
    width, height = pypdfium2.PdfDocument(response.content)[0].get_size()
    assert (round(width / 72 * 25.4), round(height / 72 * 25.4)) == (80, 40)


def sheet_of(pages: Pages) -> str:
    found = re.search(r"--sheet (\d{6}-\d{4})", text_of(pages.get("/paper/round.pdf").content))
    assert found
    return found[1]


def test_a_sheet_is_entered_by_its_numbers_though_the_round_has_moved(pages: Pages) -> None:
    name = sheet_of(pages)
    with pages.farm() as farm:
        looks = [row for row in farm.round(pages.clock()).rows if row.kind == "look"]
    page = pages.get(f"/round/sheet?name={name}")
    assert f"{looks[1].number} · {looks[1].do}" in words_of(page)
    pages.clock.forward(minutes=20)
    with pages.farm() as farm:
        farm.answer_row(looks[0], moisture="moist", at=pages.clock())
        told = sheet_rows(farm, name)[looks[1].number - 1]
    pages.clock.forward(minutes=1)
    form = {"row": write_told(told), "answer": "dry"}
    came = pages.post("/round/answer", form, page=f"/round/sheet?name={name}")
    assert came.status_code == 303
    assert came.headers["location"].startswith("/round/sheet")
    with pages.farm() as farm:
        trays = farm.state(pages.clock()).trays
        assert {trays[tray].last_look for tray in looks[1].trays} == {pages.clock()}
    assert "answered by now" in words_of(pages.get(f"/round/sheet?name={name}"))


def test_what_is_written_beside_the_box_can_be_entered(pages: Pages) -> None:
    name = sheet_of(pages)
    with pages.farm() as farm:
        number, told = next(
            (number, row) for number, row in enumerate(sheet_rows(farm, name), start=1) if row.kind == "wash"
        )
    (row,) = re.findall(
        rf'<li class="row" id="row-{number}">.*?</li>', pages.get(f"/round/sheet?name={name}").text, re.S
    )
    assert f"{told.count} if left empty" in row
    assert 'name="count"' in row
    form = {"row": write_told(told), "answer": "done", "count": "1"}
    assert pages.post("/round/answer", form, page=f"/round/sheet?name={name}").status_code == 303
    with pages.farm() as farm:
        (kept,) = farm.book.entries(after=farm.book.head().seq - 1)
    assert kept.entry.body == Washed(pool=told.pool, count=1)


def test_a_sheet_nobody_printed_is_told_so(pages: Pages) -> None:
    response = pages.get("/round/sheet?name=260101-0000")
    assert response.status_code == 404
    assert "at the foot of the sheet" in words_of(response)


SPANISH = {"Accept_Language": "es"}
LEFT_ENGLISH = re.compile(
    r"\b(the|and|with|printed|page|tray|trays|done|not yet|ready|dry|problem|seed|sown|cut|lot|lots|entry|keep"
    r"|washed|sanitised|sold|left|nothing|who|from|of)\b",
    re.IGNORECASE,
)
THE_FARMS = re.compile(
    r"live \w+ tray|Cafe\. Back door before 9\.|Restaurant; the menu names our greens\.|Packs with labels\."
    r"|Term time only\. Delivery note with lot codes\.|as labelled|food-safe soap|our own table"
    r"|trayward round answer NO \w+( GRAMS)?"
)
"""What the farm's people typed, and what has to be typed."""


@pytest.mark.parametrize(
    "path",
    [*(f"/paper/{name}.pdf" for name in SHEETS), "/money/report.pdf?period=2026-11",
     "/records/pack.pdf?from=2026-11-20&to=2026-11-25", "/paper/tags.pdf?of=shelves&on=99.1x38.1",
     "/paper/tags.pdf?of=trays&on=99.1x38.1"],
)  # fmt: skip
def test_what_is_printed_from_a_spanish_page_is_spanish(pages: Pages, path: str) -> None:
    response = pages.get(path, **SPANISH)
    assert response.status_code == 200
    text = THE_FARMS.sub("", " ".join(text_of(response.content).split()))
    assert LEFT_ENGLISH.findall(text) == []
    assert len(text) > 60


def test_a_paper_for_a_customer_is_in_their_language_where_the_address_says_so(pages: Pages) -> None:
    with pages.farm() as farm:
        kept = farm.book.search(Wanted(kinds=(Delivered.KIND,)), limit=1).kept
    path = f"/paper/note.pdf?delivery={kept[0].entry.body.delivery}"
    assert "Albarán" in text_of(pages.get(path, **SPANISH).content)
    english = pages.get(f"{path}&in=en", **SPANISH)
    assert "Delivery note" in text_of(english.content)
    # The page offers it, and its links ask for it.
    assert path.replace("&", "&amp;") + "&amp;in=en" in pages.get("/paper?in=en", **SPANISH).text
    # Who prints a paper for another goes on in their own language.
    assert "trayward-lang" not in english.headers.get("set-cookie", "")
    assert "Albarán" in text_of(pages.get(f"{path}&in=es").content)
