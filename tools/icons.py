"""Draw the icons that phones want as PNG, after `static/icon.svg`: three seedlings in a tray.

python tools/icons.py
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

STATIC = Path(__file__).parents[1] / "src" / "trayward" / "web" / "static"
PAPER, INK, LEAF = "#FBFAF6", "#1B1B1B", "#009E73"
FINE = 4
"""Drawn so many times larger, then made smaller: smooth edges."""

STEMS = ((20.0, 26.0), (32.0, 18.0), (44.0, 26.0))
"""Where each seedling stands and where its leaves begin, on a field of 64 by 64."""


def icon(size: int, *, share: float) -> Image.Image:
    """
    The icon on paper.

    Parameters
    ----------
    size : int
        Its width and height. [px]
    share : float
        Share of the width that the drawing takes. Phones cut a maskable icon to a circle of 0.8 of its width (W3C, Web
        Application Manifest, from memory). [-]
    """
    whole = size * FINE
    image = Image.new("RGB", (whole, whole), PAPER)
    pen = ImageDraw.Draw(image)
    scale, edge = whole * share / 64, whole * (1 - share) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        return edge + x * scale, edge + y * scale

    pen.polygon([at(10, 44), at(54, 44), at(50, 54), at(14, 54)], fill=INK)
    for x, y in STEMS:
        pen.line([at(x, 43), at(x, y)], fill=LEAF, width=round(4 * scale))
        for side in (-1, 1):
            pen.polygon([at(*point) for point in _leaf(x, y, side)], fill=LEAF)
    return image.resize((size, size), Image.Resampling.LANCZOS)


def _leaf(x: float, y: float, side: int) -> list[tuple[float, float]]:
    """A leaf from its stalk to its tip, its edges two bows."""
    tip_x, tip_y = x + side * 9.5, y - 8
    steps = [number / 12 for number in range(13)]
    upper = [_bow((x, y), (x + side * 1, y - 8.5), (tip_x, tip_y), step) for step in steps]
    lower = [_bow((tip_x, tip_y), (x + side * 9, y + 0.5), (x, y), step) for step in steps]
    return upper + lower


def _bow(
    start: tuple[float, float], pull: tuple[float, float], end: tuple[float, float], step: float
) -> tuple[float, float]:
    """A point of a quadratic Bezier curve."""
    parts = ((1 - step) ** 2, 2 * step * (1 - step), step**2)
    x = sum(part * point[0] for part, point in zip(parts, (start, pull, end), strict=True))
    y = sum(part * point[1] for part, point in zip(parts, (start, pull, end), strict=True))
    return x, y


def main() -> None:
    """Draw all of them."""
    for name, size, share in (("192", 192, 0.9), ("512", 512, 0.9), ("180", 180, 0.82), ("mask", 512, 0.62)):
        drawn = icon(size, share=share).quantize(32, dither=Image.Dither.NONE)
        drawn.save(STATIC / f"icon-{name}.png", optimize=True)


if __name__ == "__main__":
    main()
