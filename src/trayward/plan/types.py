"""What a plan says."""

from __future__ import annotations

from datetime import date, datetime

import msgspec


class Serve(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a sowing goes to an order line: grams cut, or live trays."""

    line: str
    customer: str
    due: date
    grams: float = 0.0
    trays: int = 0


class StageExpected(msgspec.Struct, frozen=True, kw_only=True):
    """A stage of a planned sowing and the days it is expected to take up, both included."""

    stage: str
    first: date
    last: date


class SeedTaken(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one seed lot. [g]"""

    lot: str
    grams: float


class CutPlanned(msgspec.Struct, frozen=True, kw_only=True):
    """Trays to cut on a day; trays standing now are named, those of a planned sowing are not yet."""

    cut_on: date
    crop: str
    trays: int
    grams_expected: float
    standing: tuple[str, ...] = ()


class PlannedSowing(msgspec.Struct, frozen=True, kw_only=True):
    """Whole trays to sow on one day to one recipe."""

    sow_on: date
    crop: str
    recipe: str
    trays: int
    seed_g: float
    """Seed for all trays together. [g]"""
    cut_on: date
    """The day most of it is cut."""
    grams_expected: float
    """Likely weight of all trays together. [g]"""
    serves: tuple[Serve, ...] = ()
    lots: tuple[SeedTaken, ...] = ()
    stages: tuple[StageExpected, ...] = ()
    cuts: tuple[CutPlanned, ...] = ()
    why: str = ""


class LineOutlook(msgspec.Struct, frozen=True, kw_only=True):
    """An order line and whether the plan meets it. Live trays count in `trays`, with grams 0."""

    line: str
    customer: str
    crop: str
    """The product: one crop, a mix or a live tray."""
    due: date
    grams: float
    met_grams: float
    trays: int = 0
    met_trays: int = 0
    why: str = ""
    """Where it comes from, or what is in the way: limits, amounts, dates."""

    @property
    def met(self) -> bool:
        """Whether the plan meets the line in full."""
        return self.met_grams >= self.grams - 0.5 and self.met_trays >= self.trays


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit that stands in the way: what, when, how much there is, how much more would be needed."""

    limit: str
    """In the grower's nouns: `lit spots`, `dark spots`, `mat`, `hands`, `day off`, `seed of radish`, ..."""
    first: date
    last: date
    has: float
    short: float
    unit: str
    lines: tuple[str, ...] = ()
    message: str = ""


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """What is different from the plan kept before."""

    what: str
    message: str


class PlanMoney(msgspec.Struct, frozen=True, kw_only=True):
    """What the plan is worth over its weeks. [farm's currency]"""

    sales: float = 0.0
    seed: float = 0.0
    medium: float = 0.0
    hands: float = 0.0
    energy: float = 0.0
    packaging: float = 0.0
    disposal: float = 0.0
    shortfall: float = 0.0

    @property
    def margin(self) -> float:
        """Sales less what they cost; the price of shortfall is not money and stays out."""
        return self.sales - self.seed - self.medium - self.hands - self.energy - self.packaging - self.disposal


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """Sowings proposed from one day to another, and what they do for the orders."""

    made_at: datetime
    first: date
    last: date
    sowings: tuple[PlannedSowing, ...] = ()
    cuts: tuple[CutPlanned, ...] = ()
    """Cuts of trays standing now."""
    lines: tuple[LineOutlook, ...] = ()
    limits: tuple[Limit, ...] = ()
    changes: tuple[Change, ...] = ()
    money: PlanMoney = PlanMoney()
    objective: float = 0.0
    gap: float = 0.0
    """Proven distance from the best possible, as a share. [-]"""
    notes: tuple[str, ...] = ()
    """What was assumed or left out, in plain words."""
