"""What the account of money is made of: plain values, amounts in whole coins."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

import msgspec

from trayward.errors import Finding

By = Literal["crop", "recipe", "customer", "order", "tray", "shelf", "shelf-week", "day", "week", "month"]
BY: tuple[By, ...] = ("crop", "recipe", "customer", "order", "tray", "shelf", "shelf-week", "day", "week", "month")
PARTS = (
    "sales", "own_table", "seed", "medium", "feed", "hands", "energy", "agents", "packaging", "disposal", "loose",
    "overheads",
)  # fmt: skip
COSTS = PARTS[2:]
CALLED = {
    "sales": "sales", "own_table": "own table", "seed": "seed", "medium": "medium and wear", "feed": "feed",
    "hands": "hands", "energy": "light", "agents": "soap and sanitiser", "packaging": "packs",
    "disposal": "disposal", "loose": "supplies otherwise", "overheads": "overheads",
}  # fmt: skip
"""What each part is called on every page, table and sheet."""

LOST_TRAYS = "trays thrown away"
THROWN = "cut, thrown away"
COLD = "in the cold room"
GROWING = "still growing"
EMPTY = "empty spots"
UNKNOWN = "not known"
NAMELESS = (LOST_TRAYS, THROWN, COLD, GROWING, EMPTY, UNKNOWN)
"""Rows that stand for what went to nobody."""


class Parts(msgspec.Struct, frozen=True, kw_only=True):
    """Income and costs, each above zero. [farm's currency]"""

    sales: Decimal = Decimal(0)
    """Without tax."""
    own_table: Decimal = Decimal(0)
    """What the grower ate, at what it is worth to them: no money, and not in what is left."""
    seed: Decimal = Decimal(0)
    medium: Decimal = Decimal(0)
    feed: Decimal = Decimal(0)
    hands: Decimal = Decimal(0)
    energy: Decimal = Decimal(0)
    agents: Decimal = Decimal(0)
    """What washing and sanitising kit took."""
    packaging: Decimal = Decimal(0)
    disposal: Decimal = Decimal(0)
    loose: Decimal = Decimal(0)
    """Supplies used by hand or thrown away, and supplies and seed that a count or a scale found missing."""
    overheads: Decimal = Decimal(0)

    @property
    def costs(self) -> Decimal:
        """All costs. [currency]"""
        return sum((getattr(self, part) for part in COSTS), Decimal(0))

    @property
    def other(self) -> Decimal:
        """Costs that a narrow table has no column for: medium, feed, soap, packs, disposal, the rest. [currency]"""
        return self.medium + self.feed + self.agents + self.packaging + self.disposal + self.loose + self.overheads

    @property
    def left(self) -> Decimal:
        """Sales less all costs. [currency]"""
        return self.sales - self.costs


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """What one crop, customer, week, ... earned."""

    name: str
    parts: Parts
    costs: Decimal
    left: Decimal
    nobody: bool = False
    """True: what went to nobody, such as trays thrown away."""


class Lost(msgspec.Struct, frozen=True, kw_only=True):
    """What was grown for nothing, and what was asked for and not there. Costs are part of the account. [currency]"""

    trays: int = 0
    """Trays thrown away."""
    trays_cost: Decimal = Decimal(0)
    thrown_g: float = 0.0
    """Cut and thrown away. [g]"""
    thrown_cost: Decimal = Decimal(0)
    short_lines: int = 0
    """Order lines due that were not met in full."""
    short_value: Decimal = Decimal(0)
    """What they would have brought: not earned, and in no sum."""


class Earned(msgspec.Struct, frozen=True, kw_only=True):
    """What a farm earned from one day to another, both included."""

    first: date
    last: date
    by: By
    currency: str
    rows: tuple[Row, ...]
    total: Row
    lost: Lost
    trays_cut: int = 0
    trays_live: int = 0
    cut_g: float = 0.0
    """Cut from trays that left in this time. [g]"""
    sold_g: float = 0.0
    """Delivered to customers in this time. [g]"""
    spot_days: float = 0.0
    """Days on spots of the trays that left in this time. [d]"""
    per_kg: Decimal | None = None
    """Left for a kilogram sold. [currency/kg]"""
    per_spot_week: Decimal | None = None
    """Left for a spot and week that trays stood on. [currency]"""
    findings: tuple[Finding, ...] = ()
    holds: tuple[str, ...] = ()
    """What the figures rest on."""


class Supposed(msgspec.Struct, frozen=True, kw_only=True):
    """Other prices on the same record. None: as they were. [farm's currency]"""

    wage_h: float | None = None
    energy_kwh: float | None = None
    packaging: float | None = None
    disposal_kg: float | None = None
    prices: dict[str, float] = {}
    """Product -> price, for what its own price is for; lines with a price of their own keep it."""
    overheads: dict[str, float] = {}
    """Name -> a month."""


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """The same record at other prices, side by side."""

    supposed: Supposed
    words: tuple[str, ...]
    """What was supposed, in words."""
    now: Earned
    then: Earned
    difference: Decimal
    """Left then less left now. [currency]"""
