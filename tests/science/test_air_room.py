"""Water in a grow room's air: trays, leaks, fans, dehumidifiers, covers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.air_dew import dew_point
from trayward.science.air_room import (
    AIR_HEAT_J_M3_K,
    AIR_RESISTANCE,
    BLOWN_FILM,
    LAMP_J_UMOL,
    LATENT_J_G,
    REFLECTED,
    Trays,
    carried_by_air,
    cover_temperature,
    dehumidifier_share,
    dew_margin,
    fan_flow,
    humidity_for_dew,
    settled_humidity,
    transpiration,
)

WARM, WET, LIGHT = st.floats(10.0, 35.0), st.floats(20.0, 99.0), st.floats(0.0, 800.0)


# Trays ----------------------------------------------------------------------------------------------------------------


@given(WARM, WET, LIGHT, st.floats(1.0, 100.0))
def test_more_light_never_means_less_water(temp: float, humidity: float, light: float, more: float) -> None:
    assert transpiration(temp, humidity, light + more) >= transpiration(temp, humidity, light) - 1e-9


@given(WARM, WET, LIGHT)
def test_wetter_air_never_draws_more(temp: float, humidity: float, light: float) -> None:
    assert transpiration(temp, humidity + 1, light) <= transpiration(temp, humidity, light) + 1e-9


def test_the_light_taken_up_leaves_as_vapour_and_as_warmth() -> None:
    """In air full of vapour all that leaves was brought by the light: what is not vapour warms the leaf."""
    grams = float(transpiration(22.0, 100.0, 300.0))
    light = 300.0 * LAMP_J_UMOL * (1 - REFLECTED)
    vapour = grams * LATENT_J_G / 3600
    warmer = (light - vapour) * AIR_RESISTANCE / (2.0 * AIR_HEAT_J_M3_K)
    assert 0 < vapour < light
    assert 0 < warmer < 2  # Nelson and Bugbee, 2015: leaves with water stay within 2 °C of the air


def test_bare_trays_give_nothing_off() -> None:
    assert transpiration(22.0, 60.0, 150.0, leaf_area=0.0) == 0.0


def test_a_tray_in_the_light_gives_off_about_what_growers_pour_in() -> None:
    # A care sheet for live trays names 240 ml for one to two days (source live_tray_care); a 1020 tray has 0.13 m2.
    day = 24 * Trays(0.13, 150.0, 16.0).grams_h(21.0, 60.0)
    assert 120 < day < 360


def test_light_beyond_that_of_the_sun_is_refused() -> None:
    with pytest.raises(InputError, match=r"ppfd = 5000 umol/m2/s: must lie in \[0, 2000\]"):
        transpiration(22.0, 60.0, 5000.0)


def test_a_day_of_more_than_24_hours_is_refused() -> None:
    with pytest.raises(InputError, match=r"hours = 25 h: must lie in \[0, 24\] h"):
        Trays(1.0, 150.0, 25.0)


# Leaks and fans -------------------------------------------------------------------------------------------------------


@given(st.floats(1.0, 5000.0))
def test_the_fan_that_is_asked_for_carries_off_what_was_asked(grams: float) -> None:
    inside, outside = (22.0, 65.0), (12.0, 70.0)
    assert carried_by_air(fan_flow(grams, inside, outside), inside, outside) == pytest.approx(grams, rel=1e-9)


def test_the_same_air_carries_nothing() -> None:
    assert carried_by_air(100.0, (22.0, 60.0), (22.0, 60.0)) == pytest.approx(0.0, abs=1e-9)


def test_no_fan_dries_a_room_with_wetter_air() -> None:
    with pytest.raises(InputError, match=r"outside = 28 °C, 80 %: .*no fan can dry it. Use a dehumidifier"):
        fan_flow(500.0, (22.0, 65.0), (28.0, 80.0))


def test_a_room_settles_where_air_carries_off_what_is_given_off() -> None:
    trays, outside = Trays(2.0, 150.0, 16.0), (10.0, 70.0)
    settled = settled_humidity(22.0, outside, 40.0, trays)
    assert 30 < settled < 100
    assert carried_by_air(40.0, (22.0, settled), outside) == pytest.approx(trays.grams_h(22.0, settled), rel=1e-6)


def test_a_tight_room_full_of_water_comes_to_a_hundred() -> None:
    assert settled_humidity(22.0, (22.0, 60.0), 0.1, 500.0) == pytest.approx(100.0)


@given(st.floats(5.0, 400.0))
def test_more_air_from_outside_never_leaves_a_room_wetter(flow: float) -> None:
    trays, outside = Trays(2.0, 150.0, 16.0), (10.0, 70.0)
    assert settled_humidity(22.0, outside, flow + 10, trays) <= settled_humidity(22.0, outside, flow, trays) + 1e-6


# Dehumidifier ---------------------------------------------------------------------------------------------------------


@given(st.floats(15.0, 32.0), st.floats(40.0, 95.0))
def test_a_dehumidifier_takes_out_more_where_it_is_warmer_and_wetter(temp: float, humidity: float) -> None:
    share = dehumidifier_share(temp, humidity)
    assert dehumidifier_share(temp + 1, humidity) > share
    assert dehumidifier_share(temp, humidity + 1) > share


def test_air_too_cold_for_a_compressor_is_refused() -> None:
    with pytest.raises(InputError, match=r"temp_c = 12 °C: must lie in \[15, 35\] °C. A compressor ices up"):
        dehumidifier_share(12.0, 60.0)


# Covers ---------------------------------------------------------------------------------------------------------------


@given(st.floats(5.0, 40.0), st.floats(5.0, 40.0))
def test_a_cover_lies_between_the_two_airs(inside: float, outside: float) -> None:
    low, high = sorted((inside, outside))
    assert low - 1e-9 <= cover_temperature(inside, outside) <= high + 1e-9


def test_a_fan_brings_the_cover_nearer_to_the_room() -> None:
    assert cover_temperature(24.0, 20.0, outside_film=BLOWN_FILM) < cover_temperature(24.0, 20.0)


@given(st.floats(10.0, 35.0), st.floats(0.1, 9.0))
def test_dew_begins_at_the_humidity_that_is_said(air: float, colder: float) -> None:
    surface = air - colder
    begins = float(humidity_for_dew(surface, air))
    assert dew_margin(surface, air, min(begins + 0.5, 100.0)) < 0 < dew_margin(surface, air, begins - 0.5)
    assert dew_point(air, begins) == pytest.approx(surface, abs=1e-4)


def test_on_a_surface_warmer_than_the_air_no_dew_forms() -> None:
    assert humidity_for_dew(25.0, 22.0) == 100.0
