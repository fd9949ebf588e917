"""A bench's sheet on the terminal, in the farm's units or those asked for, and in JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

from trayward.bench.types import Amount, Sheet
from trayward.cli.show import Column, answer, looks, table, wrapped
from trayward.farm.settings import ShownUnits
from trayward.sources import source
from trayward.units import show_length, show_mass, show_money, show_volume

if TYPE_CHECKING:
    from trayward.cli.given import Given

US = ShownUnits(mass="oz", volume="cup", temperature="F", length="in")
FIGURES = 4
"""Figures of a plain value. [-]"""
HOUR, DAY = 60.0, 1440.0

US_OPTION = click.option(
    "--us/--metric", "us", default=None, help="Ounces, cups, inches, F; the farm's units if left out. Example: --us."
)
"""Every bench command takes it."""


def units_of(given: Given, us: bool | None) -> ShownUnits:
    """The units asked for; else the farm's where there is a book; else metric ones."""
    if us is not None:
        return US if us else ShownUnits()
    return given.units if has_farm(given) else ShownUnits()


def has_farm(given: Given) -> bool:
    """Whether there is a book to look into; a bench does without."""
    from pathlib import Path

    return "://" in given.book or Path(given.book).is_file()


def show_sheet(given: Given, sheet: Sheet, units: ShownUnits, more: dict[str, Any] | None = None) -> None:
    """Answer with a sheet: named values with units, inputs echoed, how far it holds, cautions and sources."""
    import msgspec

    told = msgspec.to_builtins(sheet) | {"sources": [_cited(key) for key in sheet.sources]} | (more or {})
    answer(given, told, lambda: _human(sheet, units))


def _cited(key: str) -> dict[str, str]:
    return {"key": key, "citation": source(key).citation}


def _human(sheet: Sheet, units: ShownUnits) -> None:
    """The answer, what is odd of it and what to do; only then what it was worked out from, and how far it holds."""
    wrapped(sheet.title)
    _amounts("Found", sheet.found, units)
    if sheet.findings:
        click.echo("")
        looks(sheet.findings)
    for grid in sheet.grids:
        click.echo(f"\n{grid.title}")
        table(list(grid.columns), grid.rows)
    _listed("Do", [f"{number}. {step}" for number, step in enumerate(sheet.steps, 1)])
    _amounts("Given", sheet.given, units)
    _listed("Holds", sheet.holds)
    _listed("Caution", sheet.cautions)
    _listed("Sources", [source(key).citation for key in sheet.sources])


def _amounts(title: str, amounts: Sequence[Amount], units: ShownUnits) -> None:
    if not amounts:
        return
    click.echo("")
    rows = [[each.name, amount_words(each, units), _between(each, units), _note(each, units)] for each in amounts]
    table(
        [title, Column("Value", right=True, whole=True), Column("8 in 10 between", right=True, whole=True), "Note"],
        rows,
    )


def _note(amount: Amount, units: ShownUnits) -> str:
    """Its note; spoons are not told twice where volumes are shown in them anyway."""
    said = f"{amount_words(amount, units)}, US"
    return amount.note.removeprefix(said).lstrip("; ") if amount.note.startswith(said) else amount.note


def _listed(title: str, lines: Iterable[str]) -> None:
    for number, line in enumerate(lines):
        if not number:
            click.echo(f"\n{title}")
        wrapped(f"  {line}", "    ")


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


def _between(amount: Amount, units: ShownUnits) -> str:
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
