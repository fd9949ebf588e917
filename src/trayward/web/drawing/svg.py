"""Marks of a drawing on the page: plain SVG, coloured by the classes of the page's own style, light or dark."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from markupsafe import Markup

LETTER = 0.58
"""Width of a letter of the page's fonts, in its size: about right for most words. [-]"""


def tag(name: str, inside: str = "", **marks: object) -> str:
    """
    An element; `_` in a mark's name stands for `-`, and `cls` for `class`. A mark that is None is left out.

    Examples
    --------
    >>> tag("text", "pea & oat", x=3.14159, text_anchor="end", cls="small")
    '<text x="3.1" text-anchor="end" class="small">pea &amp; oat</text>'
    """
    told = "".join(f' {_name(key)}="{_value(value)}"' for key, value in marks.items() if value is not None)
    return f"<{name}{told}>{escape(inside, quote=False)}</{name}>" if inside else f"<{name}{told}/>"


def _name(key: str) -> str:
    return "class" if key == "cls" else key.rstrip("_").replace("_", "-")


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.1f}".removesuffix(".0")
    return escape(str(value), quote=True)


def line(x1: float, y1: float, x2: float, y2: float, cls: str) -> str:
    """A straight line."""
    return tag("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), cls=cls)


def group(inside: Iterable[str]) -> str:
    """Elements together."""
    return f"<g>{''.join(inside)}</g>"


def box(x: float, y: float, width: float, height: float, cls: str, fill: str | None = None) -> str:
    """A rectangle; `fill`: a pattern, where the style's colour is not enough."""
    return tag("rect", x=float(x), y=float(y), width=float(max(0.0, width)), height=float(height), cls=cls, fill=fill)


def dot(x: float, y: float, radius: float, cls: str) -> str:
    """A filled circle."""
    return tag("circle", cx=float(x), cy=float(y), r=float(radius), cls=cls)


def words(text: str, x: float, y: float, cls: str = "", *, size: float = 12.0, anchor: str = "start") -> str:
    """A line of words."""
    at = None if anchor == "start" else anchor
    return tag("text", text, x=float(x), y=float(y), font_size=float(size), text_anchor=at, cls=cls or None)


def path(points: Sequence[tuple[float, float]], cls: str, *, closed: bool = False) -> str:
    """A line through points, or an area."""
    moves = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return tag("path", d=f"M{moves}{'Z' if closed else ''}", cls=cls)


def width_of(text: str, size: float) -> float:
    """About how wide words are. [px]"""
    return LETTER * size * len(text)


def shortened(text: str, size: float, width: float) -> str:
    """
    Words cut so that they fit a width. [px]

    Examples
    --------
    >>> shortened("broccoli on mesh mat", 13.0, 80.0)
    'broccoli…'
    """
    letters = max(1, int(width / (LETTER * size)))
    return text if len(text) <= letters else text[: max(1, letters - 1)].rstrip() + "…"


def drawing(width: float, height: float, inside: Iterable[str], *, cls: str) -> Markup:
    """A whole drawing. It is hidden from screen readers: a sentence above and a table behind say what it says."""
    size = f"{_value(float(width))} {_value(float(height))}"
    return Markup(
        f'<svg class="{cls}" viewBox="0 0 {size}" aria-hidden="true" focusable="false">{"".join(inside)}</svg>'
    )
