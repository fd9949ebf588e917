"""What pictures are drawn from: plain figures with their ranges, whoever worked them out."""

from __future__ import annotations

from datetime import date

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


class Earned(msgspec.Struct, frozen=True, kw_only=True):
    """What a policy of the season study earned, and where that may lie against the best rule. [farm's currency]"""

    what: str
    margin: float
    low: float | None = None
    high: float | None = None


class EarnedBar(msgspec.Struct, frozen=True, kw_only=True):
    """What was sold of something, what that cost, and what is left. [farm's currency]"""

    name: str
    sales: float
    costs: float
    left: float
    nobody: bool = False
    """True: it went to nobody, such as trays thrown away."""


class EarnedFigures(msgspec.Struct, frozen=True, kw_only=True):
    """What a farm earned, row by row."""

    bars: tuple[EarnedBar, ...]
    currency: str


class Closed(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a gap is closed, with its 95 % range, and the goal, None where none is set. [-]"""

    what: str
    share: float
    low: float | None
    high: float | None
    goal: float | None


class PromisesKept(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of about the same chance: what was promised, the share kept and its 95 % range. [-]"""

    promised: float
    kept: float
    low: float
    high: float
    promises: int
    few: bool = False
    """Too few to judge by."""


class Course(msgspec.Struct, frozen=True, kw_only=True):
    """The margin so far at the end of each day, by policy. [farm's currency]"""

    what: str
    by_day: tuple[float, ...]


class StudyFigures(msgspec.Struct, frozen=True, kw_only=True):
    """What a season study shows; the first policy is the best rule of thumb. What is not known is left out."""

    earned: tuple[Earned, ...]
    closed: tuple[Closed, ...] = ()
    promises: tuple[PromisesKept, ...] = ()
    courses: tuple[Course, ...] = ()
    points: float = 3.0
    """How far promises may be off by the goal, in points. [%]"""


class Swung(msgspec.Struct, frozen=True, kw_only=True):
    """What a sum of money comes to with one figure of it lower and higher. [currency]"""

    what: str
    now: str
    """The figure as it is, in words."""
    lower: float
    higher: float


class SwingFigures(msgspec.Struct, frozen=True, kw_only=True):
    """A sum of money and what moves it, the widest first. [currency]"""

    what: str
    base: float
    share: float
    """By which share each figure is lowered and raised. [-]"""
    currency: str = ""
    rows: tuple[Swung, ...] = ()


class LightFigures(msgspec.Struct, frozen=True, kw_only=True):
    """Light over a shelf, seen from above: x from the left, y from the front. [mm], [umol/m2/s]"""

    length_mm: float
    width_mm: float
    height_mm: float
    """Of the lamps above the leaves."""
    ppfd: tuple[tuple[float, ...], ...]
    """Rows from front to back, each from left to right, at the middles of equal cells."""
    lamps: tuple[tuple[float, float, float, float, float], ...]
    """Both ends of each lamp, and its width: x, y, x, y, width."""
    trays: tuple[tuple[float, float, float, float], ...] = ()
    """Left, front, length, width of each."""
    walls: tuple[str, ...] = ()
    """Sides that throw light back: left, right, front, back."""
    share_on_shelf: float = 0.0
    """Share of the photons that reach the leaves. [-]"""


class StageSpan(msgspec.Struct, frozen=True, kw_only=True):
    """A stage and the days it likely takes up, both included."""

    stage: str
    first: date
    last: date


class SowingBar(msgspec.Struct, frozen=True, kw_only=True):
    """Trays of one sowing, planned or standing, from the day they are sown to the day they are cut."""

    crop: str
    trays: int
    sow_on: date | None
    """None: they stand already."""
    cut_on: date
    low: date | None = None
    high: date | None = None
    """Between these they leave in 8 of 10 cases."""
    stages: tuple[StageSpan, ...] = ()


class Delivery(msgspec.Struct, frozen=True, kw_only=True):
    """A day on which a crop is due; `sure` where every line of it is as sure as it is wanted."""

    crop: str
    due: date
    sure: bool = True


class RackFigures(msgspec.Struct, frozen=True, kw_only=True):
    """Spots of a kind night by night: how many there are, how many are likely taken, and the 80 % range. [spots]"""

    what: str
    has: tuple[float, ...]
    likely: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


class PlanFigures(msgspec.Struct, frozen=True, kw_only=True):
    """What is sown and cut on the days of a plan, both ends included, and how full that makes the racks."""

    first: date
    last: date
    sowings: tuple[SowingBar, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    racks: tuple[RackFigures, ...] = ()
