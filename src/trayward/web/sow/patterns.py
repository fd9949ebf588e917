"""The ground of each stage in a drawing, told apart without colour, too."""

from __future__ import annotations

from trayward.web.drawing.svg import box, tag
from trayward.web.look.locales import STAGES

HATCH = "M-1 7L7 -1M-1 1L1 -1M5 7L7 5"
"""Slanting lines over a square of 6 px, going on into the next."""


def patterns(name: str) -> str:
    """Fills of the stages and of what is beyond a limit; `name` keeps two drawings of one page apart."""
    marks = {
        "soak": tag("circle", cx=3, cy=3, r=0.9, cls="pattern-ink"),
        "germinate": tag("path", d=HATCH, cls="pattern-line"),
    }
    found = [_pattern(f"{name}-{each}", box(0, 0, 6, 6, f"ground-{each}") + marks.get(each, "")) for each in STAGES]
    return f"<defs>{''.join(found)}{_pattern(f'{name}-over', tag('path', d=HATCH, cls='pattern-over'))}</defs>"


def _pattern(name: str, inside: str) -> str:
    return f'<pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse">{inside}</pattern>'
