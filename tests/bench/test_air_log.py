"""How long a log's air stood near dew."""

from __future__ import annotations

import math
import os
from pathlib import Path

import psychrolib
import pytest

from trayward.bench.air_log import air_log_sheet
from trayward.bench.temperature_log import TemperatureLog, read_log
from trayward.bench.types import Sheet
from trayward.errors import InputError

DATA = Path(os.environ.get("TRAYWARD_TEST_DATA") or Path(__file__).parents[3] / "shared" / "data")


def value(sheet: Sheet, name: str) -> float:
    """A figure that was found, by its name."""
    found = next(amount.value for amount in sheet.found if amount.name == name)
    assert isinstance(found, int | float)
    return float(found)


def log_of(*humidity: float | str, step_h: int = 1) -> TemperatureLog:
    """A day at 20 °C, read every so many hours."""
    rows = [f"2026-11-25 {step_h * place:02d}:00,20,{wet}" for place, wet in enumerate(humidity)]
    return read_log("time,temp_c,rh_pct\n" + "\n".join(rows))


def test_hours_near_dew_are_those_within_two_degrees_of_it() -> None:
    # At 20 °C the dew point is 18 °C at 88.3 %.
    sheet = air_log_sheet(log_of(60, 88, 89, 95, 88, 92, 60))
    assert value(sheet, "near dew") == 180
    assert value(sheet, "longest near dew") == 120
    assert sheet.found[1].note == "from 2026-11-25 02:00"
    assert value(sheet, "nearest to dew") == pytest.approx(0.83, abs=0.02)  # 95 %: a dew point of 19.2 °C


def test_a_reading_stands_no_longer_than_the_gap_and_a_gap_ends_a_spell() -> None:
    sheet = air_log_sheet(log_of(95, 95, 95, 60, step_h=4), gap_h=2.0)
    assert value(sheet, "near dew") == 360
    assert value(sheet, "longest near dew") == 120


def test_a_reading_without_humidity_stands_for_no_time() -> None:
    assert value(air_log_sheet(log_of(95, "", 60, 60)), "near dew") == 60


def test_dry_air_never_stood_near_dew() -> None:
    sheet = air_log_sheet(log_of(60, 60, 60))
    assert value(sheet, "near dew") == value(sheet, "longest near dew") == 0


def test_a_log_without_humidity_is_refused() -> None:
    with pytest.raises(InputError, match="log = no humidity: it has no column of humidity"):
        air_log_sheet(read_log("2026-11-25 07:00,20\n2026-11-25 08:00,20\n"))


def test_a_real_tunnel_s_wet_hours_are_those_of_another_program() -> None:
    """Brentarolli and others, microclimate of two tunnels, commit 886283e; dew points by psychrolib, to 0.001 °C."""
    path = DATA / "climate-tunnel-greenhouse-15min" / "greenhouse1_trh1.csv"
    if not path.is_file():
        pytest.skip("the open data are not on this machine")
    log = read_log(path.read_text(encoding="utf-8"))
    psychrolib.SetUnitSystem(psychrolib.SI)
    wet = 0.0
    for at, after, temp, humidity in zip(log.hours, log.hours[1:], log.temps_c, log.humidity_pct, strict=False):
        if temp - psychrolib.GetTDewPointFromRelHum(temp, humidity / 100) < 2.0:
            wet += min(after - at, 2.0)
    sheet = air_log_sheet(log)
    # A reading or two may lie within 0.001 °C of the bound: a quarter of an hour each.
    assert value(sheet, "near dew") / 60 == pytest.approx(wet, abs=0.5)
    assert math.isclose(value(sheet, "nearest to dew"), 0.0, abs_tol=1e-9)  # its notes name long spells at 100 %
