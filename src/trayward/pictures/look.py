"""How pictures look: colours, the marks of the stages, and the two widths they are made for. Loads no library."""

from __future__ import annotations

from typing import Literal

import msgspec

GROUND = "#FBFAF6"
INK = "#1B1B1B"
RULE = "#D9D5CA"
SOFT = "#58544A"
"""Words of second rank; 7:1 on the ground."""
TROUBLE = "#D55E00"
PLAIN = "#0072B2"
"""Where colour says nothing but "here are the figures"."""

Wide = Literal["desk", "phone"]


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """Width of a picture and sizes of its words: title, labels and ticks. [in], [pt]"""

    wide: Wide
    width: float
    title: float
    label: float
    tick: float
    dpi: int
    """Dots per inch of a PNG: twice what a phone's 390 px need, as its screen is dense. [1/in]"""

    @property
    def narrow(self) -> bool:
        """Whether panels go below one another."""
        return self.wide == "phone"


SIZES: dict[Wide, Size] = {
    "desk": Size(wide="desk", width=9.6, title=14.0, label=10.5, tick=9.5, dpi=125),
    "phone": Size(wide="phone", width=390 / 96, title=13.5, label=10.5, tick=9.5, dpi=192),
}


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """How a stage is told apart: letter, colour and pattern, never colour alone. `on` is the colour of the letter."""

    letter: str
    colour: str
    on: str
    pattern: Literal["dotted", "hatched", "solid", "open", "ringed", "crossed"]


MARKS = {
    "soak": Mark(letter="S", colour="#56B4E9", on=INK, pattern="dotted"),
    "germinate": Mark(letter="G", colour="#0072B2", on="#FFFFFF", pattern="hatched"),
    "blackout": Mark(letter="B", colour="#000000", on="#FFFFFF", pattern="solid"),
    "light": Mark(letter="L", colour="#E69F00", on=INK, pattern="open"),
    "ready": Mark(letter="R", colour="#009E73", on=INK, pattern="ringed"),
}
"""Colours: M. Okabe and K. Ito, Color Universal Design, 2008."""


def mark_of(stage: str) -> Mark:
    """The mark of a stage; one of the grower's own has its first letter, in grey."""
    own = Mark(letter=stage[:1].upper() or "-", colour=SOFT, on="#FFFFFF", pattern="crossed")
    return MARKS.get(stage, own)


def tint(colour: str, share: float) -> str:
    """
    A colour mixed with the ground; `share` of it is left. [-]

    Examples
    --------
    >>> tint("#000000", 0.5)
    '#7E7D7B'
    """
    mixed = (round(share * one + (1 - share) * ground) for one, ground in zip(_rgb(colour), _rgb(GROUND), strict=True))
    return "#" + "".join(f"{value:02X}" for value in mixed)


def contrast(one: str, other: str) -> float:
    """
    Contrast of two colours, 1 to 21. [-]

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio" and "relative luminance" (from memory).

    Examples
    --------
    >>> round(contrast("#FFFFFF", "#000000"))
    21
    """
    dark, bright = sorted((_luminance(one), _luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    linear = [
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4
        for part in (value / 255 for value in _rgb(colour))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
