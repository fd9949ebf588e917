"""EC, feed, salts and depths: there and back again, and what cannot be is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science import water_depth
from trayward.science.solution import water_of
from trayward.science.solution_feed import (
    blend,
    concentrate_for_ec,
    dilution,
    ec25,
    ec_of_ions,
    ec_of_ppm,
    ppm_of_ec,
    salt_for_ppm,
    share_for_alkalinity,
    stock_strength,
)

EC = st.floats(0.01, 8.0)


@given(ec=EC, scale=st.sampled_from(["500", "640", "700"]))
def test_a_scale_leads_there_and_back(ec: float, scale: str) -> None:
    assert ec_of_ppm(ppm_of_ec(ec, scale), scale) == pytest.approx(ec, rel=1e-12)


@given(ec=EC, temp=st.floats(0.0, 50.0))
def test_a_reading_in_cold_water_is_raised_and_in_warm_lowered(ec: float, temp: float) -> None:
    assert (ec25(ec, temp) >= ec) == (temp <= 25.0)


@given(volume=st.floats(0.1, 1e4), water=st.floats(0.0, 0.5), up=st.floats(0.05, 1.0), more=st.floats(0.0, 3.0))
def test_a_thinned_tank_has_the_ec_asked_for(volume: float, water: float, up: float, more: float) -> None:
    target, ec = water + up, water + up + more
    added = dilution(volume, ec, target, water)
    assert (volume * ec + added * water) / (volume + added) == pytest.approx(target, rel=1e-9)


@given(water=st.floats(0.0, 1.0), more=st.floats(0.0, 3.0), gain=st.floats(0.05, 2.0))
def test_the_feed_asked_for_gives_the_ec(water: float, more: float, gain: float) -> None:
    assert water + gain * concentrate_for_ec(water + more, water, gain) == pytest.approx(water + more, rel=1e-9)


@given(one=st.floats(1.0, 8.0), other=st.floats(0.0, 0.9), part=st.floats(0.0, 1.0))
def test_the_share_asked_for_gives_the_alkalinity(one: float, other: float, part: float) -> None:
    target = part * one + (1 - part) * other
    assert share_for_alkalinity(one, other, target) == pytest.approx(part, abs=1e-9)


@pytest.mark.parametrize(
    ("act", "match"),
    [
        (lambda: ec25(-1.0, 20.0), "EC = -1"),
        (lambda: ec25(1.0, 90.0), "water temperature = 90"),
        (lambda: ec25(1.0, 20.0, 0.5), "gain for each degree = 0.5"),
        (lambda: ppm_of_ec(1.0, "600"), "ppm scale = 600"),
        (lambda: ec_of_ppm(math.nan, "500"), "ppm = nan"),
        (lambda: dilution(10.0, 1.0, 1.5, 0.3), "target EC = 1.5 dS/m: must lie above"),
        (lambda: dilution(10.0, 2.0, 0.2, 0.3), "target EC = 0.2 dS/m: must lie above"),
        (lambda: concentrate_for_ec(0.2, 0.4, 0.3), "lies below the water's own 0.4 dS/m"),
        (lambda: concentrate_for_ec(1.0, 0.4, 0.0), "EC that 1 ml a litre adds = 0"),
        (lambda: salt_for_ppm(100.0, "N", {"N": 1.2}), "shares must lie above 0"),
        (lambda: salt_for_ppm(100.0, "K", {"N": 0.15}), "element = K"),
        (lambda: salt_for_ppm(-1.0, "N", {"N": 0.15}), "target = -1 ppm"),
        (lambda: stock_strength(100.0, 0.2), "injector = 1:0.2"),
        (lambda: share_for_alkalinity(4.0, 1.0, 5.0), "must lie between those of the two waters"),
        (lambda: ec_of_ions({"Xx": 0.1}), "ion = Xx"),
        (lambda: ec_of_ions({"K": 0.2, "Cl": 0.2}), "must not exceed 0.05"),
        (lambda: blend(water_of(7, 1), water_of(7, 1, temp_c=10), 0.5), "differs from the other water's 10 C"),
        (lambda: blend(water_of(7, 1), water_of(7, 1), 1.5), "share = 1.5"),
    ],
)
def test_a_feed_that_cannot_be_is_refused(act, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=match):
        act()


# Depths ---------------------------------------------------------------------------------------------------------------

TRAY = st.fixed_dictionaries(
    {
        "mat_mm": st.floats(0.0, 30.0),
        "mat_from_mm": st.floats(0.0, 20.0),
        "mat_solid": st.floats(0.0, 0.9),
        "ribs": st.floats(0.0, 0.8),
        "ribs_mm": st.floats(0.0, 20.0),
    }
)


@settings(max_examples=200)
@given(tray=TRAY, depth=st.floats(0.0, 120.0))
def test_a_depth_leads_to_its_volume_and_back(tray: dict[str, float], depth: float) -> None:
    ml = water_depth.tray_ml(520.0, 260.0, depth, **tray)
    assert water_depth.tray_depth_mm(520.0, 260.0, ml, **tray) == pytest.approx(depth, abs=1e-6)


@given(tray=TRAY, depth=st.floats(0.0, 100.0), more=st.floats(0.01, 20.0))
def test_more_water_always_stands_higher(tray: dict[str, float], depth: float, more: float) -> None:
    low, high = (water_depth.tray_ml(520.0, 260.0, each, **tray) for each in (depth, depth + more))
    assert high > low


def test_ribs_and_a_mat_take_up_their_room() -> None:
    # By hand: 100 x 100 x 10 mm is 100 ml; ribs 20 % of 4 mm take 8 ml, 10 % of a 5 mm mat takes 5 ml.
    found = water_depth.tray_ml(100.0, 100.0, 10.0, ribs=0.2, ribs_mm=4.0, mat_mm=5.0, mat_from_mm=4.0, mat_solid=0.1)
    assert found == pytest.approx(100 - 8 - 5)


@given(depth=st.floats(0.0, 600.0))
def test_a_barrels_depth_leads_to_its_litres_and_back(depth: float) -> None:
    litres = water_depth.barrel_litres(300.0, 1000.0, depth)
    assert water_depth.barrel_litres(
        300.0, 1000.0, water_depth.barrel_depth_mm(300.0, 1000.0, litres)
    ) == pytest.approx(litres, abs=1e-6)


@given(depth=st.floats(0.0, 500.0), more=st.floats(0.1, 100.0))
def test_a_fuller_barrel_holds_more(depth: float, more: float) -> None:
    assert water_depth.barrel_litres(300.0, 1000.0, depth + more) > water_depth.barrel_litres(300.0, 1000.0, depth)


def test_half_a_barrel_is_half_its_litres() -> None:
    assert water_depth.barrel_litres(300.0, 1000.0, 300.0) == pytest.approx(
        water_depth.barrel_litres(300.0, 1000.0, 600.0) / 2
    )


@pytest.mark.parametrize(
    ("act", "match"),
    [
        (lambda: water_depth.tray_ml(0.0, 260.0, 5.0), "tray length = 0"),
        (lambda: water_depth.tray_ml(520.0, 260.0, -5.0), "water depth = -5"),
        (lambda: water_depth.tray_ml(520.0, 260.0, 5.0, mat_solid=1.2), "solid share of the mat = 1.2"),
        (lambda: water_depth.tray_depth_mm(520.0, 260.0, -1.0), "water = -1"),
        (lambda: water_depth.refill_g(2800.0, 2690.0), "is more than the 2690 g after the last watering"),
        (lambda: water_depth.refill_g(0.0, 2690.0), "weight now = 0"),
        (lambda: water_depth.refill_g(1000.0, 2690.0, 1500.0), "Is it the same tray"),
        (lambda: water_depth.box_litres(1000.0, 500.0, 10.0, 8.0), "It cannot take up more than there is"),
        (lambda: water_depth.box_depth_mm(1000.0, 500.0, -1.0), "water = -1"),
        (lambda: water_depth.barrel_litres(300.0, 1000.0, 700.0), "It cannot stand higher than the tank"),
        (lambda: water_depth.barrel_depth_mm(300.0, 1000.0, 900.0), "It holds no more"),
        (lambda: water_depth.litres_of_grams(-1.0), "weight = -1"),
    ],
)
def test_a_depth_that_cannot_be_is_refused(act, match: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=match):
        act()
