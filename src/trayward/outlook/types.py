"""What the outlook says: when, how much, and with how much doubt."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec


class Range(msgspec.Struct, frozen=True, kw_only=True):
    """An 80 % range and its middle: eight of ten fall between `low` and `high`, half in `half`, 19 of 20 in `most`."""

    low: float
    likely: float
    high: float
    mean: float | None = None
    half: tuple[float, float] | None = None
    most: tuple[float, float] | None = None


class When(msgspec.Struct, frozen=True, kw_only=True):
    """A moment with doubt: 10th, 50th and 90th percentile; half the cases within `half`, 19 of 20 within `most`."""

    low: datetime
    likely: datetime
    high: datetime
    half: tuple[datetime, datetime] | None = None
    most: tuple[datetime, datetime] | None = None


class StageEnd(msgspec.Struct, frozen=True, kw_only=True):
    """When a stage is expected to end."""

    stage: str
    ends: When


class Basis(msgspec.Struct, frozen=True, kw_only=True):
    """What an outlook rests on. `prior_trays` is how many trays' worth the published prior counts."""

    own_trays: int
    prior_trays: float
    words: str
    """One sentence for people."""


class TrayOutlook(msgspec.Struct, frozen=True, kw_only=True):
    """The outlook of one tray, standing or only proposed."""

    recipe: str
    crop: str
    tray: str = ""
    """Empty for a tray that is only proposed."""
    stages: tuple[StageEnd, ...]
    """The present stage and those to come, up to ready."""
    ready: When
    grams: Range | None
    """Cut weight of one tray on the day it is ready [g]; None where nobody said and nothing was cut yet: ask."""
    time_basis: Basis
    grams_basis: Basis
    loss: float = 0.0
    """Chance that it is thrown away before it is cut. [-]"""


class Reason(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that moves a tray's outlook away from the published figure.

    `factor` is how many times more (or longer) it makes it, `low` and `high` its 80 % range. [-]
    """

    about: Literal["grams", "days"]
    what: str
    """What it is: `this farm`, `recipe`, `lot B2`, `season`, `its sowing`, `density`, ..."""
    stage: str = ""
    """Which stage, for days; empty for grams."""
    factor: float
    low: float
    high: float
    trays: int = 0
    """How many own trays it rests on."""
    words: str = ""
    """One sentence for people."""


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """How often a promised range held what then happened."""

    what: Literal["days", "grams"]
    promised: float
    """Share of cases the range was to hold. [-]"""
    held: float
    """Share it held. [-]"""
    low: float
    high: float
    """Where that share may truly lie, so few cases being what they are: two standard errors, by sowings. [-]"""
    trays: int
    sowings: int


class Calibration(msgspec.Struct, frozen=True, kw_only=True):
    """Ranges foretold in past weeks, held against what happened."""

    rows: tuple[Held, ...]
    """Of days and of grams, ranges for 50, 80 and 95 in 100."""
    pits: dict[str, tuple[float, ...]]
    """Of `days` and `grams`: for each tray, the share of cases foretold below what happened; even if honest."""
    weeks: int
    words: str
