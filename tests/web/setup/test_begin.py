"""The first run without scripts: every screen of it, what is kept on the way, the farm and the first tray."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from trayward.web.app import create_app
from trayward.web.setup import steps
from trayward.web.typed import Typed

Words = list[tuple[str, str]]


@pytest.fixture
def nothing(tmp_path: Path, clock: Clock) -> Iterator[Pages]:
    """The pages where there is no book yet."""
    book = tmp_path / "new.sqlite"
    with TestClient(create_app(str(book), now=clock), base_url=ADDRESS) as client:
        yield Pages(client, book, clock)


def fields(page: Response) -> Words:
    """What the page's form would send as it stands."""
    form = re.search(r'<form method="(?:get|post)" action="/setup/(?:begin|first)".*?</form>', page.text, re.S)
    assert form is not None
    found: Words = []
    for tag in re.findall(r"<input [^>]*>", form[0]):
        name = re.search(r' name="([^"]*)"', tag)
        value = re.search(r' value="([^"]*)"', tag)
        chosen = not re.search(r'type="(?:radio|checkbox)"', tag) or " checked" in tag
        if name and chosen:
            found.append((name[1], unescape(value[1]) if value else ""))
    for name, inside in re.findall(r'<select id="[^"]*" name="([^"]*)".*?>(.*?)</select>', form[0], re.S):
        picked = re.search(r'value="([^"]*)" selected', inside)
        found.append((name, picked[1] if picked else ""))
    return found


def step_on(pages: Pages, page: Response, **typed: str) -> Response:
    """Fill a screen in and go on."""
    words = [(name, typed.get(name, value)) for name, value in fields(page)]
    words += [(name, value) for name, value in typed.items() if name not in {known for known, _ in words}]
    go = [] if any(name == "go" for name, _ in words) else [("go", "next")]
    return pages.client.get("/setup/begin?" + urlencode([*words, *go]))


def to_summary(pages: Pages, kind: str = "shelf", **typed: str) -> Response:
    """Every screen as it is proposed, but for what is typed."""
    page = step_on(pages, pages.get("/setup/begin"), kind=kind)
    for _ in range(12):
        if "Is it like this?" in page.text:
            return page
        page = step_on(pages, page, **({"name": "Kitchen shelf"} | typed if "name" in dict(fields(page)) else typed))
    raise AssertionError("the summary never came: " + words_of(page)[:400])


def begin(pages: Pages, summary: Response) -> Response:
    words = [(name, value) for name, value in fields(summary) if not name.startswith("_")]
    return post(pages, "/setup/begin", words)


def post(pages: Pages, path: str, words: Words) -> Response:
    key = pages.key("/setup/begin")
    sent = urlencode([("_key", key), ("_from", path), *words])
    headers = {"content-type": "application/x-www-form-urlencoded"}
    return pages.client.post(path, content=sent, headers=headers)


def test_from_nothing_to_a_tray_on_the_rack(nothing: Pages) -> None:
    assert "I have one shelf" in nothing.get("/").text
    summary = to_summary(nothing, seed_broccoli="250 g", germ_broccoli="92")
    assert "Seed: 250 g of broccoli." in words_of(summary)
    first = begin(nothing, summary)
    assert "The first sowing" in first.text
    assert "20 g" in words_of(first) or "19" in words_of(first)
    done = post(nothing, "/setup/first", [("recipe", "broccoli on mesh mat"), ("trays", "2")])
    assert "2 trays sown. It stands on A1.1, A1.2." in words_of(done)
    with nothing.farm() as farm:
        state = farm.state(nothing.clock.at)
        assert state.settings is not None
        assert state.settings.name == "Kitchen shelf"
        assert sorted(state.spots) == ["A1.1", "A1.2"]


def test_racks_to_sell_from(nothing: Pages) -> None:
    summary = to_summary(nothing, "racks", racks="2", spots="6", customer="Copper Ladle", who="sell")
    assert "the first customer is Copper Ladle" in words_of(summary)
    begin(nothing, summary)
    with nothing.farm() as farm:
        state = farm.state(nothing.clock.at)
        assert len(state.shelves) == 10
        assert state.shelves["B5"].spots == 6
        assert "Copper Ladle" in state.customers


def test_ounces_are_read_where_ounces_were_chosen(nothing: Pages) -> None:
    begin(nothing, to_summary(nothing, units="us", seed_broccoli="8"))
    with nothing.farm() as farm:
        # 1 oz is 28.349523125 g (international avoirdupois pound, 0.45359237 kg).
        assert farm.state(nothing.clock.at).seed["broccoli 1"].left_g == pytest.approx(8 * 28.349523125)


@pytest.mark.parametrize(
    ("screen", "typed", "said"),
    [
        ("name", {"name": ""}, "must not be empty"),
        ("habits", {"timezone": "Mars/Olympus"}, "is no zone"),
        ("habits", {"currency": "euros"}, "three letters"),
        ("places", {"trays": "many"}, "must be a whole number"),
        ("places", {"hours": "30"}, "must lie in"),
        ("kit", {"kit_cover": "-1"}, "must lie in"),
        ("seed", {"seed_broccoli": "a handful"}, "seed broccoli"),
        ("seed", {"seed_broccoli": "20 g", "germ_broccoli": "140"}, "between 0 % and 100 %"),
        ("day", {"evening": "05:00"}, "comes before the morning"),
        ("day", {"work": "30 h"}, "between 1 min and 24 h"),
    ],
)
def test_what_cannot_be_stays_on_its_screen_with_what_was_typed(
    nothing: Pages, screen: str, typed: dict[str, str], said: str
) -> None:
    summary = dict(fields(to_summary(nothing)))
    crops = [("crop", "broccoli")]
    words = [(name, value) for name, value in (summary | typed).items() if name not in ("crop", "was")]
    was = [("was", name) for name in steps.NAMES]
    page = nothing.client.get("/setup/begin?" + urlencode([*words, *crops, *was, ("step", screen), ("go", "next")]))
    assert page.status_code == 422
    assert said in words_of(page)
    for value in typed.values():
        assert f'value="{value}"' in page.text or not value or f">{value}<" in page.text or screen == "habits"


def test_back_shows_what_was_typed(nothing: Pages) -> None:
    page = step_on(nothing, nothing.get("/setup/begin"), kind="shelf")
    page = step_on(nothing, page, name="Attic")
    back = nothing.client.get("/setup/begin?" + urlencode([*fields(page), ("go", "back")]))
    assert 'value="Attic"' in back.text


def test_a_screen_reloaded_is_the_same(nothing: Pages) -> None:
    page = step_on(nothing, nothing.get("/setup/begin"), kind="racks")
    again = nothing.client.get(str(page.url))
    assert words_of(again) == words_of(page)


def test_no_screen_can_be_left_out(nothing: Pages) -> None:
    assert "What do you have?" in nothing.get("/setup/begin?step=check").text
    assert "What is it called?" in nothing.get("/setup/begin?step=seed&kind=shelf").text
    assert nothing.get("/setup/begin?step=nonsense").status_code == 200


def test_change_on_the_summary_leads_back_to_it(nothing: Pages) -> None:
    summary = to_summary(nothing)
    link = unescape(re.search(r'href="(/setup/begin\?[^"]*step=name[^"]*)"', summary.text)[1])  # type: ignore[index]
    page = nothing.client.get(link)
    assert 'value="Kitchen shelf"' in page.text
    assert "It is called Attic." in words_of(step_on(nothing, page, name="Attic"))


def test_a_crop_unticked_stays_unticked(nothing: Pages) -> None:
    typed = Typed([("kind", "shelf"), ("medium", "mesh mat"), ("was", "crops"), ("step", "crops")])
    assert steps.words_shown(steps.step_named("crops"), typed, steps.Guess()) == {}


def test_seed_bought_later_is_asked_for_before_the_first_sowing(nothing: Pages) -> None:
    page = begin(nothing, to_summary(nothing))
    assert "There is no seed of broccoli here yet" in words_of(page)
    words = [("crop", "broccoli"), ("recipe", "broccoli on mesh mat"), ("seed_grams", "100 g")]
    page = post(nothing, "/setup/first/seed", words)
    assert "Seed to weigh" in page.text
    with nothing.farm() as farm:
        assert farm.state(nothing.clock.at).seed["broccoli 1"].left_g == 100


def test_more_trays_than_there_is_room_for_are_refused_beside_the_field(nothing: Pages) -> None:
    begin(nothing, to_summary(nothing, seed_broccoli="2 kg"))
    page = nothing.post("/setup/first", {"recipe": "broccoli on mesh mat", "trays": "9", "_form": "sow"},
                        page="/setup/first")  # fmt: skip
    assert page.status_code == 422
    assert 'value="9"' in page.text
    assert 'id="sow-trays-wrong"' in page.text


def test_a_farm_that_is_there_is_not_begun_once_more(pages: Pages) -> None:
    assert str(pages.get("/setup/begin").url).endswith("/setup")
    words: dict[str, Any] = {"kind": "shelf"}
    assert pages.post("/setup/begin", words, page="/setup").status_code == 422


def test_a_farm_begun_with_a_file(nothing: Pages) -> None:
    from trayward.desk.setup.file import ready_setup_text

    broken = nothing.post("/setup/file", {"text": '[farm]\nnome = "x"'}, page="/setup/file")
    assert broken.status_code == 422
    assert "line 2" in words_of(broken)
    assert "nome" in broken.text
    done = nothing.post("/setup/file", {"text": ready_setup_text("shelf")}, page="/setup/file")
    assert (done.status_code, done.headers["location"]) == (303, "/setup/first")


def test_units_and_money_are_guessed_from_the_language() -> None:
    from datetime import date

    assert steps.guess_for("en_US", date(2026, 11, 25)) == steps.Guess(us=True, currency="USD")
    assert steps.guess_for("es_ES", date(2026, 11, 25)) == steps.Guess(us=False, currency="EUR")
    assert steps.guess_for("en", date(2026, 11, 25)) == steps.Guess()
