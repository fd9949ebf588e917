"""The harvest page: cuts against what was expected, the cold room, cutting beside the round, throwing away."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward.farm.state import FarmState, HarvestLot, Tray
from trayward.rounds.cold_room import cold_room
from trayward.web.app import create_app


def state_of(pages: Pages) -> FarmState:
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def lot_left(pages: Pages) -> HarvestLot:
    """A lot with something left in the cold room."""
    return next(lot for lot in state_of(pages).harvests.values() if lot.left_g > 50)


def make_ready(pages: Pages, count: int = 1) -> list[Tray]:
    """Trays of one sowing called ready just now."""
    with pages.farm() as farm:
        state, at = farm.state(pages.clock.at), pages.clock.at
        lit = [tray for tray in state.growing() if tray.stage == "light"]
        sowing = next(one.sowing for one in lit if sum(tray.sowing == one.sowing for tray in lit) >= count)
        chosen = [tray for tray in lit if tray.sowing == sowing][:count]
        farm.begin([tray.tray for tray in chosen], "ready", at=at, sure=True)
        return chosen


def likely(pages: Pages, tray: Tray) -> float:
    """What it is likely to weigh. [g]"""
    with pages.farm() as farm:
        state = farm.state(pages.clock.at)
        grams = farm.outlook(pages.clock.at).standing(state.trays[tray.tray]).grams
    assert grams is not None
    return grams.likely


def test_it_works(pages: Pages) -> None:
    state = state_of(pages)
    words = words_of(pages.get("/harvest"))
    newest = max(state.harvests.values(), key=lambda lot: lot.cut_at)
    for told in ("In the cold room", "What was cut", "By crop", newest.harvest, newest.crop):
        assert told in words


def test_the_cold_room_lists_every_lot_with_what_is_left(pages: Pages) -> None:
    state = state_of(pages)
    assert state.settings is not None
    found = pages.get("/harvest").text
    room = cold_room(state, state.settings, pages.clock.at.date())
    assert room.lots
    for lot in room.lots:
        row = found.partition(f'id="lot-{lot.harvest}"')[2].partition("</li>")[0]
        assert lot.crop in row
        assert "keeps" in row


def test_crop_that_is_held_back_says_so_and_where_to_clear_it(pages: Pages) -> None:
    lot = lot_left(pages)
    assert "held back" not in words_of(pages.get("/harvest"))
    with pages.farm() as farm:
        farm.see_trouble([lot.trays[0]], "mould", at=pages.clock.at, sure=True)
    page = pages.get("/harvest")
    row = page.text.partition(f'id="lot-{lot.harvest}"')[2].partition("</li>")[0]
    assert "held back, suspected mould: not to be packed or sold" in row
    assert "no order takes it" not in row
    assert 'href="/trouble#trouble-held"' in row
    assert 'value="suspected mould"' in row, "it can be thrown away from here, with its reason"
    assert "held back, suspected mould" in words_of(pages.get(f"/harvest/lot/{lot.harvest}"))


def test_a_ready_tray_that_is_held_back_stands_apart_with_the_way_to_clear_it(pages: Pages) -> None:
    state = state_of(pages)
    tray = next(each for each in state.growing() if each.stage == "ready")
    assert 'id="held"' not in pages.get("/harvest").text
    with pages.farm() as farm:
        farm.see_trouble([tray.tray], "mould", at=pages.clock.at, sure=True)
    page = pages.get("/harvest")
    row = page.text.partition(f'id="held-{tray.tray}"')[2].partition("</li>")[0]
    assert "held back, suspected mould: not to be cut" in row
    assert 'href="/trouble#trouble-held"' in row
    assert f'name="g:{tray.tray}"' not in page.text, "it is not offered to be cut"
    with pages.farm() as farm:
        farm.clear_trouble([tray.tray], "root hairs", at=pages.clock.at, by="Ada")
    assert 'id="held"' not in pages.get("/harvest").text


def test_cuts_are_held_against_what_was_expected_once_that_is_worked_out(pages: Pages) -> None:
    assert "being worked out" in words_of(pages.get("/harvest"))
    assert pages.client.app.state.house.work.wait(300)  # type: ignore[attr-defined]
    found = pages.get("/harvest")
    words = words_of(found)
    assert "being worked out" not in words
    assert "as expected" in words
    assert 'class="was was-' in found.text


def test_days_of_cuts_come_newest_first_and_in_parts(pages: Pages) -> None:
    state = state_of(pages)
    days = sorted({lot.cut_at.date() for lot in state.harvests.values()}, reverse=True)
    assert len(days) > 7
    oldest = next(lot.harvest for lot in state.harvests.values() if lot.cut_at.date() == days[7] and lot.left_g < 0.5)
    first, second = pages.get("/harvest").text, pages.get("/harvest?page=2").text
    assert oldest not in first
    assert oldest in second
    assert pages.get("/harvest?page=999").status_code == 200
    assert pages.get("/harvest?page=x").status_code == 200


def test_a_lot_tells_its_trays_and_where_it_went(pages: Pages) -> None:
    lot = next(lot for lot in state_of(pages).harvests.values() if len(lot.trays) > 1)
    words = words_of(pages.get(f"/harvest/lot/{lot.harvest}"))
    assert all(tray in words for tray in lot.trays)
    assert "Where it goes" in words
    assert "Its story" in words
    assert pages.get("/harvest/lot/H000000A").status_code == 404


# Cutting --------------------------------------------------------------------------------------------------------------


def test_ready_trays_are_cut_into_one_lot_with_the_grams_of_each(pages: Pages) -> None:
    trays = make_ready(pages, 2)
    grams = [round(likely(pages, tray)) for tray in trays]
    before = set(state_of(pages).harvests)
    assert f'id="cut-{trays[0].sowing}"' in pages.get("/harvest").text
    form = {f"g:{tray.tray}": f"{weight} g" for tray, weight in zip(trays, grams, strict=True)}
    done = pages.post("/harvest/cut", form, page="/harvest")
    assert done.status_code == 303
    state = state_of(pages)
    (name,) = set(state.harvests) - before
    assert state.harvests[name].grams == pytest.approx(sum(grams))
    assert state.harvests[name].trays == tuple(tray.tray for tray in trays)
    assert f"2 trays cut into lot {name}" in words_of(pages.get("/harvest"))


def test_only_trays_that_were_weighed_are_cut(pages: Pages) -> None:
    first, second = make_ready(pages, 2)
    form = {f"g:{first.tray}": str(round(likely(pages, first))), f"g:{second.tray}": ""}
    assert pages.post("/harvest/cut", form, page="/harvest").status_code == 303
    state = state_of(pages)
    assert state.tray(first.tray).fate == "cut"  # type: ignore[union-attr]
    assert state.tray(second.tray).fate == "growing"  # type: ignore[union-attr]


def test_a_weight_that_looks_mistyped_is_asked_about_and_can_be_kept(pages: Pages) -> None:
    (tray,) = make_ready(pages)
    heavy = f"{round(10 * likely(pages, tray))}"
    form = {f"g:{tray.tray}": heavy, "_form": f"cut-{tray.sowing}"}
    found = pages.post("/harvest/cut", form, page="/harvest")
    assert found.status_code == 422
    assert "Keep it as it is" in found.text
    assert f'value="{heavy}"' in found.text
    assert pages.post("/harvest/cut", {**form, "sure": "1"}, page="/harvest").status_code == 303
    assert state_of(pages).tray(tray.tray).grams == float(heavy)  # type: ignore[union-attr]


@pytest.mark.parametrize("typed", ["", "heavy", "-20 g"])
def test_a_cut_without_a_weight_is_refused_and_the_words_stay(pages: Pages, typed: str) -> None:
    (tray,) = make_ready(pages)
    form = {f"g:{tray.tray}": typed, "height": "20 mm", "_form": f"cut-{tray.sowing}"}
    found = pages.post("/harvest/cut", form, page="/harvest")
    assert found.status_code == 422
    assert 'value="20 mm"' in found.text
    assert state_of(pages).tray(tray.tray).fate == "growing"  # type: ignore[union-attr]


def test_trays_that_stay_for_another_cut_go_on_growing(pages: Pages) -> None:
    (tray,) = make_ready(pages)
    form = {f"g:{tray.tray}": str(round(likely(pages, tray))), "regrow": "1"}
    assert pages.post("/harvest/cut", form, page="/harvest").status_code == 303
    assert state_of(pages).tray(tray.tray).fate == "growing"  # type: ignore[union-attr]


def test_a_cut_kept_on_a_phone_lands_once(pages: Pages) -> None:
    (tray,) = make_ready(pages)
    form, name = {f"g:{tray.tray}": str(round(likely(pages, tray)))}, "00000000-0000-4000-8000-000000000009"
    before = len(state_of(pages).harvests)
    assert all(pages.send("/harvest/cut", form, name=name).json()["landed"] for _ in range(2))
    assert len(state_of(pages).harvests) == before + 1


# Throwing away --------------------------------------------------------------------------------------------------------


def test_part_of_a_lot_is_thrown_away_with_a_reason(pages: Pages) -> None:
    lot = lot_left(pages)
    form = {"harvest": lot.harvest, "grams": "20 g", "reason": "limp"}
    assert pages.post("/harvest/throw", {**form, "reason": ""}, page="/harvest").status_code == 422
    assert pages.post("/harvest/throw", form, page="/harvest").status_code == 303
    assert state_of(pages).harvests[lot.harvest].left_g == pytest.approx(lot.left_g - 20)
    words = words_of(pages.get(f"/harvest/lot/{lot.harvest}"))
    assert "thrown away 20 g" in words


def test_a_lot_is_thrown_away_whole_where_no_weight_is_said(pages: Pages) -> None:
    lot = lot_left(pages)
    assert pages.post("/harvest/throw", {"harvest": lot.harvest, "reason": "past"}, page="/harvest").status_code == 303
    assert state_of(pages).harvests[lot.harvest].left_g == pytest.approx(0.0)


def test_more_than_there_is_cannot_be_thrown_away(pages: Pages) -> None:
    lot = lot_left(pages)
    form = {
        "harvest": lot.harvest,
        "grams": f"{lot.left_g + 100:.0f} g",
        "reason": "limp",
        "_form": f"throw-{lot.harvest}",
    }
    found = pages.post("/harvest/throw", form, page=f"/harvest/lot/{lot.harvest}")
    assert found.status_code == 422
    assert 'value="limp"' in found.text
    assert pages.post("/harvest/throw", {"harvest": "none", "reason": "x"}, page="/harvest").status_code == 422


def test_packs_are_thrown_away_by_count(pages: Pages) -> None:
    lot = lot_left(pages)
    with pages.farm() as farm:
        at = pages.clock.at
        product = next(
            name for name, product in farm.state(at).products.items() if [p.crop for p in product.parts] == [lot.crop]
        )
        pack = farm.pack(product, 2, pack_g=20.0, parts={lot.harvest: 40.0}, at=at, sure=True).names[0]
    assert pack in words_of(pages.get("/harvest"))
    form = {"pack": pack, "packs": "1", "reason": "torn"}
    assert pages.post("/harvest/throw", {**form, "packs": "x"}, page="/harvest").status_code == 422
    assert pages.post("/harvest/throw", form, page="/harvest").status_code == 303
    assert state_of(pages).packs[pack].left == 1
    assert f"pack lots {pack}" in words_of(pages.get(f"/harvest/lot/{lot.harvest}"))


@pytest.mark.parametrize(
    ("role", "act", "status"), [("hand", "throw", 303), ("reader", "throw", 403), ("reader", "cut", 403)]
)
def test_who_may_do_what(pages: Pages, clock: Clock, role: str, act: str, status: int) -> None:
    lot = lot_left(pages)
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        assert client.get("/harvest", headers={"x-role": role}).status_code == 200
        form = {"harvest": lot.harvest, "grams": "10 g", "reason": "limp"}
        headers = {"x-role": role, **SCRIPT}
        assert client.post(f"/harvest/{act}", data=form, headers=headers, follow_redirects=False).status_code == status


def test_a_lot_that_somebody_else_took_back_says_who_and_why(pages: Pages) -> None:
    tray = make_ready(pages)[0]
    with pages.farm() as farm:
        cut = farm.cut({tray.tray: likely(pages, tray)}, at=pages.clock.at, by="Mira", sure=True)
        farm.strike(cut.kept[0].entry.id, "wrong tray", at=pages.clock.at, by="Ada")
    (lot,) = cut.names
    told = f"harvest lot {lot}: Ada took it back, "
    page = pages.get(f"/harvest/lot/{lot}")
    assert (page.status_code, told in words_of(page)) == (404, True)
    fields = {"harvest": lot, "grams": "20", "reason": "wilted"}
    refused = pages.post("/harvest/throw", fields, page="/harvest")
    assert refused.status_code == 422
    assert told in words_of(refused)
    assert "wrong tray. It stands in the book, struck through." in words_of(refused)
    assert "Ada took it back" not in words_of(pages.get("/harvest/lot/H990101A"))
