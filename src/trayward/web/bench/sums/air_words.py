"""What people type of air, read: humidity, a room's size, air that moves, an altitude."""

from __future__ import annotations

import re

from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.units import parse_length, parse_temperature

_NUMBER = r"(\d+(?:[.,]\d+)?)"
M3_PER_FT3 = 0.3048**3
M_PER_FT = 0.3048
CM2_PER_MM2 = 0.01


def temperature(text: str, units: ShownUnits, name: str = "temperature") -> float:
    """A temperature; a bare number is in the units shown. [C]"""
    return parse_temperature(text, default=units.temperature, name=name)


def humidity(text: str, name: str = "humidity") -> float:
    """
    A relative humidity as people say it: `60 %`, `60`, `60 % RH`. [%]

    Examples
    --------
    >>> humidity("60 % RH"), humidity("55,5")
    (60.0, 55.5)
    """
    found = re.fullmatch(rf"\s*{_NUMBER}\s*(%|percent)?\s*(?:rh)?\s*", text, re.IGNORECASE)
    if found is None:
        raise InputError(name, text, "it must be a number with %", 'For instance "60 %".')
    value = float(found[1].replace(",", "."))
    if not found[2] and 0 < value <= 1:
        raise InputError(name, text, f"can be read as {value:g} % or as {100 * value:g} %", 'Write it with %: "60 %".')
    if value > 100:
        rule = "must lie in [0, 100] %"
        raise InputError(name, f"{value:g}", rule, "Air cannot hold more: check the sensor, or drop the reading.", "%")
    return value


def room(text: str, units: ShownUnits) -> float:
    """
    A room's volume: `30 m3`, `1000 ft3`, or length x width x height, `4 x 3 x 2.5 m`. [m3]

    Examples
    --------
    >>> room("4 x 3 x 2.5 m", ShownUnits()), round(room("1000 cu ft", ShownUnits()), 1)
    (30.0, 28.3)
    """
    plain = text.strip().lower().replace("³", "3").replace("×", "x")
    if found := re.fullmatch(rf"{_NUMBER}\s*(m3|cubic met(?:er|re)s?|ft3|cu\.? ?ft|cubic feet)", plain):
        return float(found[1].replace(",", ".")) * (1.0 if found[2][0] == "m" or "met" in found[2] else M3_PER_FT3)
    sides = _sides(plain, 3, "ft" if units.length == "in" else "m")
    if sides is None:
        rule = "it must be a volume, or length x width x height"
        raise InputError("room", text, rule, 'For instance "30 m3", "4 x 3 x 2.5 m" or "12 x 10 x 8 ft".')
    return sides[0] * sides[1] * sides[2] / 1e9


def tray_area(text: str, units: ShownUnits) -> float:
    """
    A tray's inside area from its length x width: `10 x 20 in`, `508 x 254`. [cm2]

    Examples
    --------
    >>> round(tray_area("10 x 20 in", ShownUnits()))
    1290
    """
    sides = _sides(text.strip().lower().replace("×", "x"), 2, units.length)
    if sides is None:
        raise InputError("tray", text, "it must be length x width", 'For instance "254 x 508 mm" or "10 x 20 in".')
    return sides[0] * sides[1] * CM2_PER_MM2


def _sides(text: str, count: int, unit: str) -> list[float] | None:
    """Lengths with an x between them, the last one's unit for those without. [mm]"""
    parts = [part.strip() for part in text.split("x")]
    if len(parts) != count or not all(parts):
        return None
    last = re.search(r"[a-z\"']+$", parts[-1])
    default = last[0] if last else unit
    return [parse_length(part, default=default, name="side") for part in parts]


def air_flow(text: str) -> float:
    """
    Air that a fan moves: `100 m3/h`, `60 cfm`, `0.05 m3/s`. [m3/h]

    Examples
    --------
    >>> air_flow("100"), round(air_flow("60 cfm"))
    (100.0, 102)
    """
    found = re.fullmatch(rf"\s*{_NUMBER}\s*(m3/h|m³/h|m3/s|m³/s|cfm|l/s)?\s*", text, re.IGNORECASE)
    if found is None:
        raise InputError("fan", text, "it must be a number with m3/h or cfm", 'For instance "100 m3/h".')
    sizes = {"m3/s": 3600.0, "m³/s": 3600.0, "cfm": 60 * M3_PER_FT3, "l/s": 3.6}
    return float(found[1].replace(",", ".")) * sizes.get((found[2] or "").lower(), 1.0)


def altitude(text: str) -> float:
    """
    A height above the sea: `350 m`, `1200 ft`; a bare number is in metres. [m]

    Examples
    --------
    >>> altitude("350"), round(altitude("1200 ft"))
    (350.0, 366)
    """
    found = re.fullmatch(r"\s*([-−]?)\s*(\d+(?:[.,]\d+)?)\s*(m|ft|feet|met(?:er|re)s?)?\s*", text, re.IGNORECASE)
    if found is None:
        raise InputError("altitude", text, "it must be a number with m or ft", 'For instance "350 m".')
    metres = float(found[2].replace(",", ".")) * (M_PER_FT if (found[3] or "m").lower().startswith("f") else 1.0)
    return -metres if found[1] else metres


def plate(text: str, units: ShownUnits, name: str = "plate air") -> tuple[float, float]:
    """
    Air by its temperature and humidity, as a dehumidifier's plate tells it: `30 C 80 %`. [C], [%]

    Examples
    --------
    >>> plate("30 C, 80 %", ShownUnits())
    (30.0, 80.0)
    """
    found = re.fullmatch(rf"\s*(.+?)[\s,]+{_NUMBER}\s*%\s*(?:rh)?\s*", text, re.IGNORECASE)
    if found is None:
        raise InputError(name, text, "it must be a temperature and a humidity", 'For instance "30 C 80 %".')
    return temperature(found[1], units, name), humidity(f"{found[2]} %", name)
