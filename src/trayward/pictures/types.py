"""What pictures are drawn from: plain figures with their ranges, whoever worked them out."""

from __future__ import annotations

import msgspec

from trayward.outlook.types import Range, When


class TrayGroup(msgspec.Struct, frozen=True, kw_only=True):
    """Trays that are alike: of one crop, in one stage, with the same outlook."""

    crop: str
    stage: str
    """Present stage; `sown now` for trays that are only proposed."""
    trays: int
    ready: When
    grams: Range | None = None
    """Of one tray. [g]"""
    loss: float = 0.0
    """Chance that one of them is thrown away. [-]"""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a whole, with its 80 % range. [-]"""

    what: str
    share: float
    low: float
    high: float


class Factor(msgspec.Struct, frozen=True, kw_only=True):
    """How many times more something makes it, with its 80 % range. [-]"""

    what: str
    factor: float
    low: float
    high: float
    trays: int = 0
    """How many own trays it rests on."""
    stands_out: bool = False


class Weighed(msgspec.Struct, frozen=True, kw_only=True):
    """A cut tray: how thick it was sown, and its weight with other causes taken out. [1/cm2], [g]"""

    density: float
    grams: float


class OnCurve(msgspec.Struct, frozen=True, kw_only=True):
    """Weight of a tray that a density likely brings, with its 80 % range. [1/cm2], [g]"""

    density: float
    low: float
    likely: float
    high: float


class DensityFigures(msgspec.Struct, frozen=True, kw_only=True):
    """How the weight of a tray answers to density, and where it pays best."""

    crop: str
    curve: tuple[OnCurve, ...]
    """From the thinnest to the thickest density that there is ground for; it is drawn no farther."""
    weighed: tuple[Weighed, ...] = ()
    present: float | None = None
    """Density of the recipe as it is. [1/cm2]"""
    best: float | None = None
    """Density that likely pays best; None where nothing can be said of it. [1/cm2]"""
    at_the_end: bool = False
    """It still pays more at the end of what there is ground for."""
