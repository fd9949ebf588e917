"""A value of a sheet as people read it, in the units they chose; the same words on the terminal and the pages."""

from __future__ import annotations

from collections.abc import Callable

from trayward.bench.types import Amount
from trayward.farm.settings import ShownUnits
from trayward.units import show_length, show_mass, show_money, show_volume

FIGURES = 4
"""Figures of a plain value. [-]"""
HOUR, DAY = 60.0, 1440.0


def amount_words(amount: Amount, units: ShownUnits) -> str:
    """
    A value as people read it.

    Examples
    --------
    >>> amount_words(Amount(name="seed", value=20.0, unit="g", kind="mass"), ShownUnits())
    '20 g'
    >>> amount_words(Amount(name="pH", value=5.8), ShownUnits())
    '5.8'
    """
    if isinstance(amount.value, bool):
        return "yes" if amount.value else "no"
    if isinstance(amount.value, str):
        return amount.value
    return _said(amount, float(amount.value), units)


def between_words(amount: Amount, units: ShownUnits) -> str:
    if amount.low is None or amount.high is None:
        return ""
    return f"{_said(amount, amount.low, units)} to {_said(amount, amount.high, units)}"


def _said(amount: Amount, value: float, units: ShownUnits) -> str:
    ways: dict[str, Callable[[], str]] = {
        "mass": lambda: show_mass(value, units.mass),
        "volume": lambda: show_volume(value, units.volume),
        "length": lambda: show_length(value, units.length),
        "temperature": lambda: _temperature(value, units.temperature),
        "degrees": lambda: _degrees(value, units.temperature),
        "minutes": lambda: _time(value),
        "share": lambda: f"{_plain(100 * value)} %",
        "money": lambda: show_money(value, amount.unit),
    }
    return ways.get(amount.kind, lambda: _with_unit(value, amount.unit, units))()


AMERICAN = {
    "m3": (35.3147, "cu ft"),
    "m3/h": (35.3147 / 60, "cfm"),
    "m": (1 / 0.3048, "ft"),
    "cm2": (1 / 6.4516, "sq in"),
}
"""What rooms, fans, heights and trays are told in where lengths are in inches: a fan's box says cubic feet a minute."""


def _with_unit(value: float, unit: str, units: ShownUnits) -> str:
    if units.length == "in" and unit in AMERICAN:
        times, unit = AMERICAN[unit]
        return f"{_plain(value * times)} {unit}"
    return f"{_plain(value)} {'' if unit == '-' else unit}".strip()


def _temperature(celsius: float, unit: str) -> str:
    """Nearer than on a round: half a degree lies between dew and none."""
    return f"{_plain(celsius * 9 / 5 + 32, 3)} F" if unit == "F" else f"{_plain(celsius, 3)} C"


def _degrees(celsius: float, unit: str) -> str:
    """A difference between two temperatures."""
    return f"{_plain(celsius * 9 / 5, 2)} F" if unit == "F" else f"{_plain(celsius, 2)} C"


def _time(minutes: float) -> str:
    if abs(minutes) >= 2 * DAY:
        return f"{_plain(minutes / DAY, 3)} d"
    return f"{_plain(minutes / HOUR, 3)} h" if abs(minutes) >= 2 * HOUR else f"{_plain(minutes, 3)} min"


def _plain(value: float, figures: int = FIGURES) -> str:
    """Enough figures to work with, no exponent for what a grower meets."""
    shown = f"{value:.{figures}g}"
    if "e" not in shown:
        return shown
    return f"{value:,.0f}".replace(",", " ") if 1 <= abs(value) < 1e12 else shown


def note_words(amount: Amount, units: ShownUnits) -> str:
    """Its note; spoons are not told twice where volumes are shown in them anyway."""
    said = f"{amount_words(amount, units)}, US"
    return amount.note.removeprefix(said).lstrip("; ") if amount.note.startswith(said) else amount.note
