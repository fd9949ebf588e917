"""The stores on the pages: seed weighed, tested, received and reckoned with; kit counted, washed and come back."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from tests.web.test_guard import SCRIPT, ByHeader
from trayward.farm.state import FarmState, SeedLot
from trayward.web.app import create_app


def state_of(pages: Pages) -> FarmState:
    with pages.farm() as farm:
        return farm.state(pages.clock.at)


def a_lot(pages: Pages, crop: str = "radish") -> SeedLot:
    """A lot of the crop with seed in it."""
    return next(lot for lot in state_of(pages).seed.values() if lot.crop == crop and lot.left_g > 100)


def page_of(lot: str) -> str:
    return f"/stores/lot?lot={quote(lot)}"


def test_it_works(pages: Pages) -> None:
    words = words_of(pages.get("/stores"))
    state = state_of(pages)
    for lot in state.seed.values():
        if lot.left_g > 1:
            assert lot.lot in words
            assert lot.crop in words
    for pool, held in state.kit.items():
        assert pool in words
        assert f"{held.ready(pages.clock.at)} ready" in words
    assert "sprout" in words
    assert "a week" in words


def test_a_lots_page_tells_what_is_left_and_alive_and_its_story(pages: Pages) -> None:
    lot = a_lot(pages)
    words = words_of(pages.get(page_of(lot.lot)))
    for told in (lot.lot, "likely", "by its label", "Its story", "received", "sown"):
        assert told in words
    assert pages.get("/stores/lot?lot=none").status_code == 404
    assert pages.get("/stores/lot").status_code == 404


# Seed -----------------------------------------------------------------------------------------------------------------


def test_the_scale_corrects_the_record(pages: Pages) -> None:
    lot = a_lot(pages)
    form = {"lot": lot.lot, "grams": f"{lot.left_g - 3:.0f} g", "reason": "spilled some"}
    assert pages.post("/stores/weigh", form, page=page_of(lot.lot)).status_code == 303
    assert state_of(pages).seed[lot.lot].left_g == round(lot.left_g - 3)


def test_a_weight_far_off_the_record_is_kept_and_pointed_out(pages: Pages) -> None:
    lot = a_lot(pages)
    form = {"lot": lot.lot, "grams": f"{lot.left_g / 2:.0f}"}
    assert pages.post("/stores/weigh", form, page=page_of(lot.lot)).status_code == 303
    assert "less than the book" in words_of(pages.get(page_of(lot.lot)))


def test_mistyped_grams_are_asked_about_and_can_be_kept(pages: Pages) -> None:
    """Ten times what the book holds: a figure too many."""
    lot = a_lot(pages)
    typed = f"{10 * lot.left_g:.0f}"
    form = {"lot": lot.lot, "grams": typed, "_form": "weigh"}
    found = pages.post("/stores/weigh", form, page=page_of(lot.lot))
    assert found.status_code == 422
    assert "Is this right?" in found.text
    assert f'value="{typed}"' in found.text
    assert state_of(pages).seed[lot.lot].left_g == lot.left_g
    assert pages.post("/stores/weigh", {**form, "sure": "1"}, page=page_of(lot.lot)).status_code == 303
    assert state_of(pages).seed[lot.lot].left_g == float(typed)


@pytest.mark.parametrize("typed", ["", "a lot", "-20 g"])
def test_a_weight_that_is_none_is_refused_and_the_words_stay(pages: Pages, typed: str) -> None:
    lot = a_lot(pages)
    form = {"lot": lot.lot, "grams": typed, "reason": "spilled", "_form": "weigh"}
    found = pages.post("/stores/weigh", form, page=page_of(lot.lot))
    assert found.status_code == 422
    assert 'value="spilled"' in found.text
    assert state_of(pages).seed[lot.lot].left_g == lot.left_g


def test_a_test_counts_with_the_label(pages: Pages) -> None:
    lot = a_lot(pages)
    form = {"lot": lot.lot, "sprouted": "31", "tested": "50", "days": "4", "_form": "test"}
    assert pages.post("/stores/test", form, page=page_of(lot.lot)).status_code == 303
    held = state_of(pages).seed[lot.lot]
    assert (held.sprouted, held.tested) == (lot.sprouted + 31, lot.tested + 50)
    assert "31 of 50 in your own test" in words_of(pages.get(page_of(lot.lot)))


@pytest.mark.parametrize(
    "form", [{}, {"sprouted": "43"}, {"sprouted": "60", "tested": "50"}, {"sprouted": "x", "tested": "50"}]
)
def test_a_test_half_said_is_refused(pages: Pages, form: dict[str, str]) -> None:
    lot = a_lot(pages)
    sent = {"lot": lot.lot, "_form": "test", **form}
    found = pages.post("/stores/test", sent, page=page_of(lot.lot))
    assert found.status_code == 422
    assert all(f'value="{typed}"' in found.text for typed in form.values())
    assert state_of(pages).seed[lot.lot].tested == lot.tested


def test_seed_is_ordered_and_then_comes(pages: Pages) -> None:
    coming = pages.clock.at.date() + timedelta(days=9)
    order = {"crop": "radish", "lot": "RAD/9", "grams": "2 kg", "expected": coming.isoformat(), "supplier": "Hill Seed"}
    assert pages.post("/stores/receive", order, page="/stores/receive").status_code == 303
    assert state_of(pages).seed["RAD/9"].expected_on == coming
    assert "2000 g to come" in words_of(pages.get("/stores"))
    assert "It came" in words_of(pages.get(page_of("RAD/9")))
    came = {"crop": "radish", "lot": "RAD/9", "grams": "1.9 kg", "germination": "93 %"}
    assert pages.post("/stores/receive", came, page="/stores/receive?lot=RAD%2F9").status_code == 303
    held = state_of(pages).seed["RAD/9"]
    assert (held.left_g, held.expected_on, held.germination) == (1900.0, None, 0.93)
    assert held.supplier == "Hill Seed"


@pytest.mark.parametrize(
    ("form", "thing"),
    [
        ({"crop": ""}, "crop"),
        ({"crop": "wheat"}, "crop"),
        ({"lot": ""}, "lot"),
        ({"grams": "some"}, "grams"),
        ({"germination": "140 %"}, "germination"),
        ({"expected": "2026-11-24"}, "expected"),
    ],
)
def test_a_delivery_wrongly_said_is_refused_at_its_field(pages: Pages, form: dict[str, str], thing: str) -> None:
    good = {"crop": "radish", "lot": "RAD-9", "grams": "500 g", "variety": "red stem", "_form": "receive"}
    found = pages.post("/stores/receive", good | form, page="/stores/receive")
    assert found.status_code == 422
    assert f'id="receive-{thing}-wrong"' in found.text
    assert 'value="red stem"' in found.text
    assert "RAD-9" not in state_of(pages).seed


def test_a_delivery_that_looks_like_kilograms_for_grams_is_asked_about(pages: Pages) -> None:
    form = {"crop": "radish", "lot": "RAD-9", "grams": "5000 kg", "_form": "receive"}
    found = pages.post("/stores/receive", form, page="/stores/receive")
    assert found.status_code == 422
    assert "Keep it as it is" in found.text


def test_once_the_days_to_come_are_said_the_page_says_by_when_to_order(pages: Pages) -> None:
    """As long a wait as there can be: every crop that runs out at all then has to be ordered."""
    assert "order by" not in words_of(pages.get("/stores"))
    assert pages.post("/stores/lead", {"days": "x", "_form": "lead"}, page="/stores").status_code == 422
    assert pages.post("/stores/lead", {"days": "365"}, page="/stores").status_code == 303
    words = words_of(pages.get("/stores"))
    assert "to order" in words
    assert "order now: it should have been ordered by" in words
    assert pages.post("/stores/lead", {"days": "3", "crop": "radish"}, page="/stores").status_code == 303
    facts = state_of(pages).crop_facts
    assert facts["radish"]["seed_lead_days"].value == 3.0
    assert facts["kale"]["seed_lead_days"].value == 365.0
    assert pages.post("/stores/lead", {"days": "3", "crop": "none"}, page="/stores").status_code == 422


def test_what_a_lot_lacks_is_asked_for_and_kept_for_its_crop(pages: Pages) -> None:
    """The library names no germination of borage; its seed weight it does."""
    came = {"crop": "borage", "lot": "BOR-1", "grams": "200 g"}
    assert pages.post("/stores/receive", came, page="/stores/receive").status_code == 303
    found = pages.get(page_of("BOR-1")).text
    assert 'id="fact-germ_pct_usual"' in found
    assert 'id="fact-tsw_g_typ"' not in found
    form = {"lot": "BOR-1", "name": "germ_pct_usual", "value": "80", "_form": "fact-germ_pct_usual"}
    bad = pages.post("/stores/fact", {**form, "value": "180"}, page=page_of("BOR-1"))
    assert bad.status_code == 422
    assert pages.post("/stores/fact", form, page=page_of("BOR-1")).status_code == 303
    assert state_of(pages).crop_facts["borage"]["germ_pct_usual"].value == 80.0
    assert 'id="fact-germ_pct_usual"' not in pages.get(page_of("BOR-1")).text


# Kit ------------------------------------------------------------------------------------------------------------------


def test_kit_is_counted_washed_and_comes_back(pages: Pages) -> None:
    name, held = next((name, held) for name, held in state_of(pages).kit.items() if held.dirty)
    count = held.pool.count - 1
    assert pages.post("/stores/kit/wash", {"pool": name, "washed": "1"}, page="/stores").status_code == 303
    counted = {"pool": name, "count": str(count), "reason": "one cracked"}
    assert pages.post("/stores/kit/count", counted, page="/stores").status_code == 303
    after = state_of(pages).kit[name]
    assert after.dirty == held.dirty - 1
    assert after.pool.count == count
    away = next((one for one, kept in state_of(pages).kit.items() if kept.away), name)
    before = state_of(pages).kit[away]
    assert pages.post("/stores/kit/return", {"pool": away, "back": "1"}, page="/stores").status_code == 303
    back = state_of(pages).kit[away]
    assert (back.away, back.dirty) == (max(0, before.away - 1), before.dirty + min(1, before.away))


@pytest.mark.parametrize(
    ("act", "form"),
    [
        ("count", {"count": "many"}),
        ("count", {"count": "-1"}),
        ("return", {"back": "0"}),
        ("wash", {"washed": ""}),
        ("life", {"lasts": "1.5"}),
    ],
)
def test_a_count_that_is_none_is_refused(pages: Pages, act: str, form: dict[str, str]) -> None:
    pool = next(iter(state_of(pages).kit))
    before = state_of(pages).kit[pool]
    assert pages.post(f"/stores/kit/{act}", {"pool": pool, **form}, page="/stores").status_code == 422
    assert pages.post(f"/stores/kit/{act}", {"pool": "none", **form}, page="/stores").status_code == 422
    assert state_of(pages).kit[pool] == before


def test_wear_is_held_against_how_long_they_last(pages: Pages) -> None:
    name, held = next((name, held) for name, held in state_of(pages).kit.items() if held.uses > 20)
    form = {"pool": name, "lasts": "1"}
    assert pages.post("/stores/kit/life", form, page="/stores").status_code == 303
    assert state_of(pages).kit[name].pool.lasts_uses == 1
    assert state_of(pages).kit[name].pool.wear == held.pool.wear
    words = words_of(pages.get("/stores"))
    assert "of 1 expected" in words
    assert "nearly worn" in words


# Who ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "act", "status"),
    [
        ("hand", "weigh", 303),
        ("hand", "kit/count", 303),
        ("hand", "receive", 403),
        ("hand", "lead", 403),
        ("hand", "kit/life", 403),
        ("reader", "weigh", 403),
        ("reader", "kit/wash", 403),
    ],
)
def test_who_may_do_what(pages: Pages, clock: Clock, role: str, act: str, status: int) -> None:
    lot, pool = a_lot(pages), next(iter(state_of(pages).kit))
    with TestClient(create_app(str(pages.book), now=clock, people=ByHeader()), base_url=ADDRESS) as client:
        shown = client.get("/stores", headers={"x-role": role})
        assert shown.status_code == 200
        assert ("/stores/receive" in shown.text) is False
        assert ("/stores/kit/count" in shown.text) is (role == "hand")
        form = {"lot": lot.lot, "grams": f"{lot.left_g:.0f} g", "pool": pool, "count": "80"}
        headers = {"x-role": role, **SCRIPT}
        assert client.post(f"/stores/{act}", data=form, headers=headers, follow_redirects=False).status_code == status
