"""Tracing on a page: from any code or name, forward and back; the recall sheet, kept and carried away."""

from __future__ import annotations

import csv
import io
import re
from html import unescape
from urllib.parse import quote

import pytest

from tests.paper.seen import text_of
from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from trayward import Farm
from trayward.codes.lot import coded


@pytest.fixture
def people() -> Anybody:
    return Anybody()


@pytest.fixture
def sold(pages: Pages, farm: Farm) -> str:
    """A harvest lot of which something went to a customer."""
    state = farm.state(pages.clock.at)
    for name in reversed(state.harvests):
        if farm.trace(f"harvest:{name}", at=pages.clock.at, way="forward").names("customer"):
            return name
    pytest.fail("the demo farm delivered nothing")


def test_it_works(pages: Pages) -> None:
    page = pages.get("/trace")
    assert page.status_code == 200
    assert "Code or name" in words_of(page)


def test_a_code_off_a_label_leads_to_seed_and_customer(pages: Pages, sold: str) -> None:
    words = words_of(pages.get(f"/trace?word={coded(sold)}"))
    for title in ("Seed lots", "Trays", "Deliveries", "Customers", "Where the amounts are"):
        assert title in words
    assert coded(sold) in words


def test_a_slip_is_named_and_what_was_typed_stays(pages: Pages, sold: str) -> None:
    wrong = f"{sold[:-3]}{sold[-2]}{sold[-3]}{sold[-1]}-{coded(sold)[-1]}"
    page = pages.get(f"/trace?word={wrong}")
    if sold[-2] == sold[-3]:
        pytest.skip("nothing changes places in this name")
    assert page.status_code == 422
    assert f"likely changed places: {coded(sold)}" in words_of(page)
    assert f'value="{wrong}"' in page.text


def test_what_is_not_here_is_said_so(pages: Pages) -> None:
    page = pages.get("/trace?word=H991231A")
    assert page.status_code == 422
    assert "none of that name" in words_of(page)
    assert pages.get("/trace?word=H991231A&way=sideways").status_code == 422


def test_every_thing_on_the_way_is_a_start_of_its_own(pages: Pages, farm: Farm, sold: str) -> None:
    found = farm.trace(sold, at=pages.clock.at)
    for kind in ("lot", "sowing", "tray", "delivery", "customer"):
        (first, *_) = found.of(kind)
        page = pages.get(f"/trace?word={quote(f'{kind}:{first.name}')}")
        assert page.status_code == 200, kind


def test_the_sheet_of_a_trace_is_carried_away(pages: Pages, sold: str) -> None:
    page = pages.get(f"/trace/trace.csv?word={sold}")
    rows = list(csv.reader(io.StringIO(page.content.decode("utf-8-sig"))))
    assert ["harvest lot", sold, coded(sold)] in [row[:3] for row in rows]


def test_the_traceability_record_is_carried_away(pages: Pages, sold: str) -> None:
    page = pages.get(f"/trace/record.xlsx?word={sold}")
    assert page.content[:2] == b"PK"
    assert "traceability.xlsx" in page.headers["content-disposition"]


def test_a_recall_is_told_kept_and_listed(pages: Pages, farm: Farm, sold: str) -> None:
    sheet = farm.recall_sheet(sold, at=pages.clock.at)
    customer = sheet.customers[0].customer
    address = f"/trace/recall?word={sold}"
    words = words_of(pages.get(address))
    assert customer in words
    assert "Nobody said how to reach them" in words
    assert words.index("Whom to call") < words.index("Packs"), "whom to call first"
    trays = farm.state(pages.clock.at).trays
    assert all(f"Do not cut tray {name} {trays[name].spot}" in words for name in sheet.growing)
    answer = pages.post(
        "/trace/contact", {"customer": customer, "phone": "0100 1", "back": f"word={sold}"}, page=address
    )
    assert answer.status_code == 303
    assert "0100 1" in words_of(pages.get(address))
    form = {"word": f"harvest:{sold}", "began": pages.clock.at.isoformat(), "reason": "exercise", "reached": customer}
    pages.clock.forward(minutes=9)
    assert pages.post("/trace/keep", form, page=address).status_code == 303
    (kept,) = farm.state(pages.clock.at).recalls.values()
    assert (kept.minutes, [told.customer for told in kept.told if told.reached]) == (9.0, [customer])
    assert kept.recall in words_of(pages.get("/trace"))
    rows = list(csv.DictReader(io.StringIO(pages.get(f"/trace/recall.csv?word={sold}").content.decode("utf-8-sig"))))
    assert customer in {row["customer"] for row in rows}


def test_a_recall_is_printed_to_work_from_and_once_it_was_kept_as_it_went(pages: Pages, farm: Farm, sold: str) -> None:
    began = pages.clock.at.isoformat()
    address = f"/trace/recall?word={sold}"
    shown = pages.get(address).text
    link = unescape(re.search(r'href="(/trace/recall\.pdf[^"]*)"', shown)[1])  # type: ignore[index]
    sheet = pages.get(link)
    assert sheet.headers["content-type"] == "application/pdf"
    customers = [each.customer for each in farm.recall_sheet(sold, at=pages.clock.at).customers]
    text = text_of(sheet.content)
    assert all(customer in text for customer in customers)
    assert f"harvest lot {coded(sold)}" in text
    pages.clock.forward(minutes=7)
    form = {"word": f"harvest:{sold}", "began": began, "reason": "exercise", "reached": customers[0]}
    pages.post("/trace/keep", form, page=address)
    (kept,) = farm.state(pages.clock.at).recalls.values()
    shown = pages.get("/trace").text
    assert f"/trace/recall.pdf?recall={kept.recall}" in shown
    report = pages.get(f"/trace/recall.pdf?recall={kept.recall}")
    assert f"recall-{kept.recall}.pdf" in report.headers["content-disposition"]
    text = text_of(report.content)
    assert "It took 7 minutes" in text
    assert f"Reached 1 of {len(customers)} customer" in text
    assert pages.get("/trace/recall.pdf?recall=R999999Z").status_code == 404
    assert pages.get(f"/trace/recall.pdf?word={sold}&began=soon").status_code == 422


def test_a_recall_without_a_reason_is_shown_again(pages: Pages, sold: str) -> None:
    address = f"/trace/recall?word={sold}"
    form = {"word": f"harvest:{sold}", "began": pages.clock.at.isoformat(), "reason": ""}
    page = pages.post("/trace/keep", form, page=address)
    assert page.status_code == 422
    assert "Say in a few words why" in words_of(page)


def test_hands_may_trace_and_only_who_runs_the_farm_calls_back(pages: Pages, people: Anybody, sold: str) -> None:
    people.is_now("Ben", "hand")
    page = pages.get(f"/trace?word={sold}")
    assert page.status_code == 200
    assert "Recall sheet" not in words_of(page)
    assert pages.get(f"/trace/recall?word={sold}").status_code == 403


def test_the_stories_lead_to_the_trace(pages: Pages, farm: Farm, sold: str) -> None:
    assert f"/trace?word=harvest:{sold}" in pages.get(f"/book/harvest/{sold}").text
    lot = next(iter(farm.trace(sold, at=pages.clock.at).names("lot")))
    assert f"/trace?word=lot:{quote(lot)}" in pages.get(f"/book/lot/{quote(lot)}").text


def test_programs_are_told_the_same(pages: Pages, sold: str) -> None:
    told = pages.get(f"/api/1/trace/{coded(sold)}?way=back").json()
    assert {step["kind"] for step in told["steps"]} == {"lot", "sowing", "tray", "harvest"}
    recall = pages.get(f"/api/1/recall/{sold}").json()
    assert recall["about"] == f"harvest:{sold}"
    assert recall["share"] == 1.0
    assert pages.get("/api/1/trace/H991231A").status_code == 404
