"""The book in a browser: a mistake found, struck and put back; readable on a phone, by keyboard and in the dark."""

from __future__ import annotations

import pytest

from tests.web.browser.conftest import LIGHT, THREE_LOOKS, PageAt, Server, assert_for_everyone, shot
from trayward import Farm

NOTE = "Fan of shelf A2 rattles"


@pytest.fixture
def noted(server: Server) -> str:
    """A note of the one person at this machine; gives its id."""
    with Farm.open(str(server.book)) as farm:
        return farm.note(NOTE, (), at=server.clock.at, by="grower").kept[0].entry.id


def test_a_mistake_is_found_struck_and_put_back(page_at: PageAt, noted: str) -> None:
    page = page_at("/book")
    page.get_by_label("Find", exact=True).fill("fan rattles")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name=NOTE).click()
    assert page.url.endswith(f"/book/entry/{noted}")
    shot(page, "book-entry-phone")

    page.get_by_text("This was a mistake: strike it").click()
    page.get_by_label("What was wrong").fill("it was shelf A3")
    page.get_by_role("button", name="Strike it").click()
    page.get_by_text("Struck by grower").first.wait_for()
    assert page.locator("del").inner_text() == f"Note: {NOTE}."
    shot(page, "book-struck-phone")

    page.get_by_role("link", name="See who struck it").click()
    page.get_by_text("This was a mistake: strike it").click()
    page.get_by_label("What was wrong").fill("A2 after all")
    page.get_by_role("button", name="Strike it").click()
    page.get_by_text("Struck by grower").first.wait_for()
    page.goto(page.url.split("/book/")[0] + f"/book/entry/{noted}")
    assert page.locator("del").count() == 0


def test_a_strike_works_without_scripts_and_a_reason_is_asked_for(page_at: PageAt, noted: str) -> None:
    page = page_at(f"/book/entry/{noted}", java_script_enabled=False)
    page.get_by_text("This was a mistake: strike it").click()
    page.get_by_label("What was wrong").fill("wrong shelf")
    page.get_by_role("button", name="Strike it").click()
    assert page.get_by_text("Struck by grower").count()


def test_filters_fold_away_and_say_what_they_keep(page_at: PageAt) -> None:
    page = page_at("/book")
    page.get_by_text("Only some of it").click()
    page.get_by_label("Cut", exact=True).check()
    page.get_by_label("From", exact=True).fill("2026-11-16")
    page.get_by_role("button", name="Show these").click()
    assert page.get_by_text("Only: Cut, from Mon 16 Nov").count() == 1
    assert page.locator(".entry").count() > 0
    assert all(" cut: " in words for words in page.locator(".entry-words").all_inner_texts())
    page.go_back()
    assert page.get_by_text("Only some of it").count() == 1


def test_a_new_entry_appears_by_itself(page_at: PageAt, server: Server) -> None:
    page = page_at("/book")
    with Farm.open(str(server.book)) as farm:
        farm.note("just said by somebody else", (), at=server.clock.forward(minutes=1), by="Ida")
    page.get_by_text("just said by somebody else").wait_for()


def test_the_check_appears_by_itself(page_at: PageAt) -> None:
    page = page_at("/book/copies")
    page.get_by_role("link", name="Check every entry").click()
    page.get_by_text("Yes.", exact=True).wait_for(timeout=60_000)
    shot(page, "book-check-phone")


@pytest.mark.parametrize("path", ["/book", "/book?find=radish&what=cut", "/book/odd", "/book/copies"])
def test_every_page_fits_and_can_be_read_by_all(page_at: PageAt, path: str) -> None:
    name = path.strip("/").partition("?")[0].replace("/", "-")
    assert_for_everyone(page_at(path), f"{name}{'-found' if '?' in path else ''}", THREE_LOOKS)


def test_an_entry_and_a_story_fit(page_at: PageAt, server: Server) -> None:
    with Farm.open(str(server.book)) as farm:
        long = "a word as long as a tail of a wet cat that nobody called by its name-" * 6
        name = farm.note(long.replace(" ", "_"), (), at=server.clock.at, by="grower").kept[0].entry.id
        lot = next(iter(farm.state(server.clock.at).seed))
    for path, called in ((f"/book/entry/{name}", "long"), (f"/book/lot/{lot}", "lot")):
        page = page_at(path)
        for fold in page.locator("details > summary").all():
            fold.click()
        assert_for_everyone(page, f"book-{called}", LIGHT)
