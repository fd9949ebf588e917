"""A logger's file for one sensor: its column, its unit, its clock, and what is left out or cannot be told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.sensors.made import cold_room
from trayward.errors import InputError
from trayward.farm.sensors import Sensor
from trayward.sensors.loggers import read_logger

BERLIN, UNIVERSAL = ZoneInfo("Europe/Berlin"), ZoneInfo("UTC")
AIR = Sensor(name="air-1", place="A1", what="air temperature")
EC = Sensor(name="ec-1", place="tank", what="ec")
PLAIN = "time,temperature\n2026-11-25 07:00,4.5\n2026-11-25 07:05,4.75\n"


def test_it_works():
    read = read_logger(PLAIN, cold_room(), UNIVERSAL)
    assert [(each.at, each.value) for each in read.readings] == [
        (datetime(2026, 11, 25, 7, 0, tzinfo=UTC), 4.5),
        (datetime(2026, 11, 25, 7, 5, tzinfo=UTC), 4.75),
    ]
    assert (read.column, read.unit, read.guessed, read.findings) == ("temperature", "", False, ())


@pytest.mark.parametrize(
    "text",
    [
        "Zeit;Temperatur\n25.11.2026 07:00;4,5\n25.11.2026 07:05;4,75\n",
        "date\ttemp\n11/25/2026 7:00 AM\t4.5\n11/25/2026 7:05 AM\t4.75\n",
        "2026-11-25 07:00,4.5\n2026-11-25 07:05,4.75\n",
        "# a logger of ours\n\nnumber,when,temp\n1,2026-11-25 07:00,4.5\n2,2026-11-25 07:05,4.75\n",
        "\ufeff" + PLAIN,
    ],
    ids=["semicolons and commas", "tabs and half days", "no names", "comments and a count", "a mark before it"],
)
def test_the_same_readings_are_found_however_a_logger_writes_them(text: str):
    assert read_logger(text, cold_room(), UNIVERSAL).readings == read_logger(PLAIN, cold_room(), UNIVERSAL).readings


def test_of_several_columns_that_of_the_sensor_is_read():
    text = "when,temp,rh %,co2\n2026-11-25 07:00,21.5,61 %,410\n"
    found = {
        what: read_logger(text, Sensor(name="s", place="A1", what=what), UNIVERSAL)
        for what in ("air temperature", "humidity", "co2")
    }
    assert {what: read.readings[0].value for what, read in found.items()} == {
        "air temperature": 21.5, "humidity": 61.0, "co2": 410.0,
    }  # fmt: skip


@pytest.mark.parametrize("column", ["inside", "INSIDE", "3"])
def test_a_column_is_named_or_numbered_by_hand(column: str):
    text = "when,temp outside,inside\n2026-11-25 07:00,9.5,4.5\n"
    assert read_logger(text, cold_room(), UNIVERSAL, column=column).readings[0].value == 4.5
    assert read_logger(text, cold_room(), UNIVERSAL).readings[0].value == 9.5


@pytest.mark.parametrize(
    ("head", "unit", "value", "told", "guessed"),
    [
        ("temp", "", 4.5, "", False),
        ("temp (°F)", "", (40.1 - 32) * 5 / 9, "F", False),
        ("temp_f", "", (40.1 - 32) * 5 / 9, "F", False),
        ("temp (°C)", "", 40.1, "C", False),
        ("temp", "F", (40.1 - 32) * 5 / 9, "F", False),
        ("temp", "", (40.1 - 32) * 5 / 9, "F", True),
    ],
)
def test_the_unit_is_read_said_or_guessed_and_what_was_guessed_is_told(
    head: str, unit: str, value: float, told: str, guessed: bool
):
    shown = 4.5 if value == 4.5 else 40.1
    read = read_logger(f"when,{head}\n2026-11-25 07:00,{shown}\n", cold_room(), UNIVERSAL, unit=unit)
    assert (read.readings[0].value, read.unit, read.guessed) == (pytest.approx(value), told, guessed)


def test_a_warm_room_is_not_taken_for_fahrenheit_but_what_no_room_can_be_is():
    warm = "when,temp\n2026-11-25 07:00,31.5\n"
    assert not read_logger(warm, AIR, UNIVERSAL).guessed
    assert read_logger(warm.replace("31.5", "71.6"), AIR, UNIVERSAL).readings[0].value == pytest.approx(22.0)


def test_conductivity_in_microsiemens_is_read_by_the_name_of_its_column():
    assert read_logger("when,ec [uS/cm]\n2026-11-25 07:00,1350\n", EC, UNIVERSAL).readings[0].value == 1.35
    assert read_logger("when,ec [mS/cm]\n2026-11-25 07:00,1.35\n", EC, UNIVERSAL).readings[0].value == 1.35


def test_a_unit_of_something_else_is_refused():
    with pytest.raises(InputError, match="no unit of Cold room temperature"):
        read_logger(PLAIN, cold_room(), UNIVERSAL, unit="ppm")


# Clocks ---------------------------------------------------------------------------------------------------------------


def test_a_loggers_clock_hangs_on_the_farms_wall_unless_it_says_its_own_offset():
    (first, _) = read_logger(PLAIN, cold_room(), BERLIN).readings
    assert first.at.astimezone(UTC) == datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
    own = read_logger("time,temp\n2026-11-25T07:00:00-05:00,4.5\n", cold_room(), BERLIN).readings[0]
    assert own.at.astimezone(UTC) == datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_the_hour_that_comes_twice_in_autumn_is_read_in_the_order_it_was_written():
    """Clocks in Berlin went back from 03:00 to 02:00 on 25 October 2026 (IANA time zone database)."""
    walls = ("01:45", "02:15", "02:45", "02:15", "02:45", "03:15")
    text = "time,temp\n" + "".join(f"2026-10-25 {wall},4.5\n" for wall in walls)
    times = [each.at.astimezone(UTC) for each in read_logger(text, cold_room(), BERLIN).readings]
    begun = datetime(2026, 10, 24, 23, 45, tzinfo=UTC)
    assert times == [begun + timedelta(minutes=30 * place) for place in range(6)]


def test_dates_that_can_be_read_two_ways_are_asked_about():
    text = "time,temp\n03/04/2026 07:00,4.5\n05/04/2026 07:00,4.5\n"
    with pytest.raises(InputError, match="Say --day-first or --month-first"):
        read_logger(text, cold_room(), UNIVERSAL)
    assert [each.at.month for each in read_logger(text, cold_room(), UNIVERSAL, day_first=True).readings] == [4, 4]
    assert [each.at.month for each in read_logger(text, cold_room(), UNIVERSAL, day_first=False).readings] == [3, 5]


# What is wrong --------------------------------------------------------------------------------------------------------


def test_lines_that_cannot_be_read_are_left_out_and_told():
    text = PLAIN + "2026-11-25 07:10,---\n2026-11-25 07:15\nend of file,\n2026-11-25 07:20,5.0\n"
    read = read_logger(text, cold_room(), UNIVERSAL)
    assert [each.value for each in read.readings] == [4.5, 4.75, 5.0]
    (told,) = read.findings
    assert told.code == "log-unreadable"
    assert told.message == "2026-11-25 07:10,--- (and 2 more): cannot be read, so left out."


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("", "", "the file is empty"),
        ("time,temp\n", "2", "no column of it is a date and a time"),
        ("name,temp\ncold,4.5\n", "", "no column of it is a date and a time"),
        ("time,rh,par\n2026-11-25 07:00,61,110\n", "", "none of its columns is Cold room temperature"),
        (PLAIN, "door", "the file has time, temperature"),
        (PLAIN, "9", "the file has time, temperature"),
        ("time,temp\n2026-11-25 07:00,---\n", "", "none of them holds a reading"),
    ],
)
def test_a_file_that_holds_nothing_for_the_sensor_is_refused_with_what_is_wrong(text: str, column: str, words: str):
    with pytest.raises(InputError, match=words):
        read_logger(text, cold_room(), UNIVERSAL, column=column)
