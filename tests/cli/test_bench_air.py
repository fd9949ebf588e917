"""The commands of the air bench, with no farm and with one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Typed, type_bench
from trayward.errors import InputError


def run(*words: str, book: str = "nowhere.sqlite") -> str:
    """Type a bench command that must work; what it says."""
    done = type_bench("air", *words, book=book, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def found(*words: str, book: str = "nowhere.sqlite") -> dict[str, Any]:
    """What a command answers in JSON, its figures by name."""
    told = json.loads(run(*words, "--json", book=book))
    return {amount["name"]: amount["value"] for amount in told["found"]}


def test_the_bench_says_what_it_answers() -> None:
    said = run()
    assert all(name in said for name in ("state", "dew", "cover", "room", "pressure"))


def test_air_is_said_in_any_units() -> None:
    metric, us = found("state", "22 C", "60 %"), found("state", "71.6 F", "60", "--us")
    assert metric == pytest.approx(us)
    assert "57 F" in run("state", "71.6F", "60%", "--us")


def test_a_humidity_that_can_be_read_two_ways_is_refused() -> None:
    with pytest.raises(InputError, match=r"humidity = 0.6: can be read as 0.6 % or as 60 %"):
        run("state", "22", "0.6")


def test_a_hundred_and_twenty_per_cent_is_refused() -> None:
    with pytest.raises(InputError, match=r"humidity = 120 %: must lie in \[0, 100\] %. Air cannot hold more"):
        run("dew", "22", "120 %")


def test_a_room_hotter_than_air_is_reckoned_with_is_refused() -> None:
    with pytest.raises(InputError, match=r"temp_c = 95 °C: must lie in \[-40, 80\] °C"):
        run("dew", "95", "50")


def test_nothing_said_and_no_farm_asks_for_the_figures() -> None:
    with pytest.raises(InputError, match="temperature = none: it must be said"):
        run("state")


def test_a_room_is_said_by_its_sides_in_metres_or_feet() -> None:
    sides = found("room", "--room", "4 x 3 x 2.5 m", "--trays", "10")
    assert sides == found("room", "--room", "30 m3", "--trays", "10")
    feet = found("room", "--room", "13.123 x 9.8425 x 8.2021", "--trays", "10", "--us")
    assert feet["by a fan alone"] == pytest.approx(sides["by a fan alone"], rel=1e-3)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--room", "4 x 3 m"), "room = 4 x 3 m: it must be a volume, or length x width x height"),
        (("--room", "30 m3", "--hold", "22 C"), "air to hold = 22 C: it must be a temperature and a humidity"),
        (("--room", "30 m3", "--fan", "fast"), "fan = fast: it must be a number with m3/h or cfm"),
        (("--room", "30 m3", "--altitude", "high"), "altitude = high: it must be a number with m or ft"),
        (("--room", "30 m3", "--tray", "big"), "tray = big: it must be length x width"),
    ],
)
def test_what_cannot_be_read_says_how_to_say_it(words: tuple[str, ...], message: str) -> None:
    with pytest.raises(InputError, match=message):
        run("room", *words, "--trays", "10")


def test_without_trays_and_without_a_farm_a_room_asks_for_them() -> None:
    with pytest.raises(InputError, match="trays = none: it must be said how many stand in the light"):
        run("room", "--room", "30 m3")


def test_every_answer_fits_eighty_columns() -> None:
    for words in (
        ("state", "22", "60"),
        ("dew", "22", "60", "--surface", "10"),
        ("cover", "--inside", "23", "--room", "20"),
        ("room", "--room", "30 m3", "--trays", "40", "--plate", "20 l"),
        ("pressure", "350 m"),
    ):
        assert max(map(len, run(*words).splitlines())) <= 80


def test_a_logger_s_file_says_how_long_its_air_stood_near_dew(tmp_path: Path) -> None:
    file = tmp_path / "shelf.csv"
    rows = [f"2026-11-25 {hour:02d}:00,20,{95 if 6 <= hour < 12 else 60}" for hour in range(24)]
    file.write_text("time,temp_c,rh_pct\n" + "\n".join(rows))
    told = found("log", str(file))
    assert told["near dew"] == told["longest near dew"] == 360
    assert found("log", str(file), "--from", "2026-11-25 08:00")["near dew"] == 240
    assert max(map(len, run("log", str(file)).splitlines())) <= 80


# With a farm ----------------------------------------------------------------------------------------------------------


def test_the_farm_s_last_readings_stand_in_for_figures(shelf: Typed) -> None:
    shelf("reading", "temperature", "22 C", "--where", "K1")
    shelf("reading", "humidity", "60", "--where", "K1")
    assert found("state", book=str(shelf.book)) == pytest.approx(found("state", "22", "60"))
    with pytest.raises(InputError, match="the book has no temperature and humidity at K9"):
        run("state", "--where", "K9", book=str(shelf.book))


def test_the_farm_s_lit_trays_stand_in_for_a_count(shelf: Typed) -> None:
    with pytest.raises(InputError, match="trays = 0: no tray of the farm stands in the light now"):
        run("room", "--room", "30 m3", book=str(shelf.book))
    shelf("sow", "pea", "--trays", "2", "--name", "P1")
    shelf("stage", "P1", "light")
    told = json.loads(run("room", "--room", "30 m3", "--json", book=str(shelf.book)))
    assert next(each["value"] for each in told["given"] if each["name"] == "lit trays") == 2
