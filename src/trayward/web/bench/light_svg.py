"""The light map of a shelf as our own drawing: cells with their figures, lamps, trays, walls."""

from __future__ import annotations

from itertools import pairwise

from markupsafe import Markup, escape

from trayward.farm.settings import ShownUnits
from trayward.pictures.types import LightFigures
from trayward.units import show_length

SCALE = ("#00224e", "#123570", "#3b496c", "#575d6d", "#707173", "#8a8678", "#a59c74", "#c3b369", "#e1cc55", "#fee838")
"""Dark blue to yellow, lightness rising evenly, the same to the colour-blind: ten steps of the cividis scale, as in
matplotlib (J. Nunez, C. Anderton and R. Renslow, Optimizing colormaps with consideration for color vision deficiency to
enable accurate interpretation of scientific data, PLOS ONE 13(7), 2018)."""
WIDE = 720.0
"""Of the drawing, in its own units; it scales with the page. [-]"""
EDGE = 38.0
MOST_CELLS = 8
"""Figures across: more could not be read on a phone."""


def light_svg(figures: LightFigures, units: ShownUnits, title: str) -> Markup:
    """The map seen from above, the front below."""
    scale = (WIDE - 2 * EDGE) / figures.length_mm
    high = figures.width_mm * scale
    cells, words = _cells(figures, high)
    parts = [
        *cells,
        *_trays(figures, scale, high),
        *_lamps(figures, scale, high),
        *words,
        *_walls(figures, high),
        *_words(figures, units, high),
    ]
    box = f"0 0 {WIDE:g} {high + 2 * EDGE:.1f}"
    return Markup(
        f'<svg class="light-map" viewBox="{box}" role="img" aria-label="{escape(title)}">' + "".join(parts) + "</svg>"
    )


def cells_of(figures: LightFigures) -> tuple[tuple[float, ...], ...]:
    """The map in as many cells as can be read, near to square; rows from front to back. [umol/m2/s]"""
    return coarse(figures.ppfd, max(2, round(MOST_CELLS * figures.width_mm / figures.length_mm)), MOST_CELLS)


def coarse(ppfd: tuple[tuple[float, ...], ...], down: int, over: int) -> tuple[tuple[float, ...], ...]:
    """
    The means over blocks of cells, so many at most down and over. [umol/m2/s]

    Examples
    --------
    >>> coarse(((1.0, 3.0), (5.0, 7.0)), 2, 1)
    ((2.0,), (6.0,))
    """
    rows, columns = _blocks(len(ppfd), down), _blocks(len(ppfd[0]), over)
    return tuple(
        tuple(
            sum(ppfd[row][column] for row in range(*high) for column in range(*wide))
            / ((high[1] - high[0]) * (wide[1] - wide[0]))
            for wide in columns
        )
        for high in rows
    )


def _blocks(count: int, most: int) -> list[tuple[int, int]]:
    parts = min(count, most)
    ends = [round(part * count / parts) for part in range(parts + 1)]
    return list(pairwise(ends))


def colour_of(value: float, top: float) -> tuple[str, str]:
    """The colour of a cell, and that of the figure in it."""
    step = min(len(SCALE) - 1, max(0, int(len(SCALE) * value / top))) if top > 0 else 0
    return SCALE[step], "#000000" if step >= 5 else "#FFFFFF"


def _cells(figures: LightFigures, high: float) -> tuple[list[str], list[str]]:
    rows = cells_of(figures)
    top = max(max(row) for row in rows)
    wide, tall = (WIDE - 2 * EDGE) / len(rows[0]), high / len(rows)
    cells, words = [], []
    for down, row in enumerate(rows):
        for over, value in enumerate(row):
            fill, ink = colour_of(value, top)
            x, y = EDGE + over * wide, EDGE + high - (down + 1) * tall
            cells.append(
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide + 0.5:.1f}" height="{tall + 0.5:.1f}" fill="{fill}"/>'
            )
            words.append(
                f'<text x="{x + wide / 2:.1f}" y="{y + tall / 2:.1f}" fill="{ink}" stroke="{fill}" class="map-figure" '
                f'font-size="30" text-anchor="middle" dominant-baseline="central">{value:.0f}</text>'
            )
    return cells, words


def _trays(figures: LightFigures, scale: float, high: float) -> list[str]:
    return [
        f'<rect class="map-tray" x="{EDGE + left * scale:.1f}" y="{EDGE + high - (front + wide) * scale:.1f}" '
        f'width="{long * scale:.1f}" height="{wide * scale:.1f}"/>'
        for left, front, long, wide in figures.trays
    ]


def _lamps(figures: LightFigures, scale: float, high: float) -> list[str]:
    return [
        f'<line class="{kind}" x1="{EDGE + x1 * scale:.1f}" y1="{EDGE + high - y1 * scale:.1f}" '
        f'x2="{EDGE + x2 * scale:.1f}" y2="{EDGE + high - y2 * scale:.1f}"/>'
        for kind in ("map-lamp-edge", "map-lamp")
        for x1, y1, x2, y2, _ in figures.lamps
    ]


def _walls(figures: LightFigures, high: float) -> list[str]:
    left, right, back, front = EDGE - 5, WIDE - EDGE + 5, EDGE - 5, EDGE + high + 5
    ends = {
        "left": (left, back, left, front),
        "right": (right, back, right, front),
        "back": (left, back, right, back),
        "front": (left, front, right, front),
    }
    return [
        f'<line class="map-wall" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'
        for side, (x1, y1, x2, y2) in ends.items()
        if side in figures.walls
    ]


def _words(figures: LightFigures, units: ShownUnits, high: float) -> list[str]:
    length, width = show_length(figures.length_mm, units.length), show_length(figures.width_mm, units.length)
    below = EDGE + high + 30
    return [
        f'<text class="map-words" x="{EDGE:g}" y="26" font-size="26">{escape(length)} × {escape(width)}</text>',
        f'<text class="map-words" x="{WIDE / 2:g}" y="{below:.1f}" font-size="26" text-anchor="middle">front</text>',
    ]
