"""Where there is too little room and stacking makes some: the moves with one button, on the round, Sow and Racks."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.once_lived import MORNING
from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import ByHeader
from trayward import Farm
from trayward.farm.spots import free_spots
from trayward.web.app import create_app

SOWN = MORNING - timedelta(days=4)


def full_loft(path: Path) -> Path:
    """A loft whose every dark floor position is taken: a pair of broccoli on D1.1, one young radish on each other."""
    with Farm.create(str(path), "loft", at=SOWN - timedelta(days=1)) as farm:
        dark = [shelf for shelf in farm.state(SOWN).shelves.values() if shelf.kind == "dark"]
        others = [f"{shelf.name}.{position}a" for shelf in dark for position in range(1, shelf.spots + 1)][1:]
        farm.sow("broccoli", 2, grams_per_tray=20, spots=["D1.1a", "D1.1b"], at=SOWN, sure=True)
        young = SOWN + timedelta(days=3)
        farm.sow("radish", len(others), grams_per_tray=20, spots=others, at=young, sure=True)
    return path


@pytest.fixture(scope="module")
def full_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return full_loft(tmp_path_factory.mktemp("full") / "loft.sqlite")


@pytest.fixture
def book(full_book: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(full_book, tmp_path / "loft.sqlite"))


@pytest.fixture
def as_reader(book: Path, clock: Clock) -> Iterator[TestClient]:
    with TestClient(create_app(str(book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        client.headers["x-role"] = "reader"
        yield client


def form_within(page: str, begin: str) -> dict[str, list[str]]:
    """The fields of the first form that sends moves, after some words of the page."""
    form = page.partition(begin)[2].partition('action="/racks/move"')[2].partition("</form>")[0]
    found: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form):
        found.setdefault(name, []).append(html.unescape(value))
    return {name: values for name, values in found.items() if name not in ("_key", "_from")}


def test_a_turn_without_room_is_helped_before_and_after_it_is_said(pages: Pages) -> None:
    shown = pages.get("/round")
    row = re.search(r'id="row-(look-261121A[^"]*)"', shown.text)
    assert row is not None
    assert "If it is ready, there is too little room. Stack trays first, then there is enough:" in words_of(shown)
    told = html.unescape(shown.text.partition(f'name="_form" value="{row[1]}"')[2].partition('name="row" value="')[2])
    ready = {"_form": row[1], "row": told.partition('">')[0], "answer": "ready"}
    refused = pages.post("/round/answer", ready, page="/round")
    assert refused.status_code == 422
    assert "Stack first: 261124A.1 onto D1.3b (then there is room for all)." in words_of(refused)
    form = form_within(refused.text, 'class="fault"')
    assert (form["tray"], form["spot"]) == (["261124A.1"], ["D1.3b"])
    gone = pages.post("/racks/move", form, page="/round")
    assert (gone.status_code, gone.headers["location"]) == (303, f"/round#row-{row[1]}")
    assert "too little room" not in words_of(pages.get("/round"))
    assert pages.post("/round/answer", ready, page="/round").status_code == 303
    with pages.farm() as farm:
        spots = {tray.spot for tray in farm.state(pages.clock.at).growing() if tray.stage == "blackout"}
    assert spots == {"D1.1a", "D1.2a"}


def test_the_racks_say_what_stacking_would_free_and_one_button_does_it(pages: Pages) -> None:
    shown = pages.get("/racks")
    assert "Stacked closer, trays would leave 9 floor positions free" in words_of(shown)
    form = form_within(shown.text, 'id="racks-loose"')
    assert len(form["tray"]) == len(form["spot"]) == 9
    with pages.farm() as farm:
        assert free_spots(farm.state(pages.clock.at), "dark", 1) == []
    landed = pages.send("/racks/move", form)  # as a phone sends it that had no signal
    assert landed.json()["say"].startswith("9 trays moved: 261124A.1 → D1.3b")
    with pages.farm() as farm:
        assert len(free_spots(farm.state(pages.clock.at), "dark", 1)) == 9
    assert 'id="racks-loose"' not in pages.get("/racks").text


def test_each_tray_needs_a_spot_and_who_only_looks_gets_no_button(pages: Pages, as_reader: TestClient) -> None:
    found = pages.post("/racks/move", {"tray": ["261124A.1", "261124A.2"], "spot": "D1.3b"}, page="/racks")
    assert found.status_code == 422
    assert "each of the 2 trays goes to a spot of its own" in words_of(found)
    seen = as_reader.get("/racks").text
    assert 'id="racks-loose"' in seen
    assert "Stack these" not in seen


def test_a_program_is_told_the_moves_with_the_refusal(pages: Pages) -> None:
    answer = {"trays": ["261121A.1", "261121A.2"], "cue": "ready"}
    found = pages.client.post("/api/1/answer", json=answer)
    assert found.status_code == 422
    step = {"tray": "261124A.1", "crop": "radish", "start": "D1.2a", "spot": "D1.3b"}
    assert found.json()["error"]["restack"] == {"moves": [step], "gained": 1, "lack": 0}
    # Of other errors nothing is said of stacking.
    assert "restack" not in pages.client.post("/api/1/answer", json={"trays": ["nobody"]}).json()["error"]
