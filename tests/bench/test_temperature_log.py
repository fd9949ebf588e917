"""A logger's file, read as loggers write them."""

from __future__ import annotations

import math
from datetime import datetime

import pytest

from trayward.bench.temperature_log import read_log
from trayward.errors import InputError

PLAIN = "2026-11-25 07:00,20.5\n2026-11-25 07:13,21\n2026-11-25 19:00,22.5\n"


def test_a_file_with_or_without_a_line_of_names_is_read() -> None:
    bare, named = read_log(PLAIN), read_log("Time,Temperature (°C),Humidity\n" + PLAIN.replace("\n", ",60\n"))
    assert (bare.times, bare.temps_c) == (named.times, named.temps_c)
    assert (bare.humidity_pct, named.humidity_pct) == ((), (60.0, 60.0, 60.0))
    assert bare.temps_c == (20.5, 21.0, 22.5)
    assert bare.hours == pytest.approx([0, 13 / 60, 12])


def test_semicolons_tabs_and_decimal_commas_are_read() -> None:
    for mark in (";", "\t"):
        text = f"Datum{mark}Temp\n25.11.2026 07:00{mark}20,5\n25.11.2026 19:00{mark}22,5\n"
        assert read_log(text).temps_c == (20.5, 22.5)


def test_a_column_in_fahrenheit_is_known_by_its_name_or_said() -> None:
    rows = "2026-11-25 07:00,68\n2026-11-25 08:00,70\n"
    assert read_log("time,temp_f\n" + rows).temps_c == pytest.approx((20.0, 21.111), abs=1e-3)
    assert read_log("time,Temperature (°F)\n" + rows).temps_c[0] == pytest.approx(20.0)
    assert read_log(rows, fahrenheit=True).temps_c[0] == pytest.approx(20.0)


def test_a_humidity_that_is_missing_or_cannot_be_leaves_the_temperature_standing() -> None:
    text = "time,temp_c,rh_pct\n2026-11-25 07:00,20,60 %\n2026-11-25 08:00,21,\n2026-11-25 09:00,22,140\n"
    log = read_log(text)
    assert log.temps_c == (20.0, 21.0, 22.0)
    assert log.humidity_pct[0] == 60.0
    assert all(math.isnan(each) for each in log.humidity_pct[1:])


def test_a_file_that_begins_with_the_newest_is_turned_round() -> None:
    turned = "\n".join(reversed(PLAIN.strip().split("\n")))
    assert read_log(turned) == read_log(PLAIN)


def test_the_day_is_told_from_the_month_where_the_file_shows_it() -> None:
    text = "03/11/2026 07:00,20\n25/11/2026 07:00,21\n"
    assert read_log(text).times[0] == datetime(2026, 11, 3, 7, 0)  # noqa: DTZ001
    american = "11/03/2026 7:00 AM,20\n11/25/2026 7:30 PM,21\n"
    assert read_log(american).times == (datetime(2026, 11, 3, 7), datetime(2026, 11, 25, 19, 30))  # noqa: DTZ001


def test_dates_that_can_be_read_two_ways_are_asked_about() -> None:
    text = "03/04/2026 07:00,20\n04/04/2026 07:00,21\n"
    with pytest.raises(InputError, match=r"can be read with the day or with the month first. Say --day-first"):
        read_log(text)
    assert read_log(text, day_first=True).times[0].month == 4
    assert read_log(text, day_first=False).times[0].month == 3


def test_what_cannot_be_is_left_out_and_said() -> None:
    text = PLAIN + "2026-11-25 20:00,\n2026-11-25 21:00,185\n2026-11-25 18:00,22\n2026-11-25 22:00,21\n"
    log = read_log(text)
    assert len(log.times) == 4
    assert [finding.code for finding in log.findings] == ["log-unreadable", "log-absurd", "log-clock"]
    assert log.findings[1].message == "2026-11-25 21:00: 185: outside -20 to 60 °C, so left out."


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "log = nothing: the file is empty"),
        ("a,b\n1,2\n", "no column of it is a date and a time"),
        ("time,colour\n2026-11-25 07:00,green\n", "no column of it is a temperature"),
        ("2026-11-25 07:00,20\n", "log = 1 readings: there must be two or more"),
    ],
)
def test_a_file_that_is_no_log_says_what_one_looks_like(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_log(text)
