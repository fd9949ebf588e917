"""Thermal time and emergence against published values and real logs; the source beside each.

Where the open data are not beside the checkout, the tests that read them are skipped.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from trayward.bench.growth import log_sheet
from trayward.bench.growth_crop import crop_warmth, seen_emergence
from trayward.bench.temperature_log import TemperatureLog, read_log
from trayward.library.crops import library_facts
from trayward.science.degree_days import Days, degree_days_mean, degree_days_triangle, thermal_time_of_log

DATA = Path(os.environ.get("TRAYWARD_TEST_DATA") or Path(__file__).parents[3] / "shared" / "data")


def log_of(name: str, *, day_first: bool | None = None) -> TemperatureLog:
    """An open log of temperatures."""
    path = DATA / name
    if not path.is_file():
        pytest.skip("the open data are not on this machine")
    return read_log(path.read_text(encoding="utf-8"), day_first=day_first)


# One day --------------------------------------------------------------------------------------------------------------


def test_a_day_by_triangle_matches_the_published_example() -> None:
    # GERM-08: TrenchR package reference, degree_days() example (Buckley and others): 7 to 14 °C, base 12 °C.
    assert degree_days_triangle(7, 14, 12) == pytest.approx(0.29, abs=0.005)


def test_degree_days_in_fahrenheit_are_nine_fifths_with_no_32_between() -> None:
    # GERM-09: University of California IPM: a mean of 64 °F over a base of 53 °F is 11 °F d, 6.11 °C d.
    mean, base = (64 - 32) / 1.8, (53 - 32) / 1.8
    assert degree_days_mean(mean, base) == pytest.approx(6.11, abs=0.01)
    assert degree_days_mean(mean, base) * 1.8 == pytest.approx(11, abs=1e-12)


# Emergence ------------------------------------------------------------------------------------------------------------

TRIED = ("radish", "cauliflower", "pea", "beet", "spinach", "lettuce", "onion", "carrot", "celery")


@pytest.mark.parametrize("crop", TRIED)
def test_emergence_lies_within_two_days_of_the_published_trial(crop: str) -> None:
    """Harrington and Minges, 1954: days to emergence, 13 mm deep, steady at 10 to 25 °C; the worst is celery, 1.7 d."""
    warmth = crop_warmth(library_facts(crop))
    rows = [row for row in seen_emergence(crop) if row.days is not None and 10 <= row.temp_c <= 25]
    assert len(rows) >= 3
    for row in rows:
        ours = warmth.days_to_emergence(Days.steady(row.temp_c))
        assert ours == pytest.approx(row.days, abs=2.0)


# Logs -----------------------------------------------------------------------------------------------------------------
# Brentarolli and others, "Microclimatic Data for two Tunnel Greenhouses in northern-east Italy", commit 886283e.

TUNNEL = "climate-tunnel-greenhouse-15min/greenhouse1_trh1.csv"


def test_a_real_logger_s_faults_are_said_and_its_readings_kept() -> None:
    """Its notes name 10,858 rows and three backward steps of the clock, each of one reading here."""
    log = log_of(TUNNEL)
    assert len(log.times) == 10_858 - 3
    assert [finding.code for finding in log.findings] == ["log-clock"]
    assert "and 2 more" in log.findings[0].message
    assert f"{log.times[0]:%Y-%m-%d %H:%M}" == "2021-08-18 12:15"  # day first, as no month is the 18th
    assert (min(log.temps_c), max(log.temps_c)) == pytest.approx((-4.3, 38.3), abs=0.05)
    # Its notes name five gaps of more than an hour: two, and one after each step back, mended by leaving that out.
    assert len(thermal_time_of_log(log.hours, log.temps_c, 4.0, gap_h=1.0).gaps) == 2


def test_thermal_time_of_a_real_log_is_what_counting_by_the_minute_gives() -> None:
    """Another way: the straight lines between readings, sampled every 30 s. The steps leave 1e-4 at most."""
    log = log_of(TUNNEL)
    hours, temps = np.array(log.hours), np.array(log.temps_c)
    fine = np.arange(0.0, hours[-1], 1 / 120) + 1 / 240
    gap = np.diff(hours) > 6.0
    inside = ~gap[np.clip(np.searchsorted(hours, fine, side="right") - 1, 0, len(gap) - 1)]
    degrees = np.clip(np.interp(fine, hours, temps), 4.0, 25.0) - 4.0
    counted = float(degrees[inside].sum()) / 120 / 24
    assert thermal_time_of_log(hours, temps, 4.0).total_c_d == pytest.approx(counted, rel=1e-4)


def test_an_office_by_the_minute_brings_its_mean_above_the_base() -> None:
    """Candanedo and Feldheim, 2016: never below 19 nor above 24.5 °C, so thermal time is time times mean less base."""
    log = log_of("climate-office-1min/office.csv")
    warm = thermal_time_of_log(log.hours, log.temps_c, 4.0, gap_h=1.0)
    hours, temps = np.array(log.hours), np.array(log.temps_c)
    steps = np.diff(hours)
    kept = steps <= 1.0
    mean = float(np.sum(((temps[1:] + temps[:-1]) / 2 * steps)[kept]) / steps[kept].sum())
    assert warm.total_c_d == pytest.approx((mean - 4.0) * warm.logged_h / 24, rel=1e-9)
    sheet = log_sheet(log, 1.5, crop=crop_warmth(library_facts("radish")))
    shows = next(amount for amount in sheet.found if amount.name.startswith("seed sown"))
    assert str(shows.value).startswith("2015-02-07")  # 85 °C d at some 20 °C above 1.5 °C: between 4 and 5 days
