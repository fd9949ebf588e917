"""Later changes of the farm on its pages: each an entry, bad input beside its field, what was typed still there."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from trayward import Farm
from trayward.farm.entries import FarmSet
from trayward.farm.settings import FarmWater
from trayward.web.app import create_app
from trayward.web.guard import OnePerson, Who

PAGES = (
    "/setup", "/setup/farm", "/setup/day", "/setup/money", "/setup/water", "/setup/places", "/setup/shelf/E1",
    "/setup/kit", "/setup/crops", "/setup/crop/broccoli", "/setup/file", "/setup/first",
)  # fmt: skip
FARM = {"name": "Lantern Loft", "units": "metric", "timezone": "Europe/Dublin", "who": "sell"}
MONEY = {"currency": "EUR", "caution": "8.5", "calm": "2", "wage_h": "16", "energy_kwh": "0,31"}


def settings_of(pages: Pages):  # type: ignore[no-untyped-def]
    with pages.farm() as farm:
        return farm.settings(pages.clock.at)


@pytest.mark.parametrize("path", PAGES)
def test_it_works(pages: Pages, path: str) -> None:
    page = pages.get(path)
    assert page.status_code == 200
    assert len(re.findall("<h1", page.text)) == 1


@pytest.mark.parametrize("path", PAGES[:-1])
def test_a_hand_has_no_business_here(book: object, clock: Clock, path: str) -> None:
    people = OnePerson("Mira")
    people._who = Who(name="Mira", role="hand")
    with TestClient(create_app(str(book), now=clock, people=people), base_url=ADDRESS) as client:
        assert client.get(path).status_code == 403


@pytest.mark.parametrize("path", ["/setup/shelf/nowhere", "/setup/crop/moonflower"])
def test_what_is_not_there_is_not_found(pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_the_name_is_changed_by_one_entry_that_says_who(pages: Pages) -> None:
    done = pages.post("/setup/farm", FARM | {"name": "Lantern Attic"}, page="/setup/farm")
    assert done.status_code == 303
    with pages.farm() as farm:
        newest = next(iter(farm.book.entries(after=farm.book.head().seq - 1))).entry
        assert isinstance(newest.body, FarmSet)
        assert newest.body.settings.name == "Lantern Attic"
        assert newest.by == "grower"


def test_nothing_changed_is_no_entry(pages: Pages) -> None:
    with pages.farm() as farm:
        before = farm.book.head().seq
    done = pages.post("/setup/farm", FARM, page="/setup/farm")
    assert done.status_code == 303
    with pages.farm() as farm:
        assert farm.book.head().seq == before


def test_money_and_care(pages: Pages) -> None:
    assert pages.post("/setup/money", MONEY, page="/setup/money").status_code == 303
    found = settings_of(pages)
    assert (found.caution, found.calm, found.money.energy_kwh) == (0.85, 2.0, 0.31)


def test_rounds_hours_and_a_new_round(pages: Pages) -> None:
    week = {f"work_{day}": "4 h" for day in range(6)}
    form = {"round_0": "06:30", "round_1": "", "round_new_name": "noon", "round_new": "12:15", "_form": "day", **week}
    assert pages.post("/setup/day", form, page="/setup/day").status_code == 303
    found = settings_of(pages)
    assert [(walk.name, f"{walk.at:%H:%M}") for walk in found.rounds] == [("morning", "06:30"), ("noon", "12:15")]
    assert found.work_minutes == (240, 240, 240, 240, 240, 240, 0)


def test_days_off_come_and_go(pages: Pages) -> None:
    pages.post("/setup/off", {"first": "2027-02-01", "last": "2027-02-03"}, page="/setup/day")
    assert sum(day.year == 2027 and day.month == 2 for day in settings_of(pages).days_off) == 3
    pages.post("/setup/off", {"again": "2027-02-02"}, page="/setup/day")
    assert sum(day.year == 2027 and day.month == 2 for day in settings_of(pages).days_off) == 2


def test_water_is_said_and_forgotten(pages: Pages) -> None:
    form = {"ph": "7.8", "alkalinity": "180 mg/l", "temperature": "18", "acid": "citric 50 %"}
    assert pages.post("/setup/water", form, page="/setup/water").status_code == 303
    water = settings_of(pages).water
    assert isinstance(water, FarmWater)
    assert water.alkalinity_meq == pytest.approx(3.6, abs=0.01)  # 180 mg/l CaCO3 at 50.04 mg/meq
    assert pages.post("/setup/water/forget", {}, page="/setup/water").status_code == 303
    assert settings_of(pages).water is None


def test_a_shelf_is_changed_and_more_are_added(pages: Pages) -> None:
    form = {"shelf": "E1", "kind": "lit", "spots": "5", "lamps": "3", "watts": "30", "hours": "14"}
    assert pages.post("/setup/shelf", form, page="/setup/shelf/E1").status_code == 303
    more = {"rack": "J", "count": "3", "kind": "dark", "spots": "4", "stack": "2"}
    assert pages.post("/setup/shelves", more, page="/setup/places").status_code == 303
    with pages.farm() as farm:
        shelves = farm.state(pages.clock.at).shelves
        lamp = shelves["E1"].lamp
        assert lamp is not None
        assert (shelves["E1"].spots, lamp.count, lamp.hours) == (5, 3, 14)
        assert [shelves[name].stack for name in ("J1", "J2", "J3")] == [2, 2, 2]
        assert shelves["J1"].order > shelves["E1"].order


def test_a_shelf_with_trays_is_not_taken_down(pages: Pages) -> None:
    with pages.farm() as farm:
        taken = next(iter(farm.state(pages.clock.at).spots)).partition(".")[0]
        kind = farm.state(pages.clock.at).shelves[taken].kind
    form = {"shelf": taken, "kind": kind, "spots": "0"}
    assert pages.post("/setup/shelf", form, page=f"/setup/shelf/{taken}").status_code == 422


def test_kit_is_set_counted_and_added(pages: Pages) -> None:
    assert pages.post("/setup/kit", {"pool": "cover", "count": "40", "dry": "8"}, page="/setup/kit").status_code == 303
    assert pages.post("/setup/kit", {"pool": "weight", "count": "20"}, page="/setup/kit").status_code == 303
    count = {"pool": "weight", "counted": "18", "reason": "two cracked"}
    assert pages.post("/setup/kit/count", count, page="/setup/kit").status_code == 303
    with pages.farm() as farm:
        kit = farm.state(pages.clock.at).kit
        assert (kit["cover"].pool.count, kit["cover"].pool.dry_hours) == (40, 8.0)
        assert kit["weight"].ready(pages.clock.at) == 18


def test_crops_are_dropped_and_taken_up(pages: Pages) -> None:
    dropped = {"recipe": "broccoli on mesh mat"}
    assert pages.post("/setup/crops/drop", dropped, page="/setup/crops").status_code == 303
    assert pages.post("/setup/crops", {"crop": "cress", "medium": "coir"}, page="/setup/crops").status_code == 303
    with pages.farm() as farm:
        state = farm.state(pages.clock.at)
        assert "broccoli on mesh mat" in state.dropped_recipes
        assert state.recipes["cress on coir"].medium.cost == 0.65  # as the loft's other recipes on coir have it
    assert pages.post("/setup/crops", dropped, page="/setup/crops").status_code == 303
    with pages.farm() as farm:
        assert "broccoli on mesh mat" not in farm.state(pages.clock.at).dropped_recipes
    assert pages.post("/setup/crops", dropped, page="/setup/crops").status_code == 422


def test_a_figure_of_a_crop_goes_before_the_librarys(pages: Pages) -> None:
    form = {"column": "tsw_g_typ", "value": "3,4", "note": "weighed"}
    assert pages.post("/setup/crop/broccoli", form, page="/setup/crop/broccoli").status_code == 303
    with pages.farm() as farm:
        assert farm.state(pages.clock.at).crop_facts["broccoli"]["tsw_g_typ"].value == 3.4
    assert "This farm's own" in words_of(pages.get("/setup/crop/broccoli")).replace("&#39;", "'")


def test_the_setup_is_taken_out_changed_looked_at_and_applied(pages: Pages) -> None:
    text = pages.get("/setup/farm.toml").text
    same = pages.post("/setup/file", {"text": text}, page="/setup/file")
    assert "The farm is like that already." in words_of(same)
    changed = text.replace("count = 28", "count = 31")
    look = pages.post("/setup/file", {"text": changed}, page="/setup/file")
    assert "1 change" in words_of(look)
    with pages.farm() as farm:
        assert farm.state(pages.clock.at).kit["cover"].pool.count == 28
    done = pages.post("/setup/file", {"text": changed, "apply": "1"}, page="/setup/file")
    assert done.status_code == 303
    with pages.farm() as farm:
        assert farm.state(pages.clock.at).kit["cover"].pool.count == 31


def test_a_file_may_be_sent(pages: Pages) -> None:
    text = pages.get("/setup/farm.toml").text
    key = pages.key("/setup/file")
    sent = pages.client.post(
        "/setup/file",
        data={"_key": key, "_from": "/setup/file"},
        files={"file": ("farm.toml", text.encode(), "application/toml")},
    )
    assert "The farm is like that already." in words_of(sent)
    wrong = pages.client.post(
        "/setup/file",
        data={"_key": key, "_from": "/setup/file"},
        files={"file": ("farm.toml", b"\xff\xfe\x00", "application/toml")},
    )
    assert wrong.status_code == 422
    assert "UTF-8" in wrong.text


@pytest.mark.parametrize(
    ("act", "page", "form", "field", "typed"),
    [
        ("/setup/farm", "/setup/farm", FARM | {"name": ""}, "name", ""),
        ("/setup/farm", "/setup/farm", FARM | {"timezone": "Nowhere"}, "timezone", ""),
        ("/setup/money", "/setup/money", MONEY | {"caution": "12"}, "caution", "12"),
        ("/setup/money", "/setup/money", MONEY | {"wage_h": "lots"}, "wage_h", "lots"),
        ("/setup/day", "/setup/day", {"round_0": "7 o'clock", "work_0": "4 h", "_form": "day"}, "day-round_0", ""),
        ("/setup/day", "/setup/day", {"round_0": "07:00", "work_2": "long", "_form": "day"}, "day-work_2", "long"),
        ("/setup/off", "/setup/day", {"first": "soon", "_form": "off"}, "off-first", "soon"),
        ("/setup/water", "/setup/water", {"ph": "15", "alkalinity": "180", "_form": "water"}, "water-ph", "15"),
        ("/setup/water", "/setup/water", {"ph": "7", "alkalinity": "hard", "_form": "water"},
         "water-alkalinity", "hard"),
        ("/setup/water", "/setup/water", {"ph": "7.8", "alkalinity": "180", "acid": "lemon", "_form": "water"},
         "water-acid", "lemon"),
        ("/setup/water", "/setup/water", {"ph": "7.8", "alkalinity": "180", "feed_low": "1.2", "_form": "water"},
         "water-feed_adds", ""),
        ("/setup/shelf", "/setup/shelf/E1", {"shelf": "E1", "kind": "lit", "spots": "x", "_form": "shelf"},
         "shelf-spots", "x"),
        ("/setup/shelves", "/setup/places", {"rack": "a.b", "kind": "lit", "spots": "4", "_form": "more"},
         "more-rack", "a.b"),
        ("/setup/kit", "/setup/kit", {"pool": "", "count": "4", "_form": "more"}, "more-pool", ""),
        ("/setup/kit", "/setup/kit", {"pool": "Covers", "count": "4", "_form": "more"}, "more-pool",
         "it is hardly told from cover"),
        ("/setup/crops", "/setup/crops", {"crop": "broccoli", "medium": "mesh mat", "_form": "more"}, "more-crop", ""),
        ("/setup/crop/broccoli", "/setup/crop/broccoli", {"column": "tsw_g_typ", "value": "", "_form": "fact"},
         "fact-value", ""),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_beside_its_field(
    pages: Pages, act: str, page: str, form: dict[str, str], field: str, typed: str
) -> None:
    with pages.farm() as farm:
        before = farm.book.head().seq
    answer = pages.post(act, form, page=page)
    assert answer.status_code == 422
    assert f'id="{field}-wrong"' in answer.text
    assert typed in answer.text
    with pages.farm() as farm:
        assert farm.book.head().seq == before


def test_long_names_and_an_empty_book_do_not_break_a_page(pages: Pages, clock: Clock) -> None:
    name = "The very long name of a loft that somebody thought of on a Sunday " * 1
    assert pages.post("/setup/farm", FARM | {"name": name}, page="/setup/farm").status_code == 303
    for path in PAGES:
        assert pages.get(path).status_code == 200


def test_a_barn_of_shelves_is_a_page_of_links() -> None:
    from datetime import UTC, datetime

    at = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
    with (
        Farm.create(":memory:", "barn", at=at) as barn,
        TestClient(create_app(barn, now=lambda: at), base_url=ADDRESS) as client,
    ):
        page = client.get("/setup/places")
        assert page.status_code == 200
        assert len(page.text) < 120_000
