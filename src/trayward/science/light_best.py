"""The height and spacing of lamps that light a shelf best, for what is asked of them. Loads numpy: import it late."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.science.lamps import HungLamp, require_lamp_height, require_spacing
from trayward.science.light import require_ppfd
from trayward.science.light_map import LightMap, LitShelf, Walls, light_map, middles, straight_map
from trayward.science.light_readings import uniformity

CELLS = (60, 120)
HEIGHTS, SPACINGS = 11, 9
"""Heights and spacings tried at first. [-]"""
ZOOMS, CLOSER = 3, 5
"""How often the search looks closer, and how many of each it tries then. [-]"""
NARROWER = 3.0
"""How many times narrower it looks each time. [-]"""
LEAST_LIT = 1e-6
"""Nearer than this what is asked counts as met. [-]"""


class Tried(NamedTuple):
    """One height and spacing [mm] and what comes of it: mean light [umol/m2/s], least over mean, share on shelf. [-]"""

    height_mm: float
    spacing_mm: float
    mean: float
    min_mean: float
    share_on_shelf: float


class BestLayout(msgspec.Struct, frozen=True, kw_only=True):
    """Where lamps hang best, whether that is good enough, and what other heights would give."""

    best: Tried
    lamps: tuple[HungLamp, ...]
    light: LightMap
    reached: bool
    """Whether all that was asked is met."""
    short_of: tuple[str, ...]
    """What is not: `evenness`, `light`."""
    at_end: tuple[str, ...]
    """What lies at an end of what was tried: `lowest`, `highest`, `widest`."""
    by_height: tuple[Tried, ...]
    """The evenest spacing at each height, lowest first."""


Hang = Callable[[float, float], Sequence[HungLamp]]


def best_layout(
    hang: Hang,
    shelf: LitShelf,
    heights_mm: tuple[float, float],
    widest_mm: float,
    *,
    least_evenness: float | None = None,
    least_ppfd: float | None = None,
    walls: Walls | None = None,
) -> BestLayout:
    """
    The height and spacing of lamps that serve a shelf best.

    Parameters
    ----------
    hang : function (height_mm, spacing_mm) -> lamps
        The lamps so hung, for instance by `lamps.lamps_in_rows`.
    shelf : LitShelf
        The ground.
    heights_mm : (float, float)
        Lowest and highest there is room for. [mm] Valid above 0.
    widest_mm : float
        Widest spacing. [mm] Valid from 0; 0 for one lamp.
    least_evenness : float or None
        Least light over mean light asked for. [-] Valid above 0, below 1.
    least_ppfd : float or None
        Mean light asked for. [umol/m2/s] Valid 0 to 10000.
    walls : Walls or None
        What stands around.

    Returns
    -------
    BestLayout

    Raises
    ------
    InputError
        If a value is out of range, or neither evenness nor light is asked for.

    Notes
    -----
    With an evenness asked for, the most light among layouts that are as even and have the light asked for. With light
    alone, the evenest among those that have it. Where none does all, the one that comes closest, and `short_of` says in
    what. Higher lamps are evener and lose more light past the edges: there is no best without something asked for.
    A grid of heights and spacings, looked at closer three times; the evenness is that of a 60 by 120 map.
    """
    _require(heights_mm, widest_mm, least_evenness, least_ppfd)
    find = _Finder(hang, shelf, walls)
    asked = _Asked(least_evenness, least_ppfd)
    spacings = np.linspace(0, widest_mm, SPACINGS if widest_mm > 0 else 1)
    grid = [[find(h, s) for s in spacings] for h in np.linspace(*heights_mm, HEIGHTS if np.ptp(heights_mm) else 1)]
    best = max((tried for row in grid for tried in row), key=asked.worth)
    best = _closer(best, find, asked, heights_mm, widest_mm)
    lamps = tuple(hang(best.height_mm, best.spacing_mm))
    return BestLayout(
        best=best,
        lamps=lamps,
        light=light_map(lamps, shelf, walls, CELLS),
        reached=not asked.short_of(best),
        short_of=asked.short_of(best),
        at_end=_ends(best, heights_mm, widest_mm),
        by_height=tuple(max(row, key=lambda tried: tried.min_mean) for row in grid),
    )


class _Asked(NamedTuple):
    evenness: float | None
    ppfd: float | None

    def worth(self, tried: Tried) -> tuple[float, float]:
        """First how little is missing, then what is wanted more of."""
        missing = self._missing(tried)
        return -round(sum(missing.values()), 6), tried.min_mean if self.evenness is None else tried.mean

    def short_of(self, tried: Tried) -> tuple[str, ...]:
        return tuple(what for what, share in self._missing(tried).items() if share > LEAST_LIT)

    def _missing(self, tried: Tried) -> dict[str, float]:
        asked = {"evenness": (self.evenness, tried.min_mean), "light": (self.ppfd, tried.mean)}
        return {what: max(0.0, 1 - has / least) for what, (least, has) in asked.items() if least}


class _Finder:
    """Tries a height and a spacing, each once."""

    def __init__(self, hang: Hang, shelf: LitShelf, walls: Walls | None) -> None:
        self.hang, self.shelf, self.walls = hang, shelf, walls
        self.known: dict[tuple[float, float], Tried] = {}

    def __call__(self, height: float, spacing: float) -> Tried:
        key = (float(height), float(spacing))
        if key not in self.known:
            self.known[key] = self._tried(*key)
        return self.known[key]

    def _tried(self, height: float, spacing: float) -> Tried:
        lamps = self.hang(height, spacing)
        if self.walls is not None or not _same_on_all_sides(lamps, self.shelf):
            found = light_map(lamps, self.shelf, self.walls, CELLS)
            return Tried(height, spacing, found.evenness.mean, found.evenness.min_mean, found.share_on_shelf)
        x, y = middles(self.shelf.length_mm, CELLS[1]), middles(self.shelf.width_mm, CELLS[0])
        even = uniformity(straight_map(lamps, x[: len(x) // 2], y[: len(y) // 2]))
        emitted = sum(lamp.umol_s for lamp in lamps)
        share = even.mean * self.shelf.area_m2 / emitted if emitted else 0.0
        return Tried(height, spacing, even.mean, even.min_mean, share)


def _same_on_all_sides(lamps: Sequence[HungLamp], shelf: LitShelf) -> bool:
    """Whether a quarter of the shelf tells all of it."""

    def seen(turn_x: bool, turn_y: bool) -> list[tuple[float, ...]]:
        return sorted(
            (
                round(shelf.length_mm - lamp.x_mm if turn_x else lamp.x_mm, 6),
                round(shelf.width_mm - lamp.y_mm if turn_y else lamp.y_mm, 6),
                lamp.height_mm, lamp.umol_s, lamp.length_mm, lamp.width_mm, lamp.angle_deg,
            )
            for lamp in lamps
        )  # fmt: skip

    straight = all(lamp.angle_deg in (0.0, 90.0) for lamp in lamps)
    return straight and seen(True, False) == seen(False, False) == seen(False, True)


def _closer(best: Tried, find: _Finder, asked: _Asked, heights: tuple[float, float], widest: float) -> Tried:
    """Look closer around the best so far."""
    reach_h, reach_s = (heights[1] - heights[0]) / (HEIGHTS - 1), widest / (SPACINGS - 1)
    for _ in range(ZOOMS):
        around_h = _around(best.height_mm, reach_h, *heights)
        around_s = _around(best.spacing_mm, reach_s, 0.0, widest)
        best = max((find(h, s) for h in around_h for s in around_s), key=asked.worth)
        reach_h, reach_s = reach_h / NARROWER, reach_s / NARROWER
    return best


def _around(middle: float, reach: float, low: float, high: float) -> list[float]:
    if reach <= 0:
        return [middle]
    steps = np.clip(middle + reach * np.linspace(-1, 1, CLOSER), low, high)
    return [float(step) for step in np.unique(np.append(steps, middle))]


def _ends(best: Tried, heights: tuple[float, float], widest: float) -> tuple[str, ...]:
    near = 1e-6
    ends = {
        "lowest": best.height_mm <= heights[0] + near,
        "highest": best.height_mm >= heights[1] - near,
        "widest": widest > 0 and best.spacing_mm >= widest - near,
    }
    return tuple(end for end, there in ends.items() if there)


def _require(heights: tuple[float, float], widest: float, evenness: float | None, ppfd: float | None) -> None:
    for height in heights:
        require_lamp_height(height)
    if heights[0] > heights[1]:
        rule = f"the lowest height is above the highest, {heights[1]:g} mm"
        raise InputError("lamp height", f"{heights[0]:g}", rule, "Give them the other way round.", "mm")
    require_spacing(widest)
    if evenness is None and ppfd is None:
        rule = "evenness or light must be asked for"
        raise InputError("wanted", "nothing", rule, "Higher is evener, lower is brighter: say which you need.")
    if evenness is not None and not 0 < evenness < 1:
        raise InputError("evenness", f"{evenness:g}", "must lie between 0 and 1", "Least over mean: 0.7 is good.")
    if ppfd is not None:
        require_ppfd(ppfd)
