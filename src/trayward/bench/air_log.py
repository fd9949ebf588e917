"""What a log of temperature and humidity says of the air: hours near dew, the longest wet spell, the deficit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from trayward.bench.air import NEAR_DEW_C, humid, warmth
from trayward.bench.growth_crop import temp_words
from trayward.bench.temperature_log import TemperatureLog
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import InputError, require_between
from trayward.farm.settings import TemperatureUnit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FEW_DAYS = 14
"""Days of a log that are shown one by one. [-]"""


class _Air(msgspec.Struct, frozen=True):
    """Readings that have a humidity: when [h], for how long each stands [h], the air, how near to dew."""

    hours: Floats
    lasts: Floats
    temps: Floats
    humidity: Floats
    deficit: Floats
    margin: Floats

    def mean(self, of: Floats) -> float:
        """Weighed by how long each stands."""
        return float((of * self.lasts).sum() / self.lasts.sum())


def air_log_sheet(log: TemperatureLog, *, gap_h: float = 2.0, shown: TemperatureUnit = "C") -> Sheet:
    """
    How long the air of a log stood near dew.

    Parameters
    ----------
    log : TemperatureLog
        Readings with humidity, in the order of time.
    gap_h : float
        A reading stands until the next, but no longer than this. [h]
    shown : str
        The unit that tables show temperatures in, C or F.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If it has no humidity, or a value is out of range.
    """
    require_between("gap", gap_h, 0.05, 1000, "h")
    air = _air_of(log, gap_h)
    near = air.margin < NEAR_DEW_C
    total, wet = float(air.lasts.sum()), float(air.lasts[near].sum())
    spell, begins = _longest(air, near, gap_h)
    return Sheet(
        bench="air",
        task="log",
        title="How long the air of the log stood near its dew point.",
        given=(
            Amount(name="readings", value=len(air.hours)),
            _hours("a reading stands at most", gap_h),
            _hours("in all", total),
        ),
        found=(
            _hours("near dew", wet, f"{100 * wet / total:.0f} % of it"),
            _hours("longest near dew", spell, f"from {log.times[begins]:%Y-%m-%d %H:%M}" if spell else ""),
            Amount(name="nearest to dew", value=float(air.margin.min()), unit="C", kind="degrees"),
            Amount(name="vapour pressure deficit", value=air.mean(air.deficit), unit="kPa", note="mean"),
            warmth("temperature", air.mean(air.temps), "mean"),
            humid("humidity", air.mean(air.humidity), "mean"),
        ),
        grids=(_by_day(log, air, near, shown),),
        holds=(
            "Near dew: what is two degrees colder than the air gets wet.",
            "Long wet spells bring mould; no source was found that says how long is too long for microgreens.",
        ),
        findings=log.findings,
        sources=("ashrae2017",),
    )


def _hours(name: str, hours: float, note: str = "") -> Amount:
    return Amount(name=name, value=60 * hours, unit="min", kind="minutes", note=note)


def _air_of(log: TemperatureLog, gap_h: float) -> _Air:
    import numpy as np

    from trayward.science.air import vapour_deficit
    from trayward.science.air_dew import dew_point

    wet = np.array(log.humidity_pct, float)
    if not len(wet) or np.isnan(wet).all():
        raise InputError("log", "no humidity", "it has no column of humidity", "Name one humidity, or RH.")
    hours, temps = np.array(log.hours), np.array(log.temps_c)
    lasts = np.append(np.minimum(np.diff(hours), gap_h), 0.0)
    lasts = np.where(np.isnan(wet), 0.0, lasts)
    if lasts.sum() <= 0:
        raise InputError("log", "no time", "no reading with a humidity stands for any time", "Log for longer.")
    known = np.where(np.isnan(wet), 50.0, np.maximum(wet, 0.1))
    margin = np.where(np.isnan(wet), np.inf, temps - dew_point(temps, known))
    return _Air(hours, lasts, temps, known, np.asarray(vapour_deficit(temps, known)), margin)


def _longest(air: _Air, near: NDArray[np.bool_], gap_h: float) -> tuple[float, int]:
    """The longest time without a break near dew [h], and at which reading it begins."""
    best, since, begins, at = 0.0, 0.0, 0, 0
    for place, (lasts, wet) in enumerate(zip(air.lasts, near, strict=True)):
        broken = place > 0 and air.hours[place] - air.hours[place - 1] > gap_h
        if not wet or broken:
            since, at = 0.0, place
        if wet:
            since += float(lasts)
            at = place if since == float(lasts) else at
            best, begins = (since, at) if since > best else (best, begins)
    return best, begins


def _by_day(log: TemperatureLog, air: _Air, near: NDArray[np.bool_], shown: TemperatureUnit) -> Grid:
    days: dict[str, list[int]] = {}
    for place, at in enumerate(log.times):
        days.setdefault(f"{at:%Y-%m-%d}", []).append(place)
    rows = []
    for day, places in days.items():
        lasts = air.lasts[places]
        if lasts.sum() <= 0:
            continue
        temp, wet = (float((of[places] * lasts).sum() / lasts.sum()) for of in (air.temps, air.humidity))
        rows.append((day, temp_words(temp, shown), f"{wet:.0f} %", f"{float(lasts[near[places]].sum()):.1f}"))
    left = len(rows) - FEW_DAYS
    title = f"Day by day, the last {FEW_DAYS} of {len(rows)}" if left > 0 else "Day by day"
    return Grid(title=title, columns=("Day", "Mean", "Humidity", "Near dew [h]"), rows=tuple(rows[-FEW_DAYS:]))
