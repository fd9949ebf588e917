"""The racks page: the place as it is and will be, and moving a tray."""

from __future__ import annotations

from datetime import timedelta

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward import Farm
from trayward.farm.entries import FarmSet
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots, stage_of
from trayward.farm.state import FarmState, Tray
from trayward.web.app import create_app
from trayward.web.racks.work import fits


def state_of(pages: Pages) -> FarmState:
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def tray_in(state: FarmState, stage: str) -> Tray:
    """A tray in a stage that stands on a spot."""
    return next(tray for tray in state.growing() if tray.stage == stage and tray.spot)


def spot_for(state: FarmState, tray: Tray) -> str:
    """A free spot that suits it."""
    stage = stage_of(state, tray)
    assert stage is not None
    assert stage.ground != "bench"
    return free_spots(state, stage.ground, stage.stack)[0]


def test_it_works(pages: Pages) -> None:
    found = pages.get("/racks")
    state = state_of(pages)
    assert found.status_code == 200
    words = words_of(found)
    assert f"{len(state.spots)} of 96 spots taken" in words
    for spot, tray in state.spots.items():
        assert spot in words
        assert f'data-tray="{tray}"' in found.text
    free = 96 - len(state.spots)
    assert found.text.count("data-spot=") == free


def test_every_cell_says_its_stage_in_words_and_by_a_letter(pages: Pages) -> None:
    found = pages.get("/racks")
    for stage, letter in (("germinate", "G"), ("blackout", "B"), ("light", "L"), ("ready", "R")):
        tray = tray_in(state_of(pages), stage)
        cell = found.text.partition(f'data-tray="{tray.tray}"')[2].partition("</a>")[0]
        assert f"mark-{stage}" in cell
        assert f">{letter}</span>" in cell
        assert f">{stage}</span>" in cell


def test_days_are_the_recipes_until_the_farms_own_are_there(pages: Pages) -> None:
    assert "Ready days are by the recipes" in words_of(pages.get("/racks"))
    assert pages.client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
    assert "Ready days are by the recipes" not in words_of(pages.get("/racks"))


def test_an_outlook_is_kept_while_trays_stay_in_their_stages(pages: Pages) -> None:
    with pages.farm() as farm:
        at = pages.clock.at
        ahead = farm.outlook(at)
        told = {tray.tray: ahead.standing(tray) for tray in farm.state(at).growing()}
        assert fits(farm.state(at), told)
        tray = tray_in(farm.state(at), "light")
        farm.begin([tray.tray], "ready", at=at, sure=True)
        assert not fits(farm.state(at), told)
        assert not fits(farm.state(at), {})


# Looking --------------------------------------------------------------------------------------------------------------


def test_looking_for_a_crop_counts_it_rack_by_rack_and_fades_the_others(pages: Pages) -> None:
    crop = tray_in(state_of(pages), "light").crop
    found = pages.get(f"/racks?crop={crop}")
    standing = [tray for tray in state_of(pages).growing() if tray.spot]
    wanted = sum(1 for tray in standing if tray.crop == crop)
    plural = f"{wanted} tray{'s are' if wanted != 1 else ' is'} what you look for"
    assert plural in words_of(found)
    assert found.text.count('class="cell faded') == len(standing) - wanted


def test_the_list_has_a_row_for_every_tray(pages: Pages) -> None:
    found = pages.get("/racks?as=list")
    state = state_of(pages)
    for tray in state.growing():
        assert f'href="/tray/{tray.tray}"' in found.text
    assert found.text.count("<tr>") == len(state.growing()) + 1
    stage = "ready"
    some = pages.get(f"/racks?as=list&stage={stage}")
    assert some.text.count("<tr>") == 1 + sum(1 for tray in state.growing() if tray.stage == stage)


def test_a_day_ahead_shows_the_place_as_it_will_be(pages: Pages) -> None:
    day = (pages.clock.at + timedelta(days=40)).date()
    found = words_of(pages.get(f"/racks?on={day}"))
    assert "if the plan is followed" in found
    assert "No plan kept" in found
    assert "0 of 96 spots taken" in found
    assert "likely cut by then" in found
    assert "Move trays" not in found


@pytest.mark.parametrize("on", ["yesterday", "2026-11-24", "2027-06-01"])
def test_a_day_that_cannot_be_looked_at_is_refused(pages: Pages, on: str) -> None:
    found = pages.get(f"/racks?on={on}")
    assert found.status_code in (404, 422)
    assert "must" in words_of(found)


def test_a_tray_that_is_not_there_cannot_be_moved(pages: Pages) -> None:
    assert pages.get("/racks?move=nobody").status_code == 404


def test_a_farm_without_shelves_says_so(clock: Clock) -> None:
    bare = (FarmSet(settings=FarmSettings(name="Lantern Loft")),)
    with (
        Farm.create(":memory:", bare, at=clock.at) as farm,
        TestClient(create_app(farm, now=clock), base_url=ADDRESS) as client,
    ):
        assert "There are no shelves yet" in client.get("/racks").text
        assert "The cold room is empty" in client.get("/harvest").text


# Moving ---------------------------------------------------------------------------------------------------------------


def test_a_tray_moves_without_scripts(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    shown = pages.get(f"/racks?move={tray.tray}")
    spot = spot_for(state, tray)
    assert f'form="move-form" name="spot" value="{spot}"' in shown.text
    moved = pages.post("/racks/move", {"tray": tray.tray, "spot": spot}, page=f"/racks?crop=x&move={tray.tray}")
    assert (moved.status_code, moved.headers["location"]) == (303, "/racks?crop=x")
    assert state_of(pages).spots[spot] == tray.tray
    assert f"stands on {spot} now" in words_of(pages.get("/racks"))


def test_a_move_is_taken_back_at_once(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    pages.post("/racks/move", {"tray": tray.tray, "spot": spot_for(state, tray)}, page="/racks")
    entry = pages.get("/racks").text.partition('name="entry" value="')[2].partition('"')[0]
    assert pages.post("/undo", {"entry": entry}, page="/racks").status_code == 303
    assert state_of(pages).trays[tray.tray].spot == tray.spot


def test_a_move_kept_on_a_phone_lands_once(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    form, name = {"tray": tray.tray, "spot": spot_for(state, tray)}, "00000000-0000-4000-8000-000000000001"
    first = pages.send("/racks/move", form, name=name)
    with pages.farm() as farm:
        before = farm.book.head().seq
    assert first.json()["landed"]
    assert pages.send("/racks/move", form, name=name).json()["landed"]
    with pages.farm() as farm:
        assert farm.book.head().seq == before


def test_a_spot_that_is_taken_is_refused_in_the_houses_words(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    other = next(spot for spot, name in state.spots.items() if name != tray.tray)
    form = {"tray": tray.tray, "spot": other, "_form": f"move-{tray.tray}"}
    found = pages.post("/racks/move", form, page=f"/racks?move={tray.tray}")
    assert found.status_code == 422
    assert "a spot holds one tray" in words_of(found)
    assert f'value="{other}"' in found.text  # what was typed is still there
    assert state_of(pages).trays[tray.tray].spot == tray.spot


def test_a_pile_that_would_be_too_high_is_refused(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    uppers = (f"D{shelf}.{floor}b" for shelf in range(1, 6) for floor in range(1, 5))
    upper = next(spot for spot in uppers if spot not in state.spots and f"{spot[:-1]}a" in state.spots)
    found = pages.post("/racks/move", {"tray": tray.tray, "spot": upper}, page="/racks")
    assert found.status_code == 422
    assert "may be stacked 1 high" in words_of(found)


def test_the_wrong_kind_of_shelf_is_kept_and_said_to_be_odd(pages: Pages) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    dark = free_spots(state, "dark", 1)[0]
    assert pages.post("/racks/move", {"tray": tray.tray, "spot": dark}, page="/racks").status_code == 303
    assert "wants a lit one" in words_of(pages.get("/racks"))


@pytest.mark.parametrize("spot", ["", "Z9.9", "E1.99", "E1"])
def test_a_spot_that_there_is_not_is_refused_beside_the_field(pages: Pages, spot: str) -> None:
    tray = tray_in(state_of(pages), "light")
    form = {"tray": tray.tray, "spot": spot, "_form": f"move-{tray.tray}"}
    found = pages.post("/racks/move", form, page=f"/tray/{tray.tray}")
    assert found.status_code == 422
    assert f'id="move-{tray.tray}-spot-wrong"' in found.text


@pytest.mark.parametrize(("role", "status"), [("owner", 303), ("hand", 303), ("reader", 403)])
def test_hands_may_move_and_readers_may_not(pages: Pages, clock: Clock, role: str, status: int) -> None:
    state = state_of(pages)
    tray = tray_in(state, "light")
    form = {"tray": tray.tray, "spot": spot_for(state, tray)}
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        assert client.get("/racks", headers={"x-role": role}).status_code == 200
        shown = client.get(f"/tray/{tray.tray}", headers={"x-role": role}).text
        assert ('action="/racks/move"' in shown) == (status == 303)
        moved = client.post("/racks/move", data=form, headers={"x-role": role, **SCRIPT}, follow_redirects=False)
    assert moved.status_code == status
