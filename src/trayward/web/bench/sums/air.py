"""The sums of the air bench: state, dew, cover, log, room, pressure."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.web.bench.sums import air_words
from trayward.web.bench.sums.declared import (
    FILE,
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Given,
    answered,
    argument,
    option,
    text_of,
    units_of,
    whole,
)

if TYPE_CHECKING:
    from trayward.bench.air_room import Plate, RoomAir, RoomTrays

ANSWERS = (
    ("state", "What the air is like: vapour pressure deficit, dew point, water in it."),
    ("dew", "The dew point, and whether a wall, pipe or leaf gathers dew."),
    ("cover", "Whether dew forms under a tray's cover."),
    ("log", "How long the air of a logger's file stood near dew."),
    ("room", "Water to take out of a room of trays: fan or dehumidifier, how large."),
    ("pressure", "Air pressure at your height above the sea."),
)


air = Bench(
    "air", "Dew point, vapour pressure deficit, dew on covers, and the moisture to take out of a room.", ANSWERS
)


WET_BULB = option(
    "--wet-bulb", metavar="TEMPERATURE", help='What a wet thermometer shows, in place of humidity. Example: "17 C".'
)
ALTITUDE = option("--altitude", metavar="HEIGHT", help='Height above the sea. Example: "350 m".')
WHERE = option("--where", metavar="PLACE", help="With a farm and no figures: its last readings there. Example: A1.")


@air.add("state", example='trayward bench air state "22 C" "60 %" --leaf "21 C"')
@argument("temperature", required=False)
@argument("humidity", required=False)
@WET_BULB
@option("--leaf", metavar="TEMPERATURE", help='Temperature of the leaves, if measured. Example: "21 C".')
@ALTITUDE
@WHERE
@US_OPTION
def state(
    given: Given,
    temperature: str | None,
    humidity: str | None,
    wet_bulb: str | None,
    leaf: str | None,
    altitude: str | None,
    where: str | None,
    us: bool | None,
) -> Answer:
    """What air of a TEMPERATURE and HUMIDITY is like. With a farm and neither: its last readings."""
    from trayward.bench.air import state_sheet

    units = units_of(given, us)
    temp, wet = _air(given, temperature, humidity, wet_bulb, where, units)
    sheet = state_sheet(
        temp,
        wet,
        wet_bulb_c=_maybe(wet_bulb, units, "wet bulb"),
        leaf_c=_maybe(leaf, units, "leaf"),
        altitude_m=_altitude(altitude),
    )
    return answered(sheet, units)


@air.add("dew", example='trayward bench air dew "22 C" "70 %" --surface "15 C"')
@argument("temperature", required=False)
@argument("humidity", required=False)
@WET_BULB
@option("--surface", metavar="TEMPERATURE", help='Of a wall, window, pipe or leaf. Example: "15 C".')
@ALTITUDE
@WHERE
@US_OPTION
def dew(
    given: Given,
    temperature: str | None,
    humidity: str | None,
    wet_bulb: str | None,
    surface: str | None,
    altitude: str | None,
    where: str | None,
    us: bool | None,
) -> Answer:
    """The dew point of air of a TEMPERATURE and HUMIDITY. With a farm and neither: of its last readings."""
    from trayward.bench.air import dew_sheet

    units = units_of(given, us)
    temp, wet = _air(given, temperature, humidity, wet_bulb, where, units)
    sheet = dew_sheet(
        temp,
        wet,
        wet_bulb_c=_maybe(wet_bulb, units, "wet bulb"),
        surface_c=_maybe(surface, units, "surface"),
        altitude_m=_altitude(altitude),
    )
    return answered(sheet, units)


@air.add("cover", example='trayward bench air cover --inside "23 C" --room "20 C"')
@option("--inside", required=True, metavar="TEMPERATURE", help='Under the cover, at the seed. Example: "23 C".')
@option("--room", required=True, metavar="TEMPERATURE", help='Of the room around it. Example: "20 C".')
@option("--humidity", metavar="SHARE", help='Under the cover; 95 % if left out. Example: "90 %".')
@option("--surface", metavar="TEMPERATURE", help='Of the cover, if you measured it. Example: "21 C".')
@option("--fan", is_flag=True, help="A fan blows on the covers. Example: --fan.")
@US_OPTION
def cover(
    given: Given,
    inside: str,
    room: str,
    humidity: str | None,
    surface: str | None,
    fan: bool,
    us: bool | None,
) -> Answer:
    """Whether dew forms under a tray's cover and drips on the stand."""
    from trayward.bench.air import UNDER_COVER_PCT, cover_sheet

    units = units_of(given, us)
    sheet = cover_sheet(
        air_words.temperature(inside, units, "inside"),
        air_words.temperature(room, units, "room"),
        inside_pct=air_words.humidity(humidity) if humidity is not None else UNDER_COVER_PCT,
        surface_c=_maybe(surface, units, "surface"),
        blown=fan,
    )
    return answered(sheet, units)


@air.add("log", example="trayward bench air log shelf.csv")
@argument("file", type=FILE)
@option("--gap", type=NUMBER, default=2.0, metavar="HOURS", help="A reading stands at most so long. Example: 2.")
@option("--from", "begin", metavar="WHEN", help='Count from then on. Example: "2026-11-25 07:30".')
@option("--until", metavar="WHEN", help='Count up to then. Example: "2026-11-29 07:30".')
@option("--fahrenheit/--celsius", "in_f", default=None, help="What the file is in. Example: --fahrenheit.")
@option("--day-first/--month-first", default=None, help="How its dates run. Example: --day-first.")
@US_OPTION
def log(
    given: Given,
    file: Path,
    gap: float,
    begin: str | None,
    until: str | None,
    in_f: bool | None,
    day_first: bool | None,
    us: bool | None,
) -> Answer:
    """How long the air of a logger's FILE of times, temperatures and humidities stood near dew."""
    from trayward.bench.air_log import air_log_sheet
    from trayward.bench.temperature_log import read_log
    from trayward.web.bench.sums.growth import log_between

    units = units_of(given, us)
    told = log_between(read_log(text_of(file), fahrenheit=in_f, day_first=day_first), begin, until)
    return answered(air_log_sheet(told, gap_h=gap, shown=units.temperature), units)


@air.add("pressure", example='trayward bench air pressure "1200 ft"')
@argument("altitude")
@US_OPTION
def pressure(given: Given, altitude: str, us: bool | None) -> Answer:
    """Air pressure at an ALTITUDE."""
    from trayward.bench.air import pressure_sheet

    return answered(pressure_sheet(air_words.altitude(altitude)), units_of(given, us))


@air.add("room", example='trayward bench air room --room "4 x 3 x 2.5 m" --trays 40 --hold "22 C 60 %"')
@option("--room", "size", required=True, metavar="SIZE", help='Volume, or sides. Example: "4 x 3 x 2.5 m".')
@option("--trays", type=whole(1), metavar="COUNT", help="Trays in the light; the farm's own if left out. Example: 40.")
@option("--hold", default="22 C 60 %", metavar="AIR", help='Air to hold; 22 C 60 % if left out. Example: "72 F 60 %".')
@option(
    "--outside", default="15 C 70 %", metavar="AIR", help='Air around; 15 C 70 % if left out. Example: "28 C 60 %".'
)
@option("--tray", metavar="SIDES", help='Inside of a tray; a 1020 if left out. Example: "10 x 20 in".')
@option("--light", type=NUMBER, metavar="PPFD", help="On the trays; 150 if left out. [umol/m2/s] Example: 150.")
@option("--hours", type=NUMBER, metavar="HOURS", help="Of light a day; 16 if left out. Example: 16.")
@option("--leaf", type=NUMBER, metavar="AREAS", help="Leaf over a tray, in tray areas; 2 if left out. Example: 2.")
@option("--per-tray", metavar="VOLUME", help='What a tray loses in a day, if weighed. Example: "240 ml".')
@option("--leaks", type=NUMBER, metavar="CHANGES", help="Air changes an hour; 0.5 if left out. Example: 0.5.")
@option("--fan", metavar="FLOW", help='Fan that runs now. Example: "100 m3/h".')
@option("--plate", metavar="VOLUME", help='Your dehumidifier\'s rating a day. Example: "20 l".')
@option("--plate-air", metavar="AIR", help='Air it holds for; 80 F 60 % if left out. Example: "30 C 80 %".')
@ALTITUDE
@US_OPTION
def room(
    given: Given,
    size: str,
    trays: int | None,
    hold: str,
    outside: str,
    tray: str | None,
    light: float | None,
    hours: float | None,
    leaf: float | None,
    per_tray: str | None,
    leaks: float | None,
    fan: str | None,
    plate: str | None,
    plate_air: str | None,
    altitude: str | None,
    us: bool | None,
) -> Answer:
    """Water to take out of a room of lit trays a day, and how large a dehumidifier or fan does it."""
    from trayward.bench.air_room import room_sheet

    units = units_of(given, us)
    space = _room(size, hold, outside, leaks, fan, altitude, units)
    standing = _trays(given, trays, tray, light, hours, leaf, per_tray, units)
    return answered(room_sheet(space, standing, _plate(plate, plate_air, units)), units)


# What was typed, read -------------------------------------------------------------------------------------------------


def _maybe(text: str | None, units: ShownUnits, name: str) -> float | None:
    return air_words.temperature(text, units, name) if text is not None else None


def _altitude(text: str | None) -> float:
    """A height above the sea, which is meant where nobody says. [m]"""
    return air_words.altitude(text) if text is not None else 0.0


def _air(
    given: Given,
    temperature: str | None,
    humidity: str | None,
    wet_bulb: str | None,
    where: str | None,
    units: ShownUnits,
) -> tuple[float, float | None]:
    """Temperature [C], and humidity where it is said [%]: as typed, else the farm's last readings."""
    if temperature is None and wet_bulb is None and given.has_farm:
        return _last_readings(given, where or "")
    if temperature is None:
        raise InputError(
            "temperature", "none", "it must be said", 'For instance: trayward bench air state "22 C" "60 %"'
        )
    read = air_words.humidity(humidity) if humidity is not None else None
    return air_words.temperature(temperature, units), read


def _last_readings(given: Given, where: str) -> tuple[float, float]:
    """The farm's last readings of temperature and humidity at a place, up to the moment meant. [C], [%]"""
    from trayward.farm.last_air import last_air

    found = last_air(given.state, given.at, where)
    if found is None:
        place = f" at {where}" if where else ""
        raise InputError(
            "air",
            "no reading",
            f"the book has no temperature and humidity{place} taken within two hours of each other",
            'Say them: trayward bench air state "22 C" "60 %"',
        )
    return found.temp_c, found.humidity_pct


def _room(
    size: str, hold: str, outside: str, leaks: float | None, fan: str | None, altitude: str | None, units: ShownUnits
) -> RoomAir:
    from trayward.bench.air_room import USUAL_LEAKS, RoomAir

    inside, around = air_words.plate(hold, units, "air to hold"), air_words.plate(outside, units, "air outside")
    return RoomAir(
        volume_m3=air_words.room(size, units),
        temp_c=inside[0],
        humidity_pct=inside[1],
        outside_c=around[0],
        outside_pct=around[1],
        leaks_per_h=USUAL_LEAKS if leaks is None else leaks,
        fan_m3_h=air_words.air_flow(fan) if fan is not None else 0.0,
        altitude_m=_altitude(altitude),
    )


def _trays(
    given: Given,
    count: int | None,
    tray: str | None,
    light: float | None,
    hours: float | None,
    leaf: float | None,
    per_tray: str | None,
    units: ShownUnits,
) -> RoomTrays:
    import msgspec

    from trayward.bench.air_room import RoomTrays
    from trayward.units import parse_volume

    known = _lit_trays(given) if count is None else RoomTrays(count=count)
    said = {
        "tray_cm2": air_words.tray_area(tray, units) if tray is not None else None,
        "ppfd": light,
        "hours": hours,
        "leaf_area": leaf,
        "per_tray_ml": parse_volume(per_tray, default=units.volume, name="per tray") if per_tray is not None else None,
    }
    return msgspec.structs.replace(known, **{name: value for name, value in said.items() if value is not None})


def _lit_trays(given: Given) -> RoomTrays:
    """The trays that stand in the light on the farm now, and the hours of its lamps."""
    from statistics import median

    from trayward.bench.air_room import USUAL_HOURS, RoomTrays

    if not given.has_farm:
        raise InputError("trays", "none", "it must be said how many stand in the light", "For instance --trays 40.")
    farm = given.state
    lit = [tray for tray in farm.growing() if _ground(farm.recipe_of(tray), tray.stage) == "lit"]
    if not lit:
        raise InputError("trays", 0, "no tray of the farm stands in the light now", "Say how many: --trays 40.")
    hours = [shelf.lamp.hours for shelf in farm.shelves.values() if shelf.kind == "lit" and shelf.lamp is not None]
    area = median(farm.recipe_of(tray).tray.area_cm2 for tray in lit)
    return RoomTrays(count=len(lit), tray_cm2=area, hours=median(hours) if hours else USUAL_HOURS)


def _ground(recipe: object, stage: str) -> str:
    stages = getattr(recipe, "stages", ())
    return next((one.ground for one in stages if one.name == stage), "")


def _plate(litres: str | None, holds_for: str | None, units: ShownUnits) -> Plate:
    from trayward.bench.air_room import Plate
    from trayward.science.air_room import RATED_C, RATED_PCT
    from trayward.units import parse_volume

    temp, wet = air_words.plate(holds_for, units) if holds_for is not None else (RATED_C, RATED_PCT)
    if litres is None:
        return Plate(temp_c=temp, humidity_pct=wet)
    return Plate(litres=parse_volume(litres, default="l", name="plate") / 1000, temp_c=temp, humidity_pct=wet)
