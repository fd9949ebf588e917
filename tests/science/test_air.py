"""Moist air: what cannot be is refused, and what physics says of more warmth and more water holds."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.air import (
    absolute_humidity,
    humidity_ratio,
    pressure_at,
    saturation_pressure,
    saturation_slope,
    vapour_deficit,
    vapour_pressure,
)
from trayward.science.air_dew import (
    dew_point,
    dew_point_of,
    humidity_of_dew_point,
    humidity_of_wet_bulb,
    wet_bulb,
    wet_bulb_stull,
)

ROOM = st.floats(2.0, 45.0)
ANY_AIR = st.floats(-40.0, 80.0)
WET = st.floats(0.1, 100.0)


# What is given --------------------------------------------------------------------------------------------------------


def test_more_than_full_of_vapour_is_refused() -> None:
    with pytest.raises(InputError, match=r"humidity_pct = 120 %: must lie in \[0, 100\] %. Check the sensor"):
        vapour_deficit(22.0, 120.0)


def test_a_bad_reading_among_many_is_named_by_its_place() -> None:
    with pytest.raises(InputError, match=r"humidity_pct\[1\] = 140 %"):
        dew_point([20.0, 21.0], [60.0, 140.0])


@pytest.mark.parametrize("temp", [-41.0, 81.0, math.nan, math.inf])
def test_air_beyond_what_is_reckoned_with_is_refused(temp: float) -> None:
    with pytest.raises(InputError, match=r"temp_c = .*: must lie in \[-40, 80\] °C"):
        saturation_pressure(temp)


def test_perfectly_dry_air_has_no_dew_point() -> None:
    with pytest.raises(InputError, match=r"humidity_pct = 0 %: must lie in \[0.1, 100\] %"):
        dew_point(20.0, 0.0)


def test_a_wet_thermometer_warmer_than_the_dry_one_is_refused() -> None:
    with pytest.raises(InputError, match=r"wet_c = 25 °C: must not lie above the air temperature.*swapped"):
        humidity_of_wet_bulb(20.0, 25.0)


def test_a_wet_thermometer_too_cold_for_any_air_is_refused() -> None:
    with pytest.raises(InputError, match=r"wet_c = 2 °C: no air is so dry. Wet the wick"):
        humidity_of_wet_bulb(30.0, [20.0, 2.0])


def test_a_dew_point_above_the_air_temperature_is_refused() -> None:
    with pytest.raises(InputError, match=r"dew_c = 21 °C: must not lie above the air temperature"):
        humidity_of_dew_point(20.0, 21.0)


def test_a_pressure_that_is_no_pascals_is_refused() -> None:
    with pytest.raises(InputError, match=r"pressure_pa = 1013 Pa: must lie in .*Give pascals"):
        wet_bulb(20.0, 50.0, 1013.0)


def test_a_mountain_higher_than_people_live_is_refused() -> None:
    with pytest.raises(InputError, match=r"altitude_m = 9000 m: must lie in \[-500, 5500\] m"):
        pressure_at(9000.0)


def test_more_vapour_than_air_is_refused() -> None:
    with pytest.raises(InputError, match="vapour_pa = 150000 Pa"):
        humidity_ratio(150_000.0)


# Arrays ---------------------------------------------------------------------------------------------------------------

MANY: list[Callable[..., object]] = [vapour_pressure, vapour_deficit, dew_point, wet_bulb, absolute_humidity]


@pytest.mark.parametrize("function", MANY)
def test_an_array_gives_what_its_values_give_one_by_one(function: Callable[..., object]) -> None:
    temp, humidity = np.linspace(-15, 45, 40_000), np.linspace(1, 100, 40_000)
    found = np.asarray(function(temp, humidity))
    assert found.shape == temp.shape
    for place in (0, 1, 16_383, 16_384, 39_999):
        assert found[place] == pytest.approx(function(float(temp[place]), float(humidity[place])), abs=1e-3)


@pytest.mark.parametrize("function", MANY)
def test_plain_numbers_give_a_plain_number(function: Callable[..., object]) -> None:
    assert isinstance(function(20.0, 50.0), float)


def test_one_humidity_may_stand_for_many_temperatures() -> None:
    assert np.asarray(dew_point([[10.0, 20.0], [30.0, 40.0]], 50.0)).shape == (2, 2)


def test_no_air_at_all_gives_no_figures() -> None:
    assert np.asarray(wet_bulb([], [])).shape == (0,)


# What physics says ----------------------------------------------------------------------------------------------------


@given(ANY_AIR, WET)
def test_the_dew_point_never_lies_above_the_temperature(temp: float, humidity: float) -> None:
    assert dew_point(temp, humidity) <= temp


@given(ROOM, WET)
def test_the_wet_bulb_lies_between_dew_point_and_temperature(temp: float, humidity: float) -> None:
    dew = dew_point(temp, humidity)
    assert dew - 1e-3 <= wet_bulb(temp, humidity) <= temp


@given(ANY_AIR, WET)
def test_dew_point_and_humidity_lead_back_to_each_other(temp: float, humidity: float) -> None:
    dew = float(dew_point(temp, humidity))
    if dew >= -40:
        assert humidity_of_dew_point(temp, dew) == pytest.approx(humidity, rel=1e-5)


@given(ROOM, st.floats(5.0, 100.0), st.floats(55_000.0, 105_000.0))
def test_wet_bulb_and_humidity_lead_back_to_each_other(temp: float, humidity: float, pressure: float) -> None:
    wet = float(wet_bulb(temp, humidity, pressure))
    assert humidity_of_wet_bulb(temp, wet, pressure) == pytest.approx(humidity, abs=0.02)


@given(st.floats(1.0, 45_000.0))
def test_dew_point_and_vapour_pressure_lead_back_to_each_other(vapour: float) -> None:
    dew = float(dew_point_of(vapour))
    if dew >= -40:
        assert saturation_pressure(dew) == pytest.approx(vapour, rel=1e-5)


@given(ANY_AIR, st.floats(0.01, 1.0))
def test_warmer_air_can_hold_more(temp: float, more: float) -> None:
    warmer = min(temp + more, 80.0)
    assert saturation_pressure(warmer) >= saturation_pressure(temp)


@given(ROOM, st.floats(0.0, 99.0), st.floats(0.01, 1.0))
def test_wetter_air_draws_less(temp: float, humidity: float, more: float) -> None:
    assert vapour_deficit(temp, humidity + more) < vapour_deficit(temp, humidity)
    assert absolute_humidity(temp, humidity + more) > absolute_humidity(temp, humidity)


@given(st.floats(-39.0, 79.0).filter(lambda temp: abs(temp - 0.01) > 0.02))
def test_the_slope_is_that_of_the_saturation_curve(temp: float) -> None:
    step = 0.005
    rise = (saturation_pressure(temp + step) - saturation_pressure(temp - step)) / (2 * step)
    assert saturation_slope(temp) == pytest.approx(rise, rel=1e-5)


def test_dew_forms_on_a_leaf_colder_than_the_dew_point() -> None:
    dew = float(dew_point(22.0, 80.0))
    assert vapour_deficit(22.0, 80.0, leaf_c=dew - 0.5) < 0 < vapour_deficit(22.0, 80.0, leaf_c=dew + 0.5)


def test_the_quick_wet_bulb_is_never_further_off_than_it_says() -> None:
    # 1 °C is what its author gives (from memory); between 5 and 45 °C it reads up to 1.01 °C too high.
    temp, humidity = np.meshgrid(np.linspace(5, 45, 21), np.linspace(10, 99, 21))
    assert np.abs(wet_bulb_stull(temp, humidity) - wet_bulb(temp, humidity)).max() < 1.1
