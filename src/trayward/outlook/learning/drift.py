"""Slow change: whether weights rise or fall over the months, and how the seasons compare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

import msgspec
import numpy as np

from trayward.outlook.learning.points import EIGHTY
from trayward.outlook.learning.refit import sown_on, with_columns
from trayward.outlook.learning.shares import ALL_ALIKE, all_alike
from trayward.outlook.learning.standouts import PROMISE, false_discoveries_held, two_sided
from trayward.outlook.rows import FIRST_MONDAY, SEASON_DAYS
from trayward.outlook.yields import YieldModel

PER_DAYS = 30.0
LEAST_DAYS = 56
"""Less than two seasons cannot tell a trend from a season. [d]"""
LEAST_SOWINGS = 6
WOULD_SEE = 1.645 + 0.842
"""A trend of so many of its errors is called one in 8 of 10 cases (at 1 false alarm in 10, either way). [-]"""


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """
    How many times the weight after 30 days more, other things equal, with its 80 % range. [-]

    `chance` is how often chance alone gives as much; `seen` whether it is called a trend. `could_see` is the least
    change in 30 days, as a share, that would likely have been seen. [-] `crop` is empty for the whole farm.
    """

    crop: str
    factor: float
    low: float
    high: float
    chance: float
    seen: bool
    could_see: float
    sowings: int
    days: int
    words: str = ""


class SeasonEffect(msgspec.Struct, frozen=True, kw_only=True):
    """Four weeks against the farm's usual: how many times the weight, with its 80 % range. [-]"""

    first: date
    last: date
    factor: float
    low: float
    high: float
    trays: int


class Drift(msgspec.Struct, frozen=True, kw_only=True):
    """Slow change of the weights: the farm's trend, its crops', and its seasons in order."""

    farm: Trend | None = None
    crops: tuple[Trend, ...] = ()
    seasons: tuple[SeasonEffect, ...] = ()
    words: str = ""


def drift_of(model: YieldModel) -> Drift:
    """
    Whether the weights of a farm change slowly.

    Notes
    -----
    Time enters as one more column beside all the model holds, so lots, recipes and seasons that changed with time take
    their part of the doubt. Crops' trends are held against false alarms together.
    """
    days = np.array([sown_on(row).toordinal() for row in model.rows], dtype=float)
    if model.fit is None or not _enough(model, range(len(model.rows)), days):
        return Drift(seasons=season_effects(model), words="Too few weeks or sowings yet to tell a slow change.")
    if all_alike(model.fit.spreads):
        return Drift(seasons=season_effects(model), words=ALL_ALIKE)
    months = ((days - days.mean()) / PER_DAYS)[:, None]
    farm = _trends(model, months, [""], [list(range(len(days)))], days)[0]
    crops = _crop_trends(model, months[:, 0], days)
    return Drift(farm=farm, crops=crops, seasons=season_effects(model), words=_drift_words(farm, crops))


def _enough(model: YieldModel, rows: Sequence[int], days: np.ndarray[tuple[int], np.dtype[np.float64]]) -> bool:
    sowings = {model.rows[at].sowing for at in rows}
    mine = days[list(rows)]
    return len(sowings) >= LEAST_SOWINGS and float(np.ptp(mine)) >= LEAST_DAYS


def _crop_trends(
    model: YieldModel,
    months: np.ndarray[tuple[int], np.dtype[np.float64]],
    days: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> tuple[Trend, ...]:
    """A trend for each crop with sowings enough, the other crops sharing one."""
    rows: dict[str, list[int]] = {}
    for at, row in enumerate(model.rows):
        rows.setdefault(row.crop, []).append(at)
    told = {crop: mine for crop, mine in sorted(rows.items()) if _enough(model, mine, days)}
    if not told or (len(told) == 1 and len(rows) == 1):
        return ()
    columns = np.zeros((len(days), len(told) + 1))
    columns[:, -1] = months
    for k, mine in enumerate(told.values()):
        columns[mine, k], columns[mine, -1] = months[mine], 0.0
    if not columns[:, -1].any():
        columns = columns[:, :-1]
    return tuple(_trends(model, columns, list(told), list(told.values()), days))


def _trends(
    model: YieldModel,
    columns: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    names: list[str],
    rows: list[list[int]],
    days: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> list[Trend]:
    fitted = with_columns(model, columns)
    assert fitted is not None, "asked only where there are rows"
    base = len(fitted.fixed) - columns.shape[1]
    slopes = fitted.fixed[base : base + len(names)]
    errors = np.sqrt(np.maximum(np.diag(fitted.fixed_covariance)[base : base + len(names)], 0.0))
    sowings = [len({model.rows[at].sowing for at in mine}) for mine in rows]
    known = errors > 0
    z = np.where(known, slopes / np.where(known, errors, 1.0), 0.0)
    chances = np.array([float(two_sided(z[k : k + 1], sowings[k] - 2)[0]) for k in range(len(names))])
    seen = false_discoveries_held(chances, PROMISE) & known
    return [
        _trend(
            name, float(slopes[k]), float(errors[k]), float(chances[k]), bool(seen[k]), sowings[k], _span(days, mine)
        )
        for k, (name, mine) in enumerate(zip(names, rows, strict=True))
    ]


def _span(days: np.ndarray[tuple[int], np.dtype[np.float64]], rows: list[int]) -> int:
    return int(np.ptp(days[rows]))


def _trend(crop: str, slope: float, error: float, chance: float, seen: bool, sowings: int, days: int) -> Trend:
    trend = Trend(
        crop=crop,
        factor=math.exp(slope),
        low=math.exp(slope - EIGHTY * error),
        high=math.exp(slope + EIGHTY * error),
        chance=chance,
        seen=seen,
        could_see=math.expm1(WOULD_SEE * error),
        sowings=sowings,
        days=days,
    )
    return msgspec.structs.replace(trend, words=_trend_words(trend))


def _trend_words(trend: Trend) -> str:
    what = f"{trend.crop.capitalize()} trays" if trend.crop else "The farm's trays"
    if trend.seen:
        more = "heavier" if trend.factor > 1 else "lighter"
        ends = sorted((abs(trend.low - 1) * 100, abs(trend.high - 1) * 100))
        return (
            f"{what} grow {more} by about {abs(trend.factor - 1) * 100:.1f} % in 30 days (8 in 10: {ends[0]:.1f} to "
            f"{ends[1]:.1f} %), over {trend.sowings} sowings in {trend.days} days."
        )
    return (
        f"{what}: no drift seen over {trend.sowings} sowings in {trend.days} days; one of "
        f"{trend.could_see * 100:.1f} % in 30 days or more would likely have shown."
    )


def _drift_words(farm: Trend, crops: Sequence[Trend]) -> str:
    return " ".join([farm.words, *(crop.words for crop in crops if crop.seen)])


def season_effects(model: YieldModel) -> tuple[SeasonEffect, ...]:
    """The seasons seen so far, in order."""
    if model.fit is None:
        return ()
    effects, errors = model.fit.effects["season"][:, 0], model.fit.effect_se["season"][:, 0]
    trays: dict[str, int] = {}
    for row in model.rows:
        trays[str(row.season)] = trays.get(str(row.season), 0) + 1
    found = []
    for name, at in sorted(model.names["season"].items(), key=lambda item: int(item[0])):
        if at >= len(effects) or name not in trays:
            continue
        first = FIRST_MONDAY + timedelta(days=SEASON_DAYS * int(name))
        low, middle, high = (math.exp(effects[at] + step * EIGHTY * errors[at]) for step in (-1, 0, 1))
        last = first + timedelta(days=SEASON_DAYS - 1)
        found.append(SeasonEffect(first=first, last=last, factor=middle, low=low, high=high, trays=trays[name]))
    return tuple(found)
