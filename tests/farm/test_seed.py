"""Seed in, tested, weighed."""

from __future__ import annotations

from datetime import date

import pytest

from tests.farm.told import codes, lantern_loft, sowing
from trayward.farm.entries import SeedReceived, SeedTested, SeedUsed, SeedWeighed


def test_a_lot_is_received_once():
    told = lantern_loft()
    found = told.say(SeedReceived(lot="RAD-1", crop="radish", grams=100.0))
    assert codes(found) == [("wrong", "lot-twice")]
    assert told.state.seed["RAD-1"].left_g == 500.0


def test_seed_on_order_holds_nothing_until_it_is_received():
    told = lantern_loft()
    order = SeedReceived(
        lot="RAD-2", crop="radish", grams=1000.0, supplier="Lantern Seeds", cost=30.0, expected_on=date(2026, 12, 1)
    )
    assert told.say(order) == ()
    assert told.state.seed["RAD-2"].left_g == 0.0
    assert codes(told.check(sowing("S", "A1.1a", lots=(SeedUsed(lot="RAD-2", grams=10.0),)))) == [
        ("wrong", "lot-on-order")
    ]
    assert codes(told.check(SeedWeighed(lot="RAD-2", grams=10.0))) == [("wrong", "lot-on-order")]
    assert told.say(SeedReceived(lot="RAD-2", crop="radish", grams=980.0, germination=0.92), hours=140) == ()
    lot = told.state.seed["RAD-2"]
    assert (lot.left_g, lot.received_g, lot.expected_on, lot.received_at) == (980.0, 980.0, None, told.now)
    assert (lot.supplier, lot.cost, lot.germination) == ("Lantern Seeds", 30.0, 0.92)


def test_seed_sown_before_its_late_delivery_was_recorded_is_taken_off_when_it_comes():
    told = lantern_loft()
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=1000.0, expected_on=date(2026, 12, 1)))
    told.say(sowing("S", "A1.1a", lots=(SeedUsed(lot="RAD-2", grams=20.0),)))
    assert told.state.seed["RAD-2"].left_g == -20.0
    assert codes(told.state.findings) == [("wrong", "lot-on-order")]
    told.say(SeedReceived(lot="RAD-2", crop="radish", grams=1000.0))
    assert told.state.seed["RAD-2"].left_g == 980.0


def test_an_order_of_one_crop_that_comes_as_another_is_odd():
    told = lantern_loft()
    told.say(SeedReceived(lot="L", crop="radish", grams=100.0, expected_on=date(2026, 12, 1)))
    assert codes(told.check(SeedReceived(lot="L", crop="pea", grams=100.0))) == [("odd", "lot-crop")]


@pytest.mark.parametrize(
    "changed",
    [{"grams": 0.0}, {"grams": -5.0}, {"germination": 90.0}, {"germination": 0.0}, {"tsw_g": 0.0}, {"cost": -1.0}],
)
def test_a_delivery_with_impossible_figures_is_wrong(changed):
    body = SeedReceived(**{"lot": "RAD-2", "crop": "radish", "grams": 100.0, **changed})
    assert ("wrong", "amount") in codes(lantern_loft().check(body))


def test_the_farms_own_tests_add_up_and_go_before_the_label():
    told = lantern_loft()
    told.say(SeedTested(lot="RAD-1", sprouted=43, tested=50), SeedTested(lot="RAD-1", sprouted=47, tested=50))
    told.say(SeedTested(lot="RAD-1", tsw_g=11.0))
    lot = told.state.seed["RAD-1"]
    assert (lot.sprouted, lot.tested, lot.live_share, lot.tsw_g) == (90, 100, 0.9, 11.0)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({}, "test-empty"),
        ({"sprouted": 43}, "test-half"),
        ({"tested": 50}, "test-half"),
        ({"sprouted": 51, "tested": 50}, "amount"),
        ({"sprouted": 0, "tested": 0}, "amount"),
        ({"tsw_g": -1.0}, "amount"),
    ],
)
def test_a_test_that_says_nothing_or_too_much_is_wrong_and_changes_nothing(changed, code):
    told = lantern_loft()
    before = told.refold().seed["RAD-1"]
    assert ("wrong", code) in codes(told.say(SeedTested(lot="RAD-1", **changed)))
    assert told.state.seed["RAD-1"] == before


def test_the_scale_counts_and_a_difference_says_by_how_much():
    told = lantern_loft()
    found = told.say(SeedWeighed(lot="RAD-1", grams=460.0))
    assert codes(found) == [("odd", "seed-stray")]
    assert "that is 40 g less than the book's 500 g" in found[0].message
    assert told.state.seed["RAD-1"].left_g == 460.0


def test_weights_of_a_lot_are_told_as_a_scale_shows_them():
    told = lantern_loft()
    told.say(SeedWeighed(lot="RAD-1", grams=346.357))
    found = told.say(SeedWeighed(lot="RAD-1", grams=45.27))
    assert "= 45.3 g on the scale: that is 301 g less than the book's 346 g." in found[0].message


@pytest.mark.parametrize("grams", [496.0, 504.0, 480.0, 520.0, 475.0])
def test_a_difference_of_5_g_or_of_5_per_cent_is_what_scales_do(grams):
    assert lantern_loft().check(SeedWeighed(lot="RAD-1", grams=grams)) == ()


@pytest.mark.parametrize("body", [SeedTested(lot="X", tsw_g=3.0), SeedWeighed(lot="X", grams=3.0)])
def test_an_unknown_lot_is_wrong(body):
    found = lantern_loft().check(body)
    assert codes(found) == [("wrong", "lot-unknown")]
    assert found[0].remedy == "Record its delivery first. Lots: RAD-1."
