"""Base temperature and thermal time from a grower's own looks, and whether they tell it at all."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence

from trayward.bench.growth import STRAIGHT
from trayward.bench.growth_crop import temp_words
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding, InputError
from trayward.farm.settings import TemperatureUnit
from trayward.science.growth import LINEAR_TO_C
from trayward.science.warm_fit import APART_C, FEWEST, WarmFit, WarmLook, fit_warmth

SHOWN_C = (15.0, 18.0, 21.0, 24.0)
"""Temperatures that days are worked out for. [°C]"""
HOT_C = LINEAR_TO_C
_NAMES = {
    "temp_c": ("temp", "°c", "warmth"),
    "low_d": ("not yet", "not_yet", "from", "start", "last", "before"),
    "high_d": ("seen", "to", "end", "ready", "by"),
    "trays": ("tray", "seed", "count", "number", "n_"),
}
"""How the columns of a file of looks may be named."""
EXAMPLE = "For instance: temperature,not yet,seen,trays and below 18,3.0,3.5,2 (days from sowing; seen blank: not yet)."


def read_looks(text: str, *, fahrenheit: bool = False) -> list[WarmLook]:
    """
    Read looks from CSV: temperature, last look that said not yet, look that saw it, trays. [days from the start]

    Parameters
    ----------
    text : str
        With a line of names; comma, semicolon or tab. A blank or `inf` under what was seen: not seen to end.
    fahrenheit : bool
        The temperatures are in Fahrenheit.

    Returns
    -------
    list of WarmLook

    Raises
    ------
    InputError
        If a column is missing or a cell cannot be read.

    Examples
    --------
    >>> read_looks("temperature,not yet,seen,trays\\n18,3.0,3.5,2\\n")[0].high_d
    3.5
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    mark = next((mark for mark in (";", "\t") if lines and mark in lines[0]), ",")
    rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)), delimiter=mark)]
    if len(rows) < 2:
        raise InputError("looks", "nothing", "the file has no looks in it", EXAMPLE)
    places = {field: _place(rows[0], names) for field, names in _NAMES.items()}
    missing = [field for field in ("temp_c", "low_d", "high_d") if places[field] is None]
    if missing:
        said = {"temp_c": "temperature", "low_d": "not yet", "high_d": "seen"}[missing[0]]
        raise InputError("looks", ", ".join(rows[0])[:60], f"no column of it is called {said}", EXAMPLE)
    return [_look(number, row, places, fahrenheit) for number, row in enumerate(rows[1:], 2) if any(row)]


def _place(head: Sequence[str], names: Sequence[str]) -> int | None:
    lowered = [name.lower() for name in head]
    for name in names:
        pattern = re.compile(rf"(^|[^a-z]){re.escape(name)}")
        for place, cell in enumerate(lowered):
            if pattern.search(cell):
                return place
    return None


def _look(number: int, row: Sequence[str], places: dict[str, int | None], fahrenheit: bool) -> WarmLook:
    def cell(field: str) -> str:
        place = places[field]
        return row[place] if place is not None and place < len(row) else ""

    def value(field: str, blank: float) -> float:
        said = cell(field)
        try:
            return blank if said.lower() in ("", "-", "inf") else float(said.replace(",", "."))
        except ValueError as error:
            raise InputError(f"line {number}", said, "it must be a number", EXAMPLE) from error

    temp = value("temp_c", math.nan)
    if math.isnan(temp):
        raise InputError(f"line {number}", "blank", "it has no temperature", EXAMPLE)
    low, high = value("low_d", 0.0), value("high_d", math.inf)
    if not 0 <= low < high:
        rule = "the look that saw it must come after the one that said not yet"
        raise InputError(f"line {number}", f"{low:g} to {high:g}", rule, "Were they swapped?", "d")
    return WarmLook(
        temp_c=(temp - 32) * 5 / 9 if fahrenheit else temp, low_d=low, high_d=high, trays=value("trays", 1.0)
    )


def fit_sheet(
    looks: Sequence[WarmLook],
    *,
    what: str = "the stage",
    known_base_c: float | None = None,
    sources: tuple[str, ...] = (),
    shown: TemperatureUnit = "C",
) -> Sheet:
    """
    Base temperature and thermal time from looks.

    Parameters
    ----------
    looks : sequence of WarmLook
        What was seen of the trays.
    what : str
        Of what: `germinate of broccoli`.
    known_base_c : float, optional
        The library's base, held where the looks do not tell one. [°C]
    sources : tuple of str
        Where that comes from.
    shown : str
        The unit that tables show temperatures in, C or F.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If no stage was seen to end, or a look is out of range.
    """
    found = fit_warmth(looks)
    held = fit_warmth(looks, base_c=known_base_c) if known_base_c is not None else None
    used = found if found.told else held
    return Sheet(
        bench="growth",
        task="fit",
        title=f"The base temperature and thermal time of {what}, from looks at {found.trays:.0f} trays.",
        given=_given(looks, found, known_base_c),
        found=tuple(_found(found, held)),
        grids=tuple(grid for grid in (_days(used, shown), _beside(looks, used, shown)) if grid),
        steps=() if found.told else _more(),
        holds=(
            STRAIGHT,
            "Each tray counts at its mean temperature over the stage, and as ending between its two looks.",
        ),
        findings=_findings(found, looks),
        sources=sources if held is not None else (),
    )


def _given(looks: Sequence[WarmLook], found: WarmFit, known_base_c: float | None) -> tuple[Amount, ...]:
    temps = [look.temp_c for look in looks]
    given = [
        Amount(name="trays", value=found.trays, note=f"{found.ended:.0f} seen to end"),
        Amount(name="coolest", value=min(temps), unit="C", kind="temperature"),
        Amount(name="warmest", value=max(temps), unit="C", kind="temperature"),
    ]
    if known_base_c is not None:
        given.append(Amount(name="base on record", value=known_base_c, unit="C", kind="temperature"))
    return tuple(given)


def _found(found: WarmFit, held: WarmFit | None) -> list[Amount]:
    told = [Amount(name="the looks tell", value=found.told)]
    if found.told:
        base, theta = found.base, found.theta
        told.append(
            Amount(
                name="nothing moves below", value=base.value, unit="C", kind="temperature", low=base.low, high=base.high
            )
        )
        told.append(Amount(name="thermal time", value=theta.value, unit="C d", low=theta.low, high=theta.high))
    if held is not None:
        note = "with the base on record"
        theta = held.theta
        told.append(
            Amount(
                name="thermal time, base held", value=theta.value, unit="C d", low=theta.low, high=theta.high, note=note
            )
        )
    return told


def _days(used: WarmFit | None, shown: TemperatureUnit) -> Grid | None:
    if used is None:
        return None
    rows = [
        (temp_words(temp, shown), "never" if math.isinf(used.days(temp)) else f"{used.days(temp):.1f}")
        for temp in SHOWN_C
    ]
    return Grid(title="Days of the middle tray, by this", columns=("At", "Days"), rows=tuple(rows))


def _beside(looks: Sequence[WarmLook], used: WarmFit | None, shown: TemperatureUnit) -> Grid | None:
    """What was seen at each temperature beside what the law says, to a degree."""
    if used is None:
        return None
    rows = []
    for temp in sorted({round(look.temp_c) for look in looks}):
        here = [look for look in looks if round(look.temp_c) == temp and math.isfinite(look.high_d)]
        if here:
            low, high = (min(look.low_d for look in here), max(look.high_d for look in here))
            rows.append(
                (
                    temp_words(temp, shown),
                    f"{sum(look.trays for look in here):.0f}",
                    f"{low:.1f} to {high:.1f}",
                    f"{used.days(temp):.1f}",
                )
            )
    return Grid(title="Seen and worked out", columns=("At", "Trays", "Seen, days", "By this"), rows=tuple(rows))


def _more() -> tuple[str, ...]:
    return (
        f"Sow the same crop and lot on shelves {APART_C:.0f} °C or more apart, one cool: {FEWEST} trays or more.",
        "Log the temperature at the seed, and say where.",
        "Look morning and evening, and say not yet until the cue shows.",
    )


def _findings(found: WarmFit, looks: Sequence[WarmLook]) -> tuple[Finding, ...]:
    told = []
    if not found.told:
        remedy = "Do not use a base from these looks; the steps say what would tell it."
        told.append(Finding(code="warmth-not-told", severity="odd", message=f"looks: {found.why}", remedy=remedy))
    if any(look.temp_c > HOT_C for look in looks):
        message = f"looks above {HOT_C:.0f} °C count as {HOT_C:.0f} °C: more warmth is no longer straight."
        told.append(
            Finding(code="warmth-beyond", severity="odd", message=message, remedy="Leave hot trays out if unsure.")
        )
    return tuple(told)
