"""What readings of the air mean: said when they are taken, and at the next round."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.cli.conftest import Typed, bare, shelf
from trayward.farm.last_air import last_air
from trayward.farm.places import Shelf
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.farm.state import FarmState, Reading
from trayward.rounds.air import air_findings

__all__ = ["bare", "shelf"]

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
SHELVES = {
    "A1": Shelf(name="A1", rack="A", room="loft", kind="dark", spots=4),
    "A2": Shelf(name="A2", rack="A", room="loft", kind="lit", spots=4),
}


def farm(*readings: tuple[str, float, str], hours_ago: float = 1.0, units: ShownUnits | None = None) -> FarmState:
    """A farm with a dark and a lit shelf, and readings of some hours ago."""
    at = NOW - timedelta(hours=hours_ago)
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", units=units or ShownUnits()),
        shelves=dict(SHELVES),
        readings=[Reading(at, what, value, where) for what, value, where in readings],
    )


def codes(state: FarmState, at: datetime = NOW) -> list[str]:
    return [finding.code for finding in air_findings(state, at)]


def test_air_near_its_dew_point_over_open_trays_is_pointed_out_with_what_to_do() -> None:
    (found,) = air_findings(farm(("temperature", 20.0, "A2"), ("humidity", 92.0, "A2")), NOW)
    assert found.sentence() == (
        "air at A2 = 92 % at 20 C: dew forms on all below 18.5 C. Move the air, warm the room a little or dry it, and "
        "leave room between trays: wet leaves bring mould."
    )
    (fahrenheit,) = air_findings(
        farm(("temperature", 20.0, "A2"), ("humidity", 92.0, "A2"), units=ShownUnits(temperature="F")), NOW
    )
    assert "at 68 F: dew forms on all below 66 F" in fahrenheit.message


def test_wet_air_is_as_it_should_be_where_trays_are_covered() -> None:
    assert codes(farm(("temperature", 20.0, "A1"), ("humidity", 97.0, "A1"))) == []


def test_usual_air_is_nothing_to_speak_of() -> None:
    assert codes(farm(("temperature", 21.0, "loft"), ("humidity", 62.0, "loft"))) == []


def test_dry_warm_and_cool_air_are_pointed_out() -> None:
    assert codes(farm(("humidity", 28.0, "loft"))) == ["air-dry"]
    assert codes(farm(("temperature", 29.0, "loft"))) == ["air-warm"]
    assert codes(farm(("temperature", 12.0, ""))) == ["air-cool"]


def test_a_cold_tank_is_no_cold_room() -> None:
    assert codes(farm(("temperature", 9.0, "tank"))) == []


def test_what_the_book_itself_doubts_is_not_said_twice() -> None:
    assert codes(farm(("temperature", 70.0, "loft"))) == []  # `reading-hot`: Fahrenheit?


def test_yesterday_s_air_says_nothing_of_today_s() -> None:
    assert codes(farm(("temperature", 29.0, "loft"), hours_ago=13)) == []


def test_a_reading_said_to_come_later_is_not_looked_at_yet() -> None:
    assert codes(farm(("temperature", 29.0, "loft"), hours_ago=-2)) == []


def test_only_the_newest_reading_of_a_place_counts() -> None:
    state = farm(("temperature", 29.0, "loft"), hours_ago=3)
    state.readings.append(Reading(NOW, "temperature", 22.0, "loft"))
    assert codes(state) == []


def test_temperature_and_humidity_read_hours_apart_are_not_one_air() -> None:
    state = farm(("temperature", 20.0, "A2"), hours_ago=5)
    state.readings.append(Reading(NOW, "humidity", 95.0, "A2"))
    assert codes(state) == []
    assert last_air(state, NOW) is None
    state.readings.append(Reading(NOW, "temperature", 20.0, "A2"))
    assert codes(state) == ["air-wet"]
    assert last_air(state, NOW, "a2") is not None


# On the farm ----------------------------------------------------------------------------------------------------------


def test_the_grower_is_told_as_the_reading_is_taken_and_on_the_round(shelf: Typed) -> None:
    lit = next(each["name"] for each in shelf.json("place", "list")["shelves"] if each["kind"] == "lit")
    shelf("reading", "temperature", "20 C", "--where", lit)
    said = shelf.json("reading", "humidity", "93", "--where", lit)
    assert [finding["code"] for finding in said["findings"]] == ["air-wet"]
    notes = " ".join(shelf.json("round")["notes"])
    assert f"air at {lit} = 93 % at 20 C" in notes


@pytest.mark.parametrize("what", ["ph", "ec"])
def test_readings_of_water_say_nothing_of_the_air(shelf: Typed, what: str) -> None:
    shelf("reading", "temperature", "29 C")
    assert shelf.json("reading", what, "6")["findings"] == []
