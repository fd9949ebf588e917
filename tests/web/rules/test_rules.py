"""The page of rules: facts asked, readings with their sources, what is kept, and never a verdict."""

from __future__ import annotations

import re
from html import unescape

import pytest

from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from trayward import Farm
from trayward.desk.ruling import said_of, sales_known
from trayward.library.rules import CropAsked


@pytest.fixture
def people() -> Anybody:
    return Anybody()


DEFER = "Defer to local codes and licensed practice."


def test_it_works(pages: Pages) -> None:
    shown = pages.get("/rules")
    assert shown.status_code == 200
    assert "Where is the farm?" in words_of(shown)
    assert DEFER in words_of(shown)
    assert "What follows" not in words_of(shown)
    assert 'href="/rules"' in pages.get("/records").text


@pytest.mark.parametrize("country", ["US", "EU", "GB"])
def test_every_reading_has_its_source_and_the_page_ends_with_who_decides(pages: Pages, country: str) -> None:
    shown = pages.get(f"/rules?country={country}&produce=30000&food=30000&near_share=80")
    words = words_of(shown)
    assert "What follows" in words
    assert words.rindex(DEFER) > words.index("What follows")
    assert "CFR" in words if country == "US" else "852/2004" in words


def test_records_that_a_rule_would_ask_for_are_counted(pages: Pages, farm: Farm) -> None:
    at = pages.clock.at
    farm.write_record("pest", {"found": "nothing"}, area="rack A", at=at, by="Maren", recorded=at)
    assert "Pests: 1 in the last year" in words_of(pages.get("/rules?country=EU"))


def test_what_cannot_be_read_is_said_and_what_was_typed_stays(pages: Pages) -> None:
    shown = pages.get("/rules?country=US&produce=lots")
    assert shown.status_code == 422
    assert 'value="lots"' in shown.text
    assert pages.get("/rules?country=MARS").status_code == 422
    assert pages.get("/rules?country=US&roots=green").status_code == 422


def test_what_was_typed_stands_open_and_the_rest_is_folded(pages: Pages) -> None:
    assert pages.get("/rules").text.count("<details open>") == 0
    shown = pages.get("/rules?country=US&near_share=80&cuts-radish=customer&set-us_small=600000").text
    form = shown[shown.index("<form method") : shown.index("</form>")]
    for title in ("Sales and buyers", "One crop otherwise", "radish", "Thresholds"):
        assert form[: form.index(f"<summary>{title}")].rstrip().endswith("<details open>"), title
    assert form[: form.index("<summary>Four facts")].rstrip().endswith("<details>")
    assert form.count("as for every crop") == 4 * form.count('name="medium-') > 0
    assert '<h2 id="follows">' in shown


def test_sales_of_the_record_and_its_customers_are_offered(pages: Pages, farm: Farm) -> None:
    known = sales_known(farm, pages.clock.at)
    assert known.total > 0
    words = unescape(pages.get("/rules").text)
    for customer in known.by_customer:
        assert f'name="near" value="{customer}"' in words
    first, *others = known.by_customer
    assert known.share_of(others) == pytest.approx(1 - float(known.by_customer[first] / known.total))


def test_it_is_for_who_keeps_the_farm(pages: Pages, people: Anybody) -> None:
    people.is_now("Ada", "hand")
    assert pages.get("/rules").status_code == 403


def test_one_crop_may_be_otherwise_than_all() -> None:
    crop = CropAsked(crop="pea", medium="mat", roots="cut off", stage="at true leaves", cuts="farm")
    said = {"roots": "with roots", "roots-pea": "", "cuts-pea": "customer", "listed-pea": "no", "why-pea": "a shoot"}
    found = said_of(crop, said)
    assert (found.roots, found.cuts, found.listed, found.why) == ("with roots", "customer", False, "a shoot")


@pytest.mark.parametrize("country", ["US", "EU", "GB"])
def test_a_spanish_page_says_rules_reasons_and_thresholds_in_spanish(pages: Pages, country: str) -> None:
    asked = f"/rules?country={country}&produce=30000&food=600000&near_share=20&medium=water&roots=with+roots"
    shown = pages.get(asked, Accept_Language="es")
    # Citations stay as they were published, and say so.
    text = re.sub(r'<span lang="en">[^<]*</span>', "", shown.text)
    assert 'lang="en"' not in text
    follows = words_of(text[text.index('id="follows"') :])
    assert re.findall(r"\b(the|and|with|sold|sales|farm|food|produce|sprouts|rule|trace a|of|from)\b", follows) == []
    if country == "US":
        # A comma marks decimals in Spanish: thousands are set apart by a blank.
        assert "30 000 USD al año" in follows
        assert "umbral de 25 000 USD" in follows
        assert "Ventas de producto fresco al año hasta las que una granja no está cubierta [USD]" in unescape(
            shown.text
        )


def test_answers_are_kept_in_the_book_and_the_page_opens_with_them(pages: Pages, farm: Farm, people: Anybody) -> None:
    asked = "/rules?country=EU&roots=cut+off&food=&near=Moth+%26+Marrow&page=2"
    shown = pages.get(asked).text
    said = unescape(re.search(r'name="said" value="([^"]+)"', shown)[1])  # type: ignore[index]
    assert said == "country=EU&roots=cut+off&near=Moth+%26+Marrow"
    assert pages.post("/rules/keep", {"said": f"{said}&page=2"}, page=asked).status_code == 303
    assert farm.settings(pages.clock.at).rules == said
    opened = pages.get("/rules")
    if opened.status_code == 303:
        opened = pages.get(opened.headers["location"])
    assert "What follows" in words_of(opened)
    assert "the page opens with them" in words_of(opened)
    assert pages.post("/rules/keep", {"said": ""}, page=f"/rules?{said}").status_code == 303
    assert farm.settings(pages.clock.at).rules == ""
    assert "What follows" not in words_of(pages.get("/rules"))
    people.is_now("Ada", "hand")
    assert pages.post("/rules/keep", {"said": said}, page="/round").status_code == 403
