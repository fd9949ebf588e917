"""How long the light bench takes: a map of 12 lamps, walls that throw light back, and the search for the best height.

No library of light over shelves is known to us to stand beside. The peer of a map is the same map the plain way: each
bar as 100 point lamps, summed by numpy; it comes out the same to within 0.1 %, as is checked before anything is timed.
"""

from __future__ import annotations

import numpy as np

from benchmarks.harness import Figure, measure, measure_beside, progress, run
from trayward.science.lamps import HungLamp, lamps_in_rows
from trayward.science.light import dli
from trayward.science.light_best import best_layout
from trayward.science.light_map import LightMap, LitShelf, Walls, light_map, middles
from trayward.science.light_readings import uniformity
from trayward.science.light_walls import _solved, view_factors

SHELF = LitShelf(length_mm=1220, width_mm=610)
OVER = (SHELF.length_mm, SHELF.width_mm)
CELLS = (60, 120)
POINTS = 100
REPEAT = 9
WHITE = Walls(height_mm=300, left=0.85, right=0.85, front=0.85, back=0.85)
MANY = 1_000_000


def bars(count: int, height: float = 250.0, spacing: float = 50.0) -> tuple[HungLamp, ...]:
    """Bars as long as the shelf."""
    return lamps_in_rows(
        count, over_mm=OVER, height_mm=height, spacing_mm=spacing, umol_s=44.0, length_mm=SHELF.length_mm
    )


def plain_map(lamps: tuple[HungLamp, ...]) -> np.ndarray:
    """The same map with each bar as points."""
    x, y = np.meshgrid(middles(SHELF.length_mm, CELLS[1]), middles(SHELF.width_mm, CELLS[0]))
    parts = (np.arange(POINTS) + 0.5) / POINTS
    total = np.zeros_like(x)
    for lamp in lamps:
        (x0, y0), (x1, y1) = lamp.ends
        for part in parts:
            r2 = (x - x0 - part * (x1 - x0)) ** 2 + (y - y0 - part * (y1 - y0)) ** 2 + lamp.height_mm**2
            total += lamp.umol_s / POINTS / np.pi * lamp.height_mm**2 / r2**2
    return np.asarray(1e6 * total)


def first_with_walls(lamps: tuple[HungLamp, ...]) -> LightMap:
    """A map with walls of a shelf that was not looked at before."""
    _solved.cache_clear()
    view_factors.cache_clear()
    return light_map(lamps, SHELF, WHITE, CELLS)


def figures() -> list[Figure]:
    """Maps, walls, the best height, and a million daily lights."""
    lamps = bars(12)
    assert np.allclose(light_map(lamps, SHELF, cells=CELLS).ppfd, plain_map(lamps), rtol=1e-3)
    size, found = "60 x 120, 12 bars", []
    progress("light: maps")
    mine, plain = measure_beside(lambda: light_map(lamps, SHELF, cells=CELLS), lambda: plain_map(lamps), repeat=REPEAT)
    found.append(Figure("map of a shelf", size, mine * 1000, "ms", f"{POINTS} points a bar, numpy", plain * 1000))
    found.append(
        Figure("map with walls, first time", size, measure(lambda: first_with_walls(lamps), repeat=5) * 1000, "ms")
    )
    again = measure(lambda: light_map(lamps, SHELF, WHITE, CELLS), repeat=REPEAT)
    found.append(Figure("map with walls, again", size, again * 1000, "ms"))
    progress("light: best height")
    for name, walls in (("best height and spacing", None), ("best height, with walls", WHITE)):
        seconds = measure(
            lambda walls=walls: best_layout(  # type: ignore[misc]
                lambda h, s: bars(3, h, s), SHELF, (100, 250), 300, least_evenness=0.5, walls=walls
            ),
            repeat=3,
        )
        found.append(Figure(name, "3 bars", seconds * 1000, "ms"))
    progress("light: a million")
    light, hours = np.random.default_rng(7).uniform(0, 600, MANY), 16.0
    mine, bare = measure_beside(lambda: dli(light, hours), lambda: light * hours * 0.0036, repeat=REPEAT)
    found.append(Figure("daily light", "1e6 values", mine * 1000, "ms", "numpy, nothing checked", bare * 1000))
    mine, bare = measure_beside(lambda: uniformity(light), lambda: light.min() / light.mean(), repeat=REPEAT)
    found.append(Figure("evenness", "1e6 values", mine * 1000, "ms", "numpy, least of mean alone", bare * 1000))
    return found


if __name__ == "__main__":
    run(figures)
