"""The air bench: what its sheets say, and what of a room's water adds up."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.bench.air import cover_sheet, dew_sheet, pressure_sheet, state_sheet
from trayward.bench.air_room import SPARE, Plate, RoomAir, RoomTrays, room_sheet
from trayward.bench.types import Sheet
from trayward.errors import InputError
from trayward.science.air_room import dehumidifier_share
from trayward.sources import source

ROOM = RoomAir(volume_m3=30.0, temp_c=22.0, humidity_pct=60.0, outside_c=15.0, outside_pct=70.0)
TRAYS = RoomTrays(count=40)


def value(sheet: Sheet, name: str) -> float:
    """A figure that was found, by its name."""
    found = next(amount.value for amount in sheet.found if amount.name == name)
    assert isinstance(found, int | float)
    return float(found)


def names(sheet: Sheet) -> list[str]:
    return [amount.name for amount in sheet.found]


def codes(sheet: Sheet) -> list[str]:
    return [finding.code for finding in sheet.findings]


# Air ------------------------------------------------------------------------------------------------------------------


def test_the_state_of_air_says_what_draws_on_leaves_first() -> None:
    sheet = state_sheet(22.0, 60.0, leaf_c=21.0)
    assert names(sheet)[:2] == ["deficit at the leaf", "vapour pressure deficit"]
    assert value(sheet, "dew point") == pytest.approx(13.89, abs=0.01)
    assert sheet.findings == ()


def test_a_wet_thermometer_stands_in_for_the_humidity() -> None:
    # CLIM-02: 40 °C dry, 20 °C wet: 14 %.
    sheet = state_sheet(40.0, wet_bulb_c=20.0)
    humidity = next(amount for amount in sheet.given if amount.name == "humidity")
    assert humidity.value == pytest.approx(0.14, abs=0.001)


@pytest.mark.parametrize("said", [{}, {"humidity_pct": 60.0, "wet_bulb_c": 17.0}])
def test_neither_or_both_of_humidity_and_wet_thermometer_are_refused(said: dict[str, float]) -> None:
    with pytest.raises(InputError, match="say either how humid it is, or what a wet thermometer shows"):
        state_sheet(22.0, **said)


def test_air_near_its_dew_point_is_pointed_out() -> None:
    assert codes(state_sheet(20.0, 92.0)) == ["air-near-dew"]
    assert codes(state_sheet(20.0, 80.0)) == []


def test_a_cold_wall_gathers_dew_and_a_warm_one_does_not() -> None:
    cold, warm = dew_sheet(22.0, 70.0, surface_c=15.0), dew_sheet(22.0, 70.0, surface_c=20.0)
    assert value(cold, "dew forms") == 1
    assert value(warm, "dew forms") == 0
    assert names(cold)[0] == "dew forms"


def test_a_cover_over_seed_warmer_than_the_room_gathers_dew() -> None:
    wet, dry = cover_sheet(23.0, 20.0), cover_sheet(21.0, 21.0, inside_pct=80.0)
    assert value(wet, "dew forms") == 1
    assert len(wet.steps) == 3
    assert value(dry, "dew forms") == 0
    assert dry.steps == ()


def test_a_measured_cover_goes_before_a_worked_out_one() -> None:
    sheet = cover_sheet(23.0, 20.0, surface_c=22.9)
    assert value(sheet, "cover") == 22.9
    assert value(sheet, "dew forms") == 0
    assert "iso6946" not in sheet.sources


def test_air_gets_thinner_up_the_mountain() -> None:
    assert value(pressure_sheet(1000.0), "air pressure") == pytest.approx(898.75, abs=0.01)


# Room -----------------------------------------------------------------------------------------------------------------


def test_the_water_of_a_room_adds_up() -> None:
    """What trays give off is what leaks carry off and what has to be taken out."""
    sheet = room_sheet(ROOM, TRAYS)
    given_off = 40 * value(sheet, "a tray gives off a day")
    assert given_off == pytest.approx(
        value(sheet, "leaks and fan carry off a day") + value(sheet, "water to take out a day"), rel=1e-9
    )


def test_a_measured_tray_goes_before_the_law() -> None:
    sheet = room_sheet(ROOM, msgspec.structs.replace(TRAYS, per_tray_ml=200.0))
    assert value(sheet, "a tray gives off a day") == pytest.approx(200.0)
    assert not any("lettuce" in each for each in sheet.holds)


def test_the_plate_is_read_at_the_air_it_holds_for_and_sized_for_the_lit_hours() -> None:
    usual = value(room_sheet(ROOM, TRAYS), "dehumidifier, by its plate")
    at_30 = value(room_sheet(ROOM, TRAYS, Plate(temp_c=30.0, humidity_pct=80.0)), "dehumidifier, by its plate")
    share, other = (float(dehumidifier_share(22.0, 60.0, *air)) for air in ((26.7, 60.0), (30.0, 80.0)))
    assert at_30 / usual == pytest.approx(share / other)
    lit = float(room_sheet(ROOM, TRAYS).grids[0].rows[0][4])  # in whole grams an hour
    assert usual == pytest.approx(24 * lit * SPARE / share, rel=0.005)


def test_a_dehumidifier_too_small_is_pointed_out() -> None:
    small, large = (room_sheet(ROOM, TRAYS, Plate(litres=litres)) for litres in (5.0, 60.0))
    assert codes(small) == ["dehumidifier-small"]
    assert codes(large) == []
    assert value(large, "yours takes out a day") > value(large, "water to take out a day")


def test_on_a_muggy_day_no_fan_dries_the_room() -> None:
    sheet = room_sheet(msgspec.structs.replace(ROOM, outside_c=28.0, outside_pct=75.0), TRAYS)
    assert "outside-wet" in codes(sheet)
    assert "leaks and fan bring in a day" in names(sheet)


def test_in_a_cold_room_nobody_knows_what_a_dehumidifier_does() -> None:
    sheet = room_sheet(msgspec.structs.replace(ROOM, temp_c=12.0, outside_c=2.0), TRAYS)
    assert "dehumidifier-cold" in codes(sheet)
    assert "dehumidifier, by its plate" not in names(sheet)


def test_where_a_fan_does_it_all_nothing_is_left_to_take_out() -> None:
    flow = value(room_sheet(ROOM, TRAYS), "by a fan alone")
    done = room_sheet(msgspec.structs.replace(ROOM, fan_m3_h=flow), TRAYS)
    assert value(done, "water to take out a day") == 0
    assert done.steps == ()
    # Such a fan, beside the leaks, brings the room to what was asked for or a little below.
    assert value(done, "humidity if nothing is done") <= 0.6


@given(st.integers(1, 200), st.floats(40.0, 75.0))
def test_more_trays_never_need_less_taken_out(count: int, humidity: float) -> None:
    room = msgspec.structs.replace(ROOM, humidity_pct=humidity)
    few, many = (room_sheet(room, RoomTrays(count=some)) for some in (count, count + 1))
    assert value(many, "water to take out a day") >= value(few, "water to take out a day")


def test_no_trays_and_no_room_are_refused() -> None:
    with pytest.raises(InputError, match="trays = 0: there must be one or more"):
        room_sheet(ROOM, RoomTrays(count=0))
    with pytest.raises(InputError, match=r"room = 0 m3: must lie in"):
        room_sheet(msgspec.structs.replace(ROOM, volume_m3=0.0), TRAYS)


@pytest.mark.parametrize(
    "sheet", [state_sheet(22.0, 60.0), dew_sheet(22.0, 60.0), cover_sheet(23.0, 20.0), room_sheet(ROOM, TRAYS)]
)
def test_every_source_of_a_sheet_is_listed(sheet: Sheet) -> None:
    assert sheet.sources
    assert all(source(key).title for key in sheet.sources)
